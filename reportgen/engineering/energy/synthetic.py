"""A year of hours where there is no weather file: from twelve monthly means, or from a clear sky alone.

From monthly means, the days of a month are given the spread of clearness that months of that mean have, in an order that
neither clusters nor repeats; the hours of a day follow the clear sky. Nothing is drawn at random: the same means give
the same year. Extremes of temperature are not in it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pandas as pd
from pvlib import atmosphere, clearsky, irradiance

from reportgen.engineering.energy.sun import position, shifted
from reportgen.engineering.energy.weather import YEAR, Array, Stamps, WeatherProblem, WeatherYear
from reportgen.working import months

DARKEST_DAY = 0.05
"""Clearness of the darkest day of a month [-], Liu and Jordan, Solar Energy 4 (1960) 1–19."""
CLEAREST_DAY = 1.08
"""A day gives at most this times the clear sky's total [-]: the turbidity of a given day is below the map's mean."""
CLEAREST_BEAM = 1.1
"""Direct light reaches at most this times the clear sky's [-]."""
MEASURED = {"the plane of array": (0.37, 1.2), "energy": (0.74, 2.6), "wire loss": (3.2, 7.2)}
"""Mean and greatest error against three measured typical years, each fed its own means, on five planes [%]; held by a test."""
MADE_ERROR = (
    "made from monthly means: against the three measured typical years inside pvlib (Greensboro NC, Sand Point AK, Miami FL), each "
    "fed its own means, five planes each, the error is on average and at most "
    + ", ".join(f"{mean:g} and {most:g} % on {what}" for what, (mean, most) in MEASURED.items())
    + "; the error of the means that were typed in comes on top, and the method was chosen on the same three years"
)
"""What is known of the error of such a year, for a reader."""
WIND = 3.0
"""Wind taken all year [m/s]. Common practice, no source."""
DAYS = np.array(months.DAYS)


def _hours(utc_offset_h: float) -> tuple[Stamps, Stamps]:
    """Middle of each hour of the year: local standard and universal time."""
    local = np.datetime64(f"{YEAR}-01-01T00:30:00", "s") + np.arange(8760) * np.timedelta64(3600, "s")
    return local, shifted(local, -3600.0 * utc_offset_h)


def _clear(
    utc: Stamps, latitude: float, longitude: float, elevation: float
) -> tuple[Array, Array, Array, Array, Array]:
    """Global, direct and diffuse irradiance of a clear sky, zenith angle and extraterrestrial irradiance."""
    zenith, _ = position(utc, latitude, longitude, elevation)
    middles = pd.DatetimeIndex([f"{YEAR}-{month:02d}-15" for month in range(1, 13)])
    monthly = clearsky.lookup_linke_turbidity(middles, latitude, longitude, interp_turbidity=False).to_numpy()
    day = ((utc.astype("datetime64[D]") - utc.astype("datetime64[Y]")).astype(np.int64) + 1).astype(
        np.float64
    )
    centres = np.cumsum(DAYS) - DAYS / 2.0
    turbidity = np.interp(day, centres, monthly, period=365.0)
    extra = np.asarray(irradiance.get_extra_radiation(day), dtype=np.float64)
    mass = atmosphere.get_absolute_airmass(
        atmosphere.get_relative_airmass(zenith), atmosphere.alt2pres(elevation)
    )
    # the model divides by cos(zenith); where the sun is down its result is set to zero below
    with np.errstate(divide="ignore", invalid="ignore"):
        sky = clearsky.ineichen(zenith, mass, turbidity, altitude=elevation, dni_extra=extra)
    ghi, dni, dhi = (
        np.where(zenith < 90.0, np.nan_to_num(np.asarray(sky[name], dtype=np.float64)), 0.0)
        for name in ("ghi", "dni", "dhi")
    )
    return ghi, dni, dhi, zenith, extra


