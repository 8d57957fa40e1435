"""Readings: what was measured, what it should have been, and what that comes to."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import (
    Blank,
    Caution,
    Chapter,
    Column,
    Element,
    Fields,
    FormTable,
    Heading,
    Paragraph,
    Table,
    TableCell,
    TaskCard,
    row,
)
from reportgen.binder.schedules import UNKNOWN, Field, Line, Marked, Schedule
from reportgen.design.checks.readings import CODES, OUTCOME
from reportgen.design.readings import Judged, StringRead
from reportgen.engineering.readings.outcome import Verdict
from reportgen.working.quantity import Quantity, Working

#: Open readings on one task card, so that it stays one sheet.
_ON_A_CARD = 12
_WORDS = {
    "voltage": "voltage against expectation",
    "alike": "string against string",
    "ends": "array end against far end",
    "legs": "legs to ground",
    "insulation": "insulation",
    "current": "short-circuit current",
    "operating": "operating current",
    "trend": "voltage over time",
}


def chapter(desk: Desk) -> Chapter | None:
    """Every series of readings with its verdicts; no chapter where nothing was measured."""
    readings = desk.design.project.readings
    if not readings:
        return None
    reads = desk.design.facts.readings.reads
    workings = list(_workings(desk, reads))
    elements: list[Element] = [
        Caution(
            "Meter and test leads",
            "Use a meter and leads rated for the cold open-circuit voltage of the string, and prove the meter before and after. "
            "Never measure current by parting a loaded connector.",
            "IEC 61010; IEC 62446-1, recalled",
        ),
        Caution(
            "A reversed reading",
            "A pair that reads negative is not switched: an arc under reverse current may not go out. Leave the switch as "
            "it is, wait until no current flows, and land the pair anew.",
            "IEC 62446-1, 6.2, recalled; the maker's words govern",
        ),
        Paragraph(
            "A voltage is judged by what the string should show at the cell temperature and irradiance of its minute, "
            "within an uncertainty that is worked out. Where that is wider than the good band, or where a condition was "
            "not measured, there is no verdict. Strings read in the same minutes are compared in any light."
        ),
        desk.keep(_voltages(desk, reads)).table(),
    ]
    for made in (_checks(desk, reads), _mistakes(reads)):
        if made.lines:
            elements.append(desk.keep(made).table())
    elements += [Heading("As entered"), _series(desk), desk.keep(_entered(desk)).table()]
    if workings:
        elements += [Heading("Working"), *workings]
    elements += _cards(reads)
    return Chapter(
        "readings",
        "Readings judged",
        "What was measured, what it should be, and what to do.",
        tuple(elements),
    )


def _series(desk: Desk) -> Table:
    """When, by whom, with what and in which conditions each series was read."""
    rows = []
    for key, series in desk.design.project.readings.items():
        conditions = (
            [desk.units.told(series.cell_temperature, "temperature")]
            if series.cell_temperature
            else ["cell temperature not stated"]
        )
        conditions += [series.irradiance.show()] if series.irradiance else ["irradiance not stated"]
        rows.append(
            row(
                key,
                str(series.date),
                str(series.by or "not stated"),
                str(series.at),
                str(series.instrument or "not stated"),
                ", ".join([*conditions, str(series.sky or "sky not stated")]),
            )
        )
    heads = ("Series", "Date", "By", "Measured at", "Instrument", "Cell, light, sky")
    return Table("readings-series", "Series", tuple(map(Column, heads)), tuple(rows))


def _workings(desk: Desk, reads: tuple[StringRead, ...]) -> Iterator[Element]:
    """Working of what decided in every judgement that no later one has replaced."""
    for read in reads:
        subject = f"{read.string}, {read.series}"
        for judged in read.judged:
            if judged.superseded:
                continue
            if judged.kind == "voltage" and read.expected is not None:
                for expected, what in (
                    (read.expected.voltage, "expected"),
                    (read.expected.uncertainty, "uncertainty"),
                ):
                    yield from desk.working(
                        expected, "reading", read.series, read.string, what, subject=subject
                    )
            for place, number in enumerate((judged.value, judged.limit)):
                if number is not None and isinstance(number.origin, Working):
                    yield from desk.working(
                        number,
                        *("reading", read.series, read.string, judged.kind, str(place)),
                        subject=subject,
                    )


def _marked(desk: Desk, value: object, judged: Judged) -> Marked:
    link = desk.anchors.get(value, "") if isinstance(value, Quantity) else ""
    note = f"replaced by {judged.superseded}" if judged.superseded else ""
    return Marked(value, OUTCOME[judged.judgement.verdict], link, note)


def _voltages(desk: Desk, reads: tuple[StringRead, ...]) -> Schedule:
    lines = []
    for read in reads:
        judged = read.of("voltage")
        if judged is None or read.volts is None:
            continue
        numbers = {item.name: item for item in judged.judgement.numbers}
        expected = read.expected
        alike = read.of("alike")
        lines.append(
            Line(
                {
                    "series": read.series,
                    "date": read.date,
                    "point": read.point,
                    "string": read.string,
                    "modules": read.count,
                    "cell": read.cell,
                    "irradiance": read.irradiance,
                    "voc": _marked(desk, read.volts, judged),
                    "expected": expected.voltage if expected else UNKNOWN,
                    "uncertainty": expected.uncertainty if expected else UNKNOWN,
                    "good": numbers.get("good deviation", ""),
                    "implied": numbers.get("implied modules", UNKNOWN),
                    "others": str(alike.named) if alike and alike.named else "",
                    "says": judged.judgement.to_do or "as expected",
                }
            )
        )
    fields = (
        Field("series", "Series"),
        Field("date", "Date"),
        Field("point", "At"),
        Field("string", "String"),
        Field("modules", "N", "", 0, align="right"),
        Field("cell", "Cell", desk.units.temperature, 0),
        Field("irradiance", "Irradiance", "W/m2", 0),
        Field("voc", "read", "V", 1, "V_oc"),
        Field("expected", "expected", "V", 1, "V_oc"),
        Field("uncertainty", "±", "V", 1, "V_oc"),
        Field("good", "good within", "V", 1, "V_oc"),
        Field("implied", "by expectation", "", 2, "Modules implied", align="right"),
        Field("others", "by others", "", 0, "Modules implied", align="right"),
        Field("says", "To do"),
    )
    notes = (
        "Modules by others: the whole number that the strings read in the same minutes speak of, empty where there is none.",
    )
    return Schedule("readings-judged", "Voltages judged", fields, tuple(lines), notes, wide=True)


def _checks(desk: Desk, reads: tuple[StringRead, ...]) -> Schedule:
    lines = tuple(
        Line(
            {
                "string": read.string,
                "series": read.series,
                "what": _marked(desk, _WORDS[judged.kind], judged),
                "reason": judged.judgement.reason,
                "against": judged.against,
                "do": judged.judgement.to_do,
                "missing": "; ".join(item.what for item in judged.missing),
            }
        )
        for read in reads
        for judged in read.judged
        if judged.kind != "voltage"
    )
    fields = (
        Field("string", "String"),
        Field("series", "Series"),
        Field("what", "What"),
        Field("reason", "Reading and reason"),
        Field("against", "Against"),
        Field("do", "To do"),
        Field("missing", "Not stated"),
    )
    return Schedule("readings-compared", "Everything else that was read", fields, lines, wide=True)


def _cards(reads: tuple[StringRead, ...]) -> Iterator[TaskCard]:
    """What is to be measured again or put right, a sheet at a time."""
    rows: list[tuple[str | TableCell | Blank, ...]] = [
        (
            read.string,
            read.point,
            TableCell(_WORDS[judged.kind], OUTCOME[judged.judgement.verdict]),
            judged.judgement.reason,
            judged.judgement.to_do,
            Blank(f"done: {_WORDS[judged.kind]}, {read.series}", tick=True),
        )
        for read in reads
        for judged in read.judged
        if judged.judgement.verdict is not Verdict.ACCEPT and not judged.superseded
    ]
    columns = tuple(
        Column(title) for title in ("String", "At", "What", "Reading and reason", "To do", "Done")
    )
    for number, start in enumerate(range(0, len(rows), _ON_A_CARD), start=1):
        yield TaskCard(
            f"card-readings-{number}",
            "Readings to take again or to put right",
            (
                Caution(
                    "A reversed reading",
                    "A pair that reads negative is not switched. Wait until no current flows, and land the pair anew.",
                    "IEC 62446-1, 6.2, recalled; the maker's words govern",
                ),
                FormTable(
                    f"card-readings-{number}-list", "Open", columns, tuple(rows[start : start + _ON_A_CARD])
                ),
                Fields(
                    f"card-readings-{number}-signed",
                    (Blank("Remarks", lines=2), Blank("Done by, initials"), Blank("Date")),
                ),
            ),
        )


def _mistakes(reads: tuple[StringRead, ...]) -> Schedule:
    lines = tuple(
        Line(
            {
                "string": read.string,
                "series": read.series,
                "code": CODES[judged.kind][0],
                "rank": str(rank),
                "says": mistake.says,
                "predicted": mistake.predicted,
                "off": mistake.off,
            }
        )
        for read in reads
        for judged in read.judged
        for rank, mistake in enumerate(judged.judgement.mistakes, start=1)
    )
    fields = (
        Field("string", "String"),
        Field("series", "Series"),
        Field("code", "Finding"),
        Field("rank", "Rank", align="right"),
        Field("says", "Likely mistake"),
        Field("predicted", "meter would show", "V", 1),
        Field("off", "off by", "V", 1),
    )
    notes = ("Each mistake is put to the test: the reading it would make, and how far the meter is from it.",)
    return Schedule("reading-mistakes", "Likely mistakes, the likeliest first", fields, lines, notes)


def _entered(desk: Desk) -> Schedule:
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
                        "vmp": reading.operating_voltage or "",
                        "imp": reading.operating_current or "",
                        "plus": reading.positive_to_ground or "",
                        "minus": reading.negative_to_ground or "",
                        "insulation": reading.insulation or "",
                        "test": reading.insulation_test_voltage or "",
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
        Field("cell", "Cell", desk.units.temperature, 0),
        Field("irradiance", "Irradiance", "W/m2", 0),
        Field("voc", "V_oc", "V", 1),
        Field("isc", "I_sc", "A", 2),
        Field("vmp", "V", "V", 1, "Running"),
        Field("imp", "I", "A", 2, "Running"),
        Field("plus", "+", "V", 1, "To ground"),
        Field("minus", "−", "V", 1, "To ground"),
        Field("insulation", "read", "Mohm", 1, "Insulation"),
        Field("test", "tested at", "V", 0, "Insulation"),
        Field("remark", "Remark"),
    )
    return Schedule("readings", "Readings as entered", fields, tuple(lines), wide=True)
