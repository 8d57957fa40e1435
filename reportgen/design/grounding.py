"""Results of equipment grounding: which ground runs in each stretch, and which size it has to have."""

from __future__ import annotations

from collections.abc import Sequence

from reportgen.design.circuits import size_key
from reportgen.design.graph import Graph, SegmentId
from reportgen.design.missing import Known, Missing
from reportgen.design.results import CircuitDesign, GroundDesign
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Quantity

#: Raceways whose metal may itself serve as the ground; the ground wire is then a choice.
METALLIC = frozenset({"EMT", "IMC", "RMC"})


def design_grounds(
    graph: Graph, rulebook: Rulebook, circuits: Sequence[CircuitDesign]
) -> tuple[GroundDesign, ...]:
    """Grounding of every stretch that holds a current-carrying conductor."""
    by_id = {circuit.id: circuit for circuit in circuits}
    found = []
    for key, (_, segment) in graph.segments.items():
        wires = graph.in_segment[key]
        if not any(wire.carries for wire in wires):
            continue
        inside = [by_id[name] for name in dict.fromkeys(wire.circuit for wire in wires) if name in by_id]
        found.append(_ground(graph, rulebook, key, inside, metallic=segment.kind in METALLIC))
    return tuple(found)


def _ground(
    graph: Graph, rulebook: Rulebook, key: SegmentId, inside: Sequence[CircuitDesign], *, metallic: bool
) -> GroundDesign:
    grounds = tuple(
        wire for wire in graph.in_segment[key] if graph.project.circuits[wire.circuit].kind == "ground"
    )
    rating = _rating(inside)
    required: str | Missing
    source, recalled = "", False
    area: Known
    material = str(graph.project.cables[grounds[0].cable].material) if grounds else "copper"
    if isinstance(rating, Missing):
        required = area = rating
    else:
        try:
            cell = rulebook.egc_size(rating.value, material)
            required, source, recalled = cell.value, cell.citation, cell.recalled
            area = quantity_of(rulebook.circular_mils(cell.value), f"conductor area of {cell.value} AWG")
        except OutsideTable as outside:
            required = area = Missing(f"a table value: {outside}")
    actual = max((wire.size for wire in grounds), key=lambda size: _area(rulebook, size), default="")
    actual_area: Known = Missing(f"a ground wire in {key}")
    if actual:
        try:
            actual_area = quantity_of(rulebook.circular_mils(size_key(actual)), f"conductor area of {actual}")
        except OutsideTable as outside:
            actual_area = Missing(f"a table value: {outside}")
    return GroundDesign(key, grounds, rating, required, source, recalled, area, actual, actual_area, metallic)


def _rating(inside: Sequence[CircuitDesign]) -> Known:
    """Rating the ground is sized for: the largest device, or what a device would be where there is none [A]."""
    ratings: list[Quantity] = []
    for circuit in inside:
        rating = circuit.circuit.device or circuit.string.continuous
        if isinstance(rating, Missing):
            return rating
        ratings.append(rating)
    if not ratings:
        return Missing("a string circuit whose current sizes the ground")
    return max(ratings, key=lambda rating: rating.value)


def _area(rulebook: Rulebook, size: str) -> float:
    try:
        return rulebook.circular_mils(size_key(size)).number
    except OutsideTable:
        return 0.0
