"""Five parameters of a one-diode module curve from the figures of a data sheet.

The curve meets the sheet at standard test conditions (1000 W/m², 25 °C) in open circuit, in short circuit and at
maximum power, its open-circuit voltage falls as the sheet says, and its power falls as the sheet says. Only
``math`` is used: the solve is a nest of bisections on closed-form 2×2 systems and takes a few milliseconds.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from reportgen.engineering.energy.one_curve import (
    BOLTZMANN_EV,
    T_STC,
    open_circuit,
    peak,
    root_between,
    root_where_defined,
    saturation_ratio,
    short_circuit,
)
from reportgen.engineering.problem import Problem

SPAN = 25.0
"""Temperature step over which the sheet's coefficients are met: 25 °C to 50 °C [K]."""

CURRENT_RISE = (-0.002, 0.005)
"""Range of the light current's relative temperature coefficient in a believable fit [1/K]: a little wider than what the
crystalline modules of the CEC library of 2019-03-05 span when they are fitted this way."""

FitStatus = Literal["exact", "isc relaxed", "gamma ignored", "fallback"]


class SheetProblem(Problem):
    """A data sheet's figures cannot belong to one module."""


@dataclass(frozen=True, slots=True)
class SheetModule:
    """Figures of a module's data sheet at 1000 W/m² and 25 °C.

    Parameters
    ----------
    p_max : float
        Rated power. [W]
    voc, vmp : float
        Voltage in open circuit and at maximum power. [V]
    isc, imp : float
        Current in short circuit and at maximum power. [A]
    alpha_isc : float
        Change of the short-circuit current with cell temperature. [A/°C]
    beta_voc : float
        Change of the open-circuit voltage with cell temperature, negative. [V/°C]
    cells_in_series : int
        Cells in series (a module of 144 half cells has 72). [-]
    gamma_pmp : float, optional
        Change of the maximum power with cell temperature, negative. [%/°C]
    noct_c : float, optional
        Nominal operating cell temperature (800 W/m², 20 °C air, 1 m/s). [°C]
    area_m2 : float, optional
        Outer area. [m²]
    bifaciality : float, optional
        Power of the rear over that of the front under the same light; None for a module with a dark rear. [-]
    """

    p_max: float
    voc: float
    isc: float
    vmp: float
    imp: float
    alpha_isc: float
    beta_voc: float
    cells_in_series: int
    gamma_pmp: float | None = None
    noct_c: float | None = None
    area_m2: float | None = None
    bifaciality: float | None = None


@dataclass(frozen=True, slots=True)
class ModuleModel:
    """Parameters of the one-diode curve of one module at standard test conditions.

    Parameters
    ----------
    sheet : SheetModule
        What the curve was fitted to.
    photocurrent, saturation : float
        Light-generated and diode saturation current. [A]
    series, shunt : float
        Series and shunt resistance; ``shunt`` may be infinite. [Ω]
    thermal : float
        Ideality × cells × thermal voltage. [V]
    alpha : float
        Change of the light-generated current with cell temperature. [A/°C]
    status : {"exact", "isc relaxed", "gamma ignored", "fallback"}
        Which of the sheet's figures the curve meets.
    residuals : tuple of (str, float)
        Model over sheet, less one, for ``voc``, ``isc``, ``vmp``, ``imp``, ``p_max`` [-] and the
        difference ``gamma_pmp`` [%/°C] where the sheet gives it.
    """

    sheet: SheetModule
    photocurrent: float
    saturation: float
    series: float
    shunt: float
    thermal: float
    alpha: float
    status: FitStatus
    residuals: tuple[tuple[str, float], ...]

    @property
    def ideality(self) -> float:
        """Diode ideality factor of one cell [-]."""
        return self.thermal / (self.sheet.cells_in_series * BOLTZMANN_EV * T_STC)


@dataclass(frozen=True, slots=True)
class _Point:
    """A solved curve at 25 °C: light current, saturation current × exp(Voc/a), shunt conductance, Rs, a."""

    light: float
    scaled: float
    leak: float
    series: float
    thermal: float


