"""The year: production by month, where the energy goes, and what each wire loses."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from reportgen.binder.chapters import energy_tables
from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.upper_bounds import is_bound
from reportgen.binder.charts import MONTHS, loss_bars, monthly_bars
from reportgen.binder.elements import Chapter, Element, Facts, Listing, Paragraph
from reportgen.binder.heat_map import heat_map
from reportgen.binder.schedules import Field, Line, Schedule
from reportgen.design.assemble import Design
from reportgen.design.energy import EnergyDesign
from reportgen.engineering.energy.results import YearResult
from reportgen.working.text import fixed

if TYPE_CHECKING:
    from reportgen.engineering.energy.spread import Spread


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
                ("AC output of the year", output_words(desk.design)),
                ("How sure", year.band.text),
                ("Given by the modules", f"{most}{fixed(year.dc_kwh, 0)} kWh"),
                (
                    "Lost in the wires",
                    f"{most}{fixed(year.wire_kwh, 0)} kWh, {fixed(100 * year.wire_kwh / year.dc_kwh, 2)} % of it"
                    if year.dc_kwh
                    else "0 kWh",
                ),
            ),
            "The year",
        ),
    ]
    parts += [Paragraph(words) for words in lower_rows(desk.design)]
    if year.made:
        parts.append(
            Paragraph(
                "The hours are made, not measured: temperatures and voltages at their extremes are not in them and not shown."
            )
        )
    if energy.spread is not None:
        parts.append(desk.keep(_single_years(energy.spread)).table())
    if not year.upper_bound:
        parts.append(monthly_bars(year.ac, "AC output by month", unit="kWh"))
    desk.keep(_months(energy, year))
    desk.keep(energy_tables.strings_by_month(year))
    desk.keep(energy_tables.chain(year))
    parts += [
        *_picture(desk, energy),
        desk.keep(energy_tables.by_month(year)).table(),
        loss_bars(
            "loss-chain",
            "Where the energy goes under a clear sky: upper bounds"
            if year.upper_bound
            else "Where the energy goes",
            [(step.text, step.kwh, step.share) for step in year.chain],
            places=1,
        ),
        desk.keep(_strings(year)).table(),
        desk.keep(energy_tables.circuits(desk.design, year)).table(),
    ]
    if (met := energy_tables.extremes(desk.design, year)) is not None:
        parts.append(desk.keep(met).table())
    cautions = [text for _, text in year.cautions] + list(energy.warnings)
    if cautions:
        parts.append(Listing(tuple(dict.fromkeys(cautions))))
    return Chapter("energy", "Energy and wire loss", summary, tuple(parts))


def _picture(desk: Desk, energy: EnergyDesign) -> Iterator[Element]:
    """The year as a heat map, and in numbers for the file; nothing where no hour gives power."""
    assert energy.year is not None
    if energy.days is None or not (energy.days > 0.0).any():
        return
    if (hours := energy_tables.hours_of_months(energy)) is not None:
        desk.keep(hours)
    bound = ", under a clear sky: an upper bound" if energy.year.upper_bound else ""
    title = f"AC output by day and hour, local standard time{bound}"
    yield heat_map("year-by-hour", title, energy.days / 1000.0, more="By month and hour: energy-hours.csv.")


def lower_rows(design: Design) -> Iterator[str]:
    """What the year leaves out of arrays whose lower rows lose light."""
    rows = design.rows
    for one in rows.standing if rows is not None else ():
        if one.lost is None:
            yield (
                f"Not taken off this year: what {one.array} loses on its lower rows. It is not worked out for the strings as they "
                "stand: state where their modules sit (`positions`)."
            )
        else:
            yield (
                f"Not taken off this year, its months and its losses: the {fixed(one.lost, 0)} kWh that {one.array} loses on its "
                f"lower rows as it is strung ({fixed(one.undimmed, 0)} less {fixed(one.dimmed or 0.0, 0)} kWh of its modules, each "
                "string at its own best point), by the light that `lower_rows` states."
            )


def output_words(design: Design) -> str:
    """Output of the year for the cover, with what it leaves out."""
    assert design.energy is not None
    told = output_of(design.energy)
    rows = design.rows
    losing = rows.standing if rows is not None else ()
    if not losing or is_bound(design.energy):
        return told
    if any(one.lost is None for one in losing):
        return f"{told}; what shaded lower rows lose is not known and still to be taken off"
    return f"{told}; still to be taken off: {fixed(sum(one.lost or 0.0 for one in losing), 0)} kWh that shaded lower rows lose"


def output_of(energy: EnergyDesign) -> str:
    """Output of the year with its band, for a reader; withheld where it is an upper bound."""
    year, spread = energy.year, energy.spread
    if year is None:
        return "unknown"
    band = year.band
    if band.low_kwh is None or band.high_kwh is None:
        return "withheld: the weather is a sky without a cloud, an upper bound and no expectation"
    if spread is not None:
        return f"P50 {fixed(spread.p50, 0)} kWh {band.around}, P90 {fixed(spread.p90, 0)} kWh, from {len(spread.years)} years"
    return f"{fixed(year.ac_kwh, 0)} kWh {band.around}: {fixed(band.low_kwh, 0)} to {fixed(band.high_kwh, 0)} kWh"


def _single_years(spread: Spread) -> Schedule:
    lines = tuple(
        Line(
            {
                "file": name,
                "ac": kwh,
                "off": 100 * (kwh / spread.p50 - 1),
                "shown": "shown" if number == spread.middle else "",
            }
        )
        for number, (name, kwh) in enumerate(spread.years)
    )
    fields = (
        Field("file", "Weather"),
        Field("ac", "AC output", "kWh", 0),
        Field("off", "Off P50", "%", 1),
        Field("shown", "In this chapter"),
    )
    notes = ("P50 and P90: what half of all years and what nine of ten exceed.",)
    return Schedule("energy-years", "The output in single years", fields, lines, notes)


def _strings(year: YearResult) -> Schedule:
    lines = tuple(
        Line(
            {
                "string": item.id,
                "input": item.input,
                "plane": item.orientation,
                "dc": item.dc_kwh,
                "wire": item.wire_kwh,
                "off_peak": item.off_peak_kwh,
                "clipped": item.clipped_kwh,
                "ac": item.ac_kwh,
            }
        )
        for item in year.strings
    )
    fields = (
        Field("string", "String"),
        Field("input", "Input"),
        Field("plane", "Array"),
        Field("dc", "Modules", "kWh", 0),
        Field("wire", "Lost in its wires", "kWh", 1),
        Field("clipped", "limits", "kWh", 1, "Left in modules"),
        Field("off_peak", "not at its best voltage", "kWh", 1, "Left in modules"),
        Field("ac", "AC output", "kWh", 0),
    )
    night = sum(step.kwh for step in year.chain if step.key == "night")
    notes = (
        (
            f"The outputs together, less the {fixed(night, 1)} kWh that the inverters draw at night, are that of the site.",
        )
        if night
        else ()
    )
    return Schedule("energy-strings", "The year by string", fields, lines, notes, wide=True)


def _months(energy: EnergyDesign, year: YearResult) -> Schedule:
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
        told = "The single year shown; of all years" if energy.spread is not None else "The year's output is"
        notes = (f"{told} {output_of(energy)}. A single month may lie further off.",)
    fields = (
        Field("month", "Month"),
        Field("dc", "Modules", "kWh", 0),
        Field("wire", "Lost in wires", "kWh", 1),
        Field("clipped", "Left in modules", "kWh", 1),
        Field("ac", "AC output", "kWh", 0),
    )
    return Schedule("energy-months", "The year by month", fields, tuple(lines), notes)
