"""Energy lost in wires: resistance at the conductor's temperature times the square of the current.

A wire's resistance is a straight line over its temperature, and the conductor follows the air. So a stretch of wire
needs two sums over the year, ΣI² and ΣI²·T; with them the loss of any length and size is one multiplication.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reportgen.engineering.energy.inputs import BASE_C, Wire

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Line:
    """Resistance as a straight line over air temperature: ``at_zero`` + ``slope`` · T.

    Parameters
    ----------
    at_zero : float
        Resistance with the air at 0 °C. [Ω]
    slope : float
        [Ω/K]
    """

    at_zero: float
    slope: float

    def at(self, air: Array) -> Array:
        """Resistance at air temperatures [°C] → [Ω]."""
        return self.at_zero + self.slope * air

    def scaled(self, factor: float) -> Line:
        """The same wire with every resistance multiplied."""
        return Line(self.at_zero * factor, self.slope * factor)

    def plus(self, other: Line) -> Line:
        """Two wires in series."""
        return Line(self.at_zero + other.at_zero, self.slope + other.slope)


def line_of(wires: Iterable[Wire]) -> Line:
    """Resistance of wires in series over air temperature.

    Parameters
    ----------
    wires : iterable of Wire
        Each with its resistance at 75 °C and the coefficient of that base.

    Examples
    --------
    >>> line = line_of([Wire("home run", 0.5, 0.00323)])
    >>> float(line.at(np.array([75.0]))[0]), float(line.at(np.array([25.0]))[0])
    (0.5, 0.41925)
    """
    at_zero = slope = 0.0
    for wire in wires:
        per_kelvin = wire.ohm * wire.alpha_per_k
        at_zero += wire.ohm + per_kelvin * (wire.rise_k - BASE_C)
        slope += per_kelvin
    return Line(at_zero, slope)


@dataclass(frozen=True, slots=True)
class Moments:
    """Sums over each month from which the loss of any wire with this current follows.

    Parameters
    ----------
    squared : ndarray (12,)
        ΣI²·h. [A²h]
    squared_air : ndarray (12,)
        ΣI²·T·h with the air temperature. [A²h·°C]
    """

    squared: Array
    squared_air: Array

    def loss_kwh(self, line: Line) -> Array:
        """Loss of a wire in each month [kWh], (12,)."""
        return (line.at_zero * self.squared + line.slope * self.squared_air) / 1000.0


def moments(current: Array, air: Array, month: NDArray[np.intp], hours: float) -> Moments:
    """Monthly sums of a current's square, plain and weighted with air temperature.

    Parameters
    ----------
    current : ndarray (n,)
        Mean current of each interval. [A]
    air : ndarray (n,)
        Air temperature. [°C]
    month : ndarray of intp, (n,)
        0 for January.
    hours : float
        Length of an interval. [h]

    Examples
    --------
    >>> hours = np.zeros(8760, dtype=np.intp)
    >>> year = moments(np.full(8760, 9.0), np.full(8760, 75.0), hours, 1.0)
    >>> float(year.loss_kwh(line_of([Wire("home run", 0.3, 0.00323)])).sum())
    212.868
    """
    square = current * current
    return Moments(
        np.asarray(np.bincount(month, weights=square, minlength=12) * hours, dtype=np.float64),
        np.asarray(np.bincount(month, weights=square * air, minlength=12) * hours, dtype=np.float64),
    )


def hourly_loss_w(current: Array, air: Array, wires: Iterable[Wire]) -> Array:
    """Power lost in wires in series in each interval [W], one wire after the other.

    Parameters
    ----------
    current, air : ndarray (n,)
        [A], [°C]
    wires : iterable of Wire
        In series.
    """
    total = np.zeros_like(current)
    for wire in wires:
        conductor = air + wire.rise_k
        total += current**2 * wire.ohm * (1.0 + wire.alpha_per_k * (conductor - BASE_C))
    return total
