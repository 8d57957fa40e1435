"""Points on one-diode current-voltage curves, thousands of curves at once.

Everything is written in the diode voltage, as in J. W. Bishop, Solar Cells 25 (1988) 73–89: current and terminal
voltage are explicit in it, and both searches (maximum power, given terminal voltage) are Newton steps on smooth
functions with known bounds. A resistance outside the module adds to the series resistance of the curve.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

TOLERANCE = 1e-10
"""A Newton search ends when no diode voltage moves by more than this share of the thermal voltage [-]."""


class NoConvergence(ArithmeticError):
    """A search on a current-voltage curve did not settle; carries the number of curves it failed on.

    Attributes
    ----------
    count : int
        Curves without a solution.
    """

    def __init__(self, count: int) -> None:
        super().__init__(f"no operating point found on {count} current-voltage curves")
        self.count = count


@dataclass(frozen=True, slots=True)
class Curves:
    """Curves of one module, one for each hour of daylight.

    Parameters
    ----------
    light : ndarray of float64, (n,)
        Light-generated current. [A]
    saturation : ndarray of float64, (n,)
        Diode saturation current. [A]
    series : float
        Series resistance. [Ω]
    leak : ndarray of float64, (n,)
        Shunt conductance. [S]
    thermal : ndarray of float64, (n,)
        Ideality × cells × thermal voltage. [V]
    """

    light: Array
    saturation: Array
    series: float
    leak: Array
    thermal: Array

    @property
    def ceiling(self) -> Array:
        """A voltage at or above the open-circuit voltage: that of the same diode without shunt [V]."""
        return self.thermal * np.log1p(self.light / self.saturation)

    def take(self, rows: NDArray[np.bool_] | NDArray[np.intp]) -> Curves:
        """The curves of some rows only."""
        return Curves(
            self.light[rows], self.saturation[rows], self.series, self.leak[rows], self.thermal[rows]
        )

    def current(self, diode: Array) -> Array:
        """Current at a diode voltage [A]."""
        return (
            self.light + self.saturation - self.saturation * np.exp(diode / self.thermal) - diode * self.leak
        )


def maximum_power(curves: Curves, outside: Array | float, start: Array | None = None) -> Array:
    """Diode voltage at which each curve, seen through a resistance outside it, gives most power [V].

    Parameters
    ----------
    curves : Curves
        Length n.
    outside : float or ndarray (n,)
        Resistance per module between its terminals and where the power is wanted. [Ω]
    start : ndarray (n,), optional
        Where to begin; the maximum of an ideal diode by default. [V]

    Returns
    -------
    ndarray (n,)
        Diode voltage; `terminal` turns it into current and voltage. [V]

    Raises
    ------
    NoConvergence
        If Newton's method does not settle within 60 steps.
    """
    resistance = curves.series + outside
    light, leak, a, saturation = curves.light, curves.leak, curves.thermal, curves.saturation
    top = curves.ceiling
    if start is None:
        # (1 + x)·exp(1 + x) = e·(light/saturation + 1) for an ideal diode; two terms of the Lambert function suffice
        log = np.maximum(1.0 + np.log1p(light / saturation), 1.0)
        diode = np.clip(a * (log - np.log(log) - 1.0), 0.0, top)
    else:
        diode = np.clip(start, 0.0, top)
    # The power rises below the maximum and falls above it; between the two Newton's step is taken only where the
    # curve bends down and the step stays inside. Elsewhere (a short-circuit current held down by resistance) it
    # would run away from the maximum, and halving is safe.
    below, above = np.zeros_like(diode), np.broadcast_to(top, diode.shape)
    for _ in range(60):
        e = saturation * np.exp(diode / a)
        i = light + saturation - e - diode * leak
        di = -(e / a + leak)
        dv = 1.0 - di * resistance
        v = diode - i * resistance
        slope = i + v * di / dv
        bend = 2.0 * di - v * e / (a * dv) ** 2
        rising = slope > 0.0
        below, above = np.where(rising, diode, below), np.where(rising, above, diode)
        newton = diode - slope / bend
        inside = (bend < 0.0) & (newton >= below) & (newton <= above)
        moved = np.where(inside, newton, 0.5 * (below + above))
        settled = np.abs(moved - diode) <= TOLERANCE * a
        diode = moved
        if settled.all():
            return diode
    raise NoConvergence(int((~settled).sum()))


def at_voltage(curves: Curves, outside: Array | float, voltage: Array, start: Array | None = None) -> Array:
    """Diode voltage at a given voltage behind the outside resistance [V]; open circuit where none flows outwards.

    Parameters
    ----------
    curves : Curves
        Length n.
    outside : float or ndarray (n,)
        Resistance per module outside the module. [Ω]
    voltage : ndarray (n,)
        Voltage per module at the far end. [V]
    start : ndarray (n,), optional
        A diode voltage nearby. [V]

    Raises
    ------
    NoConvergence
        If Newton's method does not settle within 80 steps.
    """
    resistance = curves.series + outside
    top = curves.ceiling
    diode = np.clip(voltage + resistance * curves.light if start is None else start, 0.0, top)
    for _ in range(80):
        e = curves.saturation * np.exp(diode / curves.thermal)
        i = curves.light + curves.saturation - e - diode * curves.leak
        excess = diode - resistance * i - voltage
        slope = 1.0 + resistance * (e / curves.thermal + curves.leak)
        moved = np.minimum(diode - excess / slope, np.maximum(top, voltage))
        settled = np.abs(moved - diode) <= TOLERANCE * curves.thermal
        diode = moved
        if settled.all():
            return diode
    raise NoConvergence(int((~settled).sum()))


def at_current(curves: Curves, current: Array | float) -> Array:
    """Diode voltage at a given current below the light-generated one [V].

    Raises
    ------
    NoConvergence
        If Newton's method does not settle within 80 steps.
    """
    a = curves.thermal
    diode = a * np.log1p(np.maximum(curves.light - current, 0.0) / curves.saturation)
    for _ in range(80):
        e = curves.saturation * np.exp(diode / a)
        excess = curves.light + curves.saturation - e - diode * curves.leak - current
        moved = diode + excess / (e / a + curves.leak)
        settled = np.abs(moved - diode) <= TOLERANCE * a
        diode = moved
        if settled.all():
            return diode
    raise NoConvergence(int((~settled).sum()))


def open_circuit(curves: Curves) -> Array:
    """Open-circuit voltage of each curve [V]."""
    return at_current(curves, 0.0)


def terminal(curves: Curves, outside: Array | float, diode: Array) -> tuple[Array, Array]:
    """Current [A] and voltage behind the outside resistance [V] at a diode voltage."""
    current = curves.current(diode)
    return current, diode - current * (curves.series + outside)


def terminal_at(curves: Curves, current: Array) -> Array:
    """Voltage at the module's terminals at a current below the light-generated one [V].

    Raises
    ------
    NoConvergence
        If Newton's method does not settle within 80 steps.
    """
    return at_current(curves, current) - current * curves.series
