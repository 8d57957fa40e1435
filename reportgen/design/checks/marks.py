"""Markings of wires for the wet places that they pass."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.graph import SegmentId
from reportgen.design.missing import Missing
from reportgen.project.equipment import Cable
from reportgen.project.layout import Circuit
from reportgen.rulebook.rulebook import OutsideTable, Rulebook


@check
def wet_marking(facts: Facts) -> Iterator[Finding]:
    """Raceways underground and outdoors are wet inside; the marking on the wire has to allow it."""
    for circuit in facts.wired:
        if circuit.wet_segments and circuit.wet_marking is not None:
            yield wet_marked(facts, circuit.id, circuit.circuit, circuit.wet_segments, circuit.wet_marking)


def is_bare(cable: Cable) -> bool:
    """Whether a wire has no insulation at all."""
    return [str(item).lower() for item in cable.markings] == ["bare"]


def wet_marked(
    facts: Facts, key: str, circuit: Circuit, wet: Sequence[SegmentId], marking: str | Missing
) -> Finding:
    """Finding of a circuit in wet stretches by the marking that serves there, where it has one."""
    where = ", ".join(map(str, wet))
    cable = facts.project.cables[str(circuit.cable)]
    if isinstance(marking, str):
        told = f"{marking} of {key} is rated for the wet stretches {where}"
        return Finding("wet-marking", key, Outcome.MEETS, told)
    printed = " ".join(map(str, cable.markings))
    strange = [name for name in map(str, cable.markings) if not _known(facts.rulebook, name)]
    if strange or not cable.markings:
        told = f"whether {printed or 'the wire'} of {key} may be wet in {where} is not known"
        what = f"a marking of cable {circuit.cable} that the tables know"
        return unknown("wet-marking", key, told, [Missing(what, cable.where("markings"))])
    return Finding(
        "wet-marking",
        key,
        Outcome.FAILS,
        f"{printed} of {key} is not rated for the wet stretches {where}",
        cure="use wire marked for wet locations, for instance THWN-2 or XHHW-2",
        cure_span=cable.where("markings"),
    )


def _known(rulebook: Rulebook, marking: str) -> bool:
    try:
        rulebook.insulation(marking)
    except OutsideTable:
        return False
    return True
