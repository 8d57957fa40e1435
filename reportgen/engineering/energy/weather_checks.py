"""What a weather file must pass before it becomes a year: order, completeness, units, and the sun.

The label of the time stamps is not trusted: half an hour wrong moves an east or west array by 5 % and a south array by
less than 1 %, so nothing downstream would show it. The sun shows it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from pvlib import irradiance

from reportgen.engineering.energy.sun import cosine_of_zenith, shifted
from reportgen.engineering.energy.weather import YEAR, Array, Stamps, WeatherProblem, WeatherYear
from reportgen.engineering.energy.weather_formats import RawWeather

START = np.datetime64(f"{YEAR}-01-01", "s")
YEAR_MINUTES = 365 * 24 * 60
LONGEST_GAP_H = 3.0
"""Longest hole that is filled by a straight line [h]."""
CLOSURE_GOOD = 0.02
"""Closure residual below which the stamps and the sun agree [-]; 0.002 to 0.009 on the three shipped years."""
DUSK_GHI = -10.0
"""Night readings of a thermopile go slightly below zero; anything lower is a fault [W/m²]. Common practice, no source."""

_LEAST = (
    ("ghi", DUSK_GHI, "W/m²", "light"),
    ("dni", DUSK_GHI, "W/m²", "light"),
    ("dhi", DUSK_GHI, "W/m²", "light"),
    ("wind", 0.0, "m/s", "wind"),
)
"""Columns that are not below zero, their least believable value, its unit, and what it is of."""

Warnings = list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class _Ordered:
    """Rows of a file in order, on one year of 365 days, as minutes from its start in the file's own clock."""

    minutes: Array
    step: float
    keep: NDArray[np.intp]


def finish(raw: RawWeather) -> WeatherYear:
    """A file's rows as a checked year of weather.

    Parameters
    ----------
    raw : RawWeather
        The rows as written.

    Raises
    ------
    WeatherProblem
        If the rows cannot be used; see `reportgen.engineering.energy.weather.parse_weather`.
    """
    warnings: Warnings = []
    ordered = _order(raw, warnings)
    lines = raw.lines[ordered.keep]
    columns = {name: values[ordered.keep].copy() for name, values in raw.columns.items()}
    _check_units(columns, lines)
    _fill(columns, lines, ordered.step, warnings)

    def utc(label: float) -> Stamps:
        minutes = ordered.minutes + label - 60.0 * raw.utc_offset_h
        return START + np.round(minutes * 60).astype("timedelta64[s]")

    place = (raw.latitude, raw.longitude)
    if not (abs(raw.latitude) <= 90.0 and abs(raw.longitude) <= 180.0):
        raise WeatherProblem(
            "the file's place is not on the globe", "check latitude and longitude in its head", 1
        )
    label, closure = raw.label_min, float("nan")
    ghi = columns["ghi"]
    if "dni" in columns and "dhi" in columns:
        label, closure = _find_label(raw, ghi, columns["dni"], columns["dhi"], utc, warnings)
    else:
        _decompose(columns, cosine_of_zenith(utc(label), *place), utc(label), warnings)
    _check_night(ghi, utc(label), 30.0 * ordered.step, place, lines)
    _check_noon(ghi, utc(label), place, warnings)

    local = shifted(utc(label), 3600.0 * raw.local_offset_h)
    seconds = (local - START).astype(np.int64) % (YEAR_MINUTES * 60)
    order = np.argsort(seconds, kind="stable")
    mid = START + seconds[order].astype("timedelta64[s]")
    snow = columns.get("snow_depth")
    if snow is not None and not np.isfinite(snow).any():
        snow = None
    return WeatherYear(
        mid=mid,
        hours=ordered.step / 60.0,
        ghi=ghi[order],
        dni=columns["dni"][order],
        dhi=columns["dhi"][order],
        temp_air=columns["temp_air"][order],
        wind=columns["wind"][order],
        latitude=raw.latitude,
        longitude=raw.longitude,
        elevation=raw.elevation,
        utc_offset_h=raw.local_offset_h,
        source=raw.source,
        kind=raw.kind,
        label_offset_min=label,
        closure=closure,
        snow_depth=None if snow is None else np.nan_to_num(snow[order]),
        warnings=tuple(warnings),
    )


