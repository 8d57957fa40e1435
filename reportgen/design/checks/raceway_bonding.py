"""Bonding of metal raceways whose circuits come to more to ground than the edition's limit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.graph import SegmentId
from reportgen.design.metal_raceways import METAL, asked_of_grounded_alone, ordinary_bonding_up_to
from reportgen.design.missing import Missing, highest
from reportgen.design.results import StringDesign

CODE = "raceway-bonding"


@check
def metal_raceways(facts: Facts) -> Iterator[Finding]:
    """What the edition asks beyond ordinary bonding of metal raceways with circuits of a high voltage to ground."""
    by_raceway: dict[str, list[SegmentId]] = {}
    for key, (raceway, segment) in facts.graph.segments.items():
        if raceway.status_of(segment) != "removed" and str(segment.kind) in METAL:
            by_raceway.setdefault(key.raceway, []).append(key)
    by_circuit = {circuit.id: circuit.string for circuit in facts.circuits}
    for name, stretches in by_raceway.items():
        inside = {wire.circuit for key in stretches for wire in facts.graph.in_segment[key] if wire.leg}
        strings = [by_circuit[key] for key in by_circuit if key in inside]
        if strings:
            yield _judged(facts, name, strings)


def _judged(facts: Facts, name: str, strings: Sequence[StringDesign]) -> Finding:
    limit = ordinary_bonding_up_to(facts.rulebook)
    # A leg of a floating array stands at the whole voltage to ground as soon as the other one has a fault.
    volts = highest((string.governing for string in strings), f"a string in {name}")
    told = f"bonding of metal raceway {name} above {limit.show(0, at_most=True)} to ground"
    if isinstance(volts, Missing):
        return unknown(CODE, name, f"{told} is not judged", [volts])
    reached = f"its circuits come to {volts.show(1)}"
    if volts.value <= limit.value:
        return Finding(CODE, name, Outcome.MEETS, f"{told} is not asked: {reached}", value=volts, limit=limit)
    if asked_of_grounded_alone(facts.rulebook):
        legs = [_legs(facts, string) for string in strings]
        if absent := [item for item in legs if isinstance(item, Missing)]:
            return unknown(CODE, name, f"whether {told} is asked is not known: {reached}", absent)
        if all(item == "floating" for item in legs):
            headline = f"{told} is asked of solidly grounded circuits alone; {reached}, and their legs float"
            return Finding(CODE, name, Outcome.MEETS, headline, value=volts)
    return Finding(
        CODE,
        name,
        Outcome.ASK,
        f"{told}: {reached}; how its fittings and knockouts are bonded is not part of the folder",
        value=volts,
        cure="use fittings made for it, bonding bushings with jumpers or threaded hubs, and show them to the inspector",
        question=f"Are the fittings and knockouts of raceway {name} bonded for more than {limit.show(0, at_most=True)} to ground?",
    )


def _legs(facts: Facts, string: StringDesign) -> str | Missing:
    found = facts.project.input_of(string.input)
    if found is None:
        return Missing(f"input of string {string.id}", facts.project.strings[string.id].span)
    unit, kind, _ = found
    if kind.pv_legs:
        return str(kind.pv_legs)
    named = facts.project.inverter_of(unit)
    return Missing(f"pv_legs of inverter type {named[0] if named else unit}", kind.span)