def clear_sky_year(
    latitude: float, longitude: float, elevation: float, utc_offset_h: float, temp_c: Sequence[float]
) -> WeatherYear:
    """A year without a cloud: an upper bound, never an expectation.

    Parameters
    ----------
    latitude, longitude : float
        North and east positive. [°]
    elevation : float
        Above sea level. [m]
    utc_offset_h : float
        Local standard time less universal time. [h]
    temp_c : sequence of 12 floats
        Mean air temperature of each month. [°C]

    Raises
    ------
    WeatherProblem
        If there are not twelve temperatures.

    Notes
    -----
    Clear sky: Ineichen and Perez, Solar Energy 73 (2002) 151–157, with the turbidity map that pvlib carries.
    """
    means = _twelve(temp_c, "temperatures")
    local, utc = _hours(utc_offset_h)
    ghi, dni, dhi, zenith, extra = _clear(utc, latitude, longitude, elevation)
    top = extra * np.maximum(np.cos(np.radians(zenith)), 0.0)
    clearness = _by_month(local, ghi) / np.maximum(_by_month(local, top), 1e-9)
    return WeatherYear(
        local, 1.0, ghi, dni, dhi, _temperature(local, means, clearness), np.full(8760, WIND), latitude, longitude,
        elevation, utc_offset_h, "clear sky of Ineichen and Perez, no clouds", "clear sky",
        warnings=(("weather-upper-bound", "a sky without a cloud all year: every energy is an upper bound"),),
    )  # fmt: skip


def synthetic_year(
    latitude: float,
    longitude: float,
    elevation: float,
    utc_offset_h: float,
    ghi_kwh_m2_day: Sequence[float],
    temp_c: Sequence[float],
) -> WeatherYear:
    """A typical year made from twelve means of irradiation and temperature.

    Parameters
    ----------
    latitude, longitude : float
        North and east positive. [°]
    elevation : float
        Above sea level. [m]
    utc_offset_h : float
        Local standard time less universal time. [h]
    ghi_kwh_m2_day : sequence of 12 floats
        Mean global horizontal irradiation of a day of each month. [kWh/m² a day]
    temp_c : sequence of 12 floats
        Mean air temperature of each month. [°C]

    Returns
    -------
    WeatherYear
        8760 hours whose monthly irradiation and temperature are the means given.

    Raises
    ------
    WeatherProblem
        If there are not twelve of each, or a month's irradiation is below zero or more than a clear sky gives.

    Notes
    -----
    Distribution of days: Bendt, Collares-Pereira and Rabl, Solar Energy 27 (1981) 1–5, with the clearest day of Hollands and
    Huget (1983). Direct light: Maxwell, SERI/TR-215-3087 (1987). Course of a day's temperature: Erbs, Klein and Beckman (1983).
    """
    wanted = _twelve(ghi_kwh_m2_day, "irradiations") * 1000.0
    means = _twelve(temp_c, "temperatures")
    local, utc = _hours(utc_offset_h)
    clear_ghi, clear_dni, _, zenith, extra = _clear(utc, latitude, longitude, elevation)
    cosine = np.maximum(np.cos(np.radians(zenith)), 0.0)
    clear_day = clear_ghi.reshape(365, 24).sum(axis=1)
    top_day = (extra * cosine).reshape(365, 24).sum(axis=1)
    totals = np.zeros(365)
    clearness = np.zeros(12)
    for month in range(12):
        days = slice(int(DAYS[:month].sum()), int(DAYS[: month + 1].sum()))
        totals[days], clearness[month] = _month(month, wanted[month], clear_day[days], top_day[days])
    ghi = clear_ghi * np.repeat(totals / np.maximum(clear_day, 1e-9), 24)
    day = np.repeat(np.arange(1.0, 366.0), 24)
    beam = irradiance.disc(ghi, zenith, day, pressure=atmosphere.alt2pres(elevation))["dni"]
    dni = np.minimum(np.nan_to_num(np.asarray(beam, dtype=np.float64)), CLEAREST_BEAM * clear_dni)
    dni = np.where(cosine > 0.0, np.minimum(dni, ghi / np.maximum(cosine, 1e-3)), 0.0)
    dhi = np.maximum(ghi - dni * cosine, 0.0)
    return WeatherYear(
        local, 1.0, ghi, dni, dhi, _temperature(local, means, clearness), np.full(8760, WIND), latitude, longitude,
        elevation, utc_offset_h, "made from twelve monthly means of irradiation and temperature",
        "synthetic from monthly means",
        warnings=(("weather-wind", f"{WIND:g} m/s of wind is taken all year"), ("weather-made-error", MADE_ERROR)),
    )  # fmt: skip


def _twelve(values: Sequence[float], what: str) -> Array:
    """Twelve finite numbers."""
    found = np.array(values, dtype=np.float64)
    if found.shape != (12,) or not np.isfinite(found).all():
        raise WeatherProblem(f"there are not twelve monthly {what}", "give one for each month")
    return found