def _order(raw: RawWeather, warnings: Warnings) -> _Ordered:
    """Rows of one year in even steps; a leap day is left out, a missing, doubled or exchanged row is refused."""
    count = len(raw.stamps)
    if count < 48:
        raise WeatherProblem(
            f"the file has {count} rows", "give a whole year", int(raw.lines[-1]) if count else None
        )
    months = raw.stamps.astype("datetime64[M]")
    month = months.astype(np.int64) % 12
    day = (raw.stamps.astype("datetime64[D]") - months).astype(np.int64)
    # a stamp at the end of the last hour of 29 February already reads 1 March 0:00; the middle of the hour decides
    middle = raw.stamps + np.timedelta64(round(raw.label_min * 60), "s")
    leap = (middle.astype("datetime64[M]").astype(np.int64) % 12 == 1) & (
        (middle.astype("datetime64[D]") - middle.astype("datetime64[M]")).astype(np.int64) == 28
    )
    before = np.array([0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334])
    clock = (raw.stamps - raw.stamps.astype("datetime64[D]")).astype("timedelta64[s]").astype(np.int64) / 60.0
    minutes = (before[month] + day) * 1440.0 + clock
    keep = np.flatnonzero(~leap)
    minutes = minutes[keep]
    if leap.any():
        warnings.append(
            ("weather-leap-day", f"29 February ({int(leap.sum())} rows) is left out: the year has 365 days")
        )
    step = float(np.median(np.diff(minutes)))
    if step <= 0 or YEAR_MINUTES % step:
        raise WeatherProblem(
            "the rows are not in even steps", "give a file with one row an hour", int(raw.lines[1])
        )
    jump = np.diff(minutes) % YEAR_MINUTES
    bad = np.flatnonzero(jump != step)
    expected = round(YEAR_MINUTES / step)
    if len(bad):
        at = int(bad[0]) + 1
        line = int(raw.lines[keep][at]) or None
        if jump[at - 1] == 0:
            raise WeatherProblem("the time stamp stands twice", "take the doubled row out", line)
        if jump[at - 1] > YEAR_MINUTES / 2:
            raise WeatherProblem(
                "the time stamp is earlier than the one before", "put the rows in order", line
            )
        raise WeatherProblem(
            f"{jump[at - 1] / step - 1:.0f} rows are missing before this one", "give every row", line
        )
    if len(keep) < expected:
        raise WeatherProblem(
            f"the file ends after {len(keep)} rows of {expected}",
            "give a whole year",
            int(raw.lines[-1]) or None,
        )
    if len(keep) > expected:
        raise WeatherProblem(
            f"the file has {len(keep)} rows, a year has {expected}",
            "give one year",
            int(raw.lines[keep][expected]) or None,
        )
    return _Ordered(minutes[0] + step * np.arange(expected), step, keep)


