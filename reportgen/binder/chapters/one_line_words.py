"""Words of the one-line diagram: what the folder states of each device and conductor, and what it does not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.stated_words import (
    NOT,
    kilo,
    length_words,
    shown,
    size_words,
    within,
)
from reportgen.binder.drawings.one_line import Block, Chain, Node
from reportgen.design.graph import SegmentId
from reportgen.design.one_line import CircuitWay, Passed, Stretches, way_of
from reportgen.design.power import power_of_strings
from reportgen.design.results import StringDesign
from reportgen.project.equipment import Fuse, Installed, Inverter
from reportgen.project.layout import Circuit

#: Alike circuits drawn as one at most, so that their ids stay legible.
_TOGETHER = 4


def blocks(desk: Desk) -> list[Block]:
    """Inverters with their circuits, inputs in the order of the device; then circuits that end at no inverter."""
    return _Words(desk).blocks()


def idle(desk: Desk) -> tuple[str, ...]:
    """Installed switches, boxes and fuses that no circuit that is drawn passes."""
    facts = desk.design.facts
    project = facts.project
    passed = {
        step.unit
        for key, circuit in project.circuits.items()
        if circuit.status != "removed"
        for step in way_of(facts.graph, str(key), facts.arrived).steps
        if isinstance(step, Passed)
    }
    return tuple(
        str(unit)
        for kinds in (project.switches, project.boxes, project.fuses)
        for kind in kinds.values()
        for unit, installed in kind.units.items()
        if installed.status != "removed" and str(unit) not in passed
    )


class _Words:
    """A class only because every part reads the same results."""

    def __init__(self, desk: Desk) -> None:
        self.desk, facts = desk, desk.design.facts
        self.facts, self.project, self.graph = facts, facts.project, facts.graph
        self.arrivals = facts.arrived
        self.strings = {string.id: string for string in facts.strings}
        self.drawn: set[str] = set()
        self.circuits: dict[str, list[str]] = defaultdict(list)
        self.outputs: dict[str, list[str]] = defaultdict(list)
        for key, circuit in self.project.circuits.items():
            if circuit.status == "removed":
                continue
            if circuit.kind == "string" and circuit.string is not None:
                self.circuits[str(circuit.string)].append(str(key))
            elif circuit.kind == "output":
                self.outputs[str(circuit.inverter or "")].append(str(key))
        self.fuse_units: Mapping[str, tuple[str, Fuse, Installed]] = {
            str(unit): (str(key), fuse, installed)
            for key, fuse in self.project.fuses.items()
            for unit, installed in fuse.units.items()
        }

    def blocks(self) -> list[Block]:
        by_unit: dict[str, list[tuple[str, Chain, str]]] = defaultdict(list)
        for key, string in self.strings.items():
            found = self.project.input_of(string.input) if string.input else None
            for circuit in self.circuits.get(key) or [""]:
                by_unit[found[0] if found else ""].append((string.input, self._chain(string, circuit), key))
        made = []
        for kind_id, kind in self.project.inverters.items():
            for unit, installed in kind.units.items():
                if installed.status == "removed":
                    continue
                order = [f"{unit}/{name}" for name in kind.inputs]
                ends = sorted(by_unit.pop(str(unit), []), key=lambda one: order.index(one[0]))
                lines = tuple(
                    self._inverter(str(kind_id), kind, str(unit), installed, {one[0] for one in ends})
                )
                outputs = tuple(self._output(str(unit), kind, key) for key in self.outputs.pop(str(unit), []))
                made.append(Block(str(unit), lines, tuple(self._together(ends)), outputs))
        loose = [_ending_nowhere(address, chain) for items in by_unit.values() for address, chain, _ in items]
        loose += [
            self._stringless(str(key))
            for key, circuit in self.project.circuits.items()
            if circuit.kind == "string" and circuit.string is None and circuit.status != "removed"
        ]
        loose += [self._output("", None, key) for keys in self.outputs.values() for key in keys]
        return [*made, *([Block("", (), tuple(loose))] if loose else [])]

    def _together(self, ends: Sequence[tuple[str, Chain, str]]) -> Iterator[Chain]:
        """Neighbours that differ in nothing but their ids as one chain."""

        def alike(chain: Chain) -> object:
            parts = tuple((node.symbol, node.lines, node.connector) for node in chain.nodes)
            return parts, chain.end, chain.inputs[1:], chain.raceways

        for _, run in groupby(ends, key=lambda one: alike(one[1])):
            items = list(run)
            for start in range(0, len(items), _TOGETHER):
                some = items[start : start + _TOGETHER]
                if len(some) == 1:
                    yield some[0][1]
                    continue
                first = some[0][1]
                nodes = [
                    Node(
                        node.symbol,
                        ", ".join(dict.fromkeys(chain.nodes[place].names for _, chain, _ in some)),
                        (f"{len(some)} alike, each:", *node.lines) if place == 0 else node.lines,
                        node.connector,
                    )
                    for place, node in enumerate(first.nodes)
                ]
                inputs = ", ".join(f"{address.partition('/')[2]}: {key}" for address, _, key in some)
                yield Chain(tuple(nodes), first.end, (inputs, *first.inputs[1:]), first.raceways)

    def _chain(self, string: StringDesign, key: str) -> Chain:
        inputs = self._input(string.input)
        if not key:
            nodes = (*self._string(string, ()), Node("end", "", ("NOT DRAWN: no circuit is stated",)))
            return Chain(nodes, "apart", inputs)
        way = way_of(self.graph, key, self.arrivals)
        before = self._drawn_before(way)
        told = f"on with {before[0]}, joined in {before[1]}: one lead" if before else ""
        nodes = (
            *self._string(string, way.steps),
            *self._device(string, key, way.steps),
            *self._steps(key, way),
            Node("end", "", (told,)) if told else self._end(way),
        )
        self.drawn.add(key)
        return Chain(nodes, "with" if told else way.joined, () if told else inputs, _raceways(way))

    def _drawn_before(self, way: CircuitWay) -> tuple[str, str] | None:
        """Circuit drawn before that this one is joined with in its last device, and that device."""
        last = next((step for step in reversed(way.steps) if isinstance(step, Passed)), None)
        if way.joined != "landed" or last is None:
            return None
        others = (self.graph.circuit_of[leg] for leg in last.beside)
        return next(((other, last.unit) for other in others if other in self.drawn), None)

    def _stringless(self, key: str) -> Chain:
        """A circuit for a string that nobody names."""
        way = way_of(self.graph, key, self.arrivals)
        end = Node("end", "", (f"NOT DRAWN: string and input {NOT}",))
        return Chain((*self._steps(key, way), end), "apart", (), _raceways(way))

    def _string(self, string: StringDesign, steps: Sequence[Stretches | Passed]) -> Iterator[Node]:
        data = self.project.strings[string.id]
        modules = " and ".join(
            f"{int(part.count)} × {self.project.arrays[str(part.array)].module} of {part.array}"
            for part in self.project.parts_of(data)
        )
        power = power_of_strings(self.project, [string.id], "power")
        lines = [
            f"{modules or f'modules {NOT}'}, {shown(power, 2)}",
            f"Voc {shown(string.stc_open, 1)}, cold {shown(string.governing, 1)}",
            f"Isc {shown(string.short_circuit, 2)}, Imax {shown(string.maximum, 2)}",
        ]
        leads = dict.fromkeys(
            f"leads {wiring.cable} {wiring.size}" if wiring else f"leads {NOT}"
            for part in self.project.parts_of(data)
            for wiring in (self.project.arrays[str(part.array)].wiring,)
        )
        yield Node("string", string.id, (*lines, *leads))
        units = {step.unit for step in steps if isinstance(step, Passed)}
        placed = {self.fuse_units[unit][0] for unit in units if unit in self.fuse_units}
        if data.fuse and str(data.fuse) not in placed:
            fuse = self.project.fuses[str(data.fuse)]
            pole = {"both": "in both legs", None: f"leg {NOT}"}.get(data.fused_pole, f"{data.fused_pole} leg")
            yield Node("fuse", str(data.fuse), (*_fuse(fuse), f"{pole}, place {NOT}"))

    def _device(self, string: StringDesign, key: str, steps: Sequence[Stretches | Passed]) -> Iterator[Node]:
        """The device of a circuit, where it is not the fuse drawn already."""
        rating = self.project.circuits[key].device
        types = [str(self.project.strings[string.id].fuse or "")]
        types += [
            self.fuse_units[one.unit][0]
            for one in steps
            if isinstance(one, Passed) and one.unit in self.fuse_units
        ]
        if rating is not None and not any(
            self.project.fuses[one].rating.value == rating.value for one in types if one
        ):
            yield Node("device", "", (f"{rating.show()}, kind and place {NOT}",))

    def _steps(self, key: str, way: CircuitWay) -> Iterator[Node]:
        circuit = self.project.circuits[key]
        first, skip = True, False
        before: Passed | None = None
        for number, step in enumerate(way.steps):
            if isinstance(step, Passed):
                after = way.steps[number + 1 : number + 3]
                # Between a box and the next device the same wire goes on in no raceway: one line of the box says so.
                open_ = not first and not step.poles and len(after) == 2 and after[0] == Stretches(())
                node = self._unit(step)
                yield replace(node, lines=(*node.lines, "on: no raceway")) if open_ else node
                before = step
                skip = open_
                continue
            if skip:
                skip = False
                continue
            if before is not None and before.poles and not step.segments:
                # Behind a device on which the legs are landed another wire goes on.
                yield Node("stretch", "", (f"wire between {NOT}",))
                continue
            lines: list[str] = []
            if first:
                if circuit.kind == "string":
                    lines.append(f"connector {circuit.connector or NOT}")
                lines += [size_words(self.desk, key), length_words(self.desk, key)]
                if circuit.status != "new":
                    lines.append(str(circuit.status))
            where = within(self.desk, step.segments) if step.segments or circuit.path else f"path {NOT}"
            lines.append(f"{where}{self._ground(step.segments)}")
            plug = first and circuit.kind == "string" and circuit.connector is not None
            yield Node("run" if first else "stretch", key, tuple(lines), plug)
            first = False

    def _ground(self, segments: Sequence[SegmentId]) -> str:
        """Grounds that lie beside a run over its whole way."""
        if not segments:
            return ""
        beside = [
            [wire for wire in self.graph.in_segment[one] if wire.id in self.graph.ground_wires]
            for one in segments
        ]
        whole = [wire for wire in beside[0] if all(wire in others for others in beside)]
        if whole:
            return " with " + ", ".join(f"{wire.id} {wire.size}" for wire in whole)
        return ", ground in part of it alone" if any(beside) else ", no ground wire with it"

    def _unit(self, step: Passed) -> Node:
        unit = step.unit
        place = () if step.placed else (f"place on the way {NOT}",)
        if (switch := self.project.switch_of(unit)) is not None:
            key, kind = switch
            if step.only:
                told = ("passed: not landed, not cut here", "live with it open")
                return Node("box", unit, (f"switch {key}{_status(kind.units[unit])}", *told, *place))
            lines = [f"type {key}{_status(kind.units[unit])}"]
            for poles in step.poles:
                rating = next(
                    (item.voltage for item in kind.ratings if int(item.poles_in_series) == poles), None
                )
                lines.append(
                    f"{poles} {'pole' if poles == 1 else 'poles'} a leg: {shown(rating)}"
                    if poles
                    else "a way out of it over no pole"
                )
            if not step.poles:
                lines.append(f"poles passed {NOT}")
            lines.append(f"current {shown(kind.rated_current)}")
            lines.append(f"category {kind.utilisation_category or NOT}")
            if step.beside:
                lines.append(f"joined there with {', '.join(step.beside)}")
            symbol = {True: "load switch", False: "disconnector", None: "switch"}[kind.load_break]
            return Node(symbol, unit, (*lines, *place))
        if (box := self.project.box_of(unit)) is not None:
            _, made = box
            joined = bool(made.splices) or bool(made.terminal_ids)
            lines = [f"{made.kind}{_status(made.units[unit])}"]
            return Node("spliced" if joined else "box", unit, (*lines, *place))
        if unit in self.fuse_units:
            key, fuse, installed = self.fuse_units[unit]
            return Node("fuse", unit, (f"type {key}{_status(installed)}", *_fuse(fuse), *place))
        return Node("box", unit, (f"kind {NOT}", *place))

    def _end(self, way: CircuitWay) -> Node:
        if way.joined == "landed":
            return Node("end", "", (f"lead: wire {NOT}",) if isinstance(way.steps[-1], Passed) else ())
        if way.joined == "meant":
            return Node("end", "", (f"meant, terminals {NOT}",))
        return Node("end", "", (f"NOT DRAWN: {way.why}",))

    def _input(self, address: str) -> tuple[str, ...]:
        found = self.project.input_of(address) if address else None
        if found is None:
            return ()
        data = found[2]
        return (
            address.partition("/")[2],
            f"usable {shown(data.usable_current)}",
            f"Isc limit {shown(data.short_circuit_limit)}",
            f"{shown(data.tracking_from)} to {shown(data.tracking_to)}"
            if data.tracking_from or data.tracking_to
            else f"window {NOT}",
            f"start {shown(data.start_voltage)}",
        )

    def _inverter(
        self, key: str, kind: Inverter, unit: str, installed: Installed, used: set[str]
    ) -> Iterator[str]:
        yield f"type {key}{_status(installed)}"
        yield f"d.c. at most {shown(kind.maximum_dc_voltage)}"
        yield f"a.c. {kilo(kind.ac_power, 'kW')}"
        yield f"poles {kind.pv_legs or NOT}"
        kept = {
            "ground-fault": kind.ground_fault_protection,
            "arc-fault": kind.arc_fault_protection,
            "surge": kind.surge_protection,
        }
        for answer, words in ((True, "built in"), (False, "without"), (None, NOT)):
            if told := [name for name, value in kept.items() if value is answer]:
                yield f"{words}: {', '.join(told)} protection"
        free = [str(name) for name in kind.inputs if f"{unit}/{name}" not in used]
        if free:
            yield f"no string at {', '.join(free)}"
        outputs = self.outputs.get(unit)
        yield (
            f"a.c. output: {', '.join(outputs)}, drawn by itself" if outputs else f"a.c. output circuit {NOT}"
        )

    def _output(self, unit: str, kind: Inverter | None, key: str) -> Chain:
        circuit = self.project.circuits[key]
        way = way_of(self.graph, key, self.arrivals)
        nodes: list[Node] = []
        if kind is not None:
            nodes.append(
                Node(
                    "converter",
                    unit,
                    ("the same device, its a.c. side", f"a.c. {kilo(kind.ac_power, 'kW')}"),
                )
            )
        nodes += self._output_steps(key, circuit, way)
        joint = f"joint {circuit.joint.source}; " if circuit.joint and circuit.joint.source else ""
        nodes.append(Node("end", "", (f"{joint}service or panel beyond {NOT}",)))
        return Chain(tuple(nodes), "apart", (), _raceways(way))

    def _output_steps(self, key: str, circuit: Circuit, way: CircuitWay) -> Iterator[Node]:
        supply = f"{circuit.phases or f'phases {NOT}'}, {shown(circuit.voltage)}, {shown(circuit.current)}"
        for number, node in enumerate(self._steps(key, way)):
            if number:
                yield node
                continue
            yield Node(node.symbol, node.names, (*node.lines, supply))
            if circuit.device is None:
                yield Node("stretch", "", (f"overcurrent device {NOT}",))
            else:
                poles = f"{int(circuit.device_poles)}" if circuit.device_poles is not None else NOT
                told = (circuit.device.show(), f"poles {poles}", f"a.c. {shown(circuit.device_voltage)}")
                yield Node("device", "", (*told, f"kind and place {NOT}"))


def _ending_nowhere(address: str, chain: Chain) -> Chain:
    """A chain whose inverter is not drawn."""
    if not address or chain.end == "apart":
        return chain
    end = Node("end", "", (f"NOT DRAWN to {address}: that inverter is removed or not known",))
    return Chain((*chain.nodes[:-1], end), "apart", chain.inputs, chain.raceways)


def _raceways(way: CircuitWay) -> tuple[str, ...]:
    """Raceways passed, each once."""
    runs = (step.segments for step in way.steps if isinstance(step, Stretches))
    return tuple(dict.fromkeys(one.raceway for run in runs for one in run))


def _fuse(fuse: Fuse) -> tuple[str, ...]:
    return (
        fuse.rating.show(),
        f"d.c. {shown(fuse.voltage)}",
        f"breaks {kilo(fuse.breaking_capacity, 'kA')}",
    )


def _status(installed: Installed) -> str:
    return "" if installed.status == "new" else f", {installed.status}"
