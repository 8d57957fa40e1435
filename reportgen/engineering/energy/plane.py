"""Irradiance on a plane, what the horizon takes of it, and what passes the glass."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from pvlib import iam, irradiance

from reportgen.engineering.energy.inputs import ArrayCache, Horizon, Options
from reportgen.engineering.energy.sun import METHOD, Sun
from reportgen.engineering.energy.weather import Array, WeatherYear

ALBEDO = 0.20
"""Share of light that grass and soil reflect, taken where nothing is given [-]. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Plane:
    """Irradiance on one plane in the hours with light, all (n,).

    Parameters
    ----------
    free : ndarray
        On the plane if the horizon were flat. [W/m²]
    total : ndarray
        On the plane. [W/m²]
    behind_glass : ndarray
        Less what clean glass reflects, relative to light that falls on it squarely. [W/m²]
    """

    free: Array
    total: Array
    behind_glass: Array


@lru_cache(maxsize=1024)
def diffuse_transmission(tilt_deg: float) -> tuple[float, float]:
    """Share of sky light and of ground light that passes the glass of a tilted module [-], [-].

    Parameters
    ----------
    tilt_deg : float
        From horizontal. [°]

    Notes
    -----
    Integral over the sky of Marion, Solar Energy 147 (2017) 344–348, with the single-glass model of De Soto et al. (2006).
    """
    sky = iam.marion_integrate(iam.physical, tilt_deg, "sky")
    ground = iam.marion_integrate(iam.physical, tilt_deg, "ground")
    return float(sky), float(ground)


def plane_of_array(
    weather: WeatherYear,
    sun: Sun,
    tilt_deg: float,
    azimuth_deg: float,
    albedo: float = ALBEDO,
    horizon: Horizon | None = None,
    options: Options | None = None,
    cache: ArrayCache | None = None,
) -> Plane:
    """Irradiance on a plane and behind its glass [W/m²] in the hours with light.

    Parameters
    ----------
    weather : WeatherYear
        The year.
    sun : Sun
        From `reportgen.engineering.energy.sun.sun_of`.
    tilt_deg, azimuth_deg : float
        From horizontal; clockwise from north. [°]
    albedo : float
        Share of light the ground reflects. [-]
    horizon : Horizon, optional
        The sun below it gives no direct light; its diffuse light is kept.
    options : Options, optional
        Sky model, and whether diffuse light loses by reflection.
    cache : ArrayCache, optional
        Where an earlier result for the same content may be found, and is put.

    Returns
    -------
    Plane

    Notes
    -----
    Sky light: Perez et al., Solar Energy 44 (1990) 271–289, in the continuous form of Driesse et al., Solar Energy 267
    (2024), or Hay and Davies (1980). Left out: shading from row to row, light on the back, the colour of the light.
    """
    options = options or Options()
    key = ""
    if cache is not None:
        what = (
            METHOD,
            weather.digest,
            tilt_deg,
            azimuth_deg,
            albedo,
            horizon,
            options.sky_model,
            options.diffuse_reflection,
        )
        key = hashlib.sha256(f"plane {what!r}".encode()).hexdigest()
        kept = cache.get(key)
        if kept is not None:
            return Plane(kept["free"], kept["total"], kept["behind_glass"])
    tilt = np.radians(tilt_deg)
    zenith = np.radians(sun.zenith)
    cos_zenith = np.cos(zenith)
    facing = np.cos(tilt) * cos_zenith + np.sin(tilt) * np.sin(zenith) * np.cos(
        np.radians(sun.azimuth - azimuth_deg)
    )
    facing = np.clip(facing, 0.0, 1.0)
    dni, dhi, ghi = weather.dni[sun.rows], weather.dhi[sun.rows], weather.ghi[sun.rows]
    if options.sky_model == "perez-driesse":
        ratio = facing / np.maximum(cos_zenith, np.cos(np.radians(85.0)))
        view = 0.5 * (1.0 - sun.around) * (1.0 + np.cos(tilt)) + sun.around * ratio + sun.low * np.sin(tilt)
        sky = np.maximum(dhi * view, 0.0)
    else:
        found = irradiance.haydavies(tilt_deg, azimuth_deg, dhi, dni, sun.extra, sun.zenith, sun.azimuth)
        sky = np.asarray(found, dtype=np.float64)
    ground = ghi * (albedo * 0.5 * (1.0 - np.cos(tilt)))
    beam = dni * facing
    free = beam + sky + ground
    if horizon is not None:
        line = np.interp(sun.azimuth, horizon.azimuths_deg, horizon.elevations_deg, period=360.0)
        beam = np.where(90.0 - sun.zenith > line, beam, 0.0)
    passing_sky, passing_ground = diffuse_transmission(tilt_deg) if options.diffuse_reflection else (1.0, 1.0)
    passing = np.asarray(iam.physical(np.degrees(np.arccos(facing))), dtype=np.float64)
    plane = Plane(free, beam + sky + ground, beam * passing + sky * passing_sky + ground * passing_ground)
    if cache is not None:
        cache.put(key, {"free": plane.free, "total": plane.total, "behind_glass": plane.behind_glass})
    return plane


def squared_sun(total: Array) -> float:
    """ΣG² / (1000 W/m² · ΣG) of a plane [-]: by how much a year's wire loss falls short of the loss in full sun.

    Parameters
    ----------
    total : ndarray (n,)
        Irradiance on the plane. [W/m²]

    Examples
    --------
    >>> squared_sun(np.array([500.0, 500.0]))
    0.5
    """
    whole = float(total.sum())
    return float(np.square(total).sum()) / (1000.0 * whole) if whole > 0.0 else 0.0
