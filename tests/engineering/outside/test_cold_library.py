"""Cold voltage by the data sheet's coefficient against the current-voltage curve, on modules of a public library."""

from __future__ import annotations

import numpy as np
import pytest
from pvlib import pvsystem

from reportgen.engineering.strings import string_voltage
from reportgen.working.quantity import Quantity

SEED, MODULES = 20260425, 500
COLD = -20.0
#: Share by which the curve may lie above or below the coefficient: all of them, and crystalline silicon but for few.
WIDEST, BAND, OUTSIDE = 0.07, 0.03, 0.05
#: With the slope that the curve itself has at 25 °C both are one thing but for the curvature.
CURVATURE = 0.012


@pytest.mark.source(
    "California Energy Commission, solar equipment lists, as of 2019-03-05, shipped inside pvlib",
    locator="sam-library-cec-modules-2019-03-05.csv, 500 modules drawn with a fixed seed",
    read="read",
)
def test_coefficient_and_curve_agree_within_the_band_and_outliers_are_explained() -> None:
    drawn = pvsystem.retrieve_sam("CECMod").T.sample(MODULES, random_state=SEED)
    columns = {
        key: drawn[key].astype(float).to_numpy()
        for key in (
            "V_oc_ref", "beta_oc", "alpha_sc", "a_ref", "I_L_ref", "I_o_ref", "R_sh_ref", "R_s", "Adjust"
        )
    }  # fmt: skip
    by_coefficient = np.array(
        [
            string_voltage(
                Quantity(1.0), Quantity(voc, "V"), Quantity(beta, "V/degC"), Quantity(COLD, "degC"), "cold"
            ).value
            for voc, beta in zip(columns["V_oc_ref"], columns["beta_oc"], strict=True)
        ]
    )

    def curve(cell: float) -> np.ndarray:
        names = ("alpha_sc", "a_ref", "I_L_ref", "I_o_ref", "R_sh_ref", "R_s", "Adjust")
        parts = pvsystem.calcparams_cec(1000.0, cell, *(columns[key] for key in names))
        return np.asarray(pvsystem.singlediode(*parts, method="lambertw")["v_oc"])

    away = curve(COLD) / by_coefficient - 1.0
    crystalline = drawn["Technology"].isin(["Mono-c-Si", "Multi-c-Si"]).to_numpy()
    assert np.abs(away).max() < WIDEST
    assert (np.abs(away[crystalline]) > BAND).mean() < OUTSIDE
    # Thin films have another band gap than the one the curve is given, and lie apart as a group, below.
    assert np.median(away[~crystalline]) < 0.0 < np.median(away[crystalline])
    # Outliers state a coefficient that their own curve does not have: with its slope instead they fall into line.
    slope = (curve(25.5) - curve(24.5)) / 1.0
    own = curve(25.0) + slope * (COLD - 25.0)
    outliers = np.abs(away) > BAND
    assert outliers.sum() >= 5
    assert np.abs(curve(COLD) / own - 1.0)[outliers].max() < CURVATURE
    # And the size of the gap is that of the two slopes, for every module.
    expected = (slope - columns["beta_oc"]) * (COLD - 25.0) / by_coefficient
    assert np.abs(away - expected).max() < 0.02
