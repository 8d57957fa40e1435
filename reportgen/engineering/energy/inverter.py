"""Alternating-current power from direct-current power: one figure, a curve, or a row of published coefficients."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

import numpy as np
from pvlib import inverter as models

from reportgen.engineering.energy.inputs import InverterSpec
from reportgen.engineering.energy.weather import Array

EFFICIENCY = 0.96
"""Inverter efficiency where nothing is given [-]. Common practice, no source."""


class Converter(Protocol):
    """What turns the power of an inverter's inputs into its output."""

    def ceiling(self, voltages: list[Array], powers: list[Array]) -> Array | None:
        """Input power at which the output reaches its rating [W], or None where nothing limits it."""

    def output(self, voltages: list[Array], powers: list[Array]) -> Array:
        """Output power [W], before the draw at night."""


@dataclass(frozen=True, slots=True)
class Curve:
    """Efficiency as straight lines over load.

    Parameters
    ----------
    loads, efficiencies : tuple of float
        Share of ``rated`` on the input side, and efficiency there. [-], [-]
    rated : float
        Rated output, infinite where nothing clips. [W]
    """

    loads: tuple[float, ...]
    efficiencies: tuple[float, ...]
    rated: float

    def _out(self, power: Array) -> Array:
        if len(self.loads) == 1:
            return power * self.efficiencies[0]
        return np.asarray(
            power * np.interp(power / self.rated, self.loads, self.efficiencies), dtype=np.float64
        )

    def ceiling(self, voltages: list[Array], powers: list[Array]) -> Array | None:
        """Input power at which the output reaches its rating [W]."""
        del voltages
        if np.isinf(self.rated):
            return None
        if len(self.loads) == 1:
            return np.full_like(powers[0], self.rated / self.efficiencies[0])
        lo, hi = self.rated, 2.0 * self.rated
        for _ in range(60):
            mid = 0.5 * (lo + hi)
            lo, hi = (mid, hi) if self._out(np.array([mid]))[0] < self.rated else (lo, mid)
        return np.full_like(powers[0], hi)

    def output(self, voltages: list[Array], powers: list[Array]) -> Array:
        """Output power [W]."""
        del voltages
        return np.minimum(self._out(np.sum(powers, axis=0)), self.rated)


@dataclass(frozen=True, slots=True)
class Coefficients:
    """The grid-connected inverter model of King et al., SAND2007-5036 (2007), several inputs as Hansen et al. (2022).

    Parameters
    ----------
    row : dict of str to float
        Paco, Pdco, Vdco, C0, C1, C2, C3, Pso, Pnt.
    """

    row: dict[str, float]

    def ceiling(self, voltages: list[Array], powers: list[Array]) -> Array | None:
        """Input power at which the output reaches its rating [W]."""
        row, whole = self.row, np.maximum(np.sum(powers, axis=0), 1e-9)
        needed: Array = np.zeros_like(powers[0])
        for voltage, power in zip(voltages, powers, strict=True):
            needed += power / whole * row["Pdco"] * (1.0 + row["C1"] * (voltage - row["Vdco"]))
        return needed

    def output(self, voltages: list[Array], powers: list[Array]) -> Array:
        """Output power [W]; nothing below the power that starts the conversion."""
        whole = np.sum(powers, axis=0)
        on = whole > 0.0
        result: Array = np.zeros_like(powers[0])
        if on.any():
            volts, watts = [v[on] for v in voltages], [p[on] for p in powers]
            result[on] = np.maximum(models.sandia_multi(volts, watts, {**self.row, "Pnt": 0.0}), 0.0)
        return result


def converter_of(spec: InverterSpec) -> Converter:
    """The conversion that an inverter's description asks for.

    Raises
    ------
    ValueError
        If a curve is given without a rating, or its loads do not rise, or an efficiency is outside 0 to 1.
    """
    if spec.coefficients is not None:
        return Coefficients(dict(spec.coefficients))
    rated = float("inf") if spec.ac_limit is None else spec.ac_limit
    given = EFFICIENCY if spec.efficiency is None else spec.efficiency
    points = ((0.0, given),) if isinstance(given, (int, float)) else tuple(given)
    loads, efficiencies = tuple(load for load, _ in points), tuple(share for _, share in points)
    if len(points) > 1 and spec.ac_limit is None:
        raise ValueError(f"the efficiency curve of `{spec.id}` needs its rated power")
    if any(b <= a for a, b in pairwise(loads)):
        raise ValueError(f"the loads of the efficiency curve of `{spec.id}` do not rise")
    if not all(0.0 <= share <= 1.0 for share in efficiencies) or not any(efficiencies):
        raise ValueError(f"an efficiency of `{spec.id}` is outside 0 to 1")
    return Curve(loads, efficiencies, rated)


def night_power_w(spec: InverterSpec) -> float:
    """Power an inverter draws when the sun is down [W]."""
    if spec.coefficients is not None:
        return abs(dict(spec.coefficients)["Pnt"])
    return spec.night_w
