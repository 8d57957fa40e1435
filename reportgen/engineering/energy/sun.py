"""Where the sun stands in the middle of each interval, and how sky light is spread around it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib import irradiance, solarposition
from pvlib.atmosphere import alt2pres

from reportgen.engineering.energy.inputs import ArrayCache
from reportgen.engineering.energy.weather import Array, Stamps, WeatherYear

METHOD = "2"
"""Raised whenever the meaning of cached arrays changes."""


@dataclass(frozen=True, slots=True)
class Sun:
    """The sun and the sky of the intervals with light, ``n`` of them.

    Parameters
    ----------
    rows : ndarray of intp, (n,)
        Index of each interval in the year of weather.
    zenith, azimuth : ndarray (n,)
        Refraction-corrected zenith angle, and azimuth clockwise from north. [°]
    extra : ndarray (n,)
        Irradiance of a surface facing the sun above the atmosphere. [W/m²]
    around, low : ndarray (n,)
        Share of diffuse light that comes from around the sun, and brightness of the band above the horizon
        relative to the whole: the F1 and F2 of Perez et al. (1990) in their continuous form. [-]
    """

    rows: NDArray[np.intp]
    zenith: Array
    azimuth: Array
    extra: Array
    around: Array
    low: Array


def shifted(stamps: Stamps, seconds: float) -> Stamps:
    """Time stamps moved by some seconds, to the whole second."""
    moved: Stamps = stamps.astype("datetime64[s]") + np.array(round(seconds), dtype="timedelta64[s]")
    return moved


def cosine_of_zenith(utc: Stamps, latitude: float, longitude: float) -> Array:
    """Cosine of the sun's true zenith angle [-], by a short series good to about 0.01°.

    Parameters
    ----------
    utc : ndarray of datetime64, (n,)
        Universal time.
    latitude, longitude : float
        North and east positive. [°]

    Notes
    -----
    Low-precision formulae of the Astronomical Almanac, as in Michalsky, Solar Energy 40 (1988) 227–235.
    """
    days = (utc.astype("datetime64[s]") - np.datetime64("2000-01-01T12:00:00")).astype(np.int64) / 86400.0
    mean = np.radians((280.460 + 0.9856474 * days) % 360.0)
    anomaly = np.radians((357.528 + 0.9856003 * days) % 360.0)
    ecliptic = mean + np.radians(1.915 * np.sin(anomaly) + 0.020 * np.sin(2.0 * anomaly))
    tilt = np.radians(23.439 - 4e-7 * days)
    ascension = np.arctan2(np.cos(tilt) * np.sin(ecliptic), np.cos(ecliptic))
    sine = np.sin(tilt) * np.sin(ecliptic)
    sidereal = np.radians((280.46062 + 360.98564737 * days + longitude) % 360.0)
    phi = np.radians(latitude)
    return np.asarray(
        np.sin(phi) * sine + np.cos(phi) * np.sqrt(1.0 - sine**2) * np.cos(sidereal - ascension),
        dtype=np.float64,
    )


def position(utc: Stamps, latitude: float, longitude: float, elevation: float) -> tuple[Array, Array]:
    """Refraction-corrected zenith angle and azimuth of the sun [°].

    Parameters
    ----------
    utc : ndarray of datetime64, (n,)
        Universal time.
    latitude, longitude : float
        North and east positive. [°]
    elevation : float
        Above sea level. [m]

    Notes
    -----
    Solar position algorithm of Reda and Andreas, Solar Energy 76 (2004) 577–589, as pvlib implements it.
    """
    index = pd.DatetimeIndex(utc.astype("datetime64[ns]")).tz_localize("UTC")
    found = solarposition.get_solarposition(
        index, latitude, longitude, altitude=elevation, pressure=alt2pres(elevation), method="nrel_numpy"
    )
    return np.array(found["apparent_zenith"], dtype=np.float64), np.array(found["azimuth"], dtype=np.float64)


def sun_of(weather: WeatherYear, cache: ArrayCache | None = None) -> Sun:
    """Sun and sky of every interval of a year that has light.

    Parameters
    ----------
    weather : WeatherYear
        The year; the place is the weather's, because its sun belongs to it.
    cache : ArrayCache, optional
        Where an earlier result for the same content may be found, and is put.
    """
    key = hashlib.sha256(f"sun {METHOD} {weather.digest}".encode()).hexdigest()
    kept = cache.get(key) if cache is not None else None
    if kept is not None:
        return Sun(
            kept["rows"].astype(np.intp),
            *(kept[name] for name in ("zenith", "azimuth", "extra", "around", "low")),
        )
    rows = np.flatnonzero((weather.ghi > 0.0) | (weather.dni > 0.0) | (weather.dhi > 0.0))
    utc = shifted(weather.mid[rows], -3600.0 * weather.utc_offset_h)
    zenith, azimuth = position(utc, weather.latitude, weather.longitude, weather.elevation)
    day = ((utc.astype("datetime64[D]") - utc.astype("datetime64[Y]")).astype(np.int64) + 1).astype(
        np.float64
    )
    extra = np.asarray(irradiance.get_extra_radiation(day), dtype=np.float64)
    around, low = _brightness(weather.dni[rows], weather.dhi[rows], extra, zenith, azimuth)
    if cache is not None:
        arrays = {"zenith": zenith, "azimuth": azimuth, "extra": extra, "around": around, "low": low}
        cache.put(key, {"rows": rows.astype(np.float64), **arrays})
    return Sun(rows, zenith, azimuth, extra, around, low)


def _brightness(dni: Array, dhi: Array, extra: Array, zenith: Array, azimuth: Array) -> tuple[Array, Array]:
    """Brightness around the sun and above the horizon [-]; neither depends on the plane that looks at the sky.

    A horizontal plane shows the first alone, a vertical one the second, so two calls serve every plane of a year.
    """
    some = np.maximum(dhi, 1e-6)
    flat = irradiance.perez_driesse(0.0, 180.0, some, dni, extra, zenith, azimuth, return_components=True)
    wall = irradiance.perez_driesse(90.0, 180.0, some, dni, extra, zenith, azimuth, return_components=True)
    around = 1.0 - np.asarray(flat["poa_isotropic"], dtype=np.float64) / some
    return around, np.asarray(wall["poa_horizon"], dtype=np.float64) / some
