"""One current-voltage curve in plain numbers: its peak, its ends, and roots of functions of one number.

The fit of a data sheet solves thousands of these; ``math`` is quicker for that than arrays of one element.
"""

from __future__ import annotations

import math
from collections.abc import Callable

BOLTZMANN_EV = 8.617333262e-05
"""Boltzmann constant [eV/K], CODATA 2018."""
GAP_EV = 1.121
"""Band gap of crystalline silicon at 25 °C [eV], De Soto et al., Solar Energy 80 (2006) 78–88."""
GAP_SLOPE = -0.0002677
"""Relative change of the band gap [1/K], same source."""
T_STC = 298.15
"""Cell temperature at standard test conditions [K]."""


def saturation_ratio(kelvin: float) -> float:
    """Growth of the saturation current from 25 °C to a temperature [-]."""
    gap = GAP_EV * (1.0 + GAP_SLOPE * (kelvin - T_STC))
    return (kelvin / T_STC) ** 3 * math.exp(GAP_EV / (BOLTZMANN_EV * T_STC) - gap / (BOLTZMANN_EV * kelvin))


def peak(light: float, saturation: float, series: float, leak: float, a: float) -> tuple[float, float, float]:
    """Current [A], voltage [V] and power [W] at the maximum of one curve, where dP/dV crosses zero.

    Parameters
    ----------
    light, saturation : float
        Light-generated and saturation current. [A]
    series : float
        Series resistance. [Ω]
    leak : float
        Shunt conductance. [S]
    a : float
        Thermal voltage of the curve. [V]
    """

    def at(vd: float) -> tuple[float, float, float]:
        e = saturation * math.exp(vd / a)
        i = light + saturation - e - leak * vd
        v = vd - i * series
        g = e / a + leak
        return i, v, i - v * g / (1.0 + g * series)

    ceiling = a * math.log1p(light / saturation)
    top = root_between(lambda vd: at(vd)[2], 0.0, ceiling)
    i, v, _ = at(ceiling if top is None else top)
    return i, v, i * v


def short_circuit(light: float, saturation: float, series: float, leak: float, a: float) -> float:
    """Current of the curve at zero voltage [A]."""
    lo, hi = 0.0, 1.5 * light
    for _ in range(60):
        mid = 0.5 * (lo + hi)
        vd = mid * series
        given = light - saturation * math.expm1(vd / a) - leak * vd
        lo, hi = (mid, hi) if given > mid else (lo, mid)
    return 0.5 * (lo + hi)


def open_circuit(light: float, saturation: float, leak: float, a: float) -> float:
    """Voltage of the curve at zero current [V]."""
    lo, hi = 0.0, a * math.log1p(light / saturation)
    for _ in range(60):
        mid = 0.5 * (lo + hi)
        given = light - saturation * math.expm1(mid / a) - leak * mid
        lo, hi = (mid, hi) if given > 0.0 else (lo, mid)
    return 0.5 * (lo + hi)


def root_between(function: Callable[[float], float], lo: float, hi: float) -> float | None:
    """Root of a function between two places, or None where it does not change sign (regula falsi, Illinois)."""
    f_lo, f_hi = function(lo), function(hi)
    if f_lo == 0.0:
        return lo
    if not f_lo * f_hi < 0.0:
        return None
    side = 0
    for _ in range(100):
        mid = (f_lo * hi - f_hi * lo) / (f_lo - f_hi)
        if not lo < mid < hi:
            mid = 0.5 * (lo + hi)
        f_mid = function(mid)
        if f_mid == 0.0 or hi - lo < 1e-15 * abs(hi):
            return mid
        if f_mid * f_hi > 0.0:
            shrink = abs(hi - mid)
            hi, f_hi = mid, f_mid
            f_lo, side = (0.5 * f_lo if side == -1 else f_lo), -1
        else:
            shrink = abs(mid - lo)
            lo, f_lo = mid, f_mid
            f_hi, side = (0.5 * f_hi if side == 1 else f_hi), 1
        if shrink < 1e-15 * abs(mid):
            break
    return mid


def root_where_defined(function: Callable[[float], float | None], lo: float, f_lo: float, hi: float) -> float:
    """Root of a function that may be undefined in places between two defined ones of opposite sign."""
    for _ in range(50):
        mid = 0.5 * (lo + hi)
        value = function(mid)
        if value is None:
            return lo
        if value * f_lo > 0.0:
            lo, f_lo = mid, value
        else:
            hi = mid
        if hi - lo < 1e-13:
            break
    return 0.5 * (lo + hi)
