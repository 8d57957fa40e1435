"""Switches as the installer sees them: drawings, terminals in physical order, which of them beep together."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.drawings.switch import switch_figure
from reportgen.binder.elements import Caution, Element, Paragraph
from reportgen.binder.schedules import Field, Line, Schedule
from reportgen.design.switch_maps import SwitchMap
from reportgen.engineering.terminals import InputReading


def switches(desk: Desk) -> Iterator[Element]:
    """Every switch on which something is landed."""
    maps = desk.design.facts.predictions.switches
    if not maps:
        yield Paragraph("No conductor is landed on a switch.")
        return
    yield Caution(
        "A switch leaves its array side live",
        "An open switch cuts only its inverter side. It is not overcurrent protection.",
        "NEC 690.13(B); IEC 60947-3, recalled",
    )
    yield from _drawn(desk)
    across = [item for item in maps if item.rows]
    if across:
        yield desk.keep(_map_rows(across)).table()
        readings = _straight(across)
        if readings.lines:
            yield desk.keep(readings).table()
    beside = [item.unit for item in maps if not item.rows]
    if beside:
        yield Paragraph(
            f"On {', '.join(beside)} legs and leads do not lie on opposite sides, so nothing lies straight across: follow the "
            "landing table terminal by terminal."
        )
    yield desk.keep(_continuity(maps)).table()


def _drawn(desk: Desk) -> Iterator[Element]:
    """Every switch with its wires; poles as lines, links dashed."""
    graph = desk.design.facts.graph
    for item in desk.design.facts.predictions.switches:
        found = graph.project.switch_of(item.unit)
        if found is None:
            continue
        switch = found[1]
        yield switch_figure(
            item.unit,
            [str(one) for one in switch.line],
            [str(one) for one in switch.load],
            graph.poles(item.unit),
            graph.links(item.unit),
            graph.landed(item.unit),
        )


def _map_rows(maps: list[SwitchMap]) -> Schedule:
    lines = tuple(
        Line(
            {
                "unit": item.unit,
                "place": str(place),
                "near": row.near,
                "wire": row.wire,
                "far": row.far,
                "belongs": row.belongs or "nothing",
                "drawn": row.lead or "nothing",
                "straight": row.straight or "nothing",
            }
        )
        for item in maps
        for place, row in enumerate(item.rows, start=1)
    )
    fields = (
        Field("unit", "Switch"),
        Field("place", "From left", align="right"),
        Field("near", "terminal", group="Strings"),
        Field("wire", "wire", group="Strings"),
        Field("far", "terminal", group="Opposite side"),
        Field("belongs", "belongs there", group="Opposite side"),
        Field("drawn", "as drawn", group="Opposite side"),
        Field("straight", "straight across", group="Opposite side"),
    )
    return Schedule("switch-maps", "Terminals in physical order, and what belongs on them", fields, lines)


def _straight(maps: list[SwitchMap]) -> Schedule:
    def told(reading: InputReading) -> object:
        return reading.voltage if reading.voltage is not None else "not one value"

    lines = tuple(
        Line(
            {
                "unit": item.unit,
                "input": reading.input,
                "voltage": told(reading),
                "case": str(reading.case),
                "legs": ", ".join(reading.legs),
            }
        )
        for item in maps
        if item.is_trap
        for reading in item.straight
    )
    fields = (
        Field("unit", "Switch"),
        Field("input", "Input"),
        Field("voltage", "Voltmeter would show", "V", 1),
        Field("case", "What that is"),
        Field("legs", "Legs on its poles"),
    )
    return Schedule("straight-across", "What a straight-across landing would do instead", fields, lines)


def _continuity(maps: tuple[SwitchMap, ...]) -> Schedule:
    alike: dict[tuple[object, ...], list[str]] = {}
    for item in maps:
        alike.setdefault((item.kind, item.beeps_open, item.beeps_closed), []).append(item.unit)
    lines = []
    for (kind, opened, closed), units in alike.items():
        for state, sets in (("open", opened), ("closed", closed)):
            beeps = "; ".join("–".join(one) for one in sets) if isinstance(sets, tuple) else ""
            lines.append(
                Line({"units": ", ".join(units), "kind": str(kind), "state": state, "beeps": beeps or "none"})
            )
    fields = (
        Field("units", "Switches"),
        Field("kind", "Type"),
        Field("state", "Handle"),
        Field("beeps", "These terminals beep together"),
    )
    notes = ("Every other pair stays silent. Test with nothing landed, or with the array proved dead.",)
    return Schedule("continuity", "Continuity of each switch", fields, tuple(lines), notes)
