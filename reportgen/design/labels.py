"""Labels of every wire, and the placards with their computed values: which, how many, what they say.

A wire is labelled at both ends and in every enclosure that it passes. Where it is cut, on a device or at a joint, it is
labelled on either side. Everything is derived from the graph; no label is typed.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from reportgen.design.graph import Graph
from reportgen.design.landing import Arrival, by_conductor, running_as_one
from reportgen.design.missing import Known, Missing, highest, missing_of
from reportgen.design.pieces import WirePieces
from reportgen.design.results import CircuitDesign, StringDesign
from reportgen.engineering.currents import mixed_current
from reportgen.rulebook.protection import Label as Asked
from reportgen.rulebook.rulebook import Rulebook
from reportgen.working.quantity import Quantity

#: Polarity in words; a colour may fade or be missing.
POLARITY = {"+": "POSITIVE", "-": "NEGATIVE"}
#: What a wire without polarity is, by the kind of its circuit.
KIND = {"ground": "GROUND", "spare": "SPARE", "abandoned": "ABANDONED", "output": "AC OUTPUT", "string": ""}
ARRAY_SIDE, INVERTER_SIDE, END, PASSES = "array side", "inverter side", "end", "passes"
#: In a switch on which a wire is not landed: neither cut nor switched there.
THROUGH = "passes through, live"
#: Keys of the placards of an edition that are judged.
MAX_VOLTAGE, DISCONNECT = "max-voltage", "disconnect"
#: Rule on colours that are kept for grounded conductors and grounds.
COLOURS_KEPT = "colours-kept"
#: Surroundings in which a raceway can be seen, and so labelled.
EXPOSED = frozenset({"outdoors", "roof", "indoors"})
INSIDE = frozenset({"roof", "indoors"})


@dataclass(frozen=True, slots=True)
class WireLabel:
    """One label on one wire at one place.

    Attributes
    ----------
    place, side : str
        Id of the array, box, switch or input; ``end``, ``passes``, ``array side``, ``inverter side`` or ``passes through, live``.
    says : str
        Polarity in words, or what the wire is.
    voltage : Quantity or Missing or None
        Highest voltage of the circuit; None for a ground. [V]
    """

    conductor: str
    circuit: str
    place: str
    side: str
    says: str
    string: str
    start: str
    end: str
    voltage: Known | None

    @property
    def id(self) -> str:
        """Unique: wire, place, and side where there are two."""
        side = f" {self.side}" if self.side in {ARRAY_SIDE, INVERTER_SIDE} else ""
        return f"{self.conductor} @ {self.place}{side}"


@dataclass(frozen=True, slots=True)
class WireLabels:
    """All labels of one circuit, and what is missing before the list is complete."""

    circuit: str
    labels: tuple[WireLabel, ...]
    missing: tuple[Missing, ...]


@dataclass(frozen=True, slots=True)
class Placard:
    """A placard that the edition asks for at one place.

    Attributes
    ----------
    values : tuple of (str, Quantity or Missing)
        What is printed on it.
    live : tuple of str
        Terminals that stay live with the switch open.
    through : tuple of str
        Wires that only pass the switch and stay live with it open.
    count : int or None
        None where the number cannot be told.
    """

    key: str
    place: str
    asked: Asked
    values: tuple[tuple[str, Known], ...] = ()
    live: tuple[str, ...] = ()
    through: tuple[str, ...] = ()
    count: int | None = 1
    why: str = ""


@dataclass(frozen=True, slots=True)
class LabelsDesign:
    """Labels by circuit, and placards in the order of the edition.

    Attributes
    ----------
    held : bool
        False where the edition named is not held: the placards then are those of another, and only raise questions.
    """

    wires: tuple[WireLabels, ...]
    placards: tuple[Placard, ...]
    held: bool = True

    @property
    def labels(self) -> tuple[WireLabel, ...]:
        """Every label of every wire."""
        return tuple(label for one in self.wires for label in one.labels)


def design_labels(
    graph: Graph,
    rulebook: Rulebook,
    strings: Mapping[str, StringDesign],
    circuits: Sequence[CircuitDesign],
    landed: Sequence[Arrival],
    pieces: Sequence[WirePieces],
) -> LabelsDesign:
    """Labels of every wire that is not removed, and every placard."""
    by_circuit: dict[str, list[WirePieces]] = defaultdict(list)
    for one in pieces:
        by_circuit[one.wire.circuit].append(one)
    wires = tuple(_of_circuit(graph, key, found, strings) for key, found in by_circuit.items())
    placards = tuple(_placards(graph, rulebook, strings, circuits, landed))
    return LabelsDesign(wires, placards, not rulebook.wanted)


def _of_circuit(
    graph: Graph,
    key: str,
    wires: Sequence[WirePieces],
    strings: Mapping[str, StringDesign],
) -> WireLabels:
    circuit = graph.project.circuits[key]
    string = strings.get(str(circuit.string)) if circuit.string else None
    voltage: Known | None = None
    if string is not None:
        voltage = string.governing
    elif circuit.kind == "output":
        voltage = circuit.voltage or Missing(f"voltage of circuit {key}", circuit.span)
    through = graph.passing.only.get(key, ())
    absent: list[Missing] = [item for one in wires for item in one.missing]
    if isinstance(voltage, Missing):
        absent.append(voltage)
    if circuit.kind in {"string", "ground", "output"}:
        for end, what in ((wires[0].wire.start, "start"), (wires[0].wire.end, "end")):
            if not end:
                absent.append(Missing(f"{what} of circuit {key}", circuit.span))
    if not circuit.path and circuit.kind == "string":
        absent.append(Missing(f"path of circuit {key}", circuit.where("path")))
    labels = tuple(
        WireLabel(
            one.wire.id,
            key,
            place,
            side,
            POLARITY.get(one.wire.leg) or KIND[str(circuit.kind)],
            str(circuit.string or ""),
            one.wire.start,
            one.wire.end,
            voltage,
        )
        for one in wires
        for place, side in _places(one, through)
    )
    return WireLabels(key, labels, tuple(dict.fromkeys(absent)))


def _places(one: WirePieces, through: Sequence[str]) -> Iterable[tuple[str, str]]:
    """Both ends of a wire, every enclosure that it passes, and either side of where it is cut.

    ``through`` are the switches that its circuit only passes.
    """
    for piece in one.pieces:
        if piece.first:
            yield piece.start.place or "start", END
        else:
            yield piece.start.place, INVERTER_SIDE
        for unit in piece.passed:
            if unit in one.unsure:
                # Labelled as cut, which is no label too few.
                yield unit, ARRAY_SIDE
                yield unit, INVERTER_SIDE
            else:
                yield unit, THROUGH if unit in through else PASSES
        if not piece.last:
            yield piece.end.place, ARRAY_SIDE
    yield one.wire.end or "end", END


def _placards(
    graph: Graph,
    rulebook: Rulebook,
    strings: Mapping[str, StringDesign],
    circuits: Sequence[CircuitDesign],
    landed: Sequence[Arrival],
) -> Iterable[Placard]:
    makers = {
        "raceway": _raceway,
        MAX_VOLTAGE: _max_voltage,
        DISCONNECT: _disconnect,
        "system-disconnect": _system_disconnect,
        "rapid-shutdown": _rapid_shutdown,
    }
    for asked in rulebook.labels():
        maker = makers.get(asked.key, _described)
        yield from maker(graph, asked, strings, circuits, landed)


def _described(
    graph: Graph,
    asked: Asked,
    strings: Mapping[str, StringDesign],
    circuits: Sequence[CircuitDesign],
    landed: Sequence[Arrival],
) -> Iterable[Placard]:
    """A placard of an edition that this module does not count: named, its number left open."""
    yield Placard(asked.key, asked.place, asked, count=None, why="count by the place the edition names")


def _switch_units(
    graph: Graph, circuits: Sequence[CircuitDesign], landed: Sequence[Arrival]
) -> dict[str, list[CircuitDesign]]:
    """Circuits by switch unit: those that meet it, those that land on it, and those whose way goes over it."""
    passed: dict[str, list[str]] = defaultdict(list)
    for item in landed:
        passed[graph.circuit_of[item.conductor]] += [item.switch, *item.through, *item.aside]
    found: dict[str, list[CircuitDesign]] = defaultdict(list)
    for circuit in circuits:
        for unit in dict.fromkeys([*graph.passing.met(circuit.id), *passed[circuit.id]]):
            if graph.project.switch_of(unit) is not None:
                found[unit].append(circuit)
    return {unit: found[unit] for unit in sorted(found)}


def _values(
    asked: Asked, strings: Sequence[StringDesign], groups: Iterable[Sequence[StringDesign]] = ()
) -> tuple[tuple[str, Known], ...]:
    """What the edition wants printed: the highest voltage, and the current where it asks for one.

    ``groups`` are strings that run as one there; without any, each string is taken by itself.
    """
    values = [("maximum voltage", highest((s.governing for s in strings), "a string"))]
    if "current" in asked.prints:
        sums = (_sum([s.maximum for s in group]) for group in groups or [[s] for s in strings])
        values.append(("maximum circuit current", highest(sums, "a string")))
    return tuple(values)


def _sum(parts: Sequence[Known]) -> Known:
    amounts = [part for part in parts if isinstance(part, Quantity)]
    if len(amounts) < len(parts):
        return missing_of(*parts)[0]
    return (
        amounts[0]
        if len(amounts) == 1
        else mixed_current(amounts, "maximum current of strings that run as one")
    )


def _max_voltage(
    graph: Graph,
    asked: Asked,
    strings: Mapping[str, StringDesign],
    circuits: Sequence[CircuitDesign],
    landed: Sequence[Arrival],
) -> Iterable[Placard]:
    if "each dc disconnect" in asked.place:
        arrivals = by_conductor(landed)
        for unit, its in _switch_units(graph, circuits, landed).items():
            by_id = {circuit.id: circuit.string for circuit in its}
            joined, loose = running_as_one(arrivals, unit, list(by_id))
            # One string on several circuits is one source.
            groups = [
                list({by_id[key].id: by_id[key] for key in group}.values())
                for group in [*joined, *([key] for key in loose)]
            ]
            yield Placard(asked.key, unit, asked, _values(asked, list(by_id.values()), groups))
        return
    at: dict[str, list[StringDesign]] = defaultdict(list)
    for string in strings.values():
        at[string.input.partition("/")[0]].append(string)
    for unit, its_strings in at.items():
        yield Placard(
            asked.key,
            unit or "place not stated",
            asked,
            _values(asked, its_strings),
            why="conversion equipment is chosen of the places that are allowed",
        )


def _disconnect(
    graph: Graph,
    asked: Asked,
    strings: Mapping[str, StringDesign],
    circuits: Sequence[CircuitDesign],
    landed: Sequence[Arrival],
) -> Iterable[Placard]:
    there = {(item.conductor, unit) for item in landed for unit in (item.switch, *item.through, *item.aside)}
    for unit, its in _switch_units(graph, circuits, landed).items():
        legs = [leg for circuit in its for leg in graph.legs_of.get(circuit.id, ())]
        live = graph.net.live(unit) if all((leg, unit) in there for leg in legs) else ()
        yield Placard(
            asked.key,
            unit,
            asked,
            live=live,
            through=graph.passing.wires_through(unit),
            why="" if live else "landing not fully stated: treat every terminal as live with the switch open",
        )


def _system_disconnect(
    graph: Graph,
    asked: Asked,
    strings: Mapping[str, StringDesign],
    circuits: Sequence[CircuitDesign],
    landed: Sequence[Arrival],
) -> Iterable[Placard]:
    why = (
        "where it is the disconnecting means of the system and not an isolator of equipment alone, which the authority decides; "
        "open and closed position shown"
    )
    for unit in _switch_units(graph, circuits, landed):
        yield Placard(asked.key, unit, asked, why=why)


def _raceway(
    graph: Graph,
    asked: Asked,
    strings: Mapping[str, StringDesign],
    circuits: Sequence[CircuitDesign],
    landed: Sequence[Arrival],
) -> Iterable[Placard]:
    building = graph.project.project.building
    for key, wires in graph.in_segment.items():
        segment = graph.segments[key][1]
        if not any(wire.leg for wire in wires) or str(segment.place) not in EXPOSED:
            continue
        if building == "no building" and str(segment.place) not in INSIDE:
            continue
        count = None
        if asked.spacing is not None:
            # A label at either end, and no gap between two that is longer than the spacing.
            count = math.ceil(segment.length.to("ft").value / asked.spacing.number - 1e-9) + 1
        why = f"{segment.place}: one at either end, and none farther from the next than the spacing"
        yield Placard(asked.key, str(key), asked, count=count, why=why)
    switches = graph.passing.switches
    boxes = {str(unit) for kind in graph.project.boxes.values() for unit in kind.units}
    known = boxes | switches
    passed = (
        unit
        for circuit in circuits
        for unit in (
            *(place for place in graph.passing.along(circuit.id) if place in known),
            *map(str, circuit.circuit.enclosures),
        )
    )
    for unit in dict.fromkeys(passed):
        why = "cover of an enclosure with dc circuits"
        if unit in switches:
            why += "; the code's list names pull and junction boxes, and an inspector may look for it on a switch"
        yield Placard(asked.key, unit, asked, why=why)


def _rapid_shutdown(
    graph: Graph,
    asked: Asked,
    strings: Mapping[str, StringDesign],
    circuits: Sequence[CircuitDesign],
    landed: Sequence[Arrival],
) -> Iterable[Placard]:
    building = graph.project.project.building
    if building == "no building":
        return
    why = "with a diagram of the building and the shutdown boundary, which this binder does not draw"
    if building is None:
        why = "asked where a building is served; `building` of the project is not stated"
    yield Placard(asked.key, "service equipment", asked, count=1 if building else None, why=why)
