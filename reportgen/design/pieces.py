"""Pieces of every wire: where it is cut, what stands at both ends of each piece, and the stretches that it passes.

A wire that lands on a device is cut there; it passes every other enclosure in one piece. What is cut from a spool, rung
out and labelled is a piece. A ground or spare is taken in one piece unless the landing names it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from reportgen.design.graph import Conductor, Graph, SegmentId
from reportgen.design.landing import Arrival, by_conductor
from reportgen.design.missing import Missing
from reportgen.design.path_ends import passed_ends
from reportgen.project.layout import Circuit

#: What stands at the end of a wire that is joined to the leads of its array in a box.
JOINT = "joint"
#: Boxes that wires go through in one piece unless the folder says otherwise.
_WHOLE = frozenset({"pull box", "conduit body"})
#: Circuits that end on the devices they name; others pass them.
_LANDING = frozenset({"string", "output"})


@dataclass(frozen=True, slots=True)
class PieceEnd:
    """One end of a piece: unit, array or lead of an input, and the terminal where the landing names it."""

    place: str
    terminal: str = ""

    def __str__(self) -> str:
        return "/".join(filter(None, (self.place, self.terminal)))


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of a wire.

    Attributes
    ----------
    id : str
        That of the wire, with both ends behind it where it is cut.
    passed : tuple of str
        Enclosures that it goes through uncut, in order.
    first, last : bool
        It begins where its wire does, and ends there.
    supposed : str
        Device at its start of which nobody says where along the way it stands; empty where that is told.
    up_to : str
        Device at its end that no raceway ends at, so that the tail of the circuit may lead up to it; else empty.
    """

    id: str
    wire: Conductor
    start: PieceEnd
    end: PieceEnd
    through: tuple[SegmentId, ...]
    passed: tuple[str, ...]
    first: bool
    last: bool
    supposed: str = ""
    up_to: str = ""

    @property
    def whole(self) -> bool:
        """The wire is in one piece."""
        return self.first and self.last


@dataclass(frozen=True, slots=True)
class WirePieces:
    """Pieces of one wire in order, what is not told of where it is cut, and the units where it may be."""

    wire: Conductor
    pieces: tuple[Piece, ...]
    missing: tuple[Missing, ...]
    unsure: frozenset[str] = frozenset()

    @property
    def begins_in(self) -> str:
        """Box in which it begins at a joint to the wire of its array, as :func:`begins_in` tells it; else empty."""
        start = self.pieces[0].start
        return start.place if start.terminal == JOINT else ""


@dataclass(frozen=True, slots=True)
class _Stop:
    """An enclosure on the way, behind so many stretches; ``told`` where a raceway of the path ends at it."""

    unit: str
    behind: int
    told: bool


def passage(graph: Graph, key: str, also: Iterable[str] = ()) -> tuple[str, ...]:
    """Boxes and switches of a circuit in the order in which it passes them: those its raceways end at, and those named.

    Parameters
    ----------
    also : iterable of str
        Further units on its way, in order.
    """
    return tuple(stop.unit for stop in _stops(graph, key, also))


def way(graph: Graph, key: str) -> tuple[str, ...]:
    """Everything that a circuit passes, in order: raceways, boxes and switches; a raceway twice where a box cuts it."""
    through = graph.through(graph.project.circuits[key])
    at: dict[int, list[str]] = defaultdict(list)
    for stop in _stops(graph, key):
        at[stop.behind].append(stop.unit)
    told: list[str] = []
    for place in range(len(through) + 1):
        if place and told[-1:] != [through[place - 1].raceway]:
            told.append(through[place - 1].raceway)
        told += at.get(place, ())
    return tuple(told)


def design_pieces(graph: Graph, landed: Sequence[Arrival]) -> tuple[WirePieces, ...]:
    """Pieces of every wire that is not removed, in the order of the wires."""
    arrived = by_conductor(landed)
    found: list[WirePieces] = []
    for key, wires in graph.wires_of.items():
        made = _Circuit(graph, key, wires, arrived)
        found += [made.wire(wire) for wire in wires]
    return tuple(found)


