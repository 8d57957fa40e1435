"""The current-voltage curve of one module on one plane, hour by hour, and what a string makes of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from pvlib import pvsystem

from reportgen.engineering.energy import diode
from reportgen.engineering.energy.diode import Curves
from reportgen.engineering.energy.module import ModuleModel
from reportgen.engineering.energy.weather import Array
from reportgen.engineering.energy.wire import Line

FAINT = 1e-3
"""Irradiance is not taken below this, so that every hour has a curve [W/m²]."""


@dataclass(frozen=True, slots=True)
class Source:
    """One module on one plane over the hours with light, all (n,).

    Parameters
    ----------
    curves : Curves
        Its current-voltage curve in each hour.
    air, cell : ndarray
        Air and cell temperature. [°C]
    month : ndarray of intp
        0 for January.
    hours : float
        Length of an interval. [h]
    peak : ndarray
        Diode voltage at its own maximum power. [V]
    free_w, cool_w : ndarray
        Power at its own maximum, at cell temperature and at 25 °C. [W]
    voc : ndarray
        Open-circuit voltage. [V]
    """

    curves: Curves
    air: Array
    cell: Array
    month: NDArray[np.intp]
    hours: float
    peak: Array
    free_w: Array
    cool_w: Array
    voc: Array


def curves_of(model: ModuleModel, light: Array, cell: Array) -> Curves:
    """Curves of a module under light that reaches the cells [W/m²] at cell temperatures [°C].

    Parameters
    ----------
    model : ModuleModel
        From `reportgen.engineering.energy.module.fit_sheet`.
    light, cell : ndarray (n,)
        [W/m²], [°C]

    Notes
    -----
    Laws of De Soto et al. (2006) as pvlib's ``calcparams_cec`` has them; the current's temperature coefficient is the fitted one.
    """
    current, saturation, _, shunt, thermal = pvsystem.calcparams_cec(
        np.maximum(light, FAINT),
        cell,
        model.alpha,
        model.thermal,
        model.photocurrent,
        model.saturation,
        model.shunt,
        model.series,
        0.0,
    )
    leak = np.zeros_like(current) if np.isinf(model.shunt) else 1.0 / shunt
    return Curves(np.maximum(current, 0.0), saturation, model.series, leak, thermal)


def source_of(
    model: ModuleModel, light: Array, cell: Array, air: Array, month: NDArray[np.intp], hours: float
) -> Source:
    """A module on a plane, with the two powers that the loss chain needs.

    Parameters
    ----------
    model : ModuleModel
        The fitted sheet.
    light : ndarray (n,)
        Light that reaches the cells. [W/m²]
    cell, air : ndarray (n,)
        Cell and air temperature. [°C]
    month : ndarray of intp, (n,)
        0 for January.
    hours : float
        Length of an interval. [h]
    """
    curves = curves_of(model, light, cell)
    peak = diode.maximum_power(curves, 0.0)
    current, voltage = diode.terminal(curves, 0.0, peak)
    cool = curves_of(model, light, np.full_like(cell, 25.0))
    cool_current, cool_voltage = diode.terminal(cool, 0.0, diode.maximum_power(cool, 0.0))
    return Source(
        curves,
        air,
        cell,
        month,
        hours,
        peak,
        current * voltage,
        cool_current * cool_voltage,
        diode.open_circuit(curves),
    )


@dataclass(frozen=True, slots=True)
class Branch:
    """Equal strings on one input.

    Parameters
    ----------
    source : Source
        Their module on their plane.
    count : int
        Modules in series.
    line : Line
        Resistance of the wires of one string. [Ω]
    strings : int
        How many there are.
    """

    source: Source
    count: int
    line: Line
    strings: int = 1

    def outside(self, extra: Line | None = None) -> Array:
        """Resistance of the wires as each module sees its share of it [Ω], (n,)."""
        line = self.line if extra is None else self.line.plus(extra.scaled(self.strings))
        return line.at(self.source.air) / self.count
