"""Tables that stand behind each other: what the one in front takes of the light, and what reaches the rear.

Two dimensions, level ground, long rows, lower edges on the ground. Views between table, sky and ground follow exactly from
lengths of strings drawn between edges (Hottel's crossed strings); direct light from the balance of what falls on one pitch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from reportgen.engineering.energy.inputs import RowGeometry
from reportgen.engineering.energy.weather import Array

REAR_BLOCKED = 0.10
"""Share of rear light that posts, rails, cables and the rear glass take [-]. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Views:
    """Share of what each face of a table sees, and what the ground between tables sees of the sky [-].

    Parameters
    ----------
    front_sky, front_ground, rear_sky, rear_ground : float
        Of the whole half space before that face; the rest is the next table, taken as dark.
    ground_sky : float
        Mean over one pitch of ground, the strip under the table included.
    """

    front_sky: float
    front_ground: float
    rear_sky: float
    rear_ground: float
    ground_sky: float


def views(tilt_deg: float, rows: RowGeometry) -> Views:
    """Views of a table between its neighbours [-].

    Parameters
    ----------
    tilt_deg : float
        From horizontal. [°]
    rows : RowGeometry
        Slope length and pitch.

    Notes
    -----
    Hottel's crossed-string rule, Hottel and Sarofim, Radiative Transfer (1967), for triangles that share an edge.

    Examples
    --------
    >>> far = views(30.0, RowGeometry(2.0, 1e7))
    >>> far.front_sky, far.front_ground
    (0.9330, 0.0670)
    """
    length, pitch = rows.slope_length, rows.pitch
    run, rise = length * math.cos(math.radians(tilt_deg)), length * math.sin(math.radians(tilt_deg))
    near, far = math.hypot(pitch - run, rise), math.hypot(pitch + run, rise)
    narrow, wide = (length + pitch - far) / (2.0 * length), (length + pitch - near) / (2.0 * length)
    # seen from the front the upper edge of the table before lies low, seen from the rear that of the table behind lies high
    return Views(wide, narrow, narrow, wide, max(1.0 - length / pitch * (wide + narrow), 0.0))


def shaded_share(cos_incidence: Array, cos_zenith: Array, rows: RowGeometry) -> Array:
    """Share of a table's slope in the shade of its neighbour [-], (n,).

    Parameters
    ----------
    cos_incidence : ndarray (n,)
        Cosine between sun and the lit face's normal, not below zero. [-]
    cos_zenith : ndarray (n,)
        Cosine of the sun's zenith angle. [-]
    rows : RowGeometry
        Slope length and pitch.

    Notes
    -----
    What falls on one pitch of ground cannot light more table than it holds: pitch · cos(zenith) = lit length · cos(incidence).

    Examples
    --------
    >>> shaded_share(np.array([1.0]), np.array([0.5]), RowGeometry(2.0, 3.0))
    array([0.25])
    """
    caught = rows.slope_length * np.maximum(cos_incidence, 1e-9)
    return np.clip(1.0 - rows.pitch * np.maximum(cos_zenith, 0.0) / caught, 0.0, 1.0)


def share_lost(shaded: Array, module_rows: int) -> Array:
    """Share of direct light lost where every row of modules that is shaded at all loses it wholly [-], (n,).

    Parameters
    ----------
    shaded : ndarray (n,)
        Share of the slope in the shade. [-]
    module_rows : int
        Rows of modules up the slope.

    Examples
    --------
    >>> share_lost(np.array([0.0, 0.1, 0.5, 0.6]), 2)
    array([0. , 0.5, 0.5, 1. ])
    """
    return np.asarray(np.ceil(np.round(shaded * module_rows, 9)) / module_rows, dtype=np.float64)


def ground_light(
    dni: Array, dhi: Array, cos_incidence: Array, cos_zenith: Array, rows: RowGeometry, seen: Views
) -> Array:
    """Mean light on the ground between and under tables [W/m²], (n,).

    Parameters
    ----------
    dni, dhi : ndarray (n,)
        Direct normal and diffuse horizontal irradiance. [W/m²]
    cos_incidence : ndarray (n,)
        Cosine between sun and front normal, of either sign. [-]
    cos_zenith : ndarray (n,)
        [-]
    rows, seen : RowGeometry, Views
        Geometry, and its views.
    """
    up = np.maximum(cos_zenith, 0.0)
    past = np.maximum(rows.pitch * up - rows.slope_length * np.abs(cos_incidence), 0.0) / rows.pitch
    return np.asarray(dni * past + dhi * seen.ground_sky, dtype=np.float64)


def rear_light(
    dni: Array,
    dhi: Array,
    ground: Array,
    cos_incidence: Array,
    cos_zenith: Array,
    rows: RowGeometry,
    seen: Views,
) -> Array:
    """Light on the rear of a table before anything behind it takes its share [W/m²], (n,).

    Parameters
    ----------
    dni, dhi : ndarray (n,)
        Direct normal and diffuse horizontal irradiance. [W/m²]
    ground : ndarray (n,)
        Light that the ground sends back: its albedo times what falls on it. [W/m²]
    cos_incidence : ndarray (n,)
        Cosine between sun and front normal, of either sign. [-]
    cos_zenith : ndarray (n,)
        [-]
    rows, seen : RowGeometry, Views
        Geometry, and its views.
    """
    behind = np.maximum(-cos_incidence, 0.0)
    direct = dni * behind * (1.0 - shaded_share(behind, cos_zenith, rows))
    return np.asarray(direct + dhi * seen.rear_sky + ground * seen.rear_ground, dtype=np.float64)
