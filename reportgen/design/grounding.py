"""Results of equipment grounding: which ground runs in each stretch, and which size it has to have."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from reportgen.design.circuits import size_key
from reportgen.design.graph import Conductor, Graph, SegmentId
from reportgen.design.missing import Known, Missing, first_missing, known
from reportgen.design.protection import OvercurrentDesign
from reportgen.design.results import CircuitDesign, GroundDesign
from reportgen.engineering import grounding, overcurrent
from reportgen.engineering.candidates import reaches
from reportgen.project.layout import Circuit
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Quantity

#: Raceways whose metal may itself serve as the ground; the ground wire is then a choice.
METALLIC = frozenset({"EMT", "IMC", "RMC"})


def design_grounds(
    graph: Graph,
    rulebook: Rulebook,
    circuits: Sequence[CircuitDesign],
    protection: OvercurrentDesign,
) -> tuple[GroundDesign, ...]:
    """Grounding of every stretch that holds a current-carrying conductor."""
    designer = _Designer(graph, rulebook, _ratings(graph, circuits, protection))
    return tuple(
        designer.stretch(key, metallic=segment.kind in METALLIC)
        for key, (_, segment) in graph.segments.items()
        if any(wire.carries for wire in graph.in_segment[key])
    )


def _ratings(
    graph: Graph, circuits: Sequence[CircuitDesign], protection: OvercurrentDesign
) -> dict[str, Known]:
    """Rating of each live circuit: its largest device, or what a device would be for a string without one [A]."""
    found: dict[str, Known] = {}
    for item in circuits:
        devices = [*protection.ratings(item.string.id)]
        if item.circuit.device is not None:
            devices.append(item.circuit.device)
        largest = max(devices, key=lambda rating: rating.value, default=None)
        found[item.id] = largest or protection.by_string[item.string.id].floor
    for key, circuit in graph.project.circuits.items():
        if circuit.kind == "output":
            found[key] = known(circuit.device, f"device of output circuit {key}", circuit.span)
    return found


def _largest(ratings: Sequence[Known]) -> Known:
    """Rating that sizes a ground which several circuits share: the largest, unknown where any of them is."""
    missing = first_missing(*ratings)
    if missing is not None:
        return missing
    distinct = {rating.value: rating for rating in ratings if isinstance(rating, Quantity)}
    if not distinct:
        return Missing("a circuit whose current sizes the ground")
    if len(distinct) == 1:
        return next(iter(distinct.values()))
    return grounding.deciding_rating(list(distinct.values()))


class _Designer:
    """Works out one stretch after the other; a class only because they share the same inputs."""

    def __init__(self, graph: Graph, rulebook: Rulebook, ratings: Mapping[str, Known]) -> None:
        self.graph, self.rulebook, self.ratings = graph, rulebook, ratings
        self._areas: dict[str, Known] = {}

    def stretch(self, key: SegmentId, *, metallic: bool) -> GroundDesign:
        wires = self.graph.in_segment[key]
        live = {
            name: self.graph.project.circuits[name]
            for name in dict.fromkeys(wire.circuit for wire in wires)
            if name in self.ratings
        }
        rating = _largest([self.ratings[name] for name in live])
        grounds = tuple(wire for wire in wires if self.graph.project.circuits[wire.circuit].kind == "ground")
        largest = max(grounds, key=self._size_of, default=None)
        material = str(self.graph.project.cables[largest.cable].material) if largest else "copper"
        actual = largest.size if largest else ""
        actual_area = self._area(size_key(actual)) if actual else Missing(f"a ground wire in {key}")
        grown, grown_open = self._grown(live, material)
        required: str | Missing
        if isinstance(rating, Missing):
            return GroundDesign(key, grounds, rating, rating, None, rating, actual, actual_area, metallic)
        try:
            cell = self.rulebook.egc_size(rating.value, material)
        except OutsideTable as outside:
            beyond = Missing(f"a table value: {outside}")
            return GroundDesign(key, grounds, rating, beyond, None, beyond, actual, actual_area, metallic)
        required, area, bounded_by = str(cell.value), self._area(str(cell.value)), ""
        bound = self._bound(live, material)
        if bound is not None and isinstance(area, Quantity) and area.value > bound[1].value:
            bounded_by, required = bound[0], size_key(str(live[bound[0]].size))
            area = grounding.bounded_area(area, bound[1])
        if isinstance(grown, Quantity) and bound is not None and grown.value > bound[1].value:
            grown = grounding.bounded_area(grown, bound[1])
        return GroundDesign(
            key,
            grounds,
            rating,
            required,
            cell,
            area,
            actual,
            actual_area,
            metallic,
            bounded_by,
            grown,
            grown_open,
        )

    def _bound(self, live: Mapping[str, Circuit], material: str) -> tuple[str, Quantity] | None:
        """Circuit with the largest conductor in the stretch, and that area; None where no bound can be drawn.

        Conductors of another metal or in parallel bound nothing here: the ground then goes by the table.
        """
        best: tuple[str, Quantity] | None = None
        least = self._area(str(self.rulebook.number("egc-smallest").value))
        for name, circuit in live.items():
            area = self._area(size_key(str(circuit.size)))
            alike = str(self.graph.project.cables[str(circuit.cable)].material) == material
            if not alike or (circuit.parallel is not None and int(circuit.parallel) > 1):
                return None
            if isinstance(area, Missing) or isinstance(least, Missing) or not reaches(area, least):
                return None
            if best is None or area.value > best[1].value:
                best = (name, area)
        return best

    def _grown(self, live: Mapping[str, Circuit], material: str) -> tuple[Known | None, tuple[str, ...]]:
        """Largest area that output conductors chosen larger than needed ask of the ground [cmil].

        Conductors of photovoltaic circuits ask for none where the edition waives it; what an output circuit needed
        at least is stated, or bounded from below by its device, which then makes the ground larger and never smaller.
        """
        most: Quantity | None = None
        still_open: list[str] = []
        for name, circuit in live.items():
            rating = self.ratings[name]
            if circuit.kind != "output" or isinstance(rating, Missing):
                continue
            installed = self._area(size_key(str(circuit.size)))
            least_size = (
                size_key(str(circuit.least_size)) if circuit.least_size else self._least(circuit, rating)
            )
            least = self._area(least_size) if least_size else Missing(f"least_size of circuit {name}")
            try:
                table = self._area(str(self.rulebook.egc_size(rating.value, material).value))
            except OutsideTable as outside:
                return Missing(f"a table value: {outside}"), ()
            if isinstance(installed, Missing) or isinstance(least, Missing) or isinstance(table, Missing):
                return first_missing(installed, least, table), ()
            if installed.value <= least.value:
                continue
            area = grounding.proportional_area(table, installed, least)
            if circuit.least_size is None:
                still_open.append(name)
            if most is None or area.value > most.value:
                most = area
        return most, tuple(still_open)

    def _least(self, circuit: Circuit, rating: Quantity) -> str:
        """Smallest size that a device of that rating protects at rest: no larger than what the circuit needs."""
        material = str(self.graph.project.cables[str(circuit.cable)].material)
        # The hottest column gives the smallest size, which no terminal's marking undercuts.
        column = int(self.rulebook.number("start-column").number)
        standard = [quantity_of(cell) for cell in self.rulebook.standard_ratings("fuse")]
        limit = quantity_of(self.rulebook.number("next-size-up-limit"))
        for size in self.rulebook.sizes(material):
            try:
                ampacity = quantity_of(self.rulebook.ampacity(material, size, column))
                cell = self.rulebook.small_conductor_cap(material, size)
            except OutsideTable:
                continue
            cap = None if cell is None else quantity_of(cell)
            if reaches(overcurrent.conductor_ceiling(ampacity, standard, limit, cap), rating):
                return size
        return ""

    def _size_of(self, wire: Conductor) -> float:
        area = self._area(size_key(wire.size))
        return area.value if isinstance(area, Quantity) else 0.0

    def _area(self, size: str) -> Known:
        if size not in self._areas:
            try:
                cell = self.rulebook.circular_mils(size)
                self._areas[size] = quantity_of(cell, f"conductor area of {size} AWG")
            except OutsideTable as outside:
                self._areas[size] = Missing(f"a table value: {outside}")
        return self._areas[size]