def _check_units(columns: dict[str, Array], lines: NDArray[np.intp]) -> None:
    """Refuse numbers that are not W/m², m/s and °C."""
    ghi = columns["ghi"]
    # A row with fewer fields than its head, or a code for a missing value: the hour is not to be believed.
    for name, least, unit, what in _LEAST:
        if name in columns and len(low := np.flatnonzero(columns[name] < least)):
            raise WeatherProblem(
                f"`{name}` is {columns[name][low[0]]:g} {unit}",
                f"no {what} is below zero",
                int(lines[low[0]]) or None,
            )
    if not np.isfinite(ghi).any():
        raise WeatherProblem(
            "global irradiance is missing in every row", "give a file that has it", int(lines[0]) or None
        )
    top = float(np.nanmax(ghi))
    line = int(lines[int(np.nanargmax(ghi))]) or None
    if top <= 0.0:
        raise WeatherProblem("global irradiance is zero all year", "give a file that has it", line)
    if top < 2.0:
        raise WeatherProblem(
            f"global irradiance peaks at {top:.3g}: kWh/m² by the look of it", "convert it to W/m²", line
        )
    if top < 6.0:
        raise WeatherProblem(
            f"global irradiance peaks at {top:.3g}: MJ/m² by the look of it", "convert it to W/m²", line
        )
    if top > 1700.0:
        raise WeatherProblem(
            f"global irradiance peaks at {top:.0f}, more than any hour under the sun: kJ/m² by the look of it",
            "convert it to W/m²",
            line,
        )
    if top < 250.0:
        raise WeatherProblem(
            f"global irradiance peaks at {top:.0f} W/m² in a whole year", "check its unit", line
        )
    air = columns["temp_air"]
    if not np.isfinite(air).any():
        raise WeatherProblem(
            "air temperature is missing in every row", "give a file that has it", int(lines[0]) or None
        )
    worst = int(np.nanargmax(np.abs(air)))
    if not -90.0 <= air[worst] <= 60.0:
        raise WeatherProblem(
            f"air temperature is {air[worst]:g}, which is no °C on this globe",
            "convert it to °C",
            int(lines[worst]) or None,
        )


def _fill(columns: dict[str, Array], lines: NDArray[np.intp], step: float, warnings: Warnings) -> None:
    """Fill short holes by straight lines and say where; refuse long ones."""
    for name in ("dni", "dhi"):
        if name in columns and not np.isfinite(columns[name]).any():
            del columns[name]
    if ("dni" in columns) != ("dhi" in columns):
        columns.pop("dni", None)
        columns.pop("dhi", None)
    wind = columns.get("wind")
    if wind is None or not np.isfinite(wind).any():
        columns["wind"] = np.ones(len(lines))
        warnings.append(("weather-wind", "the file has no wind; 1 m/s is taken all year"))
    for name in ("ghi", "dni", "dhi", "temp_air", "wind"):
        if name not in columns:
            continue
        values = columns[name]
        holes = ~np.isfinite(values)
        if holes.any():
            edges = np.flatnonzero(np.diff(np.concatenate([[False], holes, [False]]).astype(np.int8)))
            starts, ends = edges[::2], edges[1::2]
            longest = int(np.argmax(ends - starts))
            length = (ends[longest] - starts[longest]) * step / 60.0
            where = int(lines[starts[longest]])
            if length > LONGEST_GAP_H or holes.mean() > 0.02:
                raise WeatherProblem(
                    f"`{name}` is missing in {int(holes.sum())} rows, the longest gap has {length:g} h",
                    f"give a file without gaps longer than {LONGEST_GAP_H:g} h",
                    where or None,
                )
            known = np.flatnonzero(~holes)
            values[holes] = np.interp(np.flatnonzero(holes), known, values[known])
            listed = ", ".join(str(int(lines[start])) for start in starts[:5]) + (
                ", …" if len(starts) > 5 else ""
            )
            warnings.append(
                (
                    "weather-gap",
                    f"`{name}`: {int(holes.sum())} missing rows filled by a straight line (line {listed})",
                )
            )
        if name in ("ghi", "dni", "dhi") and (values < 0.0).any():
            warnings.append(
                ("weather-below-zero", f"`{name}`: {int((values < 0).sum())} readings below zero set to zero")
            )
            np.maximum(values, 0.0, out=values)
        columns[name] = values


def _closure(ghi: Array, dni: Array, dhi: Array, cos_zenith: Array) -> float:
    """Σ|GHI − DHI − DNI·cos z| / ΣGHI where the sun is well up [-]."""
    up = cos_zenith > 0.15
    total = float(ghi[up].sum())
    return (
        float(np.abs(ghi[up] - dhi[up] - dni[up] * cos_zenith[up]).sum()) / total
        if total > 0
        else float("nan")
    )


