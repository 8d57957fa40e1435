"""Commissioning: tests in order with polarity first, expected readings, places to measure, hours with enough sun."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.drawings.switch import switch_figure
from reportgen.binder.elements import (
    Blank,
    Caution,
    Chapter,
    Column,
    Element,
    Facts,
    Fields,
    FormTable,
    Heading,
    Paragraph,
    TableCell,
    TaskCard,
)
from reportgen.binder.schedules import UNKNOWN, Field, Line, Marked, Schedule
from reportgen.design.commissioning import ExpectedGroup, InsulationTest
from reportgen.design.missing import Missing
from reportgen.design.predictions import Point
from reportgen.design.switch_maps import SwitchMap
from reportgen.engineering.terminals import InputReading
from reportgen.working.quantity import Quantity
from reportgen.working.text import fixed
from reportgen.working.unit_system import UnitSystem
from reportgen.working.units import UNITS

#: Strings on one task card, so that it stays one sheet.
_ON_A_CARD = 8
#: Blanks beside an expected reading, one a string.
_BESIDE = 3


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
        *_switches(desk),
        Heading("Expected readings over temperature and light"),
        *_expected(desk),
        *_sun(desk),
        Heading("Working"),
        *_workings(desk),
        TaskCard(
            "card-order-of-tests",
            "Order of tests",
            (
                Caution(
                    "Live in light",
                    "Both poles are live until measured dead. A minus sign stops the work: close nothing, operate no switch.",
                    "IEC 62446-1, 6.2, recalled",
                ),
                _order(desk, "tests"),
                Fields("order-of-tests-signed", (Blank("Remarks", lines=2),)),
            ),
        ),
        *_cards(desk),
    ]
    return Chapter(
        "commissioning",
        "Commissioning sheet",
        "Measure before anything is closed, polarity first; enter the readings into the folder and they are judged.",
        tuple(elements),
        page_break=True,
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


def _order(desk: Desk, id: str) -> FormTable:
    """Tests in order; each is done before the next begins."""
    bands = desk.design.commissioning.bands
    ends, alike = bands.ends_share.show(), bands.alike_share.show()
    steps = (
        (
            "Meter proved on a known source; leads and meter rated for the cold voltage",
            "reads right",
            "it does not",
        ),
        (
            "Inverters off, switches open and locked; wait as above",
            "no voltage on the inverter side",
            "any voltage",
        ),
        (
            "Bond of every frame and rail to the ground bar, leads nulled",
            f"up to {bands.continuity_good.show()}",
            f"above {bands.continuity_stop.show()}",
        ),
        ("Polarity of every string at the array, red on +", "no minus sign", "a minus sign"),
        (
            "Open-circuit voltage of every string at the array, with cell temperature, irradiance and time",
            "within the band of the sheet",
            f"off by more than {bands.voltage_stop.show()} module",
        ),
        (
            "Strings of one kind read in the same minutes",
            f"alike within {alike}, module for module",
            f"more than {bands.voltage_good.show()} module",
        ),
        (
            "The same strings at the switch, array side",
            f"sign and value as at the array within {ends}",
            "another value or sign",
        ),
        (
            "Both legs of every floating string to ground, until they stand still",
            f"together up to {bands.leg_settled.show()} of the open-circuit voltage",
            "a steady split: fault to ground",
        ),
        (
            "Insulation of every string at its test voltage; discharge after",
            f"least value of the card; from {bands.insulation_good.show()} no dry repeat",
            "below the least",
        ),
        (
            "Switch closed, inverter off: polarity and voltage at every input",
            "its own string, plus sign",
            "anything else: see the table of predictions",
        ),
        (
            "Like strings told apart: no current flowing by the clamp meter, one opened at the array, every input read",
            "its own input alone falls to nothing",
            "another input falls: two strings are exchanged",
        ),
        (
            "Short-circuit current, with a tester made for it; never by parting a connector",
            f"alike within {bands.current_good.show()}, light taken out",
            f"off by more than {bands.current_stop.show()}",
        ),
        (
            "Inverter on: operating voltage and current of every string",
            "near the sheet, unless it clips or is held back",
            "one string far below the others",
        ),
        (
            "Terminals by infrared after an hour, and after thirty days",
            "none warmer than its neighbours",
            "a warm terminal",
        ),
    )
    return FormTable(
        id,
        "Order of tests",
        (
            Column("No.", align="right"),
            Column("Test"),
            Column("Good"),
            Column("Stop"),
            Column("Done"),
            Column("Initials"),
        ),
        tuple(
            (str(number), what, good, stop, Blank(tick=True), Blank())
            for number, (what, good, stop) in enumerate(steps, start=1)
        ),
        (
            "Bands are common practice without a source; the insulation test is that of IEC 62446-1, recalled.",
        ),
        wide=True,
    )


def _form(schedule: Schedule, *blanks: Column) -> FormTable:
    """A schedule with fields to fill in beside it."""
    table = schedule.table()
    rows: tuple[tuple[str | TableCell | Blank, ...], ...] = tuple(
        (*row.cells, *(Blank() for _ in blanks)) for row in table.rows
    )
    return FormTable(table.id, table.caption, (*table.columns, *blanks), rows, table.notes, table.wide)


def _places(desk: Desk) -> Iterator[Element]:
    cell = desk.units.told(desk.design.facts.predictions.cell, "temperature")
    yield Paragraph(
        f"Voltages are those at {cell} cell temperature in full sun; by other temperature and light they "
        "follow the sheet of expected readings. Signs hold for the red lead on the place named first."
    )
    yield desk.keep(_inputs(desk)).table()
    points = desk.keep(_points(desk.design.facts.predictions.points))
    yield _form(points, Column("Read", "V"), Column("Time"))


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


def _switches(desk: Desk) -> Iterator[Element]:
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


def _expected(desk: Desk) -> Iterator[Element]:
    sheet = desk.design.commissioning
    yield Paragraph(
        "Good is within a share of the expectation or part of a module, whichever is less. Below "
        f"{sheet.bands.irradiance_least.show()} no voltage is judged by expectation: compare strings with each other and wait "
        "for light. Operating voltages are by temperature alone; light moves them by about 3 % down to 400 W/m², and "
        "operating currents follow the light. They hold while the inverter tracks, neither clipped nor held back."
    )
    if any(kind.bifaciality and kind.bifaciality.value > 0 for kind in desk.design.project.modules.values()):
        yield Paragraph(
            "Bifacial modules give more current than tabled, by what their rear gains in that minute."
        )
    if sheet.own_grid:
        yield Paragraph(
            "Temperatures and irradiances of these tables are the tool's own where the folder names none; "
            "`commissioning` replaces them."
        )
    fields = _grid_fields(desk.units)
    lines = tuple(line for group in sheet.groups for line in _grid_lines(group))
    head = (
        Field("strings", "Strings"),
        Field("module", "Module"),
        Field("modules", "N", "", 0, align="right"),
    )
    desk.keep(Schedule("expected-readings", "Expected readings", (*head, *fields), lines))
    for place, group in enumerate(sheet.groups, start=1):
        names = group.strings[:_BESIDE]
        more = "" if len(group.strings) <= _BESIDE else "; the sheet is copied for the others"
        caption = f"{', '.join(group.strings)}: {fixed(group.count.value, 0)} × {group.module}{more}"
        schedule = Schedule(f"expected-{place}", caption, fields, _grid_lines(group), wide=True)
        yield _form(schedule, *(Column(f"{name} read", "V") for name in names))


def _grid_fields(units: UnitSystem) -> tuple[Field, ...]:
    return (
        Field("irradiance", "Irradiance", "W/m2", 0),
        Field("cell", "Cell", units.temperature, 0),
        Field("voc", "expected", "V", 1, "V_oc"),
        Field("low", "good from", "V", 1, "V_oc"),
        Field("high", "good to", "V", 1, "V_oc"),
        Field("short", "one module less", "V", 1, "V_oc"),
        Field("isc", "I_sc", "A", 2),
        Field("vmp", "V", "V", 1, "Operating"),
        Field("imp", "I", "A", 2, "Operating"),
    )


def _grid_lines(group: ExpectedGroup) -> tuple[Line, ...]:
    return tuple(
        Line(
            {
                "strings": ", ".join(group.strings),
                "module": group.module,
                "modules": group.count,
                "irradiance": row.irradiance,
                "cell": row.cell,
                "voc": row.voltage,
                "low": row.low if row.judged else "not judged",
                "high": row.high if row.judged else "not judged",
                "short": row.one_short,
                "isc": row.short_circuit,
                "vmp": row.operating_voltage,
                "imp": row.operating_current,
            }
        )
        for row in group.rows
    )


def _sun(desk: Desk) -> Iterator[Element]:
    sun = desk.design.sun
    yield Heading("Hours with enough sun")
    if sun is None:
        yield Paragraph("Not worked out in this run.")
        return
    if sun.rows:
        lines = tuple(
            Line(
                {
                    "date": row.date,
                    "arrays": ", ".join(row.arrays),
                    "voltage": _spans(row.hours.spans[0]),
                    "current": _spans(row.hours.spans[1]),
                    "most": Quantity(row.hours.most, "W/m2"),
                    "highest": Quantity(row.hours.highest, "deg"),
                    "noon": _clock(row.hours.noon),
                }
            )
            for row in sun.rows
        )
        fields = (
            Field("date", "Date"),
            Field("arrays", "Arrays"),
            Field("voltage", f"Voltages, from {sun.voltage_light.show()}"),
            Field("current", f"Currents, from {sun.current_light.show()}"),
            Field("most", "Most light", "W/m2", 0),
            Field("highest", "height", "deg", 0, "Highest sun"),
            Field("noon", "at", "", 0, "Highest sun"),
        )
        notes = (
            "Clear sky, irradiance in the plane of each array, local standard time: add an hour in summer time.",
        )
        yield desk.keep(
            Schedule("sun-hours", "Hours in which there is enough light to measure", fields, lines, notes)
        ).table()
    for item in sun.missing:
        yield Paragraph(f"Not worked out: state {item.what}.")


def _spans(spans: tuple[tuple[int, int], ...]) -> str:
    return ", ".join(f"{_clock(first)}–{_clock(last)}" for first, last in spans) or "none"


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


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


def _cards(desk: Desk) -> Iterator[Element]:
    """Sheets to carry outside: every string with its fields, a few strings on each."""
    strings = desk.design.facts.strings
    tests = {item.string: item for item in desk.design.commissioning.tests}
    for number, start in enumerate(range(0, len(strings), _ON_A_CARD), start=1):
        part = strings[start : start + _ON_A_CARD]
        id, span = f"card-commissioning-{number}", f"{part[0].id} to {part[-1].id}"
        voltages: list[tuple[str | TableCell | Blank, ...]] = [
            (
                string.id,
                fixed(string.count.value, 0),
                string.input or "not stated",
                *(Blank() for _ in range(6)),
            )
            for string in part
        ]
        grounds: list[tuple[str | TableCell | Blank, ...]] = [
            (string.id, Blank(), Blank(), _test(tests[string.id]), Blank(), Blank(), Blank())
            for string in part
        ]
        yield TaskCard(
            id,
            f"Commissioning readings, {span}" if len(part) > 1 else "Commissioning readings",
            (
                Caution(
                    "Stop on a minus sign",
                    "Red on +. A minus sign or a value of another string: close nothing, operate no switch, find the wires. "
                    "The array side is live in any light.",
                    "IEC 62446-1, 6.2, recalled",
                ),
                FormTable(
                    f"{id}-voltages",
                    "Polarity and open-circuit voltage",
                    _voltages(desk.units),
                    tuple(voltages),
                    called="card-commissioning-voltages",
                ),
                FormTable(
                    f"{id}-grounds",
                    "Legs to ground, insulation, current",
                    _GROUNDS,
                    tuple(grounds),
                    called="card-commissioning-grounds",
                ),
                Fields(
                    f"{id}-signed",
                    (
                        Blank("Measured by"),
                        Blank("Date"),
                        Blank("Instrument"),
                        Blank("Error of the meter, %"),
                        Blank("Remarks", lines=2),
                    ),
                ),
            ),
        )


def _voltages(units: UnitSystem) -> tuple[Column, ...]:
    return (
        Column("String"),
        Column("N", align="right"),
        Column("Input"),
        Column("Time"),
        Column("Cell", UNITS[units.temperature].printed),
        Column("Light", "W/m²"),
        Column("array", "V", group="V_oc"),
        Column("switch", "V", group="V_oc"),
        Column("input", "V", group="V_oc"),
    )


_GROUNDS = (
    Column("String"),
    Column("+", "V", group="To ground"),
    Column("−", "V", group="To ground"),
    Column("test at, least", group="Insulation"),
    Column("read", "MΩ", group="Insulation"),
    Column("I_sc", "A"),
    Column("Initials"),
)


def _test(test: InsulationTest) -> str:
    if isinstance(test.test, Missing) or isinstance(test.least, Missing):
        return UNKNOWN
    return f"{test.test.show(0)}, {test.least.show()}"