@lru_cache(maxsize=512)
def fit_sheet(sheet: SheetModule) -> ModuleModel:
    """One-diode parameters [A, Ω, V] that meet a data sheet, and which of its figures they meet.

    Parameters
    ----------
    sheet : SheetModule
        Figures at standard test conditions.

    Returns
    -------
    ModuleModel
        ``status`` "exact": every figure met. "isc relaxed": the sheet's short-circuit current would need a
        negative shunt resistance, so it floats and its residual says by how much. "gamma ignored": the power
        coefficient is out of reach or not given. "fallback": only voltage in open circuit, current in
        short circuit and power are met.

    Raises
    ------
    SheetProblem
        If the figures contradict each other (Vmp above Voc, say).

    Notes
    -----
    Valid for crystalline silicon. Model and temperature laws: De Soto et al., Solar Energy 80 (2006) 78–88;
    freeing the current's temperature coefficient so that the voltage's is met: Dobos, J. Sol. Energy Eng. 134 (2012).

    Examples
    --------
    >>> model = fit_sheet(SheetModule(400, 49.2, 10.47, 41.0, 9.76, 0.0052, -0.133, 72, gamma_pmp=-0.35))
    >>> model.status
    'exact'
    """
    _check(sheet)
    found: tuple[_Point, FitStatus] | None = None
    for solve, status in ((_solve_exact, "exact"), (_solve_relaxed, "isc relaxed")):
        found = _search(sheet, solve, status, sheet.gamma_pmp)  # type: ignore[arg-type]
        if found is not None:
            break
    if found is None:
        for solve in (_solve_exact, _solve_relaxed):
            found = _search(sheet, solve, "gamma ignored", None)
            if found is not None:
                break
    point, status_found = found or (_fallback(sheet), "fallback")
    return _model(sheet, point, status_found)


def _check(sheet: SheetModule) -> None:
    """Refuse figures that no single module can have."""
    for name in ("p_max", "voc", "isc", "vmp", "imp"):
        if not getattr(sheet, name) > 0:
            raise SheetProblem(f"`{name}` is not above zero", "copy it from the data sheet")
    if sheet.cells_in_series < 1:
        raise SheetProblem("`cells_in_series` is below 1", "count the cells in series")
    if not sheet.vmp < sheet.voc:
        raise SheetProblem("`vmp` is not below `voc`", "check that the two voltages are not exchanged")
    if not sheet.imp < sheet.isc:
        raise SheetProblem("`imp` is not below `isc`", "check that the two currents are not exchanged")
    if abs(sheet.vmp * sheet.imp / sheet.p_max - 1) > 0.03:
        raise SheetProblem(
            "`vmp` × `imp` is not `p_max` within 3 %", "copy the three from one column of the sheet"
        )
    if sheet.gamma_pmp is not None and not sheet.gamma_pmp < 0:
        raise SheetProblem("`gamma_pmp` is not below zero", "write it with its minus sign, in % per °C")
    if not sheet.beta_voc < 0:
        raise SheetProblem("`beta_voc` is not below zero", "write it with its minus sign, per °C")


