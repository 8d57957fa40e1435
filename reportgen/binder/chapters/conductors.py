"""Conductor schedule: every circuit with the whole chain of its ampacity, its length and its drop."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from reportgen.binder.chapters import wire_sizes
from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Chapter, Element, Heading, Paragraph, Table, WorkingView
from reportgen.binder.schedules import Field, Line, Schedule
from reportgen.design.circuits import conductor_length
from reportgen.design.pieces import begins_in, way
from reportgen.design.raceways import metal_area
from reportgen.design.results import CircuitDesign, OutputDesign, WiredDesign
from reportgen.working.quantity import Assumed, Quantity

#: Over the columns of the drop at the hottest hour.
_HOT = "Hottest hour"


def chapter(desk: Desk) -> Chapter:
    """Wires, circuits, stretches and the working of each circuit."""
    workings: list[Element] = []
    for circuit in desk.design.facts.wired:
        workings += [
            *desk.working(
                circuit.terminal, "circuit", circuit.id, "terminals", rule="termination-temperature"
            ),
            *(
                view
                for stretch in circuit.stretches
                if stretch is circuit.governing
                for view in desk.working(
                    stretch.ampacity, "circuit", circuit.id, "in use", rule="conductor-ampacity-corrected"
                )
            ),
            *desk.working(circuit.drop_share, "circuit", circuit.id, "drop"),
            *desk.working(circuit.loss, "circuit", circuit.id, "loss"),
            *_own(desk, circuit),
        ]
    facts = desk.design.facts
    outputs: list[Element] = [desk.keep(_outputs(desk)).table()] if facts.outputs else []
    elements: list[Element] = [
        Caution(
            "Prove each wire before it is landed",
            "Old circuits may be mislabelled or shared, and new ones get mixed up in a pull. Ring out every conductor "
            "with one pair at a time and label it at both ends before landing. Drawings are not proof.",
            "common practice, no source",
        ),
        desk.keep(_wires(desk)).table(),
        Paragraph(
            "Two separate tests, never multiplied together: the continuous current against the uncorrected column of the "
            "terminals, and the maximum current against the column of the insulation times both factors in the worst "
            "stretch. The voltage drop is a matter of energy, not of code."
        ),
        desk.keep(_stretches(desk)).table("circuit", "stretch"),
        desk.keep(_terminals(desk)).table("unit"),
        *outputs,
        *_in_two(desk.keep(_circuits(desk))),
        *wire_sizes.section(desk),
        Heading("Working"),
        *workings,
    ]
    return Chapter(
        "conductors",
        "Conductor schedule",
        "Every wire, what it may carry in each stretch, and what it loses.",
        tuple(elements),
    )


def _own(desk: Desk, circuit: WiredDesign) -> Iterable[WorkingView]:
    """Working that only a string circuit or only an output circuit has."""
    if isinstance(circuit, CircuitDesign):
        return desk.working(circuit.hot_share, "circuit", circuit.id, "hottest hour")
    if isinstance(circuit, OutputDesign):
        return desk.working(circuit.ceiling, "circuit", circuit.id, "device", rule="conductor-protection")
    return ()


def _wires(desk: Desk) -> Schedule:
    project, graph = desk.design.project, desk.design.facts.graph
    ways = {key: way(graph, key) for key in project.circuits}
    lines = []
    for wire in graph.conductors:
        cable = project.cables[wire.cable]
        circuit = project.circuits[wire.circuit]
        lines.append(
            Line(
                {
                    "conductor": wire.id,
                    "kind": str(circuit.kind),
                    "polarity": {"+": "positive", "-": "negative"}.get(wire.leg, ""),
                    "colour": wire.colour,
                    "cable": f"{' '.join(map(str, cable.markings))} {cable.material}",
                    "size": wire.size,
                    "metal": metal_area(desk.design.facts.graph, desk.design.rulebook, wire.cable, wire.size),
                    "from": wire.start,
                    "through": ", ".join(ways[wire.circuit]),
                    "to": wire.end,
                    "length": conductor_length(desk.design.facts.graph, wire.circuit, circuit),
                    "status": str(circuit.status),
                }
            )
        )
    fields = (
        Field("conductor", "Conductor"),
        Field("kind", "Kind"),
        Field("polarity", "Polarity"),
        Field("colour", "Colour"),
        Field("cable", "Wire"),
        Field("size", "Size"),
        Field("metal", "Metal", "mm2", 2),
        Field("from", "From"),
        Field("through", "Through"),
        Field("to", "To"),
        Field("length", "Length", desk.units.length, 1),
        Field("status", "Status"),
    )
    return Schedule("conductors", "Conductors", fields, tuple(lines), wide=True)


def _array_wire(desk: Desk) -> tuple[str, ...]:
    """What loop and drop hold beside the home run, where that begins in a box."""
    graph, circuits = desk.design.facts.graph, desk.design.project.circuits
    begin = [key for key in circuits if begins_in(graph, circuits[key])]
    if not begin:
        return ()
    return (
        f"{', '.join(begin)}: one way is the home run from its box; loop, drop and loss have the wire from the array to that box in "
        "them too, at the temperature of the table, and are unknown while the `length` of the wiring of the array is not stated.",
    )


def _circuits(desk: Desk) -> Schedule:
    lines = []
    for circuit in desk.design.facts.circuits:
        worst = circuit.governing
        lines.append(
            Line(
                {
                    "circuit": circuit.id,
                    "size": str(circuit.circuit.size),
                    "continuous": circuit.string.continuous,
                    "column": circuit.terminal_column,
                    "terminal": desk.judged(circuit.terminal, "ampacity-terminal", subject=circuit.id),
                    "imax": circuit.string.maximum,
                    "stretch": str(worst.segment) if worst else "unknown",
                    "ampacity": desk.judged(worst.ampacity, "ampacity-use", subject=circuit.id)
                    if worst
                    else "unknown",
                    "length": circuit.length,
                    "at": circuit.conductor_temperature,
                    "resistance": circuit.loop,
                    "drop": circuit.drop,
                    "share": desk.judged(circuit.drop_share, "voltage-drop", subject=circuit.id),
                    "loss": desk.judged(circuit.loss, subject=circuit.id),
                    "hot_share": desk.judged(circuit.hot_share, subject=circuit.id),
                    "hot_loss": circuit.hot_loss,
                }
            )
        )
    fields = (
        Field("circuit", "Circuit"),
        Field("size", "Size"),
        Field("continuous", "continuous", "A", 2, "At the terminals"),
        Field("column", "column", "degC", 0, "At the terminals"),
        Field("terminal", "ampacity", "A", 2, "At the terminals", at_most=True),
        Field("imax", "I_max", "A", 2, "In the raceway"),
        Field("stretch", "worst stretch", group="In the raceway"),
        Field("ampacity", "ampacity", "A", 2, "In the raceway", at_most=True),
        Field("length", "one way", desk.units.length, 1, "Drop at standard conditions"),
        Field("at", "conductor", desk.units.temperature, 0, "Drop at standard conditions"),
        Field("resistance", "loop", "ohm", 3, "Drop at standard conditions"),
        Field("drop", "drop", "V", 2, "Drop at standard conditions"),
        Field("share", "drop", "%", 2, "Drop at standard conditions"),
        Field("loss", "loss", "W", 1, "Drop at standard conditions"),
        Field("hot_share", "drop", "%", 2, _HOT),
        Field("hot_loss", "loss", "W", 1, _HOT),
    )
    notes = (
        "Conductor: temperature that the wire settles at in its warmest stretch, or the one stated; taken for the whole length.",
        "Columns are named in °C, as terminals and insulation are marked; workings keep the units of the tables that they rest on.",
        "Hottest hour: full sun on the hottest day, with the light on the rear where it is stated.",
        *_array_wire(desk),
    )
    return Schedule(
        "circuits", "Circuits: both ampacity tests and the drop", fields, tuple(lines), notes, wide=True
    )


def _in_two(schedule: Schedule) -> Iterable[Table]:
    """The schedule on upright sheets: ampacity in one table, the drop in another."""
    circuit, size = schedule.fields[:2]
    drop = [field for field in schedule.fields[2:] if "drop" in field.group.lower() or field.group == _HOT]
    ampacity = [field for field in schedule.fields[2:] if field not in drop]
    for id, caption, fields, notes in (
        (schedule.id, "Circuits: both ampacity tests", ampacity, schedule.notes[1:2]),
        ("circuit-drops", "Circuits: voltage drop and loss", drop, (schedule.notes[0], schedule.notes[2])),
    ):
        part = replace(schedule, id=id, caption=caption, fields=(circuit, size, *fields), notes=notes)
        yield part.table()


def _terminals(desk: Desk) -> Schedule:
    lines = [
        Line(
            {
                "circuit": circuit.id,
                "unit": terminal.unit,
                "column": terminal.column,
                "ampacity": terminal.ampacity,
                "continuous": circuit.continuous,
                "stated": "no" if isinstance(terminal.column.origin, Assumed) else "yes",
                "governs": "yes" if terminal.unit == circuit.terminal_at else "",
            }
        )
        for circuit in desk.design.facts.wired
        for terminal in circuit.terminals
    ]
    fields = (
        Field("circuit", "Circuit"),
        Field("unit", "Terminals at"),
        Field("column", "Column", "degC", 0),
        Field("ampacity", "Ampacity", "A", 2, at_most=True),
        Field("continuous", "Continuous current", "A", 2),
        Field("stated", "Marking stated"),
        Field("governs", "Governs"),
    )
    notes = ("The column is the marking's, never above what the insulation is made for; every end counts.",)
    return Schedule(
        "circuit-terminals", "Ampacity at every terminal of each circuit", fields, tuple(lines), notes
    )


def _outputs(desk: Desk) -> Schedule:
    lines = []
    for output in desk.design.facts.outputs:
        worst = output.governing
        lines.append(
            Line(
                {
                    "circuit": output.id,
                    "size": str(output.circuit.size),
                    "phases": str(output.circuit.phases or "unknown"),
                    "voltage": output.voltage,
                    "current": output.maximum,
                    "continuous": output.continuous,
                    "terminal": desk.judged(output.terminal, "ampacity-terminal", subject=output.id),
                    "stretch": str(worst.segment) if worst else "unknown",
                    "ampacity": desk.judged(worst.ampacity, "ampacity-use", subject=output.id)
                    if worst
                    else "unknown",
                    "device": output.device or "unknown",
                    "ceiling": desk.judged(output.ceiling, "output-device", subject=output.id),
                    "length": output.length,
                    "share": desk.judged(output.drop_share, "voltage-drop", subject=output.id),
                    "loss": output.loss,
                }
            )
        )
    fields = (
        Field("circuit", "Circuit"),
        Field("size", "Size"),
        Field("phases", "Phases"),
        Field("voltage", "Voltage", "V", 0),
        Field("current", "continuous", "A", 1, "Current"),
        Field("continuous", "for continuous duty", "A", 1, "Current"),
        Field("terminal", "terminals", "A", 1, "Ampacity", at_most=True),
        Field("stretch", "worst stretch", group="Ampacity"),
        Field("ampacity", "there", "A", 1, "Ampacity", at_most=True),
        Field("device", "rating", "A", 0, "Device"),
        Field("ceiling", "at most", "A", 0, "Device", at_most=True),
        Field("length", "one way", desk.units.length, 1, "Drop"),
        Field("share", "drop", "%", 2, "Drop"),
        Field("loss", "loss", "W", 1, "Drop"),
    )
    notes = (
        "Resistance and reactance are those of the code's table for alternating current, at its temperature.",
    )
    return Schedule("outputs", "Output circuits", fields, tuple(lines), notes, wide=True)


def _places(desk: Desk, lines: Sequence[Line]) -> int:
    """Decimal places of ambients: with none a broken one could print as one of the band beside its own."""
    unit = desk.units.temperature
    ambients = [line.values["ambient"] for line in lines]
    numbers = [one.to(unit).value for one in ambients if isinstance(one, Quantity)]
    return 0 if all(abs(number - round(number)) < 1e-6 for number in numbers) else 1


def _stretches(desk: Desk) -> Schedule:
    lines: list[Line] = []
    for circuit in desk.design.facts.circuits:
        for stretch in circuit.stretches:
            lines.append(
                Line(
                    {
                        "circuit": circuit.id,
                        "stretch": str(stretch.segment),
                        "ambient": stretch.ambient,
                        "carrying": stretch.carrying,
                        "table": stretch.table,
                        "ambient_factor": stretch.ambient_factor,
                        "count_factor": stretch.count_factor,
                        "ampacity": stretch.ampacity,
                        "governs": "yes" if stretch is circuit.governing else "",
                    }
                )
            )
    fields = (
        Field("circuit", "Circuit"),
        Field("stretch", "Stretch"),
        Field("ambient", "Ambient", desk.units.temperature, _places(desk, lines)),
        Field("carrying", "Carrying", "", 0, align="right"),
        Field("table", "Table", "A", 0),
        Field("ambient_factor", "F_T", "", 2, align="right"),
        Field("count_factor", "F_n", "", 2, align="right"),
        Field("ampacity", "Ampacity", "A", 2, at_most=True),
        Field("governs", "Governs"),
    )
    notes = (
        "Carrying: current-carrying conductors in the stretch; grounds are left out, spare and abandoned wires count."
        " A nipple takes no factor for their number; no other exception from it is taken.",
        "Not judged: the tails at both ends, outside these stretches. Where one lies in a pipe of its own, or among others in the sun, state that pipe as a raceway.",
    )
    return Schedule(
        "stretches", "Ampacity of each circuit in each stretch of raceway", fields, tuple(lines), notes
    )
