"""What a voltmeter will show at every inverter input for the landing as drawn, and what a wrong landing would show.

Every terminal, wire and lead is a node; wires, closed poles and links join them, strings drive a voltage between
them. Nothing is taken from a drawing, so a switch whose terminals do not lie straight across is followed as it is.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from reportgen.design.graph import NEGATIVE, POSITIVE, Graph
from reportgen.design.missing import Known, Missing, missing_of
from reportgen.design.results import StringDesign
from reportgen.diagnostics.model import Span
from reportgen.engineering.strings import STC_CELL_C, string_voltage
from reportgen.engineering.terminals import (
    InputReading,
    Pole,
    connected_sets,
    correct_landing,
    predicted_readings,
    straight_across,
)
from reportgen.project.equipment import Switch
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
class Opposite:
    """Two terminals that lie across from each other, and what lands on them.

    Attributes
    ----------
    belongs : str
        Lead that belongs on the far terminal, found by following its pole; empty where no single leg arrives.
    straight : str
        Lead that a straight-across landing would put there.
    """

    near: str
    wire: str
    far: str
    lead: str
    belongs: str
    straight: str


@dataclass(frozen=True, slots=True)
class SwitchMap:
    """One switch as the installer sees it.

    Attributes
    ----------
    side : str
        ``line`` or ``load``: where the legs of the strings land; empty where they lie on both sides.
    rows : tuple of Opposite
        In physical order; empty where the two sides cannot be set against each other.
    straight : tuple of InputReading
        What the inputs would read after a straight-across landing.
    beeps_open, beeps_closed : tuple
        Terminals that are one node, with the switch open and closed.
    """

    unit: str
    kind: str
    side: str
    rows: tuple[Opposite, ...]
    straight: tuple[InputReading, ...]
    beeps_open: tuple[tuple[str, ...], ...]
    beeps_closed: tuple[tuple[str, ...], ...]

    @property
    def is_trap(self) -> bool:
        """True where landing each lead straight across from its leg would be wrong."""
        return any(row.straight and row.straight != row.belongs for row in self.rows)


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


def design_predictions(graph: Graph, strings: Mapping[str, StringDesign]) -> PredictionsDesign:
    """Predicted readings of every input, map of every switch, and the places to measure each string."""
    cell = _cell(graph.project)
    project = graph.project
    voltages = {key: _voltage(string, cell, project.strings[key].span) for key, string in strings.items()}
    known = {key: value for key, value in voltages.items() if isinstance(value, Quantity)}
    closed, opened = _Wiring(graph, closed=True), _Wiring(graph, closed=False)
    inputs = tuple(
        _input(address, graph, closed, opened, voltages, known) for address in _addresses(graph, closed)
    )
    switches = tuple(
        _switch_map(graph, closed, str(unit), *found, known)
        for unit in graph.project.landing
        if (found := graph.project.switch_of(str(unit))) is not None
    )
    by_address = {item.address: item for item in inputs}
    points = tuple(
        point for key in strings for point in _points(key, graph, closed, opened, voltages[key], by_address)
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


def _switch_map(
    graph: Graph, wiring: _Wiring, unit: str, kind: str, switch: Switch, known: Mapping[str, Quantity]
) -> SwitchMap:
    landed, joined, jumpers = graph.landed(unit), graph.poles(unit), graph.links(unit)
    wires = {end: wiring.wire[end] for end in landed.values() if end in wiring.wire}
    legs = {terminal: wires[end] for terminal, end in landed.items() if end in wires}
    side = next((name for name in ("line", "load") if legs and set(legs) <= set(getattr(switch, name))), "")
    far = "load" if side == "line" else "line"
    leads = {terminal for terminal, end in landed.items() if end not in wires}
    rows: tuple[Opposite, ...] = ()
    readings: tuple[InputReading, ...] = ()
    near_row, far_row = [str(t) for t in switch.line], [str(t) for t in switch.load]
    if side == "load":
        near_row, far_row = far_row, near_row
    series = any(graph.onward(end) for end in landed.values())
    # What lies straight across tells nothing where a wire goes on to another device.
    if side and not series and leads <= set(getattr(switch, far)) and len(near_row) == len(far_row):
        wanted = {
            pole: Pole(str(address), pole.sign)
            for pole in legs.values()
            if (address := graph.project.strings[pole.of].input) is not None
        }
        across = straight_across(near_row, far_row, legs, wanted)
        right = correct_landing(joined, jumpers, legs, wanted, far_row)
        rows = tuple(
            Opposite(
                near,
                landed.get(near, ""),
                there,
                landed.get(there, ""),
                str(right.get(there) or ""),
                str(across.get(there, "")),
            )
            for near, there in zip(near_row, far_row, strict=True)
        )
        own: dict[str, list[str]] = defaultdict(list)
        for leg, pole in wanted.items():
            if leg.of not in own[pole.of]:
                own[pole.of].append(leg.of)
        readings = predicted_readings(
            joined, jumpers, legs, across, known, {key: tuple(ids) for key, ids in own.items()}
        )
    return SwitchMap(
        unit,
        kind,
        side,
        rows,
        readings,
        _beeps(connected_sets(joined, jumpers, closed=False), switch),
        _beeps(connected_sets(joined, jumpers), switch),
    )


def _beeps(sets: Iterable[frozenset[str]], switch: Switch) -> tuple[tuple[str, ...], ...]:
    """Sets of more than one terminal, each in the order of the device."""
    order = {
        str(terminal): place
        for place, terminal in enumerate([*switch.line, *switch.load, *switch.ground_terminals])
    }
    found = [tuple(sorted(one, key=lambda item: order[item])) for one in sets if len(one) > 1]
    return tuple(sorted(found, key=lambda one: order[one[0]]))


def _points(
    key: str,
    graph: Graph,
    closed: _Wiring,
    opened: _Wiring,
    voltage: Known,
    inputs: Mapping[str, InputPrediction],
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