def _solve_exact(sheet: SheetModule, a: float) -> _Point | None:
    """Curve through short circuit, open circuit and maximum power for one thermal voltage, or None."""
    voc, isc, vmp, imp = sheet.voc, sheet.isc, sheet.vmp, sheet.imp

    def linear(rs: float) -> tuple[float, float, float]:
        """Light current, scaled saturation current and leak from the three points."""
        e_sc = math.exp((isc * rs - voc) / a)
        v_mp = vmp + imp * rs
        e_mp = math.exp((v_mp - voc) / a)
        # open circuit minus each point: scaled·(1 − e) + leak·(voc − v) = i
        a1, b1 = 1.0 - e_sc, voc - isc * rs
        a2, b2 = 1.0 - e_mp, voc - v_mp
        det = a1 * b2 - a2 * b1
        scaled = (isc * b2 - imp * b1) / det
        leak = (a1 * imp - a2 * isc) / det
        return scaled * (1.0 - math.exp(-voc / a)) + leak * voc, scaled, leak

    def slope(rs: float) -> float:
        _, scaled, leak = linear(rs)
        return _peak_slope(sheet, a, rs, scaled, leak)

    ceiling = root_between(lambda rs: linear(rs)[2], 0.0, 0.999 * (voc - vmp) / imp)
    if ceiling is None:
        return None
    series = root_between(slope, 0.0, ceiling)
    if series is None:
        return None
    light, scaled, leak = linear(series)
    return _Point(light, scaled, max(leak, 0.0), series, a) if scaled > 0 else None


def _solve_relaxed(sheet: SheetModule, a: float) -> _Point | None:
    """Curve through open circuit and maximum power with a shunt of 100 Vmp/Imp; the short circuit floats."""
    voc, vmp, imp = sheet.voc, sheet.vmp, sheet.imp
    leak = imp / (100.0 * vmp)

    def linear(rs: float) -> float:
        v_mp = vmp + imp * rs
        return (imp - leak * (voc - v_mp)) / (1.0 - math.exp((v_mp - voc) / a))

    series = root_between(
        lambda rs: _peak_slope(sheet, a, rs, linear(rs), leak), 0.0, 0.999 * (voc - vmp) / imp
    )
    if series is None:
        return None
    scaled = linear(series)
    light = scaled * (1.0 - math.exp(-voc / a)) + leak * voc
    return _Point(light, scaled, leak, series, a) if scaled > 0 else None


def _peak_slope(sheet: SheetModule, a: float, rs: float, scaled: float, leak: float) -> float:
    """Slope dP/dV of the curve at the sheet's maximum-power point [A]; zero where that point is the peak."""
    conductance = scaled / a * math.exp((sheet.vmp + sheet.imp * rs - sheet.voc) / a) + leak
    return sheet.imp - sheet.vmp * conductance / (1.0 + rs * conductance)


def _search(
    sheet: SheetModule,
    solve: Callable[[SheetModule, float], _Point | None],
    status: FitStatus,
    gamma: float | None,
) -> tuple[_Point, FitStatus] | None:
    """The thermal voltage at which the power coefficient is met (or the five-parameter one, without it)."""

    def miss(a: float) -> float | None:
        point = solve(sheet, a)
        if point is None:
            return None
        alpha = _alpha(sheet, point)
        if gamma is None:
            return alpha - sheet.alpha_isc
        return _gamma(sheet, point, alpha) - gamma

    known: list[tuple[float, float]] = []
    last: tuple[float, float | None] | None = None
    for a in (sheet.voc * (0.022 + 0.003 * k) for k in range(14)):
        value = miss(a)
        if last is not None and (value is None) != (last[1] is None):
            known += _edge(miss, last[0], a, last[1] is not None)
        if value is not None:
            known.append((a, value))
        last = (a, value)
    for (a0, f0), (a1, f1) in pairwise(known):
        if f0 == 0.0 or f0 * f1 < 0.0:
            root = root_where_defined(miss, a0, f0, a1)
            point = solve(sheet, root)
            if point is not None and (gamma is None or _is_believable(sheet, point)):
                return point, ("gamma ignored" if sheet.gamma_pmp is None else status)
    if gamma is not None or not known:
        return None
    closest, _ = min(known, key=lambda item: abs(item[1]))
    point = solve(sheet, closest)
    return None if point is None else (point, "gamma ignored")


def _is_believable(sheet: SheetModule, point: _Point) -> bool:
    """Whether the current rises with temperature as crystalline silicon's may."""
    low, high = CURRENT_RISE
    return low <= _alpha(sheet, point) / sheet.isc <= high


