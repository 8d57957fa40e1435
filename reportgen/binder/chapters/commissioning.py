"""Commissioning: tests in order with polarity first, expected readings, places to measure, hours with enough sun."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.commissioning_cards import order_card, reading_cards
from reportgen.binder.chapters.expected_readings import expected, sun_hours
from reportgen.binder.chapters.switches import switches
from reportgen.binder.elements import Caution, Chapter, Element, Facts, Heading, Paragraph
from reportgen.binder.schedules import UNKNOWN, Field, Line, Marked, Schedule
from reportgen.design.predictions import Point


def chapter(desk: Desk) -> Chapter | None:
    """The sheet to measure by; no chapter where there is no string."""
    if not desk.design.facts.strings:
        return None
    elements: list[Element] = [
        Caution(
            "Live in light",
            "Modules make voltage whenever light falls on them. Opening a switch or losing the mains does not stop it: treat "
            "both poles as live until they are measured dead. Above 120 V direct current contact can kill.",
            "IEC 60364-7-712; IEC 61140 limit of 120 V DC, recalled",
        ),
        Caution(
            "Polarity before anything is closed",
            "Red lead on the conductor labelled +: a minus sign stops the work. Do not operate the switch on a reversed "
            "reading: an arc under reverse current may not go out.",
            "IEC 62446-1, 6.2, recalled",
        ),
        Caution(
            "Insulation tester",
            "The test voltage is put on the array: keep clear, disconnect inverter and surge protection, and discharge after.",
            "IEC 62446-1, 6.7, recalled",
        ),
        *_devices(desk),
        Heading("What each place should read"),
        *_places(desk),
        Heading("Switches as the installer sees them"),
        *switches(desk),
        Heading("Expected readings over temperature and light"),
        *expected(desk),
        *sun_hours(desk),
        Heading("Working"),
        *_workings(desk),
        order_card(desk),
        *reading_cards(desk),
    ]
    return Chapter(
        "commissioning",
        "Commissioning sheet",
        "Measure before anything is closed, polarity first; enter the readings into the folder and they are judged.",
        tuple(elements),
    )


def _devices(desk: Desk) -> Iterator[Element]:
    facts = []
    for kind in desk.design.project.inverters.values():
        units = ", ".join(map(str, kind.units))
        wait = (
            kind.discharge_wait.to("min").show()
            if kind.discharge_wait
            else "not stated, take it from the manual"
        )
        facts.append((f"{units}: wait after isolation", wait))
        facts.append(
            (f"{units}: reversed input, the maker's words", str(kind.reversed_polarity or "not stated"))
        )
    if facts:
        yield Facts(tuple(facts), "Before a cover is opened")


def _places(desk: Desk) -> Iterator[Element]:
    cell = desk.units.told(desk.design.facts.predictions.cell, "temperature")
    yield Paragraph(
        f"Voltages are those at {cell} cell temperature in full sun; by other temperature and light they "
        "follow the sheet of expected readings. Signs hold for the red lead on the place named first."
    )
    yield desk.keep(_inputs(desk)).table()
    yield desk.keep(_points(desk.design.facts.predictions.points)).table()


def _inputs(desk: Desk) -> Schedule:
    lines = []
    for item in desk.design.facts.predictions.inputs:
        reading = item.reading
        unsure = item.missing[0] if item.missing else None
        lines.append(
            Line(
                {
                    "input": item.address,
                    "meant": ", ".join(item.meant) or "free",
                    "voltage": Marked(
                        unsure
                        or (reading.voltage if reading and reading.voltage is not None else "not one value"),
                        desk.worst("landing-reading", subject=item.address),
                    ),
                    "case": str(reading.case) if reading else UNKNOWN,
                    "legs": ", ".join(reading.legs) if reading else "",
                    "open": Marked(
                        ", ".join(item.left_open) or "nothing",
                        desk.worst("switch-opens", subject=item.address),
                    )
                    if item.switched
                    else "no switch",
                }
            )
        )
    fields = (
        Field("input", "Input"),
        Field("meant", "Meant for it"),
        Field("voltage", "Voltmeter shows", "V", 1),
        Field("case", "What that is"),
        Field("legs", "Legs on its poles"),
        Field("open", "Still connected with the switch open"),
    )
    return Schedule(
        "predicted-readings",
        "Reading predicted at every input for the landing as drawn",
        fields,
        tuple(lines),
    )


def _points(points: tuple[Point, ...]) -> Schedule:
    lines = tuple(
        Line(
            {
                "string": point.string,
                "place": point.place,
                "red": point.red,
                "black": point.black,
                "closed": point.closed,
                # No string reaches it, but the capacitors of an inverter may keep it live.
                "open": "live" if point.live_when_open else "measure",
            }
        )
        for point in points
    )
    fields = (
        Field("string", "String"),
        Field("place", "Place"),
        Field("red", "Red lead on"),
        Field("black", "Black lead on"),
        Field("closed", "expected", "V", 1, "Every switch closed"),
        Field("open", "place is", "", 0, "Every switch open"),
    )
    notes = (
        "Live: a string reaches it. Measure: none does, but an inverter may, until the wait is over and it is measured dead; and with one "
        "switch alone open, what lies before that switch stays live.",
    )
    return Schedule("measuring-points", "Expected voltage at each place, with its sign", fields, lines, notes)


def _workings(desk: Desk) -> Iterator[Element]:
    """Working of every predicted voltage, and of one row of the first table, whose formulas all rows share."""
    for key, value in desk.design.facts.predictions.voltages:
        yield from desk.working(value, "commissioning", key, "predicted")
    for group in desk.design.commissioning.groups[:1]:
        row = group.rows[0]
        subject = f"first row of {', '.join(group.strings)}"
        for name, value in (
            ("voltage", row.voltage),
            ("low", row.low),
            ("short", row.one_short),
            ("isc", row.short_circuit),
            ("vmp", row.operating_voltage),
            ("imp", row.operating_current),
        ):
            yield from desk.working(value, "commissioning", "row", name, subject=subject)
        yield Paragraph("Every further row of the table is worked out as its first row.")
