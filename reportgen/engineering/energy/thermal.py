"""Cell temperature from how the modules are mounted."""

from __future__ import annotations

import numpy as np
from pvlib import temperature

from reportgen.engineering.energy.inputs import Mounting, OpenRackModel
from reportgen.engineering.energy.weather import Array

NOCT_C = 45.0
"""Nominal operating cell temperature where the sheet gives none [°C]. Common practice, no source."""
EFFICIENCY = 0.20
"""Module efficiency where the sheet gives no area [-]. Common practice, no source."""

_BACKS = {"flush roof": "close_mount_glass_glass", "insulated back": "insulated_back_glass_polymer"}


def cell_temperature(
    plane: Array,
    air: Array,
    wind: Array,
    mounting: Mounting,
    noct_c: float = NOCT_C,
    efficiency: float = EFFICIENCY,
    open_rack_model: OpenRackModel = "noct",
) -> Array:
    """Temperature of the cells [°C].

    Parameters
    ----------
    plane : ndarray (n,)
        Irradiance on the plane. [W/m²]
    air : ndarray (n,)
        Air temperature. [°C]
    wind : ndarray (n,)
        Wind speed. [m/s]
    mounting : {"open rack", "flush roof", "insulated back"}
        How air reaches the back of the modules.
    noct_c : float
        Nominal operating cell temperature, for open racks. [°C]
    efficiency : float
        Module efficiency, for open racks. [-]
    open_rack_model : {"noct", "heat balance"}
        For open racks: the nominal operating temperature scaled by light, wind and efficiency, or the two-coefficient
        heat balance of Faiman, Prog. Photovolt. 16 (2008) 307–315.

    Notes
    -----
    Close and insulated mountings: King et al., SAND2004-3535 (2004), with that report's coefficients as pvlib holds them.

    Examples
    --------
    >>> one = np.array([1.0])
    >>> float(cell_temperature(900 * one, 20 * one, 5 * one, "open rack", open_rack_model="heat balance")[0])
    35.203
    """
    if mounting != "open rack":
        coefficients = temperature.TEMPERATURE_MODEL_PARAMETERS["sapm"][_BACKS[mounting]]
        return np.asarray(temperature.sapm_cell(plane, air, wind, **coefficients), dtype=np.float64)
    if open_rack_model == "heat balance":
        return np.asarray(temperature.faiman(plane, air, wind), dtype=np.float64)
    return np.asarray(temperature.noct_sam(plane, air, wind, noct_c, efficiency), dtype=np.float64)
