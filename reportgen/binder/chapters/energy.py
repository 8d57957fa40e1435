"""The year: production by month, where the energy goes, and what each wire loses."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.charts import loss_bars, monthly_bars
from reportgen.binder.elements import Chapter, Element, Facts, Listing, Paragraph
from reportgen.binder.schedules import Field, Line, Schedule
from reportgen.engineering.energy.results import YearResult
from reportgen.working.text import fixed

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


#: Extremes of a year that was measured.
_VOLTS = (
    Field("highest", "highest", "V", 0, "Operating voltage"),
    Field("lowest", "lowest", "V", 0, "Operating voltage"),
)


def chapter(desk: Desk) -> Chapter | None:
    """The simulated year, or what has to be stated before there is one; no chapter where energy was not asked for."""
    energy = desk.design.energy
    if energy is None:
        return None
    summary = "A typical year, hour by hour, with the loss in every home run."
    if energy.year is None:
        needs = tuple(f"state {item.what}" for item in energy.missing)
        elements: tuple[Element, ...] = (
            Paragraph("The year was not simulated, because something is missing:"),
            Listing(needs),
        )
        return Chapter("energy", "Energy and wire loss", summary, elements)
    year = energy.year
    most = "at most " if year.upper_bound else ""
    parts: list[Element] = [
        Facts(
            (
                ("Weather", energy.weather_source),
                ("AC output of the year", output_of(year)),
                ("How sure", year.band.text),
                ("Given by the modules", f"{most}{fixed(year.dc_kwh, 0)} kWh"),
                (
                    "Lost in the wires",
                    f"{most}{fixed(year.wire_kwh, 0)} kWh, {fixed(100 * year.wire_kwh / year.dc_kwh, 2)} % of it"
                    if year.dc_kwh
                    else "0 kWh",
                ),
                *_extremes(year),
            ),
            "The year",
        ),
        Paragraph(
            "The hours are made, not measured: temperatures and voltages at their extremes are not in them and not shown."
            if year.made
            else "A typical year holds no record cold: strings are sized by the design temperatures and never by these extremes."
        ),
    ]
    if not year.upper_bound:
        parts.append(monthly_bars(year.ac, "AC output by month", unit="kWh"))
    parts += [
        desk.keep(_months(year)).table(),
        loss_bars(
            "loss-chain",
            "Where the energy goes under a clear sky: upper bounds"
            if year.upper_bound
            else "Where the energy goes",
            [(step.text, step.kwh, step.share) for step in year.chain],
        ),
        desk.keep(_strings(year)).table(),
    ]
    cautions = [text for _, text in year.cautions] + list(energy.warnings)
    if cautions:
        parts.append(Listing(tuple(dict.fromkeys(cautions))))
    return Chapter("energy", "Energy and wire loss", summary, tuple(parts))


def output_of(year: YearResult) -> str:
    """Output of the year with its band, for a reader; withheld where it is an upper bound."""
    band = year.band
    if band.low_kwh is None or band.high_kwh is None:
        return "withheld: the weather is a sky without a cloud, an upper bound and no expectation"
    return f"{fixed(year.ac_kwh, 0)} kWh {band.around}: {fixed(band.low_kwh, 0)} to {fixed(band.high_kwh, 0)} kWh"


def _extremes(year: YearResult) -> tuple[tuple[str, str], ...]:
    """Hottest cell and highest voltage of the hours; none of a made year, which has no extremes."""
    if year.made:
        return ()
    hottest, highest = year.hottest_cell, year.open_voltage_max
    return (
        ("Hottest cell of the year", f"{fixed(hottest.value, 0)} °C, {hottest.when}, {hottest.where}"),
        ("Highest open-circuit voltage of the year", f"{fixed(highest.value, 0)} V, {highest.where}"),
    )


def _strings(year: YearResult) -> Schedule:
    lines = tuple(
        Line(
            {
                "string": item.id,
                "input": item.input,
                "plane": item.orientation,
                "dc": item.dc_kwh,
                "wire": item.wire_kwh,
                "wire_share": 100 * item.wire_share,
                "full_sun": 100 * item.figures.full_sun_share,
                "clipped": item.clipped_kwh,
                "ac": item.ac_kwh,
                "highest": item.figures.voltage_max,
                "lowest": item.figures.voltage_min,
            }
        )
        for item in year.strings
    )
    fields = (
        Field("string", "String"),
        Field("input", "Input"),
        Field("plane", "Array"),
        Field("dc", "Modules", "kWh", 0),
        Field("wire", "loss", "kWh", 1, "Wire"),
        Field("wire_share", "of the year", "%", 2, "Wire"),
        Field("full_sun", "in full sun", "%", 2, "Wire"),
        Field("clipped", "Left in modules", "kWh", 1),
        Field("ac", "AC output", "kWh", 0),
        *(() if year.made else _VOLTS),
    )
    notes = ("In full sun: loss at standard conditions with the wire at 20 °C, the usual rule of thumb.",)
    return Schedule("energy-strings", "The year by string", fields, lines, notes, wide=True)


def _months(year: YearResult) -> Schedule:
    lines = [
        Line(
            {
                "month": name,
                "dc": year.dc[i],
                "wire": year.wire[i],
                "clipped": year.clipped[i],
                "ac": year.ac[i],
            }
        )
        for i, name in enumerate(MONTHS)
    ]
    whole = {"dc": year.dc_kwh, "wire": year.wire_kwh, "clipped": year.clipped_kwh, "ac": year.ac_kwh}
    notes: tuple[str, ...] = ()
    if not year.upper_bound:
        lines.append(Line({"month": "Year", **whole}))
        notes = (f"The year's output is {output_of(year)}; a single month may lie further off.",)
    fields = (
        Field("month", "Month"),
        Field("dc", "Modules", "kWh", 0),
        Field("wire", "Lost in wires", "kWh", 1),
        Field("clipped", "Left in modules", "kWh", 1),
        Field("ac", "AC output", "kWh", 0),
    )
    return Schedule("energy-months", "The year by month", fields, tuple(lines), notes)
