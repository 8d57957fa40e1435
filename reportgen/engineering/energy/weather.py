"""A year of weather: what it holds, and what is checked before a number of it is used.

`parse_weather` recognises a file's format by its content. Whatever the file says about its time stamps is tried
against the sun: global = diffuse + direct × cos(zenith) holds only when the sun is where the stamp says.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cached_property, lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Stamps = NDArray[np.datetime64]

YEAR = 1990
"""Every typical year is laid on this year, which has no leap day."""
MAX_BYTES = 64 * 1024 * 1024
"""A larger file is refused before it is read."""

SourceKind = Literal["typical year", "one year", "synthetic from monthly means", "clear sky"]


class WeatherProblem(Exception):
    """Raised when weather cannot be used.

    Attributes
    ----------
    reason : str
        The fact, lower case, without full stop.
    help : str
        The one thing to do.
    line : int or None
        Line of the file it concerns, counted from 1, where one line can be named.
    """

    def __init__(self, reason: str, help: str, line: int | None = None) -> None:
        super().__init__(f"{reason}; {help}" if line is None else f"line {line}: {reason}; {help}")
        self.reason = reason
        self.help = help
        self.line = line


@dataclass(frozen=True)
class WeatherYear:
    """One year of weather in even intervals, January to December in local standard time.

    Parameters
    ----------
    mid : ndarray of datetime64[s], (n,)
        Middle of each interval, local standard time (no daylight saving), in a year of 365 days.
    hours : float
        Length of an interval. [h]
    ghi, dni, dhi : ndarray of float64, (n,)
        Mean global horizontal, direct normal and diffuse horizontal irradiance of the interval. [W/m²]
    temp_air : ndarray of float64, (n,)
        Outdoor air temperature. [°C]
    wind : ndarray of float64, (n,)
        Wind speed. [m/s]
    latitude, longitude : float
        Where the weather belongs; north and east positive. [°]
    elevation : float
        Above sea level. [m]
    utc_offset_h : float
        Local standard time less universal time. [h]
    source : str
        What the weather is, for a reader.
    kind : {"typical year", "one year", "synthetic from monthly means", "clear sky"}
        What may be concluded from it.
    label_offset_min : float
        Minutes added to the file's time stamps to reach the middle of each interval.
    closure : float
        Σ|GHI − DHI − DNI·cos z| / ΣGHI over hours with cos z > 0.15; not a number where it has no meaning. [-]
    snow_depth : ndarray of float64, (n,), optional
        Depth of snow on the ground. [cm]
    warnings : tuple of (str, str)
        Code and text of everything a reader should know.
    """

    mid: Stamps
    hours: float
    ghi: Array
    dni: Array
    dhi: Array
    temp_air: Array
    wind: Array
    latitude: float
    longitude: float
    elevation: float
    utc_offset_h: float
    source: str
    kind: SourceKind = "typical year"
    label_offset_min: float = 0.0
    closure: float = float("nan")
    snow_depth: Array | None = None
    warnings: tuple[tuple[str, str], ...] = ()

    @cached_property
    def month(self) -> NDArray[np.intp]:
        """Month of each interval, 0 for January."""
        return (self.mid.astype("datetime64[M]").astype(np.int64) % 12).astype(np.intp)

    @cached_property
    def digest(self) -> str:
        """SHA-256 of everything that irradiance on a plane depends on, for cache keys."""
        total = hashlib.sha256()
        for values in (self.mid.astype("datetime64[s]").astype(np.int64), self.ghi, self.dni, self.dhi):
            total.update(np.ascontiguousarray(values).tobytes())
        place = (self.latitude, self.longitude, self.elevation, self.utc_offset_h, self.hours)
        total.update(repr(tuple(float(value) for value in place)).encode())
        return total.hexdigest()

    def monthly(self, values: Array) -> Array:
        """Sum of a power-like series over each month, times the interval [unit of the series × h]."""
        return np.asarray(
            np.bincount(self.month, weights=values, minlength=12) * self.hours, dtype=np.float64
        )

    @property
    def monthly_ghi(self) -> Array:
        """Global horizontal irradiation of each month [kWh/m²]."""
        return self.monthly(self.ghi) / 1000.0

    @property
    def monthly_temp(self) -> Array:
        """Mean air temperature of each month [°C]."""
        return self.monthly(self.temp_air) / self.monthly(np.ones_like(self.temp_air))


def check_site(weather: WeatherYear, latitude: float, longitude: float) -> tuple[tuple[str, str], ...]:
    """Warnings where a year of weather does not suit a place: hemisphere, distance, clock.

    Parameters
    ----------
    weather : WeatherYear
        The year.
    latitude, longitude : float
        The place of the array; north and east positive. [°]

    Returns
    -------
    tuple of (str, str)
        Code and text; empty where nothing is amiss. Distances below 100 km pass (common practice, no source).
    """
    found: list[tuple[str, str]] = []
    if weather.latitude * latitude < 0.0 and abs(weather.latitude - latitude) > 5.0:
        found.append(
            (
                "weather-hemisphere",
                f"the weather is for latitude {weather.latitude:.2f}°, the site is at {latitude:.2f}°: another hemisphere, "
                "summer and winter are exchanged",
            )
        )
    distance = _distance_km(weather.latitude, weather.longitude, latitude, longitude)
    if distance > 100.0:
        found.append(
            ("weather-distance", f"the weather comes from a place {distance:.0f} km away from the site")
        )
    clock = abs((weather.utc_offset_h * 15.0 - longitude + 180.0) % 360.0 - 180.0) / 15.0
    if clock > 3.0:
        found.append(
            (
                "weather-clock",
                f"the weather's clock (UTC{weather.utc_offset_h:+.1f} h) and the site's longitude {longitude:.2f}° are "
                f"{clock:.1f} h apart",
            )
        )
    return tuple(found)


def _distance_km(lat1: float, lon1: float, lat2: float, lon2: float) -> float:
    """Distance along the globe [km], haversine, mean radius 6371 km."""
    p1, p2 = np.radians(lat1), np.radians(lat2)
    half = np.sin((p2 - p1) / 2) ** 2 + np.cos(p1) * np.cos(p2) * np.sin(np.radians(lon2 - lon1) / 2) ** 2
    return float(2 * 6371.0 * np.arcsin(np.sqrt(half)))


def parse_weather(name: str, data: bytes) -> WeatherYear:
    """The year of weather [W/m², °C, m/s] in a file's bytes, whatever the file is called.

    Parameters
    ----------
    name : str
        Name for messages and for the source text; it decides nothing.
    data : bytes
        The whole file: TMY2, TMY3, EPW, a national solar radiation database CSV, or a public satellite data set's
        typical year as CSV or JSON.

    Returns
    -------
    WeatherYear
        Laid on one year of 365 days; everything repaired or doubted stands in ``warnings``.

    Raises
    ------
    WeatherProblem
        If the file is too large, of no known format, cut short, out of order, in another unit, holds negative or
        missing irradiance beyond short gaps, or has its sun up at night.
    """
    # the readers pull in pandas and pvlib; a caller that only describes weather does not pay for them
    from reportgen.engineering.energy.weather_checks import finish  # noqa: PLC0415
    from reportgen.engineering.energy.weather_formats import read  # noqa: PLC0415

    if len(data) > MAX_BYTES:
        raise WeatherProblem(
            f"`{name}` has {len(data) / 1048576:.0f} MiB, more than {MAX_BYTES // 1048576} MiB",
            "give one year of hourly weather for one place",
        )
    return finish(read(name, data))


SHIPPED = ("723170TYA.CSV", "703165TY.csv", "12839.tm2")
"""Typical years that ship with pvlib: two TMY3 files and a TMY2 file."""


@lru_cache(maxsize=2)
def shipped_weather(name: str) -> bytes:
    """Bytes of one of the typical years that ship with pvlib.

    Parameters
    ----------
    name : str
        One of `SHIPPED`.

    Raises
    ------
    WeatherProblem
        If the name is not on the list, or the installed pvlib lacks the file.
    """
    if name not in SHIPPED:
        raise WeatherProblem(f"`{name}` is not a shipped typical year", "use one of " + ", ".join(SHIPPED))
    # finding the package does not import it
    spec = find_spec("pvlib")
    place = Path(spec.origin or "").parent / "data" / name if spec is not None else Path(name)
    if not place.is_file():
        raise WeatherProblem(f"the installed pvlib has no `{name}`", "give a weather file of your own")
    return place.read_bytes()
