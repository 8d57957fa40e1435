"""The one graph that everything is a view of.

Modules form strings; the two legs of a string are conductors; conductors run through segments of raceways,
pass boxes and switches, and end at one inverter input. Schedules, labels, drawings and checks read this graph;
nothing is typed twice.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Literal

from reportgen.design.missing import Missing
from reportgen.design.passing import Passing
from reportgen.design.terminal_net import TerminalNet
from reportgen.project.layout import Array, Circuit, Raceway, RacewaySegment
from reportgen.project.model import Project
from reportgen.working.quantity import Quantity, work
from reportgen.working.unit_system import UnitSystem

POSITIVE, NEGATIVE = "+", "-"
#: Circuits whose number of conductors follows from nothing else.
COUNTED = frozenset({"output", "spare", "abandoned"})
#: Begins the name of a joint between two stretches of a raceway where no enclosure stands.
_AMID = "//"
#: What joins two terminals of a device: a pole when it is closed, a link for good.
Join = Literal["pole", "link"]


@dataclass(frozen=True, slots=True)
class SegmentId:
    """A stretch of raceway, written ``R1/trench``."""

    raceway: str
    segment: str

    def __str__(self) -> str:
        return f"{self.raceway}/{self.segment}"


@dataclass(frozen=True, slots=True)
class Conductor:
    """One wire from end to end.

    Parameters
    ----------
    id : str
        Circuit id with the leg behind it: ``PV-E1+``, ``PV-E1-``, ``EG-1``.
    leg : str
        ``+``, ``-`` or empty (grounds, spares, output conductors).
    carries : bool
        Counts as current-carrying for the adjustment factor; grounds do not, spares and abandoned wires do.
    start, end : str
        Ids of the array, box, switch or input at its ends.
    """

    id: str
    circuit: str
    leg: str
    cable: str
    size: str
    carries: bool
    colour: str
    start: str
    end: str
    through: tuple[SegmentId, ...]


@dataclass(frozen=True, slots=True)
class Balance:
    """Modules of one array: standing against those in strings and spares."""

    array: str
    module: str
    standing: int | None
    in_strings: int
    spares: int

    @property
    def unassigned(self) -> int | None:
        """Modules standing that no string and no spare accounts for; negative where too many are used."""
        return None if self.standing is None else self.standing - self.in_strings - self.spares


@dataclass(frozen=True, slots=True)
class Gap:
    """Part of a circuit's way that is not told.

    Attributes
    ----------
    may_pass : frozenset of SegmentId or None
        Stretches that the circuit may run through without being counted there; None where it may be any.
    carries : bool
        Its conductors count for the adjustment factor.
    """

    circuit: str
    missing: Missing
    carries: bool
    may_pass: frozenset[SegmentId] | None = None


@dataclass(frozen=True)
class Graph:
    """The project as nodes and edges; read-only."""

    project: Project

    @property
    def units(self) -> UnitSystem:
        """Units that the project prints first; no verdict depends on them."""
        return UnitSystem(imperial=self.project.project.units == "imperial")

    @cached_property
    def strings_at_input(self) -> Mapping[str, tuple[str, ...]]:
        """String ids by input address."""
        found: dict[str, list[str]] = defaultdict(list)
        for key, string in self.project.strings.items():
            if string.input is not None:
                found[str(string.input)].append(key)
        return {address: tuple(ids) for address, ids in sorted(found.items())}

    @cached_property
    def conductors(self) -> tuple[Conductor, ...]:
        """Every wire of every circuit, removed ones left out."""
        return tuple(
            wire
            for key, circuit in self.project.circuits.items()
            if circuit.status != "removed"
            for wire in self._wires(key, circuit)
        )

    @cached_property
    def ground_wires(self) -> frozenset[str]:
        """Ids of the wires of every ground."""
        return frozenset(
            wire.id for wire in self.conductors if self.project.circuits[wire.circuit].kind == "ground"
        )

    @cached_property
    def wires_of(self) -> Mapping[str, tuple[Conductor, ...]]:
        """Every wire by its circuit, removed ones left out."""
        found: dict[str, list[Conductor]] = defaultdict(list)
        for wire in self.conductors:
            found[wire.circuit].append(wire)
        return {key: tuple(wires) for key, wires in found.items()}

    @cached_property
    def legs_of(self) -> Mapping[str, tuple[str, ...]]:
        """Ids of the wires with a polarity, by circuit."""
        found = {key: tuple(wire.id for wire in wires if wire.leg) for key, wires in self.wires_of.items()}
        return {circuit: legs for circuit, legs in found.items() if legs}

    @cached_property
    def circuit_of(self) -> Mapping[str, str]:
        """Circuit of each wire with a polarity."""
        return {leg: circuit for circuit, legs in self.legs_of.items() for leg in legs}

    @cached_property
    def in_segment(self) -> Mapping[SegmentId, tuple[Conductor, ...]]:
        """Conductors by segment; every segment of every raceway has an entry, empty ones too."""
        found: dict[SegmentId, list[Conductor]] = {segment: [] for segment in self.segments}
        for wire in self.conductors:
            for segment in wire.through:
                found[segment].append(wire)
        return {segment: tuple(wires) for segment, wires in found.items()}

    @cached_property
    def carrying(self) -> Mapping[SegmentId, int]:
        """Current-carrying conductors by segment, spare and abandoned ones counted."""
        return {key: sum(wire.carries for wire in wires) for key, wires in self.in_segment.items()}

    @cached_property
    def uncounted(self) -> Mapping[SegmentId, str]:
        """Segments that hold a circuit of unstated conductor count, with that circuit: nothing counts there."""
        return {
            segment: key
            for key, circuit in self.project.circuits.items()
            if circuit.kind in COUNTED and circuit.conductors is None and circuit.status != "removed"
            for segment in self.through(circuit)
        }

    @cached_property
    def segments(self) -> Mapping[SegmentId, tuple[Raceway, RacewaySegment]]:
        """Raceway and segment by segment id, in the order of the folder."""
        return {
            SegmentId(raceway_id, segment_id): (raceway, segment)
            for raceway_id, raceway in self.project.raceways.items()
            for segment_id, segment in raceway.segments.items()
        }

    @cached_property
    def runs(self) -> tuple[tuple[SegmentId, ...], ...]:
        """Segments of each raceway between two enclosures, in order."""
        found: list[tuple[SegmentId, ...]] = []
        for raceway_id, raceway in self.project.raceways.items():
            run: list[SegmentId] = []
            for name, segment in raceway.segments.items():
                run.append(SegmentId(raceway_id, name))
                if segment.ends_at is not None:
                    found.append(tuple(run))
                    run = []
            if run:
                found.append(tuple(run))
        return tuple(found)

    def enclosure_before(self, key: SegmentId) -> str:
        """Array, box or device at the start of a segment; empty where none is stated."""
        raceway, _ = self.segments[key]
        names = list(raceway.segments)
        place = names.index(key.segment)
        return str((raceway.segments[names[place - 1]].ends_at if place else raceway.starts_at) or "")

    def enclosure_after(self, key: SegmentId) -> str:
        """Box or device at the end of a segment; empty where none is stated."""
        raceway, segment = self.segments[key]
        last = key.segment == next(reversed(raceway.segments))
        return str(segment.ends_at or (raceway.ends_at if last else None) or "")

    def open_end(self, run: tuple[SegmentId, ...]) -> str:
        """Key that would say where a run starts or ends; empty where both ends are stated."""
        if not self.enclosure_before(run[0]):
            return "starts_at"
        return "" if self.enclosure_after(run[-1]) else "ends_at"

    @cached_property
    def run_of(self) -> Mapping[SegmentId, tuple[SegmentId, ...]]:
        """Run between two enclosures that each segment belongs to."""
        return {key: run for run in self.runs for key in run}

    @cached_property
    def _run_lengths(self) -> Mapping[tuple[SegmentId, ...], Quantity]:
        found = {}
        for run in self.runs:
            lengths = {f"L_{i}": self.segments[item][1].length for i, item in enumerate(run, start=1)}
            found[run] = work("length between enclosures", "m", " + ".join(lengths), **lengths)
        return found

    def between_enclosures(self, key: SegmentId) -> Quantity:
        """Length of the whole run between two enclosures that a segment belongs to [m]."""
        return self._run_lengths[self.run_of[key]]

    @cached_property
    def places(self) -> Mapping[str, Mapping[str, int]]:
        """Place of each segment along its raceway, counted from 0."""
        return {
            key: {name: place for place, name in enumerate(raceway.segments)}
            for key, raceway in self.project.raceways.items()
        }

    @cached_property
    def inside(self) -> str:
        """First thing of the direct-current side that stands on or in a building; empty where nothing is known to."""
        for stretch, (raceway, segment) in self.segments.items():
            if segment.place in {"indoors", "roof"} and raceway.status_of(segment) != "removed":
                return f"stretch {stretch} is {'indoors' if segment.place == 'indoors' else 'on a roof'}"
        for key, array in self.project.arrays.items():
            if array.on_building and array.status != "removed":
                return f"array {key} stands on a building"
        for kinds in (self.project.inverters, self.project.switches, self.project.boxes):
            for kind in kinds.values():
                for unit, installed in kind.units.items():
                    if installed.inside and installed.status != "removed":
                        return f"{unit} stands inside a building"
        return ""

    @cached_property
    def removed(self) -> frozenset[str]:
        """Inverters, switches and boxes that are said to be removed."""
        return frozenset(unit for unit, data in self.project.installed() if data.status == "removed")

    @cached_property
    def balances(self) -> tuple[Balance, ...]:
        """Module balance of every array."""
        used: dict[str, int] = defaultdict(int)
        for string in self.project.strings.values():
            for part in self.project.parts_of(string):
                used[str(part.array)] += part.count
        return tuple(
            Balance(key, str(array.module), standing(array), used[key], array.spares or 0)
            for key, array in self.project.arrays.items()
            if array.status != "removed"
        )

    @cached_property
    def places_of(self) -> Mapping[str, tuple[tuple[str, str], ...]]:
        """Units and terminals that the landing names for each wire, in its order."""
        found: dict[str, list[tuple[str, str]]] = defaultdict(list)
        for unit, wires in self.project.landing.items():
            for terminal, wire in wires.items():
                found[str(wire)].append((str(unit), str(terminal)))
        return {wire: tuple(places) for wire, places in found.items()}

    def landed(self, unit: str) -> dict[str, str]:
        """What the landing puts on each terminal of a unit; empty where it does not name the unit."""
        return {str(terminal): str(end) for terminal, end in self.project.landing.get(unit, {}).items()}

    def poles(self, unit: str) -> list[tuple[str, str]]:
        """Pairs of terminals that closing a switch joins; none of any other unit."""
        switch = self.project.switch_of(unit)
        return [(str(one), str(other)) for one, other in switch[1].joined] if switch else []

    def links(self, unit: str) -> list[tuple[str, str]]:
        """Pairs of terminals of a unit that a link joins for good."""
        return [(str(one), str(other)) for one, other in self.project.jumpers.get(unit, [])]

    def joins(self, unit: str) -> Mapping[str, list[tuple[str, Join]]]:
        """Terminals next to each terminal of a unit with every pole closed, and what joins them."""
        found: dict[str, list[tuple[str, Join]]] = defaultdict(list)
        kinds: tuple[tuple[list[tuple[str, str]], Join], ...] = (
            (self.poles(unit), "pole"),
            (self.links(unit), "link"),
        )
        for pairs, kind in kinds:
            for one, other in pairs:
                found[one].append((other, kind))
                found[other].append((one, kind))
        return found

    @cached_property
    def net(self) -> TerminalNet:
        """Terminals of all devices and what joins them."""
        return TerminalNet(self)

    @cached_property
    def passing(self) -> Passing:
        """Boxes and switches on the way of each circuit, and those that it only passes."""
        return Passing(self)

    def onward(self, end: str) -> tuple[str, str] | None:
        """Unit and terminal of a switch or box that the landing names as the far end of a wire; None of all other names."""
        unit, stroke, terminal = end.partition("/")
        if not stroke or (self.project.switch_of(unit) is None and self.project.box_of(unit) is None):
            return None
        return unit, terminal

    def through(self, circuit: Circuit) -> tuple[SegmentId, ...]:
        """Segments along a circuit's path, in order."""
        return tuple(SegmentId(raceway, key) for raceway, key, _ in self.project.hops_of(circuit))

    @cached_property
    def gaps(self) -> Mapping[str, tuple[Gap, ...]]:
        """Circuits whose way is not told from end to end: no path at all, a jump, or an end amid a raceway."""
        known: dict[tuple[SegmentId, ...], tuple[tuple[str, frozenset[SegmentId] | None], ...]] = {}
        found: dict[str, tuple[Gap, ...]] = {}
        for key, circuit in self.project.circuits.items():
            if circuit.status == "removed":
                continue
            through = self.through(circuit)
            if through not in known:
                known[through] = tuple(self._breaks(through))
            place = circuit.where("path") if through else circuit.span
            made = tuple(
                Gap(key, Missing(told.format(key), place), circuit.kind != "ground", may_pass)
                for told, may_pass in known[through]
            )
            if made:
                found[key] = made
        return found

    def _breaks(self, through: tuple[SegmentId, ...]) -> Iterator[tuple[str, frozenset[SegmentId] | None]]:
        """What is not told of a path, with the stretches that may lie there."""
        if not through:
            yield "path of circuit {}", None
            return
        ends = [self._joints(hop) for hop in through]
        met: list[set[str]] = []
        for (before, one), (after, two) in pairwise(zip(through, ends, strict=True)):
            shared = set(one) & set(two)
            met.append(shared)
            if not shared:
                told = f"how {{}} gets from {before} to {after}: the stretch or box between them"
                yield told, self._between(through, before, after)
        # The outer ends of the first and the last stretch, where nothing but the raceway itself goes on.
        first = set(ends[0]) - (met[0] if met else set())
        last = set(ends[-1]) - (met[-1] if met else set())
        for hop, outer in {through[0]: first, through[-1]: last}.items():
            if any(joint.startswith(_AMID) for joint in outer):
                told = f"where {{}} leaves {hop.raceway}: its path ends at {hop}, where there is no box"
                yield told, frozenset(self.run_of[hop]) - set(through)

    def _joints(self, key: SegmentId) -> tuple[str, ...]:
        """What stands at both ends of a stretch; a joint amid a raceway has a name that no id can have."""
        place = self.places[key.raceway][key.segment]
        last = len(self.places[key.raceway]) - 1
        before = self.enclosure_before(key) or (f"{_AMID}{key.raceway}/{place}" if place else "")
        after = self.enclosure_after(key) or (f"{_AMID}{key.raceway}/{place + 1}" if place < last else "")
        return tuple(joint for joint in (before, after) if joint)

    def _between(
        self, through: tuple[SegmentId, ...], before: SegmentId, after: SegmentId
    ) -> frozenset[SegmentId] | None:
        if before.raceway != after.raceway:
            return frozenset(self.segments) - set(through)
        names = list(self.places[before.raceway])
        one, two = sorted((names.index(before.segment), names.index(after.segment)))
        return frozenset(SegmentId(before.raceway, name) for name in names[one + 1 : two])

    def _wires(self, key: str, circuit: Circuit) -> list[Conductor]:
        through = self.through(circuit)
        start, end = self._ends(circuit)
        legs = (POSITIVE, NEGATIVE) if circuit.kind == "string" else ("",)
        colours = {POSITIVE: circuit.positive_colour, NEGATIVE: circuit.negative_colour}
        many = int(circuit.parallel or 1) if circuit.kind == "string" else int(circuit.conductors or 1)
        wires = []
        for leg in legs:
            for number in range(1, many + 1):
                suffix = f".{number}" if many > 1 else ""
                wires.append(
                    Conductor(
                        id=f"{key}{leg}{suffix}",
                        circuit=key,
                        leg=leg,
                        cable=str(circuit.cable),
                        size=str(circuit.size),
                        carries=circuit.kind != "ground",
                        colour=str(colours.get(leg) or circuit.colour or ""),
                        start=start,
                        end=end,
                        through=through,
                    )
                )
        return wires

    def _ends(self, circuit: Circuit) -> tuple[str, str]:
        string = self.project.strings.get(str(circuit.string)) if circuit.string else None
        if string is None:
            through = self.through(circuit)
            if not through:
                return "", str(circuit.inverter or "")
            return self.enclosure_before(through[0]), self.enclosure_after(through[-1]) or str(
                circuit.inverter or ""
            )
        arrays = [str(part.array) for part in self.project.parts_of(string)]
        return (arrays[0] if arrays else ""), str(string.input or "")


def standing(array: Array) -> int | None:
    """Modules that stand in an array; None where neither a count nor rows and columns are given."""
    if array.count is not None:
        return int(array.count)
    if array.rows is not None and array.columns is not None:
        return int(array.rows) * int(array.columns)
    return None
