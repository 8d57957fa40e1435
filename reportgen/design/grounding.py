"""Results of equipment grounding: which ground runs in each stretch, and which size it has to have."""

from __future__ import annotations

from collections.abc import Sequence

from reportgen.design.circuits import size_key
from reportgen.design.graph import Graph, SegmentId
from reportgen.design.missing import Known, Missing, first_missing, known
from reportgen.design.results import CircuitDesign, GroundDesign
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Quantity

#: Raceways whose metal may itself serve as the ground; the ground wire is then a choice.
METALLIC = frozenset({"EMT", "IMC", "RMC"})


def design_grounds(
    graph: Graph, rulebook: Rulebook, circuits: Sequence[CircuitDesign]
) -> tuple[GroundDesign, ...]:
    """Grounding of every stretch that holds a current-carrying conductor."""
    ratings = _ratings(graph, circuits)
    found = []
    for key, (_, segment) in graph.segments.items():
        wires = graph.in_segment[key]
        if not any(wire.carries for wire in wires):
            continue
        inside = [ratings[name] for name in dict.fromkeys(wire.circuit for wire in wires) if name in ratings]
        found.append(_ground(graph, rulebook, key, _largest(inside), metallic=segment.kind in METALLIC))
    return tuple(found)


def _ratings(graph: Graph, circuits: Sequence[CircuitDesign]) -> dict[str, Known]:
    """Rating of each live circuit: its device, or what a device would be for a string without one [A]."""
    found: dict[str, Known] = {item.id: item.circuit.device or item.string.continuous for item in circuits}
    for key, circuit in graph.project.circuits.items():
        if circuit.kind == "output":
            found[key] = known(circuit.device, f"device of output circuit {key}", circuit.span)
    return found


def _largest(ratings: Sequence[Known]) -> Known:
    """Rating that sizes a ground which several circuits share: the largest, unknown where any of them is."""
    missing = first_missing(*ratings)
    if missing is not None:
        return missing
    amounts = [rating for rating in ratings if isinstance(rating, Quantity)]
    if not amounts:
        return Missing("a circuit whose current sizes the ground")
    return max(amounts, key=lambda rating: rating.value)


def _ground(
    graph: Graph, rulebook: Rulebook, key: SegmentId, rating: Known, *, metallic: bool
) -> GroundDesign:
    grounds = tuple(
        wire for wire in graph.in_segment[key] if graph.project.circuits[wire.circuit].kind == "ground"
    )
    largest = max(grounds, key=lambda wire: _area(rulebook, wire.size), default=None)
    required: str | Missing
    source, recalled = "", False
    area: Known
    material = str(graph.project.cables[largest.cable].material) if largest else "copper"
    if isinstance(rating, Missing):
        required = area = rating
    else:
        try:
            cell = rulebook.egc_size(rating.value, material)
            required, source, recalled = cell.value, cell.citation, cell.recalled
            area = quantity_of(rulebook.circular_mils(cell.value), f"conductor area of {cell.value} AWG")
        except OutsideTable as outside:
            required = area = Missing(f"a table value: {outside}")
    actual = largest.size if largest else ""
    actual_area: Known = Missing(f"a ground wire in {key}")
    if actual:
        try:
            actual_area = quantity_of(rulebook.circular_mils(size_key(actual)), f"conductor area of {actual}")
        except OutsideTable as outside:
            actual_area = Missing(f"a table value: {outside}")
    return GroundDesign(key, grounds, rating, required, source, recalled, area, actual, actual_area, metallic)


def _area(rulebook: Rulebook, size: str) -> float:
    try:
        return rulebook.circular_mils(size_key(size)).number
    except OutsideTable:
        return 0.0
