"""Hours of a day in which a plane of modules has enough light to be measured, under a clear sky.

Clear-sky light by Ineichen (2008) as pvlib implements it, put on the plane with the sky taken as equally bright and
without light from the ground; a skyline takes the direct light away. Hazy or cloudy days have fewer hours.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray
from pvlib import clearsky, irradiance
from pvlib.atmosphere import alt2pres

from reportgen.engineering.energy.sun import position, shifted
from reportgen.engineering.energy.weather import Array

#: Minutes between two moments looked at.
STEP = 5
#: Haze and water of the clear sky: aerosol optical depth at 700 nm [-] and precipitable water [cm].
AEROSOL, WATER = 0.1, 1.0
#: Key, meaning and source of what is taken for granted.
ASSUMPTIONS = (
    (
        "clear sky",
        f"hours with enough sun are those of a clear sky with an aerosol optical depth of {AEROSOL:g} and {WATER:g} cm of water",
        "Ineichen, Solar Energy 82 (2008) 758–762; values common practice, no source",
    ),
    (
        "ground light",
        "light reflected by the ground is left out, so that the hours are rather too few",
        "our own choice",
    ),
)


@dataclass(frozen=True, slots=True)
class Place:
    """Where the modules stand.

    Parameters
    ----------
    latitude, longitude : float
        North and east positive. [°]
    elevation : float
        Above sea level. [m]
    utc_offset : float
        Hours ahead of UTC in standard time. [h]
    horizon : tuple of (float, float)
        Azimuth and height of the skyline, in order of azimuth; empty for a flat one. [°]
    """

    latitude: float
    longitude: float
    elevation: float
    utc_offset: float
    horizon: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours of one day for one plane, in minutes of local standard time.

    Parameters
    ----------
    spans : tuple
        For each limit asked for: pairs of first and last minute with that much light. [min]
    highest : float
        Highest sun of the day [°], at ``noon``.
    noon : int
        Minute of the highest sun. [min]
    most : float
        Most light on the plane [W/m²].
    """

    spans: tuple[tuple[tuple[int, int], ...], ...]
    highest: float
    noon: int
    most: float


def measuring_hours(
    day: date, place: Place, planes: Sequence[tuple[float, float]], limits: Sequence[float]
) -> tuple[Hours, ...]:
    """Hours in which each plane has at least so much light under a clear sky.

    Parameters
    ----------
    day : date
        In local standard time.
    place : Place
        Where.
    planes : sequence of (float, float)
        Tilt and azimuth, north 0 and east 90. [°]
    limits : sequence of float
        Irradiance in the plane. [W/m²]

    Returns
    -------
    tuple of Hours
        One for each plane.
    """
    minutes = np.arange(0, 24 * 60, STEP)
    local = np.datetime64(day.isoformat(), "m") + minutes.astype("timedelta64[m]")
    zenith, azimuth = position(
        shifted(local, -3600.0 * place.utc_offset), place.latitude, place.longitude, place.elevation
    )
    height = 90.0 - zenith
    sky = clearsky.simplified_solis(
        height, aod700=AEROSOL, precipitable_water=WATER, pressure=alt2pres(place.elevation)
    )
    up = height > 0.0
    direct = np.where(up & (height > _skyline(azimuth, place.horizon)), np.asarray(sky["dni"]), 0.0)
    diffuse = np.where(up, np.asarray(sky["dhi"]), 0.0)
    found = []
    for tilt, facing in planes:
        cosine = np.maximum(irradiance.aoi_projection(tilt, facing, zenith, azimuth), 0.0)
        light = direct * cosine + diffuse * (1.0 + np.cos(np.radians(tilt))) / 2.0
        noon = int(np.argmax(height))
        found.append(
            Hours(
                tuple(_spans(light >= limit, minutes) for limit in limits),
                float(height[noon]),
                int(minutes[noon]),
                float(light.max()),
            )
        )
    return tuple(found)


def _skyline(azimuth: Array, horizon: tuple[tuple[float, float], ...]) -> Array:
    """Height of the skyline in each direction [°]."""
    if not horizon:
        return np.zeros_like(azimuth)
    around = [point[0] for point in horizon]
    heights = [point[1] for point in horizon]
    return np.asarray(np.interp(azimuth, around, heights, period=360.0), dtype=np.float64)


def _spans(enough: NDArray[np.bool_], minutes: NDArray[np.int64]) -> tuple[tuple[int, int], ...]:
    """First and last minute of every unbroken stretch."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], enough.astype(np.int8), [0]))))
    return tuple(
        (int(minutes[first]), int(minutes[after - 1]))
        for first, after in zip(edges[::2], edges[1::2], strict=True)
    )
