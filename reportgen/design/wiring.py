"""What the conductors of a circuit may carry: at each of its terminals, and in each stretch of raceway.

The same for the legs of a string and for an output circuit; what differs is the current, which comes from elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from reportgen.design.graph import Graph, SegmentId
from reportgen.design.missing import Known, Missing, derive, first_missing, known
from reportgen.design.results import SegmentAmpacity, TerminalDesign
from reportgen.engineering import ampacity, overcurrent, voltage_drop
from reportgen.engineering.candidates import reaches
from reportgen.project.equipment import Cable, Terminals
from reportgen.project.layout import Circuit, RacewaySegment
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.rulebook.sizes import compare_sizes
from reportgen.working.quantity import Assumed, Quantity, work

#: Surroundings whose raceways are wet inside.
WET_PLACES = frozenset({"underground", "outdoors", "roof"})


def size_key(size: str) -> str:
    """Size as the tables write it: ``10 AWG`` is ``10``, ``250 kcmil`` is ``250``."""
    return size.removesuffix("AWG").removesuffix("kcmil").strip()


def is_nipple(graph: Graph, rulebook: Rulebook, key: SegmentId) -> bool:
    """Whether a stretch is a nipple: the whole raceway between two enclosures short, not one piece of a long one."""
    most = quantity_of(rulebook.number("nipple-length"))
    if graph.open_end(graph.run_of[key]):
        return False
    return reaches(most, graph.between_enclosures(key))


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


#: What a wire has inside switches where nobody states it: no cut length rests on it.
_NOTHING_INSIDE = Quantity(
    0.0,
    "m",
    Assumed(
        "in_devices of circuits",
        "wire inside a switch that it lands on counts nothing towards drop and energy where `in_devices` does not state it: "
        "the tails are taken to hold it",
        "our own choice",
    ),
    "inside switches",
)


def _switches_landed(graph: Graph, key: str, circuit: Circuit) -> Iterator[str]:
    """Switches that a string circuit names or lands on."""
    if circuit.kind == "string":
        for unit in dict.fromkeys([*map(str, circuit.enclosures), *graph.passing.lands_on.get(key, ())]):
            if unit in graph.passing.switches:
                yield unit


def conductor_length(graph: Graph, key: str, circuit: Circuit) -> Known:
    """Length of one conductor from end to end, all its pieces: tails, every stretch, what lies in boxes and devices [m]."""
    if not circuit.path:
        return Missing(f"path of circuit {key}", circuit.span)
    for gap in graph.gaps.get(key, ()):
        return gap.missing
    if circuit.tails is None:
        return Missing(f"tails of circuit {key}", circuit.span)
    pieces = [("start", circuit.tails.start.named("tail at the start"))]
    for raceway, name, segment in graph.project.hops_of(circuit):
        pieces.append((f"{raceway}/{name}", segment.length.named(f"{raceway}/{name}")))
    if circuit.extra is not None:
        pieces.append(("extra", circuit.extra.named("extra in boxes")))
    pieces += [
        (f"{inside.device}, {word}", length.named(f"inside {inside.device}, {word}"))
        for inside in circuit.in_devices
        for word, length in (("in", inside.arrives), ("out", inside.leaves))
    ]
    stated = {str(inside.device) for inside in circuit.in_devices}
    if any(unit not in stated for unit in _switches_landed(graph, key, circuit)):
        pieces.append(("inside", _NOTHING_INSIDE))
    pieces.append(("end", circuit.tails.end.named("tail at the end")))
    return voltage_drop.total_length(pieces)


@dataclass(frozen=True)
class Wiring:
    """Ampacities of a project by an edition; what two circuits share is worked out once."""

    graph: Graph
    rulebook: Rulebook
    _stretches: dict[tuple[object, ...], SegmentAmpacity] = field(default_factory=dict, repr=False)

    def cable(self, circuit: Circuit) -> Cable:
        """Make of wire of a circuit."""
        return self.graph.project.cables[str(circuit.cable)]

    def hops(self, circuit: Circuit) -> tuple[tuple[SegmentId, RacewaySegment], ...]:
        """Stretches on a circuit's way, in order."""
        return tuple(
            (SegmentId(raceway, name), segment)
            for raceway, name, segment in self.graph.project.hops_of(circuit)
        )

    def insulation(self, circuit: Circuit, *, wet: bool) -> tuple[str | Missing, Known]:
        """Marking that serves, and its temperature rating: the best of those printed on the jacket [°C].

        Where any stretch is wet, the wet rating holds for all of the circuit.
        """
        cable = self.cable(circuit)
        best: tuple[str | Missing, Known] | None = None
        for marking in map(str, cable.markings):
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
        missing = Missing(f"{what} on cable {circuit.cable}", cable.span)
        return missing, missing

    def terminals(
        self,
        key: str,
        circuit: Circuit,
        ends: Sequence[tuple[str, Terminals | None]],
        rating: Known,
        current: Known,
    ) -> tuple[TerminalDesign, ...]:
        """Ampacity at every terminal of a circuit, in the column that its marking and the insulation allow.

        Parameters
        ----------
        ends : sequence of (str, Terminals or None)
            Devices that the circuit ends at, beside the boxes and switches it passes.
        rating : Quantity or Missing
            Temperature rating of the insulation. [°C]
        current : Quantity or Missing
            Current for continuous duty, which decides the column where no marking is stated. [A]
        """
        rows = [*self._start(key, circuit), *self._passed(key), *ends]
        return tuple(self._terminal(circuit, unit, stated, rating, current) for unit, stated in rows)

    def _start(self, key: str, circuit: Circuit) -> Iterator[tuple[str, Terminals | None]]:
        """The end that is no device of the folder, unless the first box takes it."""
        through = self.graph.through(circuit)
        first = next(iter(self.graph.passing.met(key)), "")
        box = self.graph.project.box_of(first)
        in_box = box is not None and box[1].terminals is not None
        if circuit.joint is None and in_box and through and self.graph.enclosure_before(through[0]) == first:
            return
        yield f"the joint of {key}", circuit.joint

    def _passed(self, key: str) -> Iterator[tuple[str, Terminals | None]]:
        for unit in self.graph.passing.met(key):
            if switch := self.graph.project.switch_of(unit):
                yield unit, switch[1].terminals
            elif (box := self.graph.project.box_of(unit)) and box[1].splices is not False:
                yield unit, box[1].terminals

    def _terminal(
        self, circuit: Circuit, unit: str, stated: Terminals | None, rating: Known, current: Known
    ) -> TerminalDesign:
        marked = stated.temperature if stated else None
        column = (
            marked.named(f"terminal temperature at {unit}")
            if marked
            else self._unmarked(circuit, unit, current)
        )
        if isinstance(rating, Quantity) and rating.value < column.value:
            # No column is taken that the conductor itself is not made for.
            column = rating
        return TerminalDesign(
            unit, column, self._in_column(circuit, rating, column), stated.aluminum if stated else None
        )

    def _in_column(self, circuit: Circuit, rating: Known, column: Quantity) -> Known:
        if isinstance(rating, Missing):
            return rating
        try:
            cell = self.rulebook.ampacity(
                str(self.cable(circuit).material), size_key(str(circuit.size)), self._column(column.value)
            )
        except OutsideTable as outside:
            return Missing(f"a table value: {outside}", circuit.where("size"))
        return ampacity.terminal_ampacity(quantity_of(cell, "table ampacity"), self.parallel(circuit))

    def _unmarked(self, circuit: Circuit, unit: str, current: Known) -> Quantity:
        """Column of terminals whose marking nobody states: the higher one for large circuits alone [°C]."""
        amperes = self.rulebook.number("termination-small-current").number
        largest = self.rulebook.number("termination-small-size").value
        small = not isinstance(current, Quantity) or current.value <= amperes
        try:
            small = small and compare_sizes(size_key(str(circuit.size)), largest) <= 0
        except ValueError:
            small = True
        cell = self.rulebook.number("termination-unmarked-small" if small else "termination-large")
        return Quantity(
            cell.number,
            "degC",
            Assumed(
                f"terminals of {unit}",
                "terminals without a stated temperature marking take the column of their current and size, here"
                f" {'the lowest' if small else 'that of large circuits'}",
                "the code's rule for unmarked terminals",
            ),
            f"terminal temperature at {unit}",
        )

    def _column(self, terminal_c: float) -> int:
        """Hottest ampacity column that a terminal's marking allows: never above the marking [°C]."""
        keys = ("termination-unmarked-small", "termination-marked", "start-column")
        columns = [int(self.rulebook.number(key).number) for key in keys]
        allowed = [column for column in columns if column <= terminal_c]
        if not allowed:
            raise OutsideTable("termination columns", f"{terminal_c:g} °C", f"{columns[0]} °C and above")
        return max(allowed)

    def parallel(self, circuit: Circuit) -> Quantity:
        """Conductors in parallel a leg [-]."""
        if circuit.parallel is None:
            return Quantity(1.0)
        return circuit.parallel.quantity("conductors in parallel")

    def stretches(self, circuit: Circuit, rating: Known) -> tuple[SegmentAmpacity, ...]:
        """Ampacity in every stretch on a circuit's way, in order."""
        worth = rating.value if isinstance(rating, Quantity) else rating
        several = (circuit.parallel, circuit.span) if circuit.parallel else None
        shared = (str(circuit.cable), size_key(str(circuit.size)), worth, several)
        found = []
        for name, segment in self.hops(circuit):
            key = (name, *shared)
            if key not in self._stretches:
                self._stretches[key] = self._stretch(circuit, name, segment, rating)
            found.append(self._stretches[key])
        return tuple(found)

    def _stretch(
        self, circuit: Circuit, name: SegmentId, segment: RacewaySegment, rating: Known
    ) -> SegmentAmpacity:
        carrying = Quantity(float(self.graph.carrying[name]), "", None, "current-carrying conductors")
        cable = self.cable(circuit)
        ambient = self._ambient(cable, segment)
        counted = self._counted(name)
        missing = first_missing(rating, ambient, counted)
        if missing is not None:
            return SegmentAmpacity(name, ambient, carrying, rating, missing, missing, missing, missing)
        assert isinstance(rating, Quantity) and isinstance(ambient, Quantity)
        size, column = size_key(str(circuit.size)), int(rating.value)
        try:
            table = quantity_of(self.rulebook.ampacity(str(cable.material), size, column), "table ampacity")
            factor = quantity_of(self.rulebook.ambient_factor(column, ambient.value), "ambient factor")
            count = self._count_factor(name, int(carrying.value))
        except OutsideTable as outside:
            beyond = Missing(f"a table value: {outside}", segment.span)
            return SegmentAmpacity(name, ambient, carrying, rating, beyond, beyond, beyond, beyond)
        result = ampacity.corrected_ampacity(table, factor, count, self.parallel(circuit))
        return SegmentAmpacity(name, ambient, carrying, rating, table, factor, count, result)

    def _counted(self, name: SegmentId) -> Missing | None:
        """What keeps the conductors of a stretch from being counted."""
        circuit = self.graph.uncounted.get(name)
        if circuit is None:
            return None
        return Missing(f"conductors of circuit {circuit}", self.graph.project.circuits[circuit].span)

    def _count_factor(self, name: SegmentId, carrying: int) -> Quantity:
        if is_nipple(self.graph, self.rulebook, name):
            return quantity_of(self.rulebook.count_factor(1), "count factor, nipple")
        return quantity_of(self.rulebook.count_factor(carrying), "count factor")

    def _ambient(self, cable: Cable, segment: RacewaySegment) -> Known:
        ambient = segment_ambient(self.graph, segment)
        if isinstance(ambient, Missing) or segment.place != "roof" or segment.sun is False:
            return ambient
        if segment.height_above_roof is None:
            return Missing("height_above_roof of the segment", segment.span)
        adder = self.rulebook.roof_adder(segment.height_above_roof.to("in").value)
        exempt = any(self.rulebook.exempt_from_roof_adder(str(item)) for item in cable.markings)
        return ambient if exempt else ampacity.ambient_with_adder(ambient, quantity_of(adder, "roof adder"))

    def governing(
        self, circuit: Circuit, stretches: Sequence[SegmentAmpacity], length: Known
    ) -> tuple[SegmentAmpacity | None, ampacity.ShortStretches | None]:
        """Stretch whose ampacity counts, and what the exception for short stretches sets aside.

        None where the ampacity of any stretch is unknown, for then none can be named. Only stretches that claim the
        exception are set aside, and all that is lower than the governing one counts together. It has to hold for every
        length within the tolerance of the measure.
        """
        amounts = {item.segment: item.ampacity for item in stretches if isinstance(item.ampacity, Quantity)}
        if not stretches or len(amounts) < len({item.segment for item in stretches}):
            return None, None
        least = min(stretches, key=lambda item: amounts[item.segment].value)
        segments = dict(self.hops(circuit))
        claimed = {name for name, segment in segments.items() if segment.short_segment_claimed}
        if least.segment not in claimed or isinstance(length, Missing):
            return least, None
        # What does not claim the exception bounds what may govern.
        bound = min((amounts[name].value for name in segments if name not in claimed), default=None)
        rows = [
            ampacity.Stretch(str(name), self._at_most(name, segment), amounts[name])
            for name, segment in segments.items()
            if bound is None or amounts[name].value <= bound
        ]
        result = ampacity.without_short_stretches(
            rows,
            self._at_least(circuit, length).to("ft"),
            quantity_of(self.rulebook.number("short-segment-length"), "greatest length"),
            quantity_of(self.rulebook.number("short-segment-share"), "greatest share"),
        )
        if not result.set_aside:
            return least, None
        return next(item for item in stretches if str(item.segment) == result.governing.name), result

    def _tolerance(self, raceway: str) -> Quantity | None:
        return self.graph.project.raceways[raceway].length_tolerance

    def _at_most(self, name: SegmentId, segment: RacewaySegment) -> Quantity:
        """Length of a stretch, the tolerance of its measure added [m]."""
        tolerance = self._tolerance(name.raceway)
        if tolerance is None:
            return segment.length
        return work("longest that it may be", "m", "L * (1 + t / 100)", L=segment.length, t=tolerance)

    def _at_least(self, circuit: Circuit, length: Quantity) -> Quantity:
        """Length of a circuit, the tolerances of its measure taken off [m]."""
        errors = {
            f"e_{index}": work("may be off by", "m", "L * t / 100", L=segment.length, t=tolerance)
            for index, (name, segment) in enumerate(self.hops(circuit), start=1)
            if (tolerance := self._tolerance(name.raceway)) is not None
        }
        if not errors:
            return length
        return work("shortest that it may be", "m", f"L - {' - '.join(errors)}", L=length, **errors)

    def ceiling(self, circuit: Circuit, terminal: Known, governing: SegmentAmpacity | None) -> Known:
        """Largest device that protects a circuit's conductors, by the lower of terminal and stretch [A]."""
        if governing is None:
            return Missing("the ampacity in every stretch", circuit.span)
        material, size = str(self.cable(circuit).material), size_key(str(circuit.size))
        try:
            cap = self.rulebook.small_conductor_cap(material, size)
        except OutsideTable as outside:
            return Missing(f"a table value: {outside}", circuit.where("size"))
        if cap is not None and self.rulebook.small_conductor_condition(material, size):
            return Missing(
                f"a device whose cap for {circuit.size} holds without conditions", circuit.where("size")
            )
        standard = [quantity_of(rating) for rating in self.rulebook.standard_ratings()]
        limit = quantity_of(self.rulebook.number("next-size-up-limit"), "greatest rating rounded up to")

        def largest(at_terminal: Quantity, in_use: Quantity) -> Quantity:
            least = work(
                "ampacity to protect", "A", "min(I_terminal, I_z)", I_terminal=at_terminal, I_z=in_use
            )
            caps = None if cap is None else quantity_of(cap, "cap for small conductors")
            return overcurrent.conductor_ceiling(least, standard, limit, caps)

        return derive(largest, terminal, governing.ampacity)