def _edge(
    function: Callable[[float], float | None], lo: float, hi: float, low_is_defined: bool
) -> list[tuple[float, float]]:
    """The defined place nearest to where a function ceases to be defined, with its value there."""
    found: list[tuple[float, float]] = []
    for _ in range(12):
        mid = 0.5 * (lo + hi)
        value = function(mid)
        if value is not None:
            found = [(mid, value)]
        lo, hi = (mid, hi) if (value is not None) == low_is_defined else (lo, mid)
    return found


def _alpha(sheet: SheetModule, point: _Point) -> float:
    """Temperature coefficient of the light current that makes Voc at 50 °C what the sheet says [A/°C]."""
    warm = T_STC + SPAN
    a = point.thermal * warm / T_STC
    voc = sheet.voc + sheet.beta_voc * SPAN
    scaled = point.scaled * saturation_ratio(warm)
    light = (
        scaled * (math.exp(voc / a - sheet.voc / point.thermal) - math.exp(-sheet.voc / point.thermal))
        + point.leak * voc
    )
    return (light - point.light) / SPAN


def _gamma(sheet: SheetModule, point: _Point, alpha: float) -> float:
    """Mean power coefficient of the curve from 25 °C to 50 °C [%/°C]."""
    warm = T_STC + SPAN
    saturation = point.scaled * math.exp(-sheet.voc / point.thermal) * saturation_ratio(warm)
    power = peak(
        point.light + alpha * SPAN, saturation, point.series, point.leak, point.thermal * warm / T_STC
    )[2]
    return 100.0 * (power / (sheet.vmp * sheet.imp) - 1.0) / SPAN


def _fallback(sheet: SheetModule) -> _Point:
    """Curve that meets Voc, Isc and power but not where on the curve the power lies."""
    unit = sheet.voc * 0.04
    leak = sheet.imp / (100.0 * sheet.vmp)

    def point(n: float, rs: float) -> _Point:
        a = n * unit
        scaled = (sheet.isc - leak * (sheet.voc - sheet.isc * rs)) / (
            1.0 - math.exp((sheet.isc * rs - sheet.voc) / a)
        )
        return _Point(scaled * (1.0 - math.exp(-sheet.voc / a)) + leak * sheet.voc, scaled, leak, rs, a)

    def excess(candidate: _Point) -> float:
        saturation = candidate.scaled * math.exp(-sheet.voc / candidate.thermal)
        power = peak(candidate.light, saturation, candidate.series, candidate.leak, candidate.thermal)[2]
        return power - sheet.vmp * sheet.imp

    rs = root_between(lambda value: excess(point(1.1, value)), 0.0, 0.5 * sheet.voc / sheet.isc)
    if rs is not None:
        return point(1.1, rs)
    n = root_between(lambda value: excess(point(value, 0.0)), 0.1, 1.1)
    return point(1.1 if n is None else n, 0.0)


def _model(sheet: SheetModule, point: _Point, status: FitStatus) -> ModuleModel:
    """The finished model with its residuals against the sheet."""
    saturation = point.scaled * math.exp(-sheet.voc / point.thermal)
    imp, vmp, power = peak(point.light, saturation, point.series, point.leak, point.thermal)
    isc = short_circuit(point.light, saturation, point.series, point.leak, point.thermal)
    alpha = _alpha(sheet, point)
    residuals = [
        ("voc", open_circuit(point.light, saturation, point.leak, point.thermal) / sheet.voc - 1.0),
        ("isc", isc / sheet.isc - 1.0),
        ("vmp", vmp / sheet.vmp - 1.0),
        ("imp", imp / sheet.imp - 1.0),
        ("p_max", power / sheet.p_max - 1.0),
    ]
    if sheet.gamma_pmp is not None:
        residuals.append(("gamma_pmp", _gamma(sheet, point, alpha) - sheet.gamma_pmp))
    shunt = math.inf if point.leak == 0.0 else 1.0 / point.leak
    return ModuleModel(
        sheet, point.light, saturation, point.series, shunt, point.thermal, alpha, status, tuple(residuals)
    )
