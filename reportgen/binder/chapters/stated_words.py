"""Words of what the folder states of raceways, sizes and lengths, for the drawings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import groupby

from reportgen.binder.chapters.base import Desk
from reportgen.design.graph import SegmentId
from reportgen.design.missing import Known
from reportgen.design.wiring import conductor_length
from reportgen.working.quantity import Quantity
from reportgen.working.text import significant

NOT = "not stated"


def raceway_words(desk: Desk) -> dict[str, str]:
    """What is stated of each raceway, and which wires beside those of strings and outputs lie in it."""
    graph, unit = desk.design.facts.graph, desk.design.facts.graph.units.length
    found = {}
    for key, raceway in graph.project.raceways.items():
        parts = []
        beside: dict[str, list[str]] = defaultdict(list)
        for name, segment in raceway.segments.items():
            parts.append(
                f"{name} {segment.kind} {segment.size}, {in_unit(segment.length, unit)}, {segment.place}"
            )
            for wire in graph.in_segment[SegmentId(str(key), str(name))]:
                circuit = graph.project.circuits[wire.circuit]
                if circuit.kind not in {"string", "output"}:
                    kind = "" if circuit.kind == "ground" else f" {circuit.kind}"
                    beside[f"{wire.id}{kind} {wire.size}"].append(str(name))
        every = list(map(str, raceway.segments))
        further = [
            wire if names == every else f"{wire} ({', '.join(dict.fromkeys(names))})"
            for wire, names in beside.items()
        ]
        found[str(key)] = f"{key}, {raceway.status}: {'; '.join(parts)}. " + (
            f"Beside the circuits: {', '.join(further)}."
            if further
            else "No ground, spare or abandoned wire in it."
        )
    return found


def size_words(desk: Desk, key: str) -> str:
    """Count, size, type and metal of the conductors of a circuit."""
    facts = desk.design.facts
    circuit = facts.project.circuits[key]
    cable = facts.project.cables[str(circuit.cable)]
    many = sum(1 for _ in facts.graph.legs_of.get(key, ())) or circuit.conductors
    if many is None and circuit.kind == "ground":
        many = 1
    count = f"{int(many)} × " if many is not None else "number not stated, "
    kind = "/".join(map(str, cable.markings)) or f"type {NOT}"
    metal = {"copper": "Cu", "aluminum": "Al"}[cable.material]
    return (
        f"{count}{circuit.size} {kind} {metal}, {shown(cable.voltage) if cable.voltage else f'voltage {NOT}'}"
    )


def within(desk: Desk, segments: Sequence[SegmentId]) -> str:
    """Stretches in words, a whole raceway by its id alone."""
    graph = desk.design.facts.graph
    parts = []
    for raceway, run in groupby(segments, key=lambda one: one.raceway):
        names = [one.segment for one in run]
        every = [str(name) for name in graph.project.raceways[raceway].segments]
        parts.append(raceway if names == every else f"{raceway}: {', '.join(names)}")
    return f"in {'; '.join(parts)}" if parts else "no raceway stated"


def length_words(desk: Desk, key: str) -> str:
    """Length of each conductor of a circuit: tails, stretches, and what lies in boxes."""
    graph = desk.design.facts.graph
    length = conductor_length(graph, key, graph.project.circuits[key])
    return (
        f"{in_unit(length, graph.units.length)} each in all"
        if isinstance(length, Quantity)
        else f"length {NOT}"
    )


def in_unit(value: Quantity, unit: str) -> str:
    """A length in the project's unit, to a tenth."""
    return value.to(unit).show(1)


def shown(value: Known | None, places: int | None = None) -> str:
    """A value with its unit, or that it is not stated."""
    return value.show(places) if isinstance(value, Quantity) else NOT


def kilo(value: Quantity | None, unit: str) -> str:
    """A value in the unit of a thousand, with as many digits as it needs."""
    return f"{significant(value.to(unit).value, 4)} {unit}" if value is not None else NOT
