"""Results of every string circuit: ampacity at its terminals and in each stretch, length, drop, insulation."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import partial

from reportgen.design.graph import Graph, SegmentId
from reportgen.design.missing import Known, Missing, derive, first_missing, known
from reportgen.design.policies import Policies
from reportgen.design.results import CircuitDesign, SegmentAmpacity, StringDesign
from reportgen.engineering import ampacity, voltage_drop
from reportgen.engineering.candidates import reaches
from reportgen.project.equipment import Cable, Terminals
from reportgen.project.layout import Circuit, RacewaySegment
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Assumed, Quantity, work

#: Surroundings whose raceways are wet inside.
WET_PLACES = frozenset({"underground", "outdoors", "roof"})


def size_key(size: str) -> str:
    """Size as the tables write it: ``10 AWG`` is ``10``, ``250 kcmil`` is ``250``."""
    return size.removesuffix("AWG").removesuffix("kcmil").strip()


def design_circuits(
    graph: Graph, rulebook: Rulebook, policies: Policies, strings: Mapping[str, StringDesign]
) -> tuple[CircuitDesign, ...]:
    """Results of every string circuit, in the order of the folder."""
    return tuple(
        _CircuitDesigner(graph, rulebook, policies, key, circuit, strings[str(circuit.string)]).design()
        for key, circuit in graph.project.circuits.items()
        if circuit.kind == "string" and circuit.string is not None and circuit.status != "removed"
    )


def by_string(circuits: Sequence[CircuitDesign]) -> dict[str, list[CircuitDesign]]:
    """Circuits of each string, in their order; most strings have one."""
    found: dict[str, list[CircuitDesign]] = defaultdict(list)
    for circuit in circuits:
        found[circuit.string.id].append(circuit)
    return found


def is_nipple(graph: Graph, rulebook: Rulebook, key: SegmentId) -> bool:
    """Whether a stretch is a nipple: the whole raceway between two enclosures short, not one piece of a long one."""
    most = quantity_of(rulebook.number("nipple-length"))
    if graph.open_end(graph.run_of[key]):
        return False
    return reaches(most, graph.between_enclosures(key))


def _column(rulebook: Rulebook, terminal_c: float) -> int:
    """Hottest ampacity column that a terminal's marking allows: never above the marking [°C]."""
    keys = ("termination-unmarked-small", "termination-marked", "start-column")
    columns = [int(rulebook.number(key).number) for key in keys]
    allowed = [column for column in columns if column <= terminal_c]
    if not allowed:
        raise OutsideTable("termination columns", f"{terminal_c:g} °C", f"{columns[0]} °C and above")
    return max(allowed)


def segment_ambient(graph: Graph, segment: RacewaySegment) -> Known:
    """Hottest ambient of a stretch: as stated for it, else the site's value for its surroundings [°C]."""
    if segment.ambient is not None:
        return segment.ambient
    site = graph.project.site
    if segment.place == "underground":
        air = known(
            site.ground_temperature, "ambient of the segment, or site ground_temperature", segment.span
        )
        told = "the site's ground temperature"
    else:
        air = known(site.design_high, "ambient of the segment, or site design_high", segment.span)
        told = "the site's design high, with nothing added for sun or heat inside"
    nothing_added = Quantity(
        0.0,
        "K",
        Assumed(
            f"ambient of stretches {segment.place}",
            f"stretches without an ambient of their own are taken at {told}",
            "common practice, no source",
        ),
    )
    return derive(lambda one: work("ambient", "degC", "T_site + ΔT", T_site=one, ΔT=nothing_added), air)


def conductor_length(graph: Graph, key: str, circuit: Circuit) -> Known:
    """Length of one conductor from end to end: tails, every stretch, and what lies in boxes [m]."""
    if not circuit.path:
        return Missing(f"path of circuit {key}", circuit.span)
    if circuit.tails is None:
        return Missing(f"tails of circuit {key}", circuit.span)
    pieces = [("start", circuit.tails.start.named("tail at the start"))]
    for raceway, name, segment in graph.project.hops_of(circuit):
        pieces.append((f"{raceway}/{name}", segment.length.named(f"{raceway}/{name}")))
    if circuit.extra is not None:
        pieces.append(("extra", circuit.extra.named("extra in boxes")))
    pieces.append(("end", circuit.tails.end.named("tail at the end")))
    return voltage_drop.total_length(pieces)


