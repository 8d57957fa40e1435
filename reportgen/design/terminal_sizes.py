"""What lands on the terminals of each device: sizes against the maker's range, conductors under one clamp."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from reportgen.design.circuits import size_key
from reportgen.design.graph import Conductor, Graph
from reportgen.diagnostics.model import Span
from reportgen.project.equipment import Terminals
from reportgen.rulebook.sizes import compare_sizes


@dataclass(frozen=True, slots=True)
class DeviceTerminals:
    """Terminals of one installed device and what lands on them.

    Attributes
    ----------
    unit : str
        Id of the device; with ``AC`` behind it for the output terminals of an inverter.
    wires : tuple of (str, str)
        Name and size of each conductor that lands.
    most : int or None
        Conductors under the fullest clamp, links counted; zero where no landing says it, None where the folder has no
        place to say it. [-]
    fullest : str
        That clamp; empty where no landing tells them apart.
    span : Span
        Where the device type stands.
    """

    unit: str
    terminals: Terminals | None
    wires: tuple[tuple[str, str], ...]
    most: int | None
    fullest: str
    span: Span


def takes(terminals: Terminals | None, size: str) -> bool | None:
    """Whether terminals take a conductor size; None where their maker does not say, or says it in another system of sizes."""
    if terminals is None:
        return None
    least, most = terminals.smallest, terminals.largest
    try:
        if least is not None and compare_sizes(size_key(size), size_key(str(least))) < 0:
            return False
        if most is not None and compare_sizes(size_key(size), size_key(str(most))) > 0:
            return False
    except ValueError:
        return None
    return None if least is None or most is None else True


def design_terminals(graph: Graph, over: Mapping[str, tuple[str, ...]]) -> tuple[DeviceTerminals, ...]:
    """Every device that conductors land on, in the order of the folder; ``over`` tells the legs on wires between devices."""
    project = graph.project
    wires: dict[str, Conductor] = {wire.id: wire for wire in graph.conductors}
    at_input = _at_input(graph)
    at_end = at_input | {end: [wires[leg] for leg in legs] for end, legs in over.items()}
    passed = _passed(graph)
    found: list[DeviceTerminals] = []
    for section in (project.switches, project.boxes):
        for kind in section.values():
            for unit, installed in kind.units.items():
                if installed.status == "removed":
                    continue
                landed = dict(_landed(graph, str(unit), wires, at_end))
                if _cuts(graph, str(unit)):
                    # What passes a device lands on it, also where the landing section forgets it.
                    landed |= {wire.id: wire.size for wire in passed.get(str(unit), [])}
                if landed:
                    most, fullest = _fullest(graph, str(unit))
                    found.append(
                        DeviceTerminals(
                            str(unit), kind.terminals, tuple(landed.items()), most, fullest, kind.span
                        )
                    )
    found += _inverters(graph, at_input)
    return tuple(found)


def _cuts(graph: Graph, unit: str) -> bool:
    box = graph.project.box_of(unit)
    return box is None or bool(box[1].terminal_ids)


def _passed(graph: Graph) -> Mapping[str, list[Conductor]]:
    """Conductors by the boxes and switches that their circuits meet and do not only pass."""
    found: dict[str, list[Conductor]] = defaultdict(list)
    for wire in graph.conductors:
        for unit in graph.passing.met(wire.circuit):
            found[unit].append(wire)
    return found


def _at_input(graph: Graph) -> dict[str, list[Conductor]]:
    """Conductors by the input pole where they end, written ``INV-1/A+``."""
    found: dict[str, list[Conductor]] = defaultdict(list)
    for wire in graph.conductors:
        if wire.leg:
            found[f"{wire.end}{wire.leg}"].append(wire)
    return found


def _landed(
    graph: Graph, unit: str, wires: Mapping[str, Conductor], at_input: Mapping[str, list[Conductor]]
) -> Iterator[tuple[str, str]]:
    """Name and size of what the landing section puts on a device; the lead to an input is the string's own wire."""
    for name in map(str, graph.project.landing.get(unit, {}).values()):
        if name in wires:
            yield name, wires[name].size
        else:
            for wire in at_input.get(name, []):
                yield f"{name} ({wire.circuit})", wire.size


def _fullest(graph: Graph, unit: str) -> tuple[int, str]:
    counts: Counter[str] = Counter(map(str, graph.project.landing.get(unit, {})))
    for pair in graph.project.jumpers.get(unit, []):
        counts.update(map(str, pair))
    if unit not in graph.project.landing or not counts:
        return 0, ""
    terminal, most = max(counts.items(), key=lambda item: item[1])
    return most, terminal


def _coming(graph: Graph, unit: str, pole: str, legs: list[Conductor]) -> int:
    """Wires that come to a pole of an input: strings that a device joins come as its leads, where all are landed on one."""
    leads = graph.places_of.get(pole, ())
    places = [graph.places_of.get(wire.id, ()) for wire in legs]
    apart = all(found and all(at != unit for at, _ in found) for found in places)
    return len(leads) if leads and apart else len(legs)


def _inverters(graph: Graph, at_input: Mapping[str, list[Conductor]]) -> Iterator[DeviceTerminals]:
    outputs: dict[str, list[Conductor]] = defaultdict(list)
    for wire in graph.conductors:
        circuit = graph.project.circuits[wire.circuit]
        if circuit.kind == "output" and circuit.inverter is not None:
            outputs[str(circuit.inverter)].append(wire)
    for kind in graph.project.inverters.values():
        for unit in map(str, kind.units):
            landed: list[tuple[str, str]] = []
            most, fullest = 0, ""
            for letter, entry in kind.inputs.items():
                for sign in "+-":
                    pole = f"{unit}/{letter}{sign}"
                    here = at_input.get(pole, [])
                    landed += [(wire.id, wire.size) for wire in here]
                    each = -(-_coming(graph, unit, pole, here) // max(1, int(entry.connectors or 1)))
                    if each > most:
                        most, fullest = each, pole
            if landed:
                yield DeviceTerminals(unit, kind.terminals, tuple(landed), most, fullest, kind.span)
            if unit in outputs:
                output = tuple((wire.id, wire.size) for wire in outputs[unit])
                yield DeviceTerminals(f"{unit} AC", kind.ac_terminals, output, None, "", kind.span)
