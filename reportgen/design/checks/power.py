"""PV power at each inverter and each of its inputs against the maker's limits, and its ratio to the rated output."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from reportgen.design.checks.base import Facts, Words, check, compare, no_worse_than_thin, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Known, Missing, known, missing_of
from reportgen.design.power import power_of_strings
from reportgen.project.equipment import Inverter
from reportgen.working.quantity import Quantity, work
from reportgen.working.text import fixed

_BALANCE = "at standard conditions, front side alone; which way the strings face is not weighed"
_CURE = "move a string to another inverter, or ask the maker whether more is allowed"


def _strings_at(facts: Facts) -> Mapping[str, list[str]]:
    """Strings of all inputs, by inverter."""
    found: dict[str, list[str]] = defaultdict(list)
    for item in facts.inputs:
        found[item.unit] += item.strings
    return found


@check
def inverter_power(facts: Facts) -> Iterator[Finding]:
    """Power of all modules at an inverter against the limit of its data sheet."""
    at_unit = _strings_at(facts)
    for key, kind in facts.project.inverters.items():
        limit = _in_kilowatts(
            known(kind.maximum_pv_power, f"maximum_pv_power of inverter type {key}", kind.span)
        )
        for unit in map(str, kind.units):
            if not at_unit[unit]:
                continue
            power = power_of_strings(facts.project, at_unit[unit], f"PV power at {unit}")
            made = compare(
                "inverter-pv-power",
                unit,
                power,
                limit,
                Words(f"PV power at {unit}", "limit of its data sheet", 2),
                0.0,
                cure=_CURE,
                cure_span=kind.where("maximum_pv_power"),
            )
            made = _with_homeless(facts, made, at_unit[unit], limit)
            yield replace(made, notes=(*made.notes, _ratio(power, kind.ac_power)))


def _with_homeless(facts: Facts, made: Finding, strings: Sequence[str], limit: Known) -> Finding:
    """No pass while a string without an input, which may end here as well, would make it too much."""
    homeless = [string.id for string in facts.strings if not string.input]
    if not homeless or made.outcome is not Outcome.MEETS or isinstance(limit, Missing):
        return made
    most = power_of_strings(
        facts.project, [*strings, *homeless], "PV power with every string that may end here"
    )
    if isinstance(most, Quantity) and most.value <= limit.value:
        return replace(
            made,
            notes=(*made.notes, f"with {', '.join(homeless)}, whose input is not stated, {most.show(2)}"),
        )
    absent = [Missing(f"input of string {key}", facts.project.where("strings", key)) for key in homeless]
    headline = f"{made.headline}: not judged while it is not known where {', '.join(homeless)} ends"
    return unknown(made.code, made.subject, headline, absent)


def _in_kilowatts(limit: Known) -> Known:
    return limit if isinstance(limit, Missing) else limit.to("kW")


def _ratio(power: Known, output: Quantity | None) -> str:
    """The ratio of PV power to rated output in words; no limit holds for it."""
    if isinstance(power, Missing) or output is None or output.value <= 0:
        what = power.what if isinstance(power, Missing) else "ac_power"
        return f"PV power over rated output: unknown, state {what}"
    ratio = work("PV power over rated output", "", "P / P_ac", P=power, P_ac=output.to("kW"))
    return f"PV power over rated output {fixed(ratio.value, 2)}; above 1 the output clips in strong sun, no hazard"


@check
def inverter_balance(facts: Facts) -> Iterator[Finding]:
    """PV power of the least loaded inverter of a type against that of the most loaded one."""
    at_unit = _strings_at(facts)
    for key, kind in facts.project.inverters.items():
        units = [str(unit) for unit, installed in kind.units.items() if installed.status != "removed"]
        if len(units) > 1 and any(at_unit[unit] for unit in units):
            yield _balance(facts, key, kind, {unit: at_unit[unit] for unit in units})


def _balance(facts: Facts, key: str, kind: Inverter, at: Mapping[str, Sequence[str]]) -> Finding:
    code = "inverter-balance"
    powers = {
        unit: power_of_strings(facts.project, strings, f"PV power at {unit}")
        if strings
        else Quantity(0.0, "kW", None, f"no string at {unit}")
        for unit, strings in at.items()
    }
    absent = list(missing_of(*powers.values()))
    absent += [
        Missing(f"input of string {string.id}", facts.project.where("strings", string.id))
        for string in facts.strings
        if not string.input
    ]
    known_ones = {unit: power for unit, power in powers.items() if isinstance(power, Quantity)}
    if absent:
        return unknown(code, key, f"balance between {', '.join(at)} is not known", absent)
    most = max(known_ones, key=lambda unit: known_ones[unit].value)
    least = min(known_ones, key=lambda unit: known_ones[unit].value)
    apart = work(
        "share by which the PV power of inverters of one type lies apart",
        "%",
        "100 * (P_most - P_least) / P_most",
        P_most=known_ones[most],
        P_least=known_ones[least],
    )
    told = ", ".join(f"{unit} {power.show(2)}" for unit, power in known_ones.items())
    words = Words(f"PV power of inverters {key} ({told}) lies apart by", "the target", 1)
    return no_worse_than_thin(
        compare(code, key, apart, facts.policies.balance_target, words, 0.0, notes=(_BALANCE,)),
        f"{most} clips first while {least} has room, and what they share is loaded unevenly; no hazard",
        f"move a string from {most} to {least}, or accept it and set balance_target in the policies",
        kind.span,
    )


@check
def input_power(facts: Facts) -> Iterator[Finding]:
    """Power of the strings at an input against that input's own limit, where its data sheet states one."""
    for item in facts.inputs:
        if not item.strings or item.input is None or item.input.maximum_power is None:
            continue
        limit = item.input.maximum_power.to("kW")
        made = compare(
            "input-pv-power",
            item.address,
            power_of_strings(facts.project, item.strings, f"PV power at {item.address}"),
            limit,
            Words(f"PV power at {item.address}", "limit of this input", 2),
            0.0,
            cure="spread the strings over more inputs, or ask the maker whether more is allowed",
            cure_span=item.input.where("maximum_power"),
        )
        yield _with_homeless(facts, made, item.strings, limit)
