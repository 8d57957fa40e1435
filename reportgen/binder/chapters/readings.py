"""Readings: what was measured, as entered; a reading is printed beside the number of modules it belongs to."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Chapter, Element, Facts, Paragraph
from reportgen.binder.schedules import Field, Line, Schedule


def chapter(desk: Desk) -> Chapter | None:
    """Every series of readings; no chapter where nothing was measured."""
    readings = desk.design.project.readings
    if not readings:
        return None
    elements: list[Element] = [
        Caution(
            "Meter and test leads",
            "Use a meter and leads rated for the cold open-circuit voltage of the string, and prove the meter before and after. "
            "Never measure current by parting a loaded connector.",
            "IEC 61010; IEC 62446-1, recalled",
        ),
        Paragraph("Readings stand as they were entered. They are recorded here, not judged."),
    ]
    for key, series in readings.items():
        conditions = (
            [series.cell_temperature.show()] if series.cell_temperature else ["cell temperature not stated"]
        )
        conditions += [series.irradiance.show()] if series.irradiance else ["irradiance not stated"]
        elements.append(
            Facts(
                (
                    ("Date", str(series.date)),
                    ("By", str(series.by or "not stated")),
                    ("Measured at", str(series.at)),
                    ("Instrument", str(series.instrument or "not stated")),
                    ("Conditions", ", ".join([*conditions, str(series.sky or "sky not stated")])),
                ),
                f"Series {key}",
            )
        )
    elements.append(desk.keep(_readings(desk)).table())
    return Chapter("readings", "Readings", "What was measured, when, and under which light.", tuple(elements))


def _readings(desk: Desk) -> Schedule:
    counts = {string.id: string.count for string in desk.design.facts.strings}
    lines = []
    for key, series in desk.design.project.readings.items():
        for name, reading in series.strings.items():
            lines.append(
                Line(
                    {
                        "series": str(key),
                        "date": str(series.date),
                        "at": str(series.at),
                        "string": str(name),
                        "modules": counts.get(str(name), ""),
                        "time": str(reading.time or ""),
                        "cell": reading.cell_temperature or series.cell_temperature or "not stated",
                        "irradiance": reading.irradiance or series.irradiance or "not stated",
                        "voc": reading.open_circuit_voltage or "",
                        "isc": reading.short_circuit_current or "",
                        "remark": str(reading.remark or ""),
                    }
                )
            )
    fields = (
        Field("series", "Series"),
        Field("date", "Date"),
        Field("at", "At"),
        Field("string", "String"),
        Field("modules", "N", "", 0, align="right"),
        Field("time", "Time"),
        Field("cell", "Cell", "degC", 0),
        Field("irradiance", "Irradiance", "W/m2", 0),
        Field("voc", "V_oc", "V", 1),
        Field("isc", "I_sc", "A", 2),
        Field("remark", "Remark"),
    )
    return Schedule("readings", "Readings as entered", fields, tuple(lines), wide=True)