def smallest_parallel(rulebook: Rulebook) -> str:
    """Smallest conductor that may run in parallel with another of its leg, as the tables write sizes."""
    return rulebook.ruling("parallel-smallest-size").answer


def service_wire_indoors(rulebook: Rulebook) -> str:
    """What the edition says of service-entrance wire without a second marking inside a building."""
    return rulebook.ruling("use-2-indoors").answer


def lowest(terminals: Sequence[TerminalDesign]) -> TerminalDesign | None:
    """Terminals that govern: those of the lowest column, which gives the least ampacity."""
    return min(terminals, key=lambda item: item.column.value, default=None)


def no_cooler(wire: Quantity, stretches: Sequence[SegmentAmpacity], called: str) -> Quantity:
    """Temperature of a wire, or the hottest ambient that it passes where that is above it [°C]."""
    ambients = (item.ambient for item in stretches if isinstance(item.ambient, Quantity))
    hottest = max(ambients, key=lambda one: one.value, default=wire)
    return hottest.named(called) if hottest.value > wire.value else wire


def settled_temperature(circuit: Circuit, stretches: Sequence[SegmentAmpacity], current: Known) -> Known:
    """Temperature that a conductor settles at in its warmest stretch, or the one stated for it [°C]."""
    if circuit.conductor_temperature is not None:
        stated = circuit.conductor_temperature.named("stated temperature of the conductor")
        return no_cooler(stated, stretches, "hottest ambient")
    warmest: Known = Missing(f"path of the circuit on {circuit.cable}", circuit.span)
    for item in {id(one): one for one in stretches}.values():
        missing = first_missing(item.ambient, item.rating, item.ampacity, current)
        if missing is not None:
            return missing
        assert isinstance(item.ambient, Quantity) and isinstance(item.rating, Quantity)
        if item.ambient.value >= item.rating.value:
            return Missing(f"an ambient below the rating of the insulation in {item.segment}", circuit.span)
        here = derive(ampacity.conductor_temperature, item.ambient, item.rating, current, item.ampacity)
        if isinstance(here, Quantity) and (isinstance(warmest, Missing) or here.value > warmest.value):
            warmest = here.named(f"temperature of the conductor in {item.segment}")
    return warmest
