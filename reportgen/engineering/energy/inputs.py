"""What a year's simulation is told: planes, strings, wires, inputs, inverters and options, as plain numbers.

Nothing here imports more than the standard library, so that a caller can describe a system without paying for the
solar models. Wire resistances are given at the temperature of the conductor table they come from, 75 °C, together with
the temperature coefficient that belongs to that base; both are the caller's, this layer holds no table.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

BASE_C = 75.0
"""Conductor temperature at which wire resistances are given [°C]."""

Mounting = Literal["open rack", "flush roof", "insulated back"]
SkyModel = Literal["perez-driesse", "hay-davies"]
OpenRackModel = Literal["noct", "heat balance"]


class ArrayCache(Protocol):
    """A store of named arrays keyed by their content; anything with these two methods will do."""

    def get(self, key: str) -> Mapping[str, NDArray[np.float64]] | None:
        """The arrays kept under a key, or None."""

    def put(self, key: str, arrays: Mapping[str, NDArray[np.float64]]) -> None:
        """Keep arrays under a key."""


@dataclass(frozen=True, slots=True)
class Horizon:
    """The line below which the sun is hidden by hills, trees or buildings.

    Parameters
    ----------
    azimuths_deg : tuple of float
        Clockwise from north, rising, at least one. [°]
    elevations_deg : tuple of float
        Height of the line there; straight between points, closed around the circle. [°]
    """

    azimuths_deg: tuple[float, ...]
    elevations_deg: tuple[float, ...]

    def __post_init__(self) -> None:
        if not self.azimuths_deg or len(self.azimuths_deg) != len(self.elevations_deg):
            raise ValueError("a horizon needs as many elevations as azimuths, at least one")
        if any(b <= a for a, b in pairwise(self.azimuths_deg)):
            raise ValueError("the azimuths of a horizon rise from point to point")


@dataclass(frozen=True, slots=True)
class Site:
    """The place of the array.

    Parameters
    ----------
    latitude, longitude : float
        North and east positive. [°]
    albedo : float, optional
        Share of light the ground reflects; None takes 0.20 and says so. [-]
    horizon : Horizon, optional
        Line of the horizon; None takes a free one and says so.
    """

    latitude: float
    longitude: float
    albedo: float | None = None
    horizon: Horizon | None = None


@dataclass(frozen=True, slots=True)
class RowGeometry:
    """Tables that stand behind each other.

    Parameters
    ----------
    slope_length : float
        Of one table, from lower to upper edge. [m]
    pitch : float
        From the lower edge of a table to that of the next one, level. [m]
    module_rows : int
        Rows of modules up the slope.
    """

    slope_length: float
    pitch: float
    module_rows: int = 1

    def __post_init__(self) -> None:
        if not (self.slope_length > 0.0 and self.pitch > 0.0 and self.module_rows >= 1):
            raise ValueError("a row has a slope length, a pitch and at least one row of modules")


@dataclass(frozen=True, slots=True)
class Orientation:
    """A plane that modules lie in.

    Parameters
    ----------
    id : str
        Name in the results.
    tilt_deg : float
        From horizontal, 0 to 90. [°]
    azimuth_deg : float
        Clockwise from north; south is 180. [°]
    mounting : {"open rack", "flush roof", "insulated back"}, optional
        How air reaches the back; None takes "open rack" and says so.
    soiling, snow : tuple of 12 floats, optional
        Share of light lost in each month, 0 to 1; None takes no loss and says so. [-]
    rows : RowGeometry, optional
        Tables before and behind; None takes a table that stands free and says so.
    rear_gain : float, optional
        Light gained on the rear over the light on the plane, the rear's lesser yield counted in. Not used for modules that
        state a bifaciality between ``rows``, whose gain is worked out; None takes no gain elsewhere and says so. [-]
    """

    id: str
    tilt_deg: float
    azimuth_deg: float
    mounting: Mounting | None = None
    soiling: tuple[float, ...] | None = None
    snow: tuple[float, ...] | None = None
    rows: RowGeometry | None = None
    rear_gain: float | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.tilt_deg <= 90.0:
            raise ValueError(f"tilt of `{self.id}` is outside 0° to 90°")
        if self.rows is not None:
            run = self.rows.slope_length * math.cos(math.radians(self.tilt_deg))
            if run > self.rows.pitch:
                raise ValueError(f"the tables of `{self.id}` overlap: they are longer than their pitch")
        if self.rear_gain is not None and not 0.0 <= self.rear_gain < 1.0:
            raise ValueError(f"rear gain of `{self.id}` is not a share between 0 and 1")
        for months in (self.soiling, self.snow):
            if months is not None and (len(months) != 12 or not all(0.0 <= share <= 1.0 for share in months)):
                raise ValueError(f"monthly losses of `{self.id}` are not twelve shares between 0 and 1")


@dataclass(frozen=True, slots=True)
class Wire:
    """One stretch of wire that a current flows through, both ways counted.

    Parameters
    ----------
    id : str
        Name in the results.
    ohm : float
        Resistance at 75 °C, out and back. [Ω]
    alpha_per_k : float
        Temperature coefficient of that resistance, base 75 °C. [1/K]
    rise_k : float
        How much warmer than the outdoor air the conductor is (sun on the raceway, say). [K]
    """

    id: str
    ohm: float
    alpha_per_k: float
    rise_k: float = 0.0

    def __post_init__(self) -> None:
        if not self.ohm >= 0.0:
            raise ValueError(f"resistance of `{self.id}` is not zero or more")


@dataclass(frozen=True, slots=True)
class StringSpec:
    """Modules in series and the wires that take them to an input.

    Parameters
    ----------
    id : str
        Name in the results.
    input : str
        Input it lands on; strings that name the same input are in parallel there.
    orientation, module : str
        Plane and module it is made of.
    count : int
        Modules in series.
    wires : tuple of Wire
        In series, module strip to input; may be empty.
    """

    id: str
    input: str
    orientation: str
    module: str
    count: int
    wires: tuple[Wire, ...] = ()

    def __post_init__(self) -> None:
        if self.count < 1:
            raise ValueError(f"string `{self.id}` has no module")


@dataclass(frozen=True, slots=True)
class InputSpec:
    """An inverter's input with its own tracker.

    Parameters
    ----------
    id, inverter : str
        Name, and the inverter it belongs to.
    v_min, v_max : float, optional
        Tracking window; outside it the tracker holds the nearer edge. [V]
    v_start : float, optional
        Open-circuit voltage below which the input stays off. [V]
    current_limit : float, optional
        Current the input can use; more is left in the modules. [A]
    power_limit : float, optional
        Power the input can use. [W]
    feeder : tuple of Wire
        Wires between the point where the strings join and the input; may be empty.
    """

    id: str
    inverter: str
    v_min: float | None = None
    v_max: float | None = None
    v_start: float | None = None
    current_limit: float | None = None
    power_limit: float | None = None
    feeder: tuple[Wire, ...] = ()


@dataclass(frozen=True, slots=True)
class InverterSpec:
    """An inverter (or a charge controller on a direct-current bus).

    Parameters
    ----------
    id : str
        Name in the results.
    ac_limit : float, optional
        Rated output power; more is clipped. None never clips and says so. [W]
    efficiency : float or tuple of (float, float), optional
        One figure, or points (share of ``ac_limit`` on the input side, efficiency) joined by straight lines. [-]
        None takes 0.96 and says so. Ignored where ``coefficients`` is given.
    night_w : float
        Power drawn when the sun is down. [W]
    coefficients : tuple of (str, float), optional
        A row of the grid-connected inverter model of King et al. (2007): Paco, Pdco, Vdco, C0, C1, C2, C3, Pso, Pnt.
    """

    id: str
    ac_limit: float | None = None
    efficiency: float | tuple[tuple[float, float], ...] | None = None
    night_w: float = 0.0
    coefficients: tuple[tuple[str, float], ...] | None = None


@dataclass(frozen=True, slots=True)
class Options:
    """Choices of method, each with the default that is used and printed.

    Parameters
    ----------
    sky_model : {"perez-driesse", "hay-davies"}
        How sky light is brought onto the plane.
    diffuse_reflection : bool
        Whether diffuse light, too, loses by reflection at the glass.
    mismatch : float
        Share of light lost because the modules of a string are not alike. [-]
    open_rack_model : {"noct", "heat balance"}
        Cell temperature of modules on an open rack.
    hourly : bool
        Whether the result carries the site's hourly series.
    """

    sky_model: SkyModel = "perez-driesse"
    diffuse_reflection: bool = True
    mismatch: float = 0.01
    open_rack_model: OpenRackModel = "noct"
    hourly: bool = True

    def __post_init__(self) -> None:
        if not 0.0 <= self.mismatch < 1.0:
            raise ValueError("mismatch is not a share between 0 and 1")


@dataclass
class MemoryCache:
    """A cache in this process's memory; arrays are handed out read-only."""

    store: dict[str, dict[str, NDArray[np.float64]]] = field(default_factory=dict)

    def get(self, key: str) -> Mapping[str, NDArray[np.float64]] | None:
        """The arrays kept under a key, or None."""
        return self.store.get(key)

    def put(self, key: str, arrays: Mapping[str, NDArray[np.float64]]) -> None:
        """Keep copies of arrays under a key."""
        kept = {name: np.array(values) for name, values in arrays.items()}
        for values in kept.values():
            values.setflags(write=False)
        self.store[key] = kept
