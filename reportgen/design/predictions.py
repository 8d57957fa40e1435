"""What a voltmeter will show at every inverter input for the landing as drawn, and what a wrong landing would show.

Every terminal, wire and lead is a node; wires, closed poles and links join them, strings drive a voltage between
them. Nothing is taken from a drawing, so a switch whose terminals do not lie straight across is followed as it is.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from reportgen.design.graph import NEGATIVE, POSITIVE, Graph
from reportgen.design.landing import Arrival, by_conductor
from reportgen.design.missing import Known, Missing, missing_of
from reportgen.design.results import StringDesign
from reportgen.design.switch_maps import SwitchMap, switch_maps
from reportgen.diagnostics.model import Span
from reportgen.engineering.strings import STC_CELL_C, string_voltage
from reportgen.engineering.terminals import InputReading, Pole, connected_sets, predicted_readings
from reportgen.project.model import Project
from reportgen.working.quantity import Assumed, Quantity

SIGNS = (POSITIVE, NEGATIVE)


@dataclass(frozen=True, slots=True)
class InputPrediction:
    """The reading to come at one input.

    Attributes
    ----------
    meant : tuple of str
        Strings that shall arrive.
    arriving : tuple of str
        Strings that stand between its poles.
    reading : InputReading or None
        With every switch closed; None where no lead of it is landed.
    left_open : tuple of str
        Legs that still reach a pole of it with every switch open; None is asked of an input without a switch.
    switched : bool
        A switch stands between the input and its strings.
    missing : tuple of Missing
        What has to be stated before the reading can be told.
    """

    address: str
    meant: tuple[str, ...]
    arriving: tuple[str, ...]
    reading: InputReading | None
    left_open: tuple[str, ...]
    switched: bool
    missing: tuple[Missing, ...]


@dataclass(frozen=True, slots=True)
class Point:
    """A place to measure a string, and what belongs there.

    Attributes
    ----------
    red, black : str
        Terminal or conductor for each test lead.
    closed : Quantity or Missing
        With every switch closed. [V]
    live_when_open : bool
        The place stays live with every switch open.
    """

    string: str
    place: str
    red: str
    black: str
    closed: Known
    live_when_open: bool


@dataclass(frozen=True, slots=True)
class PredictionsDesign:
    """Readings to come, at ``cell`` temperature and full sun."""

    cell: Quantity
    voltages: tuple[tuple[str, Known], ...] = ()
    inputs: tuple[InputPrediction, ...] = ()
    switches: tuple[SwitchMap, ...] = ()
    points: tuple[Point, ...] = ()

    @property
    def live_with_all_open(self) -> tuple[str, ...]:
        """Inputs that a string reaches with every switch open."""
        return tuple(item.address for item in self.inputs if item.left_open)


def design_predictions(
    graph: Graph, strings: Mapping[str, StringDesign], landed: Sequence[Arrival]
) -> PredictionsDesign:
    """Predicted readings of every input, map of every switch, and the places to measure each string."""
    cell = _cell(graph.project)
    project = graph.project
    voltages = {key: _voltage(string, cell, project.strings[key].span) for key, string in strings.items()}
    known = {key: value for key, value in voltages.items() if isinstance(value, Quantity)}
    closed, opened = _Wiring(graph, closed=True), _Wiring(graph, closed=False)
    inputs = tuple(
        _input(address, graph, closed, opened, voltages, known) for address in _addresses(graph, closed)
    )
    switches = switch_maps(graph, closed.wire, known)
    by_address = {item.address: item for item in inputs}
    between = _Between(graph, closed, opened, known, landed)
    points = tuple(
        point
        for key in strings
        for point in _points(key, graph, closed, opened, voltages[key], by_address, between)
    )
    return PredictionsDesign(cell, tuple(voltages.items()), inputs, switches, points)


def _cell(project: Project) -> Quantity:
    stated = project.commissioning.cell_temperature if project.commissioning else None
    reason = (
        "cell temperature, in full sun, that predicted readings are stated for; `commissioning` replaces it"
    )
    return stated or Quantity(
        STC_CELL_C, "degC", Assumed("commissioning.cell_temperature", reason, "standard test conditions")
    )


def _voltage(string: StringDesign, cell: Quantity, place: Span) -> Known:
    if string.module is None or string.count.value < 1:
        return Missing(f"one module type and a count of string {string.id}", place)
    module = string.module
    if module.voltage_coefficient is None:
        return Missing(f"voltage_coefficient of module type {string.module_id}", module.span)
    name = f"open-circuit voltage of {string.id}"
    return string_voltage(string.count, module.open_circuit_voltage, module.voltage_coefficient, cell, name)


class _Wiring:
    """Everything landed, as nodes: what is one node with the switches closed, or open."""

    def __init__(self, graph: Graph, *, closed: bool) -> None:
        project = graph.project
        self.wire = {
            wire.id: Pole(string, wire.leg)
            for wire in graph.conductors
            if wire.leg and (string := str(project.circuits[wire.circuit].string or ""))
        }
        self.circuit = {wire.id: wire.circuit for wire in graph.conductors}
        self.wires_of: dict[Pole, list[str]] = defaultdict(list)
        for wire, pole in self.wire.items():
            self.wires_of[pole].append(wire)
        self.landed: dict[str, list[tuple[str, str]]] = defaultdict(list)
        pairs = [(_leg(pole), wire) for wire, pole in self.wire.items()]
        for unit, wires in project.landing.items():
            name = str(unit)
            switch, box = project.switch_of(name), project.box_of(name)
            for terminal, end in wires.items():
                self.landed[str(end)].append((name, str(terminal)))
                # A terminal of an inverter is the pole of its input itself.
                own = f"{name}/{terminal}"
                pairs.append((own, str(end)))
            joined = graph.poles(name) if closed else []
            if switch is not None or box is not None:
                joined = [*joined, *graph.links(name)]
            pairs += [(f"{name}/{one}", f"{name}/{other}") for one, other in joined]
        self.node: dict[str, str] = {}
        for found in connected_sets(pairs):
            first = min(found)
            self.node.update(dict.fromkeys(found, first))
        self.legs: dict[str, list[Pole]] = defaultdict(list)
        for pole in self.wires_of:
            self.legs[self.node[_leg(pole)]].append(pole)
        self.groups = self._groups()

    def _groups(self) -> Mapping[str, frozenset[str]]:
        """Strings that hang together, by string: only they can meet at an input."""
        pairs = []
        for poles in self.legs.values():
            pairs += [(poles[0].of, pole.of) for pole in poles]
        found: dict[str, frozenset[str]] = {}
        for strings in connected_sets(pairs):
            found.update(dict.fromkeys(strings, strings))
        return found

    def reading(
        self, address: str, ends: Mapping[str, str], known: Mapping[str, Quantity], own: Sequence[str]
    ) -> InputReading:
        """Reading between two places, red lead on the first of ``ends`` by sign."""
        nodes = {sign: self.node.get(place, place) for sign, place in ends.items()}
        touched = {pole.of for node in nodes.values() for pole in self.legs.get(node, ())}
        group = sorted({one for key in touched for one in self.groups[key]})
        poles = [pole for key in group for sign in SIGNS if (pole := Pole(key, sign)) in self.wires_of]
        joined = [(_leg(pole), self.node[_leg(pole)]) for pole in poles]
        joined += [(f"lead {sign}", node) for sign, node in nodes.items()]
        found = predicted_readings(
            joined,
            [],
            {_leg(pole): pole for pole in poles},
            {f"lead {sign}": Pole(address, sign) for sign in nodes},
            known,
            {address: tuple(own)},
        )
        return found[0]

    def at(self, place: str) -> list[Pole]:
        """Legs at a place."""
        return self.legs.get(self.node.get(place, place), [])

    def group_of(self, places: Iterable[str]) -> frozenset[str]:
        """Strings that hang together with what stands at some places."""
        return frozenset(one for place in places for pole in self.at(place) for one in self.groups[pole.of])


def _leg(pole: Pole) -> str:
    return f"leg {pole}"


def _addresses(graph: Graph, wiring: _Wiring) -> list[str]:
    """Inputs that a string is meant for or that something is landed on, in the order of the folder."""
    found = []
    for kind in graph.project.inverters.values():
        for unit in kind.units:
            for letter in kind.inputs:
                address = f"{unit}/{letter}"
                if address in graph.strings_at_input or any(
                    f"{address}{sign}" in wiring.node for sign in SIGNS
                ):
                    found.append(address)
    return found


def _input(
    address: str,
    graph: Graph,
    closed: _Wiring,
    opened: _Wiring,
    voltages: Mapping[str, Known],
    known: Mapping[str, Quantity],
) -> InputPrediction:
    meant = graph.strings_at_input.get(address, ())
    leads = {sign: f"{address}{sign}" for sign in SIGNS}
    missing = _not_landed(address, meant, graph, closed)
    landed = [lead for lead in leads.values() if lead in closed.node]
    if not landed:
        return InputPrediction(address, meant, (), None, (), False, missing)
    plus, minus = ({pole.of for pole in closed.at(lead)} for lead in leads.values())
    arriving = tuple(sorted(plus & minus))
    reading = closed.reading(address, leads, known, meant)
    unknown = missing_of(*(voltages[key] for key in sorted(closed.group_of(leads.values()) | set(meant))))
    left = tuple(str(pole) for lead in leads.values() for pole in sorted(opened.at(lead)))
    switched = any(
        graph.project.switch_of(unit) is not None
        for end in (
            *leads.values(),
            *(wire for key in meant for sign in SIGNS for wire in closed.wires_of.get(Pole(key, sign), ())),
        )
        for unit, _ in closed.landed.get(end, ())
    )
    return InputPrediction(address, meant, arriving, reading, left, switched, (*missing, *unknown))


def _not_landed(address: str, meant: Sequence[str], graph: Graph, wiring: _Wiring) -> tuple[Missing, ...]:
    """Wires and leads of an input that the landing section does not name."""
    found = []
    for key in meant:
        for sign in SIGNS:
            ids = wiring.wires_of.get(Pole(key, sign), [])
            if not ids:
                found.append(Missing(f"a circuit of string {key}", graph.project.strings[key].span))
            found += [
                Missing(f"landing of {wire}", graph.project.circuits[wiring.circuit[wire]].span)
                for wire in ids
                if not wiring.landed.get(wire)
            ]
    data = graph.project.input_of(address)
    for sign in SIGNS:
        if meant and f"{address}{sign}" not in wiring.node:
            found.append(Missing(f"landing of {address}{sign}", data[2].span if data else None))
    return tuple(dict.fromkeys(found))


class _Between:
    """Places where wires from device to device land, for strings that pass several devices."""

    def __init__(
        self,
        graph: Graph,
        closed: _Wiring,
        opened: _Wiring,
        known: Mapping[str, Quantity],
        landed: Sequence[Arrival],
    ) -> None:
        self.closed, self.opened, self.known = closed, opened, known
        self.net = graph.net
        self.arrivals = by_conductor(landed)
        self._read: dict[tuple[str, str], Known] = {}

    def points(self, key: str, red: str, black: str) -> Iterable[Point]:
        """Points of one string at the ends of such wires, in the order in which its legs pass them."""
        sides: list[dict[tuple[str, str], str]] = []
        for wire in (red, black):
            here: dict[tuple[str, str], str] = {}
            for item in self.arrivals.get(wire, ()):
                for end in item.between:
                    unit, _, terminal = end.partition("/")
                    if unit in item.through:
                        here.setdefault((unit, self._side(unit, terminal)), end)
            sides.append(here)
        order = [unit for item in self.arrivals.get(red, ()) for unit in item.through]
        for unit in order:
            for side in ("array side", "inverter side"):
                ends = [here.get((unit, side)) for here in sides]
                if ends[0] and ends[1]:
                    yield self._point(key, f"{unit}, {side}", ends[0], ends[1])

    def _side(self, unit: str, terminal: str) -> str:
        legs, ends = self.net.behind(unit, terminal)
        return "array side" if legs and not ends else "inverter side" if ends and not legs else ""

    def _point(self, key: str, place: str, red: str, black: str) -> Point:
        # Strings that run as one are read at the same two nodes.
        nodes = self.closed.node[red], self.closed.node[black]
        if nodes not in self._read:
            reading = self.closed.reading(place, {POSITIVE: red, NEGATIVE: black}, self.known, (key,))
            self._read[nodes] = reading.voltage or Missing(f"a landing that gives {place}, one voltage")
        live = any(self.opened.at(one) for one in (red, black))
        return Point(key, place, red, black, self._read[nodes], live)


def _points(
    key: str,
    graph: Graph,
    closed: _Wiring,
    opened: _Wiring,
    voltage: Known,
    inputs: Mapping[str, InputPrediction],
    between: _Between,
) -> Iterable[Point]:
    wires = [closed.wires_of.get(Pole(key, sign)) for sign in SIGNS]
    if wires[0] is None or wires[1] is None:
        return
    red, black = wires[0][0], wires[1][0]
    yield Point(key, "array end", red, black, voltage, True)
    for unit, terminal in closed.landed.get(red, []):
        other = next((t for u, t in closed.landed.get(black, []) if u == unit), None)
        if other is not None and graph.project.inverter_of(unit) is None:
            yield Point(key, f"{unit}, array side", f"{unit}/{terminal}", f"{unit}/{other}", voltage, True)
    yield from between.points(key, red, black)
    address = str(graph.project.strings[key].input or "")
    found = inputs.get(address)
    if found is None or found.reading is None:
        return
    there: Known = found.reading.voltage or Missing(f"a landing that gives {address} one voltage")
    if found.missing:
        there = found.missing[0]
    live = bool(found.left_open)
    for unit, terminal in closed.landed.get(f"{address}{POSITIVE}", []):
        other = next((t for u, t in closed.landed.get(f"{address}{NEGATIVE}", []) if u == unit), None)
        if other is not None:
            yield Point(key, f"{unit}, inverter side", f"{unit}/{terminal}", f"{unit}/{other}", there, live)
    yield Point(key, f"input {address}", f"{address}{POSITIVE}", f"{address}{NEGATIVE}", there, live)