def begins_in(graph: Graph, circuit: Circuit) -> str:
    """Box in which a string circuit begins at a joint to the wire of its array; empty where it comes from the array.

    A box that its first raceway starts at is that box where it holds joints or terminals, or where the array has wire
    of its own up to the first enclosure and the circuit a joint to it, or another make or size.
    """
    through = graph.through(circuit)
    if circuit.kind != "string" or not through:
        return ""
    unit = graph.enclosure_before(through[0])
    found = graph.project.box_of(unit)
    if found is None or found[1].splices is False:
        return ""
    box = found[1]
    if box.splices or (box.terminals is not None and circuit.joint is None):
        return unit
    string = graph.project.strings.get(str(circuit.string))
    for part in graph.project.parts_of(string) if string is not None else ():
        wiring = graph.project.arrays[str(part.array)].wiring
        if wiring is None:
            continue
        other = (str(wiring.cable), str(wiring.size)) != (str(circuit.cable), str(circuit.size))
        if other or circuit.joint is not None:
            return unit
    return ""


def _nodes(graph: Graph, through: Sequence[SegmentId], end: str) -> list[str]:
    """What stands before, between and behind the stretches of a path; empty where nothing does, or is not told."""
    if not through:
        return [""]
    ends = passed_ends(graph, through)
    if len(ends) == 1 and end and end == ends[0][0] != ends[0][1]:
        # Nothing but the device that the path goes to tells which way its one stretch is passed.
        ends = [ends[0][::-1]]
    between = [far if far == near else "" for (_, far), (near, _) in pairwise(ends)]
    return [ends[0][0], *between, ends[-1][1]]


def _stops(graph: Graph, key: str, also: Iterable[str] = ()) -> list[_Stop]:
    circuit = graph.project.circuits[key]
    through = graph.through(circuit)
    inverter = str(circuit.inverter or "")
    string = graph.project.strings.get(str(circuit.string)) if circuit.string else None
    end = str(string.input).partition("/")[0] if string is not None and string.input else inverter
    told: dict[str, int] = {}
    for place, node in enumerate(_nodes(graph, through, end)):
        if node in graph.passing.units:
            told.setdefault(node, place)
    named = list(dict.fromkeys([*map(str, circuit.enclosures), *also]))
    named = [unit for unit in named if unit in graph.passing.units]
    found = [_Stop(unit, place, True) for unit, place in told.items()]
    for number, unit in enumerate(named):
        if unit in told:
            continue
        behind = [told[other] for other in named[number + 1 :] if other in told]
        before = [told[other] for other in named[:number] if other in told]
        # Nobody says where it stands: before what is named behind it, else behind the last stretch.
        place = (max(before, default=0)) if behind else len(through)
        found.append(_Stop(unit, place, False))
    rank = {unit: number for number, unit in enumerate(named)}
    return sorted(found, key=lambda stop: (stop.behind, rank.get(stop.unit, -1)))


