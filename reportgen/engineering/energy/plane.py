"""Irradiance on a plane, what the horizon takes of it, and what passes the glass."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from pvlib import iam, irradiance

from reportgen.engineering.energy.inputs import ArrayCache, Horizon, Options, RowGeometry
from reportgen.engineering.energy.rows import ground_light, rear_light, shaded_share, share_lost, views
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
    seen : ndarray
        Less what the horizon hides. [W/m²]
    total : ndarray
        On the plane: less what the table in front takes. [W/m²]
    behind_glass : ndarray
        Less what clean glass reflects, relative to light that falls on it squarely. [W/m²]
    rear : ndarray or None
        On the rear of the plane; None for a table that stands free. [W/m²]
    """

    free: Array
    seen: Array
    total: Array
    behind_glass: Array
    rear: Array | None = None


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
    rows: RowGeometry | None = None,
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
    rows : RowGeometry, optional
        Tables before and behind; every table is taken as one in the middle.

    Returns
    -------
    Plane

    Notes
    -----
    Sky light: Perez et al., Solar Energy 44 (1990) 271–289, in the continuous form of Driesse et al., Solar Energy 267
    (2024), or Hay and Davies (1980). Between tables the light from around the sun is shaded as the sun is, the band above the
    horizon is hidden, and the rest of the sky and the ground are seen as `rows.views` says. Left out: the colour of the light.
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
            rows,
        )
        key = hashlib.sha256(f"plane {what!r}".encode()).hexdigest()
        kept = cache.get(key)
        if kept is not None:
            return Plane(kept["free"], kept["seen"], kept["total"], kept["behind_glass"], kept.get("rear"))
    tilt = np.radians(tilt_deg)
    zenith = np.radians(sun.zenith)
    cos_zenith = np.cos(zenith)
    incidence = np.cos(tilt) * cos_zenith + np.sin(tilt) * np.sin(zenith) * np.cos(
        np.radians(sun.azimuth - azimuth_deg)
    )
    facing = np.clip(incidence, 0.0, 1.0)
    dni, dhi, ghi = weather.dni[sun.rows], weather.dhi[sun.rows], weather.ghi[sun.rows]
    sky = _sky(sun, dni, dhi, facing, cos_zenith, tilt_deg, azimuth_deg, options)
    ground = ghi * (albedo * 0.5 * (1.0 - np.cos(tilt)))
    beam = dni * facing
    light = np.maximum(sky.even + sky.around + sky.low, 0.0)
    free = beam + light + ground
    shone = dni
    if horizon is not None:
        line = np.interp(sun.azimuth, horizon.azimuths_deg, horizon.elevations_deg, period=360.0)
        shone = np.where(90.0 - sun.zenith > line, dni, 0.0)
        beam = shone * facing
    seen, rear = beam + light + ground, None
    if rows is not None:
        view = views(tilt_deg, rows)
        lit = 1.0 - share_lost(shaded_share(facing, cos_zenith, rows), rows.module_rows)
        beam = beam * lit
        open_view = 0.5 * (1.0 + np.cos(tilt))
        light = np.maximum(
            sky.even * (view.front_sky / open_view) + sky.around * lit + np.minimum(sky.low, 0.0), 0.0
        )
        back = albedo * ground_light(shone, dhi, incidence, cos_zenith, rows, view)
        ground = back * view.front_ground
        rear = rear_light(shone, dhi, back, incidence, cos_zenith, rows, view)
    passing_sky, passing_ground = diffuse_transmission(tilt_deg) if options.diffuse_reflection else (1.0, 1.0)
    passing = np.asarray(iam.physical(np.degrees(np.arccos(facing))), dtype=np.float64)
    behind = beam * passing + light * passing_sky + ground * passing_ground
    plane = Plane(free, seen, beam + light + ground, behind, rear)
    if cache is not None:
        kept = {"free": free, "seen": seen, "total": plane.total, "behind_glass": behind}
        cache.put(key, kept if rear is None else kept | {"rear": rear})
    return plane


@dataclass(frozen=True, slots=True)
class _Sky:
    """Sky light on a plane by where it comes from: evenly from all over, around the sun, low above the horizon [W/m²]."""

    even: Array
    around: Array
    low: Array


def _sky(
    sun: Sun,
    dni: Array,
    dhi: Array,
    facing: Array,
    cos_zenith: Array,
    tilt_deg: float,
    azimuth_deg: float,
    options: Options,
) -> _Sky:
    """Sky light on a plane with a flat horizon."""
    tilt = np.radians(tilt_deg)
    if options.sky_model == "perez-driesse":
        ratio = facing / np.maximum(cos_zenith, np.cos(np.radians(85.0)))
        return _Sky(
            dhi * (0.5 * (1.0 - sun.around) * (1.0 + np.cos(tilt))),
            dhi * (sun.around * ratio),
            dhi * (sun.low * np.sin(tilt)),
        )
    found = irradiance.haydavies(
        tilt_deg, azimuth_deg, dhi, dni, sun.extra, sun.zenith, sun.azimuth, return_components=True
    )
    even, around = (
        np.asarray(found[name], dtype=np.float64) for name in ("poa_isotropic", "poa_circumsolar")
    )
    return _Sky(even, around, np.zeros_like(even))


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