def _find_label(
    raw: RawWeather,
    ghi: Array,
    dni: Array,
    dhi: Array,
    utc: Callable[[float], Stamps],
    warnings: Warnings,
) -> tuple[float, float]:
    """Minutes from the file's stamps to mid-interval, and the closure residual there."""
    lit = np.flatnonzero(ghi > 0.0)

    def residual(label: float) -> float:
        return _closure(
            ghi[lit], dni[lit], dhi[lit], cosine_of_zenith(utc(label)[lit], raw.latitude, raw.longitude)
        )

    assumed = residual(raw.label_min)
    if assumed <= CLOSURE_GOOD:
        return raw.label_min, assumed
    tried = {float(label): residual(float(label)) for label in range(-60, 61, 15)}
    best = min(tried, key=lambda label: tried[label])
    if tried[best] <= CLOSURE_GOOD and tried[best] < 0.6 * assumed:
        warnings.append(
            (
                "weather-label",
                f"by its format the stamps are {raw.label_min:+.0f} min from mid-interval, by the sun {best:+.0f} min "
                f"(closure {100 * assumed:.1f} % against {100 * tried[best]:.1f} %): the sun is followed",
            )
        )
        return best, tried[best]
    warnings.append(
        (
            "weather-closure",
            f"global, diffuse and direct irradiance disagree by {100 * assumed:.1f} % (a sound file stays below "
            f"{100 * CLOSURE_GOOD:.0f} %): check place, time zone and units",
        )
    )
    return raw.label_min, assumed


def _decompose(columns: dict[str, Array], cos_zenith: Array, utc: Stamps, warnings: Warnings) -> None:
    """Direct and diffuse irradiance from global alone, by the continuous form of Erbs et al. (1982)."""
    day = (utc.astype("datetime64[D]") - utc.astype("datetime64[Y]")).astype(np.int64) + 1
    zenith = np.degrees(np.arccos(np.clip(cos_zenith, -1.0, 1.0)))
    extra = np.asarray(irradiance.get_extra_radiation(day.astype(np.float64)), dtype=np.float64)
    split = irradiance.erbs_driesse(columns["ghi"], zenith, dni_extra=extra)
    columns["dni"] = np.nan_to_num(np.asarray(split["dni"], dtype=np.float64))
    columns["dhi"] = np.nan_to_num(np.asarray(split["dhi"], dtype=np.float64))
    warnings.append(
        (
            "weather-decomposed",
            "the file has no direct and diffuse irradiance; both are estimated from the global one",
        )
    )


def _check_night(
    ghi: Array, utc: Stamps, half_s: float, place: tuple[float, float], lines: NDArray[np.intp]
) -> None:
    """Refuse a file whose light falls while the sun is down for the whole interval."""
    up = np.maximum.reduce(
        [cosine_of_zenith(shifted(utc, shift), *place) for shift in (-half_s, 0.0, half_s)]
    )
    dark = np.where(up < -0.02, ghi, 0.0)
    share = float(dark.sum() / ghi.sum())
    if share > 0.005:
        raise WeatherProblem(
            f"{100 * share:.1f} % of the year's light falls while the sun is down at the file's place and clock",
            "check longitude and time zone in the head of the file",
            int(lines[int(np.argmax(dark))]) or None,
        )


def _check_noon(ghi: Array, utc: Stamps, place: tuple[float, float], warnings: Warnings) -> None:
    """Warn where the light is not centred on the sun's noon."""
    clock = (utc - utc.astype("datetime64[D]")).astype("timedelta64[s]").astype(np.int64) / 3600.0
    angle = (clock + place[1] / 15.0 + 12.0) % 24.0 - 12.0
    offset = (angle - 12.0 + 12.0) % 24.0 - 12.0
    centre = float((ghi * offset).sum() / ghi.sum())
    if abs(centre) > 0.75:
        warnings.append(
            (
                "weather-noon",
                f"the light of the year is centred {centre:+.1f} h from the sun's noon: check time zone and longitude",
            )
        )
