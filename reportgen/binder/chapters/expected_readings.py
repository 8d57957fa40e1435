"""What strings should read over temperature and light, and the hours in which there is light enough to read them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Element, Heading, Paragraph
from reportgen.binder.schedules import Field, Line, Schedule
from reportgen.design.commissioning import ExpectedGroup
from reportgen.working.quantity import Quantity
from reportgen.working.text import fixed
from reportgen.working.unit_system import UnitSystem


def expected(desk: Desk) -> Iterator[Element]:
    """Voltages and currents of each kind of string by temperature and light."""
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
    schedule = Schedule("expected-readings", "Expected readings", (*head, *fields), lines, wide=True)
    # The strings stand over their rows.
    yield replace(desk.keep(schedule), fields=fields).table()


def _grid_fields(units: UnitSystem) -> tuple[Field, ...]:
    return (
        Field("irradiance", "Irradiance", "W/m2", 0),
        Field("cell", "Cell", units.temperature, 0),
        Field("voc", "expected", "V", 1, "V_oc"),
        Field("low", "good from", "V", 1, "V_oc", at_most=False),
        Field("high", "good to", "V", 1, "V_oc", at_most=True),
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
            },
            group=f"{', '.join(group.strings)}: {fixed(group.count.value, 0)} × {group.module}",
        )
        for row in group.rows
    )


def sun_hours(desk: Desk) -> Iterator[Element]:
    """Hours with light enough on the days that are looked at."""
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
