"""What a simulated year says, as plain numbers with ids."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Months = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Extreme:
    """A highest or lowest value of the year, and when and where it is met.

    Parameters
    ----------
    value : float
        In the unit of the field that holds it.
    when : str
        Middle of the interval, local standard time, ``MM-DD HH:MM``.
    where : str
        Id of the string or plane.
    """

    value: float
    when: str
    where: str


@dataclass(frozen=True, slots=True)
class ChainStep:
    """One step on the way from light to alternating current.

    Parameters
    ----------
    key : str
        Stable name.
    text : str
        For a reader.
    kwh : float
        Energy lost in the step; a gain is negative. For ``irradiation`` and ``ac`` the energy itself. [kWh]
    share : float
        The same over the energy that enters the chain. [-]
    """

    key: str
    text: str
    kwh: float
    share: float


@dataclass(frozen=True, slots=True)
class PlaneYear:
    """A plane's year.

    Parameters
    ----------
    id : str
        Orientation.
    irradiation : tuple of 12 floats
        On the plane in each month. [kWh/m²]
    squared_sun : float
        ΣG² / (1000 W/m² · ΣG). [-]
    hottest_cell : Extreme
        [°C]
    """

    id: str
    irradiation: Months
    squared_sun: float
    hottest_cell: Extreme

    @property
    def irradiation_kwh_m2(self) -> float:
        """Irradiation of the year on the plane [kWh/m²]."""
        return sum(self.irradiation)


@dataclass(frozen=True, slots=True)
class StringFigures:
    """A year of a string, shared by all strings that are alike.

    Parameters
    ----------
    dc, wire, clipped, off_peak, ac : tuple of 12 floats
        Each month: given by the modules; lost in the string's own wires; left in the modules because of a limit;
        left in the modules because the string is not at its own best voltage; what it adds to the output. [kWh]
    wires : tuple of 12-tuples
        Loss of each of its wires in each month, in their order. [kWh]
    current_max : float
        Highest current of an interval. [A]
    voltage_max, voltage_min : float
        Highest and lowest operating voltage at the input, in hours with more than 5 % of rated power. [V]
    open_voltage_max : float
        Highest open-circuit voltage of an interval. [V]
    hours_outside : float
        Hours with light in which the input holds an edge of its window or is off. [h]
    full_sun_share : float
        Loss in the wires over power at standard test conditions with the wires at 20 °C: the rule of thumb. [-]
    full_sun_ohms : tuple of float
        Resistance of each wire out and back at 20 °C, in their order; the rule of thumb rests on it. [Ω]
    """

    dc: Months
    wire: Months
    clipped: Months
    off_peak: Months
    ac: Months
    wires: tuple[Months, ...]
    current_max: float
    voltage_max: float
    voltage_min: float
    open_voltage_max: float
    hours_outside: float
    full_sun_share: float
    full_sun_ohms: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class StringYear:
    """A string's year.

    Parameters
    ----------
    id, input, orientation, module : str
        As in the string's description.
    count : int
        Modules in series.
    wire_ids : tuple of str
        Names of its wires, in the order of ``figures.wires``.
    figures : StringFigures
        The numbers.
    """

    id: str
    input: str
    orientation: str
    module: str
    count: int
    wire_ids: tuple[str, ...]
    figures: StringFigures

    @property
    def dc_kwh(self) -> float:
        """Energy given by its modules [kWh/year]."""
        return sum(self.figures.dc)

    @property
    def wire_kwh(self) -> float:
        """Energy lost in its own wires [kWh/year]."""
        return sum(self.figures.wire)

    @property
    def wire_share(self) -> float:
        """Loss in its own wires over energy given by its modules [-]."""
        return self.wire_kwh / self.dc_kwh if self.dc_kwh > 0.0 else 0.0

    @property
    def clipped_kwh(self) -> float:
        """Energy left in its modules because of a limit [kWh/year]."""
        return sum(self.figures.clipped)

    @property
    def off_peak_kwh(self) -> float:
        """Energy left in its modules because the input does not sit at their best voltage [kWh/year]."""
        return sum(self.figures.off_peak)

    @property
    def ac_kwh(self) -> float:
        """What it adds to the output [kWh/year]."""
        return sum(self.figures.ac)

    @property
    def loss_by_wire(self) -> tuple[tuple[str, float], ...]:
        """Name and loss of each of its wires [kWh/year]."""
        return tuple(
            (name, sum(months)) for name, months in zip(self.wire_ids, self.figures.wires, strict=True)
        )


@dataclass(frozen=True, slots=True)
class InputYear:
    """An input's year.

    Parameters
    ----------
    id, inverter : str
        As described.
    strings : tuple of str
        Ids of the strings on it.
    dc, clipped, feeder : tuple of 12 floats
        Arriving at the input; left in the modules because of a limit; lost in the shared feeder. [kWh]
    parallel_kwh : float
        Lost in a year because its strings share one voltage. [kWh]
    hours_outside, hours_off, hours_limited : float
        Hours with light at an edge of the window, below the start voltage, at a limit. [h]
    """

    id: str
    inverter: str
    strings: tuple[str, ...]
    dc: Months
    clipped: Months
    feeder: Months
    parallel_kwh: float
    hours_outside: float
    hours_off: float
    hours_limited: float

    @property
    def dc_kwh(self) -> float:
        """Energy arriving at the input [kWh/year]."""
        return sum(self.dc)


@dataclass(frozen=True, slots=True)
class InverterYear:
    """An inverter's year.

    Parameters
    ----------
    id : str
        As described.
    dc, ac, clipped : tuple of 12 floats
        Arriving at its inputs; output less the draw at night; left in the modules because of any limit. [kWh]
    night_kwh : float
        Drawn while the sun is down. [kWh]
    hours_clipped : float
        Hours at rated output. [h]
    """

    id: str
    dc: Months
    ac: Months
    clipped: Months
    night_kwh: float
    hours_clipped: float

    @property
    def ac_kwh(self) -> float:
        """Output less the draw at night [kWh/year]."""
        return sum(self.ac)


@dataclass(frozen=True, slots=True)
class Band:
    """How far the year's figure may lie from what will be metered.

    Parameters
    ----------
    low_kwh, high_kwh : float or None
        Ends of the band; None where the figure is an upper bound only. [kWh]
    share : float or None
        Half width over the figure. [-]
    text : str
        What is in the band, for a reader.
    """

    low_kwh: float | None
    high_kwh: float | None
    share: float | None
    text: str

    @property
    def around(self) -> str:
        """Half width in words, to stand behind the figure; for an upper bound there is none."""
        return "" if self.share is None else f"±{100 * self.share:.0f} %"


@dataclass(frozen=True, slots=True)
class YearResult:
    """A simulated year of a site.

    Parameters
    ----------
    strings, inputs, inverters, planes : tuple
        In the order they were given; inputs and inverters without strings are left out.
    dc, wire, clipped, ac : tuple of 12 floats
        Site: given by the modules; lost in all wires; left in the modules because of a limit; output. [kWh]
    chain : tuple of ChainStep
        From ``irradiation`` to ``ac``; the first less all between is the last.
    hottest_cell, voltage_max, voltage_min, open_voltage_max : Extreme
        Met in the year's hours [°C], [V]. A typical year holds no record cold: never size a string by them.
    wire_check : float or None
        Wire loss over what full-sun loss × `squared_sun` predicts; near 1. None without wires. [-]
    upper_bound : bool
        Whether the weather is a clear sky, so that the year is more than can be had.
    band : Band
        How sure the output is.
    assumptions : tuple of (str, str, str)
        Key, text and source of every default and simplification used.
    cautions : tuple of (str, str)
        Code and text of what a reader should doubt.
    hourly : mapping of str to ndarray, or None
        Power of the site in each interval of the year [W]: ``irradiation``, the losses of the chain, ``dc``, ``ac``.
    """

    strings: tuple[StringYear, ...]
    inputs: tuple[InputYear, ...]
    inverters: tuple[InverterYear, ...]
    planes: tuple[PlaneYear, ...]
    dc: Months
    wire: Months
    clipped: Months
    ac: Months
    chain: tuple[ChainStep, ...]
    hottest_cell: Extreme
    voltage_max: Extreme
    voltage_min: Extreme
    open_voltage_max: Extreme
    wire_check: float | None
    upper_bound: bool
    band: Band
    assumptions: tuple[tuple[str, str, str], ...]
    cautions: tuple[tuple[str, str], ...]
    hourly: Mapping[str, Array] | None

    @property
    def made(self) -> bool:
        """Whether the hours are made, so that no extreme of temperature or voltage may be taken from them."""
        return any(code == "weather-made" for code, _ in self.cautions)

    @property
    def dc_kwh(self) -> float:
        """Energy given by all modules [kWh/year]."""
        return sum(self.dc)

    @property
    def wire_kwh(self) -> float:
        """Energy lost in all wires [kWh/year]."""
        return sum(self.wire)

    @property
    def clipped_kwh(self) -> float:
        """Energy left in the modules because of a limit [kWh/year]."""
        return sum(self.clipped)

    @property
    def ac_kwh(self) -> float:
        """Output of the site [kWh/year]."""
        return sum(self.ac)