class _Circuit:
    """Cuts of one circuit; a class only because its wires share them."""

    def __init__(
        self,
        graph: Graph,
        key: str,
        wires: Sequence[Conductor],
        arrived: Mapping[str, tuple[Arrival, ...]],
    ) -> None:
        self.graph, self.key, self.circuit = graph, key, graph.project.circuits[key]
        self.arrived = arrived
        landed: dict[str, None] = {}
        for wire in wires:
            for arrival in arrived.get(wire.id, ()):
                landed |= dict.fromkeys((*arrival.through, *arrival.aside))
            for name in (wire.id, f"{wire.end}{wire.leg}"):
                landed |= dict.fromkeys(unit for unit, _ in graph.places_of.get(name, ()))
        self.landed = [unit for unit in landed if unit in graph.passing.units]
        self.begins = begins_in(graph, self.circuit)
        self.missing: list[Missing] = []
        self.order = _stops(graph, key, self.landed)
        cut = {stop.unit: self._cut(stop.unit) for stop in self.order}
        self.unsure = frozenset(unit for unit, found in cut.items() if isinstance(found, Missing))
        self.missing += [found for found in cut.values() if isinstance(found, Missing)]
        self._as_landed()
        self.cuts = [number for number, stop in enumerate(self.order) if cut[stop.unit] is True]

    def _as_landed(self) -> None:
        """Devices one after the other where nobody says which comes first: in the order in which the wire lands."""
        places = [number for number, stop in enumerate(self.order) if stop.unit in self.landed]
        by_unit = {stop.unit: stop for stop in self.order}
        order = [by_unit[unit] for unit in self.landed]
        if [stop.behind for stop in order] == sorted(stop.behind for stop in order):
            for number, stop in zip(places, order, strict=True):
                self.order[number] = stop

    def _cut(self, unit: str) -> bool | Missing:
        """Whether the wires end on something in a unit that they come through."""
        graph, circuit = self.graph, self.circuit
        if unit in self.landed:
            return True
        if unit == self.begins:
            return False
        box = graph.project.box_of(unit)
        if box is not None:
            kind = box[1]
            if kind.splices is not None:
                return bool(kind.splices) and str(circuit.kind) in _LANDING
            if str(kind.kind) in _WHOLE or str(circuit.kind) not in _LANDING or graph.landed(unit):
                return False
            return Missing(f"splices of box type {box[0]}: whether {self.key} is joined in {unit}", kind.span)
        if str(circuit.kind) not in _LANDING:
            return False
        if unit in graph.passing.only.get(self.key, ()):
            # Both legs come to their input over other devices.
            return False
        if unit in map(str, circuit.enclosures) and not graph.landed(unit) and not self.landed:
            return True
        what = f"whether {self.key} lands on {unit}: name it in `landing`, or among its `enclosures`"
        return Missing(what, circuit.span)

    def wire(self, wire: Conductor) -> WirePieces:
        """Pieces of one wire."""
        stops = [self.order[number] for number in self.cuts]
        units = ["", *(stop.unit for stop in stops), ""]
        starts = [PieceEnd(self.begins, JOINT) if self.begins else PieceEnd(wire.start)]
        ends: list[PieceEnd] = []
        for number, stop in enumerate(stops, start=1):
            ends.append(PieceEnd(stop.unit, self._arriving(wire, stop.unit, units[number - 1])))
            starts.append(PieceEnd(stop.unit, self._leaving(wire, stop.unit, units[number + 1])))
        ends.append(PieceEnd(f"{wire.end}{wire.leg}" if wire.end and wire.leg else wire.end))
        bounds = [0, *(stop.behind for stop in stops), len(wire.through)]
        ranks = [-1, *self.cuts, len(self.order)]
        pieces = []
        for number, (start, end) in enumerate(zip(starts, ends, strict=True)):
            first, last = number == 0, number == len(ends) - 1
            passed = self.order[ranks[number] + 1 : ranks[number + 1]]
            pieces.append(
                Piece(
                    wire.id if first and last else f"{wire.id} {start.place} to {end.place}",
                    wire,
                    start,
                    end,
                    wire.through[bounds[number] : bounds[number + 1]],
                    tuple(
                        stop.unit for stop in passed if stop.unit not in {self.begins, wire.start, wire.end}
                    ),
                    first,
                    last,
                    "" if first or stops[number - 1].told else stops[number - 1].unit,
                    self._up_to(None if last else stops[number], wire),
                )
            )
        return WirePieces(wire, tuple(pieces), tuple(self.missing), self.unsure)

    @staticmethod
    def _up_to(stop: _Stop | None, wire: Conductor) -> str:
        """Device at the end of a piece that the tail behind the path may lead up to."""
        return "" if stop is None or stop.told or stop.behind < len(wire.through) else stop.unit

    def _arriving(self, wire: Conductor, unit: str, before: str) -> str:
        """Terminals at which a wire comes in; empty where the landing does not say."""
        own = [terminal for where, terminal in self.graph.places_of.get(wire.id, ()) if where == unit]
        if own or not before:
            return ", ".join(own)
        return ", ".join(
            place[1] for _, place in self._between(wire, before) if place is not None and place[0] == unit
        )

    def _leaving(self, wire: Conductor, unit: str, after: str) -> str:
        """Terminals at which a wire goes on; empty where the landing does not say."""
        if after:
            found = [
                terminal
                for terminal, place in self._between(wire, unit)
                if place is not None and place[0] == after
            ]
            return ", ".join(found)
        lead = f"{wire.end}{wire.leg}"
        return ", ".join(terminal for where, terminal in self.graph.places_of.get(lead, ()) if where == unit)

    def _between(self, wire: Conductor, unit: str) -> list[tuple[str, tuple[str, str] | None]]:
        """Terminals of a unit with a wire of this leg to another device, and where that ends."""
        ways = {end for arrival in self.arrived.get(wire.id, ()) for end in arrival.between}
        return [
            (terminal, self.graph.onward(end))
            for terminal, end in self.graph.landed(unit).items()
            if end in ways
        ]
