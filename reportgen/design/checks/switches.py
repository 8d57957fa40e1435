"""Rated current and load breaking of every switch that a string passes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import replace

from reportgen.design.checks.base import Facts, Words, check, compare, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.landing import running_as_one
from reportgen.design.missing import Known, Missing, known, missing_of
from reportgen.design.results import CircuitDesign
from reportgen.project.equipment import Switch
from reportgen.rulebook.standard_equipment import utilisation
from reportgen.working.quantity import Quantity, work


@check
def switch_current(facts: Facts) -> Iterator[Finding]:
    """Maximum current of the strings that hang together on a switch, against its rated current."""
    by_id = {circuit.id: circuit for circuit in facts.circuits}
    for unit, circuits in _passing(facts).items():
        found = facts.project.switch_of(unit)
        if found is None:
            continue
        key, switch = found
        rated = known(switch.rated_current, f"rated_current of switch type {key}", switch.span)
        groups, loose = running_as_one(facts.arrived, unit, circuits)
        for circuit in loose:
            headline = f"current through {unit} is not judged for {circuit}"
            missing = Missing(f"landing of both legs of {circuit} on {unit}", switch.span)
            yield unknown("switch-current", unit, headline, [missing], part=circuit)
        for group in groups:
            yield _current(facts, unit, switch, rated, {key: by_id[key] for key in group})


def _passing(facts: Facts) -> Mapping[str, list[str]]:
    """Circuits of strings by the switches they pass: where their legs go, what stands on their path or is named."""
    found: dict[str, list[str]] = defaultdict(list)
    for circuit in facts.circuits:
        found_on = [item for leg in ("+", "-") for item in facts.arrived.get(f"{circuit.id}{leg}", ())]
        units = [item.switch for item in found_on]
        units += [unit for item in found_on for unit in (*dict(item.passed), *item.aside)]
        units += facts.graph.passing.met(circuit.id)
        for unit in dict.fromkeys(units):
            if unit and facts.project.switch_of(unit) is not None:
                found[unit].append(circuit.id)
    return found


def _as_one(facts: Facts, unit: str, of: Mapping[str, CircuitDesign]) -> list[set[str]]:
    """Strings of some circuits that come to a switch on one wire, for each such wire."""
    circuit_of = facts.graph.circuit_of
    found = [
        {
            of[key].string.id
            for leg in facts.graph.net.behind(unit, terminal)[0]
            if (key := circuit_of[leg]) in of
        }
        for terminal in facts.graph.net.landed(unit)
    ]
    return [strings for strings in found if len(strings) > 1]


def _current(
    facts: Facts,
    unit: str,
    switch: Switch,
    rated: Known,
    group: Mapping[str, CircuitDesign],
) -> Finding:
    """Finding of circuits that run as one."""
    by_string = {circuit.string.id: circuit.string for circuit in group.values()}
    strings = list(by_string)
    currents = [by_string[key].maximum for key in strings]
    part = " ".join(group)
    names = " and ".join(strings)
    words = Words(f"maximum current of {names} through {unit}", "its rated current", 2)
    if absent := missing_of(*currents, rated):
        return unknown(
            "switch-current", unit, f"{words.value} is not judged against {words.limit}", absent, part=part
        )
    amounts = [current for current in currents if isinstance(current, Quantity)]
    terms = {f"I_{number}": amount for number, amount in enumerate(amounts, start=1)}
    total = amounts[0] if len(amounts) == 1 else work("maximum current", "A", " + ".join(terms), **terms)
    made = compare(
        "switch-current",
        unit,
        total,
        rated,
        words,
        facts.policies.share("current_margin"),
        part=part,
        cure="choose a switch with a higher rated current, or give each string a switch of its own",
        cure_span=switch.where("rated_current"),
    )
    assert isinstance(rated, Quantity)
    if made.outcome is Outcome.UNKNOWN:
        return made
    if made.outcome is Outcome.FAILS:
        shared = _as_one(facts, unit, group) if len(amounts) > 1 else []
        sums = [sum(amounts[strings.index(key)].value for key in found) for found in shared]
        if len(amounts) > 1 and all(one <= rated.value for one in (*sums, *(a.value for a in amounts))):
            return replace(
                made,
                outcome=Outcome.ASK,
                question=f"Does one pole of {unit} carry {names} together? It could carry each of them, not their sum.",
            )
        return made
    lasting = [by_string[key].continuous for key in strings]
    terms = {f"I_{n}": item for n, item in enumerate(lasting, start=1) if isinstance(item, Quantity)}
    if len(terms) < len(lasting):
        return unknown("switch-current", unit, made.headline, missing_of(*lasting), part=part)
    continuous = work("continuous current through a switch", "A", " + ".join(terms), **terms)
    if continuous.value <= rated.value:
        return replace(made, notes=(*made.notes, f"with the factor for continuous duty {continuous.show(2)}"))
    return replace(
        made,
        outcome=Outcome.ASK,
        headline=f"{made.headline}, but with the factor for continuous duty {continuous.show(2)} is above it",
        question=f"Ask the maker of {unit}: may its rated current flow for hours, or must the factor for continuous duty be taken off?",
        cure="choose a switch with a higher rated current, or have the maker's answer at hand",
    )


@check
def switch_load_break(facts: Facts) -> Iterator[Finding]:
    """Whether each switch that a string passes is rated to open under load with direct current."""
    string_of = {circuit.id: circuit.string.id for circuit in facts.circuits}
    for unit, circuits in _passing(facts).items():
        found = facts.project.switch_of(unit)
        if found is not None:
            groups, loose = running_as_one(facts.arrived, unit, circuits)
            together = max((len({string_of[key] for key in group}) for group in [*groups, loose]), default=0)
            yield _load_break(unit, *found, several=together > 1)


def _load_break(unit: str, key: str, switch: Switch, *, several: bool) -> Finding:
    code, marked = "switch-load-break", str(switch.utilisation_category or "")
    opens = utilisation(marked)
    told = f", utilisation category {marked}" if marked else ", utilisation category not stated"
    may_not = {cell.row for cell in opens if cell.value == "no load"}
    if switch.load_break is None:
        missing = Missing(f"load_break of switch type {key}", switch.span)
        return unknown(code, unit, f"whether {unit} may be opened under load is not stated{told}", [missing])
    if not switch.load_break:
        return Finding(
            code,
            unit,
            Outcome.ASK,
            f"{unit} may not be opened under load{told}",
            cure="mark it so that nobody opens it under load, and name what stops the current first",
            cure_span=switch.where("load_break"),
            question=f"What stops the current before {unit} is opened, and is {unit} marked or locked against opening under load?",
        )
    if marked and not opens:
        # A category for alternating current, or a word: it proves nothing of a direct-current arc.
        what = f"utilisation_category of switch type {key} for direct current, for instance DC-PV2"
        headline = f"{unit} is stated to open under load, and {marked} is no category of direct current that is known"
        return unknown(code, unit, headline, [Missing(what, switch.where("utilisation_category"))])
    if opens and len(may_not) == len(opens):
        missing = Missing(
            f"load_break or utilisation_category of switch type {key}: one of the two is a slip",
            switch.where("utilisation_category"),
        )
        headline = f"{unit} is stated to open under load, but {' and '.join(sorted(may_not))} is a category without load"
        return unknown(code, unit, headline, [missing])
    if switch.polarised is None:
        missing = Missing(
            f"polarised of switch type {key}: yes where its poles are marked with a direction", switch.span
        )
        return unknown(
            code, unit, f"{unit} opens under load; whether in one direction alone is not stated", [missing]
        )
    if switch.polarised:
        return Finding(
            code,
            unit,
            Outcome.ASK,
            f"{unit} opens under load in the direction marked on it alone{told}",
            cure="choose a switch that is not polarised, or check every pole against its marks before it is operated",
            cure_span=switch.where("polarised"),
            question=f"Is every pole of {unit} wired in the direction marked on it, both legs and the links between poles?",
        )
    if several and not marked:
        what = f"utilisation_category of switch type {key}: several strings run over {unit} together"
        headline = f"{unit} opens under load; whether also with several strings in parallel is not stated"
        return unknown(code, unit, headline, [Missing(what, switch.span)])
    if several and opens and not any(cell.value == "load" for cell in opens):
        return Finding(
            code,
            unit,
            Outcome.ASK,
            f"{unit} carries several strings together, but its category is meant for one{told}",
            cure="choose a switch of a category for several strings, or give each string its own",
            cure_span=switch.where("utilisation_category"),
            question=f"Does the maker of {unit} allow several strings in parallel, with current both ways in a fault?",
        )
    return Finding(code, unit, Outcome.MEETS, f"{unit} is rated to open under load{told}")