class _CircuitDesigner:
    """Works out one circuit; a class only because every step shares the same inputs."""

    def __init__(
        self,
        graph: Graph,
        rulebook: Rulebook,
        policies: Policies,
        key: str,
        circuit: Circuit,
        string: StringDesign,
    ) -> None:
        self.graph, self.rulebook, self.policies = graph, rulebook, policies
        self.key, self.circuit, self.string = key, circuit, string
        self.project = graph.project
        self.cable: Cable = self.project.cables[str(circuit.cable)]
        self.size = size_key(str(circuit.size))
        self.hops = [
            (SegmentId(raceway, name), segment) for raceway, name, segment in self.project.hops_of(circuit)
        ]

    def design(self) -> CircuitDesign:
        wet = tuple(name for name, segment in self.hops if segment.place in WET_PLACES)
        marking, rating = self._insulation(bool(wet))
        column, terminal = self._terminal(rating)
        stretches = tuple(self._stretch(name, segment, rating) for name, segment in self.hops)
        length = conductor_length(self.graph, self.key, self.circuit)
        per_length = self._resistance_per_length()
        in_feet = derive(lambda one: one.to("ft"), length)
        loop = derive(partial(voltage_drop.loop_resistance, parallel=self._parallel()), in_feet, per_length)
        drop = derive(voltage_drop.drop, loop, self.string.operating)
        return CircuitDesign(
            id=self.key,
            circuit=self.circuit,
            string=self.string,
            material=str(self.cable.material),
            insulation=" ".join(str(item) for item in self.cable.markings),
            terminal_column=column,
            terminal=terminal,
            stretches=stretches,
            governing=_governing(stretches),
            length=length,
            resistance_per_length=per_length,
            resistance=loop,
            drop=drop,
            drop_share=derive(voltage_drop.drop_share, drop, self.string.stc_operating),
            loss=derive(voltage_drop.power_loss, loop, self.string.operating),
            longest=self._longest(per_length, self.policies.drop_target),
            insulation_voltage=known(
                self.cable.voltage, f"voltage of cable {self.circuit.cable}", self.cable.span
            ),
            wet_segments=wet,
            wet_marking=marking if wet else None,
        )

    def _insulation(self, wet: bool) -> tuple[str | Missing, Known]:
        """Marking that serves, and its temperature rating: the best of those printed on the jacket [°C]."""
        best: tuple[str | Missing, Known] | None = None
        for marking in map(str, self.cable.markings):
            try:
                insulation = self.rulebook.insulation(marking)
            except OutsideTable:
                continue
            cell = insulation.wet if wet else insulation.dry
            if cell is None:
                continue
            rating = quantity_of(cell, f"temperature rating of {marking}, {'wet' if wet else 'dry'}")
            if best is None or isinstance(best[1], Missing) or rating.value > best[1].value:
                best = (marking, rating)
        if best is not None:
            return best
        what = "a marking that is rated for wet locations" if wet else "a marking that the tables know"
        missing = Missing(f"{what} on cable {self.circuit.cable}", self.cable.span)
        return missing, missing

    def _terminals(self) -> list[tuple[str, Terminals | None]]:
        found: list[tuple[str, Terminals | None]] = []
        for unit in map(str, self.circuit.enclosures):
            if switch := self.project.switch_of(unit):
                found.append((unit, switch[1].terminals))
            elif (box := self.project.box_of(unit)) and box[1].splices is not False:
                found.append((unit, box[1].terminals))
        if inverter := self.project.input_of(self.string.input):
            found.append((inverter[0], inverter[1].terminals))
        return found

    def _terminal(self, rating: Known) -> tuple[Known, Known]:
        """Temperature column of the terminals, and the ampacity in it.

        The lowest terminal decides, and the insulation where it is worth less than the terminals: no column is
        taken that the conductor itself is not made for.
        """
        lowest: Quantity | None = None
        for unit, terminals in self._terminals():
            stated = terminals.temperature if terminals else None
            column = stated or Quantity(
                self.rulebook.number("termination-unmarked-small").number,
                "degC",
                Assumed(
                    f"terminals of {unit}",
                    "terminals without a stated temperature marking take the lowest column",
                    "the code's rule for unmarked terminals",
                ),
                f"terminal temperature at {unit}",
            )
            if lowest is None or column.value < lowest.value:
                lowest = column
        if lowest is None:
            missing = Missing(
                f"the terminals of circuit {self.key}: no inverter input and no device", self.circuit.span
            )
            return missing, missing
        if isinstance(rating, Missing):
            return lowest, rating
        if rating.value < lowest.value:
            lowest = rating
        try:
            cell = self.rulebook.ampacity(
                str(self.cable.material), self.size, _column(self.rulebook, lowest.value)
            )
        except OutsideTable as outside:
            return lowest, Missing(f"a table value: {outside}", self.circuit.where("size"))
        return lowest, ampacity.terminal_ampacity(quantity_of(cell, "table ampacity"), self._parallel())

    def _parallel(self) -> Quantity:
        return (
            self.circuit.parallel.quantity("conductors in parallel")
            if self.circuit.parallel
            else Quantity(1.0)
        )

    def _stretch(self, name: SegmentId, segment: RacewaySegment, rating: Known) -> SegmentAmpacity:
        wires = self.graph.in_segment[name]
        carrying = Quantity(
            float(sum(wire.carries for wire in wires)), "", None, "current-carrying conductors"
        )
        ambient = self._ambient(segment)
        missing = first_missing(rating, ambient)
        if missing is not None:
            return SegmentAmpacity(name, ambient, carrying, rating, missing, missing, missing, missing)
        assert isinstance(rating, Quantity) and isinstance(ambient, Quantity)
        try:
            table = quantity_of(
                self.rulebook.ampacity(str(self.cable.material), self.size, int(rating.value)),
                "table ampacity",
            )
            factor = quantity_of(
                self.rulebook.ambient_factor(int(rating.value), ambient.value), "ambient factor"
            )
            count = self._count_factor(name, int(carrying.value))
        except OutsideTable as outside:
            beyond = Missing(f"a table value: {outside}", segment.span)
            return SegmentAmpacity(name, ambient, carrying, rating, beyond, beyond, beyond, beyond)
        result = ampacity.corrected_ampacity(table, factor, count, self._parallel())
        return SegmentAmpacity(name, ambient, carrying, rating, table, factor, count, result)

    def _count_factor(self, name: SegmentId, carrying: int) -> Quantity:
        if is_nipple(self.graph, self.rulebook, name):
            return quantity_of(self.rulebook.count_factor(1), "count factor, nipple")
        return quantity_of(self.rulebook.count_factor(carrying), "count factor")

    def _ambient(self, segment: RacewaySegment) -> Known:
        ambient = segment_ambient(self.graph, segment)
        if isinstance(ambient, Missing) or segment.place != "roof" or segment.sun is False:
            return ambient
        if segment.height_above_roof is None:
            return Missing("height_above_roof of the segment", segment.span)
        adder = self.rulebook.roof_adder(segment.height_above_roof.to("in").value)
        exempt = any(self.rulebook.exempt_from_roof_adder(str(item)) for item in self.cable.markings)
        return ambient if exempt else ampacity.ambient_with_adder(ambient, quantity_of(adder, "roof adder"))

    def _resistance_per_length(self) -> Known:
        stranded = self.cable.stranding != "solid"
        try:
            cell = self.rulebook.resistance(
                str(self.cable.material), self.size, stranded=stranded, coated=bool(self.cable.tinned)
            )
        except OutsideTable as outside:
            return Missing(f"a table value: {outside}", self.circuit.where("size"))
        return quantity_of(cell, "resistance at 75 °C")

    def _longest(self, per_length: Known, target: Quantity) -> Known:
        """Length of one leg at which the drop reaches the user's target [ft]."""
        voltage, current = self.string.stc_operating, self.string.operating
        return derive(partial(voltage_drop.longest_run, target), voltage, per_length, current)


def _governing(stretches: Sequence[SegmentAmpacity]) -> SegmentAmpacity | None:
    """Stretch with the least ampacity; None where any of them is unknown, for then none can be named."""
    if not stretches or any(isinstance(item.ampacity, Missing) for item in stretches):
        return None
    return min(
        stretches, key=lambda item: item.ampacity.value if isinstance(item.ampacity, Quantity) else 0.0
    )
