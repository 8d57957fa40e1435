"""Array wiring in free air: what may lie exposed, its voltage mark, and what it carries at module temperature."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from reportgen.design.array_wiring import ArrayWiringDesign
from reportgen.design.checks.base import Facts, Words, check, compare, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Known, Missing
from reportgen.project.equipment import Cable
from reportgen.rulebook.rulebook import OutsideTable, Rulebook
from reportgen.working.quantity import Quantity
from reportgen.working.unit_system import both

_CARRIES = "array-wire-ampacity"


@check
def stated(facts: Facts) -> Iterator[Finding]:
    """Every array with strings says what wire runs behind its modules."""
    used = {key for string in facts.strings for key in string.arrays}
    for key, array in facts.project.arrays.items():
        if array.wiring is None and key in used and array.status != "removed":
            missing = Missing(f"wiring of array {key}", array.span)
            yield unknown(_CARRIES, key, f"wire behind the modules of array {key} is not judged", [missing])


@check
def exposed_marking(facts: Facts) -> Iterator[Finding]:
    """Only wire made for it lies exposed behind modules; building wire is for raceways."""
    for item in facts.array_wiring:
        yield _exposed(
            facts.rulebook, item.id, item.cable, str(item.wiring.cable), f"behind the modules of {item.id}"
        )
    for key, circuit in facts.project.circuits.items():
        tails = circuit.tails
        if circuit.kind != "string" or circuit.status == "removed" or tails is None or tails.start.value == 0:
            continue
        if circuit.tail_enclosed or (circuit.enclosures and not circuit.path):
            continue
        cable = facts.project.cables[str(circuit.cable)]
        made = _exposed(facts.rulebook, key, cable, str(circuit.cable), f"of {key} at the array")
        if made.outcome is Outcome.MEETS:
            continue
        where = f"tail of {key} at the array, {both(tails.start, 1)} of {' '.join(map(str, cable.markings)) or 'unmarked wire'}"
        if circuit.tail_enclosed is None:
            yield unknown(
                "array-wire-marking",
                key,
                f"{where}: not known whether it lies exposed",
                [Missing(f"tail_enclosed of circuit {key}", circuit.span)],
            )
        else:
            yield replace(
                made, headline=f"{where}: not made to lie exposed", cure_span=circuit.where("tail_enclosed")
            )


def _exposed(rulebook: Rulebook, subject: str, cable: Cable, cable_id: str, where: str) -> Finding:
    code = "array-wire-marking"
    strangers = []
    for marking in map(str, cable.markings):
        try:
            if rulebook.exposed_in_array(marking):
                return Finding(code, subject, Outcome.MEETS, f"{marking} may lie exposed {where}")
        except OutsideTable:
            strangers.append(marking)
    if not cable.markings:
        return unknown(
            code,
            subject,
            f"wire {where} has no marking",
            [Missing(f"markings of cable {cable_id}", cable.span)],
        )
    marked = " ".join(map(str, cable.markings))
    if len(strangers) == len(cable.markings):
        return Finding(
            code,
            subject,
            Outcome.ASK,
            f"wire {where} is marked {marked}, which this edition does not list",
            question=f"May wire marked {marked} lie exposed {where}, in sun and rain?",
            cure_span=cable.where("markings"),
        )
    return Finding(
        code,
        subject,
        Outcome.FAILS,
        f"wire {where} is marked {marked}, which is not made to lie exposed",
        cure="use wire marked PV wire or USE-2, or put it into a raceway",
        cure_span=cable.where("markings"),
    )


@check
def voltage_mark(facts: Facts) -> Iterator[Finding]:
    """Cold voltage against the voltage printed on the wire behind the modules."""
    for item in facts.array_wiring:
        limit: Known = item.cable.voltage or Missing(f"voltage of cable {item.wiring.cable}", item.cable.span)
        yield compare(
            "array-wire-voltage",
            item.id,
            item.voltage,
            limit,
            Words(f"cold voltage on array {item.id}", f"mark on the wire {item.wiring.cable}"),
            facts.policies.share("voltage_margin"),
            cure="use wire marked for a higher voltage",
            cure_span=item.wiring.where("cable"),
        )


@check
def carries(facts: Facts) -> Iterator[Finding]:
    """Current against the ampacity at module temperature; a bound from below where the free-air table is not held."""
    thin = facts.policies.share("current_margin")
    for item in facts.array_wiring:
        for part, current, limit in (
            ("without factors", item.continuous, item.table),
            ("at module temperature", item.maximum, item.corrected),
        ):
            what = "continuous" if part == "without factors" else "maximum"
            made = compare(
                _CARRIES,
                item.id,
                current,
                limit,
                Words(
                    f"{what} current behind the modules of {item.id}",
                    f"ampacity {part}{'' if item.metric else ', a lower bound by the table for raceways,'}",
                    2,
                ),
                thin,
                part=part,
                cure="use a larger conductor, or smaller bundles",
                cure_span=item.wiring.where("size"),
            )
            yield _bound(item, made)


def _bound(item: ArrayWiringDesign, made: Finding) -> Finding:
    """What a bound proves: below it the wire meets; above it the table that is not held decides."""
    if made.outcome is Outcome.UNKNOWN:
        return made
    if item.metric:
        question = f"Does {item.wiring.size} of {item.wiring.cable} carry this current behind the modules by the adopted code?"
        note = "by the table of photovoltaic cable at a conductor of 120 °C, which terminals and connectors seldom allow"
        return replace(made, outcome=Outcome.ASK, question=question, notes=(*made.notes, note))
    note = "by the table for raceways, which is lower than the one for free air; that one is not held here"
    if made.outcome is Outcome.FAILS:
        question = f"Does {item.wiring.size} in free air at {_at(item)} carry this current by the table for free air?"
        return replace(made, outcome=Outcome.ASK, question=question, notes=(*made.notes, note))
    return replace(made, notes=(*made.notes, note))


def _at(item: ArrayWiringDesign) -> str:
    return (
        item.temperature.show(0) if isinstance(item.temperature, Quantity) else "the hot module's temperature"
    )