def _by_month(local: Stamps, values: Array) -> Array:
    """Sum over each month."""
    month = local.astype("datetime64[M]").astype(np.int64) % 12
    return np.asarray(np.bincount(month, weights=values, minlength=12), dtype=np.float64)


def _month(month: int, wanted: float, clear: Array, top: Array) -> tuple[Array, float]:
    """Totals of a month's days [Wh/m²] with the mean wanted, and the month's clearness [-]."""
    count = len(clear)
    if wanted < 0.0:
        raise WeatherProblem(f"the irradiation of month {month + 1} is below zero", "give kWh/m² a day")
    if top.sum() <= 0.0 or wanted == 0.0:
        return np.zeros(count), 0.0
    ceiling = CLEAREST_DAY * clear
    if wanted > ceiling.mean():
        raise WeatherProblem(
            f"the irradiation of month {month + 1}, {wanted / 1000:.2f} kWh/m² a day, is more than a clear sky gives "
            f"({clear.mean() / 1000:.2f})",
            "give the mean of a day on a horizontal plane, in kWh/m²",
        )
    mean = wanted / float(top.mean())
    totals = np.minimum(_clearness_of_days(mean, count) * top, ceiling)
    for _ in range(200):
        lack = wanted * count - totals.sum()
        if abs(lack) < 1e-9 * wanted:
            break
        room = totals < ceiling if lack > 0.0 else totals > 0.0
        totals[room] *= 1.0 + lack / totals[room].sum()
        np.minimum(totals, ceiling, out=totals)
    return totals, mean


def _clearness_of_days(mean: float, count: int) -> Array:
    """Clearness of a month's days [-], evenly spaced in probability and spread over the month."""
    highest = max(0.6313 + 0.267 * mean - 11.9 * (mean - 0.75) ** 8, mean + 0.05)
    lowest = min(DARKEST_DAY, 0.5 * mean)

    def average(gamma: float) -> float:
        if abs(gamma) < 1e-6:
            return 0.5 * (lowest + highest)
        low, high = 1.0, math.exp(gamma * (highest - lowest))
        return ((lowest - 1.0 / gamma) * low - (highest - 1.0 / gamma) * high) / (low - high)

    lo, hi = -200.0, 200.0
    for _ in range(80):
        gamma = 0.5 * (lo + hi)
        lo, hi = (gamma, hi) if average(gamma) < mean else (lo, gamma)
    share = (np.arange(count) + 0.5) / count
    if abs(gamma) < 1e-6:
        sorted_days = lowest + share * (highest - lowest)
    else:
        sorted_days = lowest + np.log1p(share * np.expm1(gamma * (highest - lowest))) / gamma
    order = np.argsort([_reversed_bits(day + 1) for day in range(count)], kind="stable")
    spread = np.empty(count)
    spread[order] = sorted_days
    return spread


def _reversed_bits(number: int) -> float:
    """The number's binary digits mirrored at the point: a sequence that fills 0 to 1 evenly from the start."""
    value, place = 0.0, 0.5
    while number:
        value += place * (number & 1)
        number >>= 1
        place /= 2.0
    return value


def _temperature(local: Stamps, means: Array, clearness: Array) -> Array:
    """Hourly air temperature [°C] with the monthly means given and a daily swing that grows with clearness."""
    month = (local.astype("datetime64[M]").astype(np.int64) % 12).astype(np.intp)
    clock = (local - local.astype("datetime64[D]")).astype("timedelta64[s]").astype(np.int64) / 3600.0
    phase = 2.0 * np.pi * (clock - 1.0) / 24.0
    shape = (
        0.4632 * np.cos(phase - 3.805)
        + 0.0984 * np.cos(2.0 * phase - 0.360)
        + 0.0168 * np.cos(3.0 * phase - 0.822)
        + 0.0138 * np.cos(4.0 * phase - 3.513)
    )
    swing = np.maximum(25.8 * clearness - 5.21, 0.0)
    centres = (np.cumsum(DAYS) - DAYS / 2.0) * 24.0
    smooth = np.interp(np.arange(8760) + 0.5, centres, means, period=8760.0)
    drift = (means * DAYS * 24 - _by_month(local, smooth)) / (DAYS * 24)
    return np.asarray(smooth + drift[month] + swing[month] * shape, dtype=np.float64)
