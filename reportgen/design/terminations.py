"""Every terminal that is tightened: what lands on it, the maker's torque, insulation to strip, ferrule.

The landing section names terminals and wires; the poles of an inverter follow from the inputs where strings end. A
value that the maker does not state stays missing: no torque is ever guessed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from reportgen.design.circuits import size_key
from reportgen.design.graph import Conductor, Graph
from reportgen.design.missing import Known, Missing, known
from reportgen.design.pieces import JOINT, WirePieces
from reportgen.diagnostics.model import Span
from reportgen.project.equipment import Cable, Terminals
from reportgen.rulebook import standard_equipment
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of

FINE = "fine stranded"


@dataclass(frozen=True, slots=True)
class Termination:
    """One terminal and what lands on it.

    Attributes
    ----------
    wire : str
        Conductor or lead as the landing names it; a link is written ``link T1-T2``.
    circuit, cable, size : str
        Of the conductor; empty for a link.
    torque, strip : Quantity or Missing
        As the maker states them. [N·m], [mm]
    rule : str
        ``required``, ``allowed``, ``forbidden`` or empty: what the maker says of ferrules.
    ferrule : Quantity or Missing or None
        Cross-section of the ferrule put on; None where there is none. [mm²]
    span : Span
        Where the maker's values stand or belong.
    """

    unit: str
    terminal: str
    wire: str
    circuit: str
    cable: str
    size: str
    fine: bool
    torque: Known
    strip: Known
    rule: str
    ferrule: Known | None
    source: str
    span: Span


@dataclass(frozen=True, slots=True)
class _Device:
    unit: str
    kind: str
    terminals: Terminals | None
    key: str
    span: Span


def design_terminations(
    graph: Graph, rulebook: Rulebook, over: Mapping[str, tuple[str, ...]], pieces: Sequence[WirePieces] = ()
) -> tuple[Termination, ...]:
    """Every terminal, device by device in the order of the landing, poles of inverters that it does not name, then joints.

    ``over`` tells the legs on wires from device to device by the terminals at their ends.
    """
    wires = {wire.id: wire for wire in graph.conductors}
    leads: dict[str, list[Conductor]] = defaultdict(list)
    for wire in graph.conductors:
        if wire.leg and wire.end:
            leads[f"{wire.end}{wire.leg}"].append(wire)
    devices = _devices(graph)
    ferrules: dict[tuple[str, str], Known] = {}
    found: list[Termination] = []
    named: set[str] = set()
    for unit, landed in graph.project.landing.items():
        device = devices.get(str(unit))
        if device is None:
            continue
        for terminal, name in landed.items():
            named.add(f"{unit}/{terminal}")
            here = wires.get(str(name)) or next(iter(leads.get(str(name), ())), None)
            here = here or wires.get(next(iter(over.get(str(name), ())), ""))
            found.append(_one(graph, rulebook, device, str(terminal), str(name), here, ferrules))
        found += _links(graph, device)
    for pole, ending in leads.items():
        unit, _, terminal = pole.partition("/")
        device = devices.get(unit)
        if device is None or pole in named:
            continue
        found += [_one(graph, rulebook, device, terminal, wire.id, wire, ferrules) for wire in ending]
    found += _outputs(graph, rulebook, devices, ferrules)
    found += _joints(graph, rulebook, devices, ferrules, pieces)
    return tuple(found)


def _devices(graph: Graph) -> Mapping[str, _Device]:
    found: dict[str, _Device] = {}
    project = graph.project
    for section in (project.switches, project.boxes, project.inverters):
        for key, kind in section.items():
            for unit, installed in kind.units.items():
                if installed.status != "removed":
                    found[str(unit)] = _Device(str(unit), str(key), kind.terminals, "terminals", kind.span)
    return found


def _one(
    graph: Graph,
    rulebook: Rulebook,
    device: _Device,
    terminal: str,
    name: str,
    wire: Conductor | None,
    ferrules: dict[tuple[str, str], Known],
) -> Termination:
    cable = graph.project.cables[wire.cable] if wire is not None else None
    fine = cable is not None and cable.stranding == FINE
    rule = str(device.terminals.ferrule or "") if device.terminals else ""
    ferrule: Known | None = None
    if wire is not None and cable is not None and rule != "forbidden" and (rule == "required" or fine):
        if not rule:
            ferrule = Missing(f"ferrule of the {device.key} of type {device.kind}", device.span)
        else:
            at = (wire.cable, wire.size)
            if at not in ferrules:
                ferrules[at] = ferrule_for(rulebook, cable, wire.size)
            ferrule = ferrules[at]
    return _termination(device, terminal, name, wire, rule, ferrule, fine=fine)


def _termination(
    device: _Device,
    terminal: str,
    name: str,
    wire: Conductor | None,
    rule: str,
    ferrule: Known | None,
    *,
    fine: bool,
) -> Termination:
    of_type = f"of the {device.key} of type {device.kind}"
    made = device.terminals
    place = made.span if made is not None else device.span
    return Termination(
        device.unit,
        terminal,
        name,
        wire.circuit if wire else "",
        wire.cable if wire else "",
        wire.size if wire else "",
        fine,
        known_torque(made, f"torque {of_type}", place),
        known(made.strip_length if made else None, f"strip_length {of_type}", place),
        rule,
        ferrule,
        str((made.source if made else None) or ""),
        place,
    )


def ferrule_for(rulebook: Rulebook, cable: Cable, size: str) -> Known:
    """Cross-section of the ferrule for a conductor: by its own area, the next larger where there is none [mm²]."""
    sheet = cable.of_size(size)
    if sheet is not None and sheet.area is not None:
        area = sheet.area.to("mm2").value
    elif size.endswith("mm2"):
        area = float(size.removesuffix("mm2").strip())
    else:
        try:
            area = quantity_of(rulebook.circular_mils(size_key(size))).to("mm2").value
        except OutsideTable as outside:
            return Missing(f"a table value: {outside}", cable.span)
    try:
        return quantity_of(standard_equipment.ferrule(area), "ferrule")
    except OutsideTable as outside:
        return Missing(f"a table value: {outside}", cable.span)


def _links(graph: Graph, device: _Device) -> Iterator[Termination]:
    """Both ends of every link: they stand under the same screws."""
    rule = str(device.terminals.ferrule or "") if device.terminals else ""
    for first, second in graph.project.jumpers.get(device.unit, []):
        for terminal in (str(first), str(second)):
            yield _termination(device, terminal, f"link {first}-{second}", None, rule, None, fine=False)


def _joints(
    graph: Graph,
    rulebook: Rulebook,
    devices: Mapping[str, _Device],
    ferrules: dict[tuple[str, str], Known],
    pieces: Sequence[WirePieces],
) -> Iterator[Termination]:
    """Joints of home runs to the wire of their array, and joints in boxes on the way that the landing does not name."""
    for one in pieces:
        wire, circuit = one.wire, graph.project.circuits[one.wire.circuit]
        start = one.pieces[0].start
        stated = circuit.joint
        if circuit.kind == "string" and (start.terminal == JOINT or (stated is not None and stated.torque)):
            box = devices.get(start.place)
            made = stated or (box.terminals if box is not None and start.terminal else None)
            device = _Device(start.place, wire.circuit, made, "joint", circuit.span)
            lead = graph.project.arrays[wire.start].wiring if wire.start in graph.project.arrays else None
            beside = f" to {lead.cable} {lead.size}" if lead is not None and start.terminal else ""
            item = _one(graph, rulebook, device, f"joint {wire.id}", f"{wire.id}{beside}", wire, ferrules)
            yield replace(
                item,
                torque=known_torque(made, f"torque of the joint of circuit {wire.circuit}", circuit.span),
            )
        for piece in one.pieces[:-1]:
            box = devices.get(piece.end.place)
            if (
                box is not None
                and not piece.end.terminal
                and graph.project.box_of(piece.end.place) is not None
            ):
                yield _one(graph, rulebook, box, f"joint {wire.id}", wire.id, wire, ferrules)


def known_torque(made: Terminals | None, what: str, place: Span) -> Known:
    """Torque of terminals [N·m]; one of zero tightens nothing and was not stated."""
    torque = made.torque if made is not None else None
    return known(
        torque if torque is not None and torque.value > 0 else None, what, made.span if made else place
    )


def _outputs(
    graph: Graph,
    rulebook: Rulebook,
    devices: Mapping[str, _Device],
    ferrules: dict[tuple[str, str], Known],
) -> Iterator[Termination]:
    for wire in graph.conductors:
        circuit = graph.project.circuits[wire.circuit]
        found = graph.project.inverter_of(str(circuit.inverter)) if circuit.kind == "output" else None
        if found is None or str(circuit.inverter) not in devices:
            continue
        key, kind = found
        device = _Device(str(circuit.inverter), str(key), kind.ac_terminals, "ac_terminals", kind.span)
        yield _one(graph, rulebook, device, "AC", wire.id, wire, ferrules)
