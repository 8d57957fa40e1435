"""Schedules of the year: extremes beside the design, months by input and inverter, wire loss by circuit."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from reportgen.binder.charts import MONTHS
from reportgen.binder.schedules import Field, Line, Schedule
from reportgen.design.assemble import Design
from reportgen.design.energy import EnergyDesign
from reportgen.design.missing import Known, Missing
from reportgen.design.results import StringDesign
from reportgen.engineering.energy.results import Extreme, StringYear, YearResult
from reportgen.working.quantity import Quantity

_VOLTAGES = (
    Field("string", "String"),
    Field("open", "year", "V", 1, "Open circuit, highest"),
    Field("open_design", "design", "V", 1, "Open circuit, highest"),
    Field("open_limit", "limit", "V", 0, "Open circuit, highest", at_most=True),
    Field("highest", "year", "V", 1, "At work, highest"),
    Field("window_to", "window", "V", 0, "At work, highest"),
    Field("lowest", "year", "V", 1, "At work, lowest"),
    Field("hot_design", "design", "V", 1, "At work, lowest"),
    Field("window_from", "window", "V", 0, "At work, lowest"),
)


def extremes(design: Design, year: YearResult) -> Schedule | None:
    """Voltages and cell temperatures met in the year beside the design's; None of hours that are made.

    A made year has no extremes, and an operating voltage follows the temperature: nothing of this may be taken from it.
    """
    if year.made:
        return None
    by_id = {string.id: string for string in design.facts.strings}
    hottest = {plane.id: plane.hottest_cell for plane in year.planes}
    lines = tuple(_extreme(design, by_id[item.id], item, hottest[item.orientation]) for item in year.strings)
    notes = (
        "The year is no record: strings are sized by the design temperatures, never by what the year met. Where it went "
        "beyond the design, the design temperatures are to be looked up again.",
        f"Open circuit in hours with light: {_when(year.open_voltage_max)}. At work (above 5 % of rated power): highest "
        f"{_when(year.voltage_max)}, lowest {_when(year.voltage_min)}. Hottest cell {_when(year.hottest_cell)}. Local standard time.",
    )
    warmth = design.facts.units.temperature
    fields = (
        *_VOLTAGES,
        Field("cell", "year", warmth, 0, "Hottest cell"),
        Field("cell_design", "design", warmth, 0, "Hottest cell"),
        Field("outside", "At an edge or off", "h", 0),
        Field("told", "Year beside design"),
    )
    return Schedule(
        "energy-extremes", "Extremes of the year beside the design", fields, lines, notes, wide=True
    )


def _when(extreme: Extreme) -> str:
    return f"{extreme.where} {extreme.when}" if extreme.where else "never"


def _extreme(design: Design, string: StringDesign, item: StringYear, hottest: Extreme) -> Line:
    found = design.project.input_of(string.input)
    inverter, port = (found[1], found[2]) if found else (None, None)
    limit = inverter.maximum_dc_voltage if inverter is not None else None
    figures = item.figures
    return Line(
        {
            "string": item.id,
            "open": figures.open_voltage_max,
            "open_design": string.governing,
            "open_limit": limit or "not stated",
            "highest": _met(figures.voltage_max),
            "window_to": (port and port.tracking_to) or "not stated",
            "lowest": _met(figures.voltage_min),
            "hot_design": string.hot_operating,
            "window_from": (port and port.tracking_from) or "not stated",
            "cell": Quantity(hottest.value, "degC"),
            "cell_design": string.hot_cell,
            "outside": figures.hours_outside,
            "told": "; ".join(dict.fromkeys(_beyond(string, item, hottest, limit))) or "within",
        }
    )


def _met(value: float) -> object:
    """An extreme; a string that never worked has none."""
    return "never at work" if math.isnan(value) else value


def _beyond(
    string: StringDesign, item: StringYear, hottest: Extreme, limit: Quantity | None
) -> Iterator[str]:
    """Where the year went beyond the design; what the design does not know is said and is not within."""
    if limit is not None and item.figures.open_voltage_max > limit.to("V").value:
        yield "above the limit of the inverter"
    if math.isnan(item.figures.voltage_min):
        yield "never at work"
    for value, known, unit, words in (
        (item.figures.open_voltage_max, string.governing, "V", "colder"),
        (hottest.value, string.hot_cell, "degC", "hotter"),
    ):
        if not isinstance(known, Quantity):
            yield f"design not known: {known.what}"
        elif value > known.to(unit).value:
            yield f"{words} than the design"
    lowest = string.hot_operating
    if isinstance(lowest, Missing):
        yield f"design not known: {lowest.what}"
    elif item.figures.voltage_min < lowest.to("V").value:
        yield "lower at work than the design"


def by_month(year: YearResult) -> Schedule:
    """Energies of the site, of each input and each inverter, a row each, by month."""
    site = [
        ("site", "modules", year.dc),
        ("site", "lost in wires", year.wire),
        ("site", "left in modules", year.clipped),
        ("site", "AC output", year.ac),
    ]
    rows = [
        *site,
        *((item.id, f"arrives from {', '.join(item.strings)}", item.dc) for item in year.inputs),
        *((item.id, "AC output", item.ac) for item in year.inverters),
    ]
    return _monthly("energy-by-month", "The year by month, input and inverter", rows, year)


def strings_by_month(year: YearResult) -> Schedule:
    """Energies of each string, input and inverter by month; for the file alone."""
    rows = [
        (item.id, words, months)
        for item in year.strings
        for words, months in (
            ("modules", item.figures.dc),
            ("lost in its wires", item.figures.wire),
            ("left in modules", item.figures.clipped),
            ("off its best voltage", item.figures.off_peak),
            ("AC output", item.figures.ac),
        )
    ]
    by_id = {item.id: item.figures for item in year.strings}
    wires: dict[str, list[tuple[float, ...]]] = {}
    modules: dict[str, list[tuple[float, ...]]] = {}
    for item in year.inputs:
        on_it = [by_id[key] for key in item.strings]
        lost = [figures.wire for figures in on_it] + [item.feeder]
        given = [figures.dc for figures in on_it]
        wires.setdefault(item.inverter, []).extend(lost)
        modules.setdefault(item.inverter, []).extend(given)
        rows += [
            (item.id, "modules", _sum(given)),
            (item.id, "lost in wires", _sum(lost)),
            (item.id, "left in modules", item.clipped),
            (item.id, "arrives", item.dc),
            (item.id, "AC output", _sum([figures.ac for figures in on_it])),
        ]
    for unit in year.inverters:
        rows += [
            (unit.id, "modules", _sum(modules.get(unit.id, []))),
            (unit.id, "lost in wires", _sum(wires.get(unit.id, []))),
            (unit.id, "left in modules", unit.clipped),
            (unit.id, "arrives", unit.dc),
            (unit.id, "AC output less the draw at night", unit.ac),
        ]
    return _monthly("energy-strings-by-month", "The year by month, string, input and inverter", rows, year)


def _sum(parts: Sequence[tuple[float, ...]]) -> tuple[float, ...]:
    """Month by month sum; no energy where there is no part."""
    return tuple(map(sum, zip(*parts, strict=True))) if parts else (0.0,) * 12


def _monthly(
    key: str, caption: str, rows: Sequence[tuple[str, str, tuple[float, ...]]], year: YearResult
) -> Schedule:
    # A sum of upper bounds would read as the year's output, so a year under a clear sky has no last column.
    lines = tuple(
        Line(
            {"of": of, "what": what}
            | {name.lower(): value for name, value in zip(MONTHS, months, strict=True)}
            | ({} if year.upper_bound else {"year": sum(months)})
        )
        for of, what, months in rows
    )
    fields = (
        Field("of", "Of"),
        Field("what", "Energy"),
        *(Field(name.lower(), name, "kWh", 0) for name in MONTHS),
        *(() if year.upper_bound else (Field("year", "Year", "kWh", 0),)),
    )
    band = f"The output of the year is known to {year.band.around}; a single month may lie further off."
    notes = () if year.upper_bound else (band,)
    return Schedule(key, caption, fields, lines, notes, wide=True)


_CIRCUITS = (
    Field("circuit", "Circuit"),
    Field("string", "String"),
    Field("ohm", "R at 20 °C", "ohm", 3, "Rule of thumb: full sun"),
    Field("imp", "I_mp", "A", 2, "Rule of thumb: full sun"),
    Field("vmp", "V_mp", "V", 1, "Rule of thumb: full sun"),
    Field("watts", "loss", "W", 1, "Rule of thumb: full sun"),
    Field("rule", "of its power", "%", 2, "Rule of thumb: full sun"),
    Field("lost", "loss", "kWh", 1, "In the year"),
    Field("share", "of its energy", "%", 2, "In the year"),
    Field("over", "met", "", 2, "Year over rule", "right"),
    Field("sun", "expected", "", 2, "Year over rule", "right"),
)


def circuits(design: Design, year: YearResult) -> Schedule:
    """Loss of each circuit in the year beside the rule of thumb at standard test conditions."""
    by_id = {string.id: string for string in design.facts.strings}
    suns = {plane.id: plane.squared_sun for plane in year.planes}
    lines = tuple(
        _circuit(by_id[item.id], item, name, lost, item.figures.full_sun_ohms[k], suns[item.orientation])
        for item in year.strings
        for k, (name, lost) in enumerate(item.loss_by_wire)
    )
    notes = (
        "Rule of thumb: I_mp × R over V_mp of the string, at 1000 W/m², cells at 25 °C and wire at 20 °C. R of both legs. Year: each "
        "hour's current squared times R at the temperature of the air.",
        "Expected: ΣG² over 1000 W/m² times ΣG on the plane. Year over rule lies near it unless a limit or window cuts the current.",
    )
    return Schedule("energy-circuits", "Loss in the wires by circuit", _CIRCUITS, lines, notes, wide=True)


def _circuit(string: StringDesign, item: StringYear, name: str, lost: float, ohm: float, sun: float) -> Line:
    current, voltage = string.operating, string.stc_operating
    watts: Known | str = ""
    rule: float | None = None
    if isinstance(current, Quantity) and isinstance(voltage, Quantity) and voltage.value > 0:
        amperes = current.to("A").value
        watts = Quantity(amperes * amperes * ohm, "W")
        rule = amperes * ohm / voltage.to("V").value
    share = lost / item.dc_kwh if item.dc_kwh > 0 else None
    return Line(
        {
            "circuit": name,
            "string": item.id,
            "ohm": ohm,
            "imp": current,
            "vmp": voltage,
            "watts": watts,
            "rule": "" if rule is None else 100 * rule,
            "lost": lost,
            "share": "" if share is None else 100 * share,
            "over": "" if not rule or share is None else share / rule,
            "sun": sun,
        }
    )


def chain(year: YearResult) -> Schedule:
    """Each step from light to output with what is left after it; for the file, the page shows it with bars."""
    left = 0.0
    lines = []
    for step in year.chain:
        if step.key == "irradiation":
            left = step.kwh
        elif step.key != "ac":
            left -= step.kwh
        lines.append(
            Line(
                {
                    "step": step.key,
                    "words": step.text,
                    "kwh": step.kwh,
                    "share": 100 * step.share,
                    "left": left,
                }
            )
        )
    fields = (
        Field("step", "Step"),
        Field("words", "Words"),
        Field("kwh", "Energy", "kWh", 1),
        Field("share", "Share of the light", "%", 2),
        Field("left", "Left after it", "kWh", 1),
    )
    notes = ("A loss is positive; light and alternating current are the energies themselves.",)
    return Schedule("energy-chain", "Where the energy goes", fields, tuple(lines), notes)


def hours_of_months(energy: EnergyDesign) -> Schedule | None:
    """Mean output of each hour of the clock by month [kW]: the heat map in numbers, for the file alone."""
    if energy.days is None or energy.year is None:
        return None
    from reportgen.engineering.energy.profile import by_month_and_hour  # noqa: PLC0415 - numpy

    table = by_month_and_hour(energy.days) / 1000.0
    bound = energy.year.upper_bound
    lines = tuple(
        Line(
            {"month": name}
            | {f"h{hour}": "" if math.isnan(value) else float(value) for hour, value in enumerate(row)}
        )
        for name, row in zip(MONTHS, table, strict=True)
    )
    fields = (
        Field("month", "Month"),
        *(Field(f"h{hour}{'_at_most' if bound else ''}", str(hour), "kW", 3) for hour in range(24)),
    )
    if bound:
        lines = tuple(
            Line({key if key == "month" else f"{key}_at_most": value for key, value in line.values.items()})
            for line in lines
        )
    caption = "Mean output in each hour of the clock" + (": upper bounds" if bound else "")
    return Schedule("energy-hours", caption, fields, lines)
