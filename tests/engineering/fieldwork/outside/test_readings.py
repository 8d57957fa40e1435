"""Expected readings and their bands against published modules, clauses and models."""

from __future__ import annotations

import math

import pytest

from reportgen.engineering.readings.expectation import (
    band,
    count_from_neighbour,
    expectation,
    expected_voltage,
    module_share,
    thermal_voltage,
)
from reportgen.engineering.readings.ground import insulation_basis
from reportgen.engineering.readings.outcome import Verdict
from reportgen.engineering.readings.voltage import Read, judge_alike, judge_voltage
from reportgen.rulebook import standard_equipment, standards
from reportgen.working.quantity import Quantity

PVLIB = "pvlib-python, test suite (BSD-3), commit 6382338a7"


def percent(value: float) -> Quantity:
    return Quantity(value, "%/degC")


def volts(value: float) -> Quantity:
    return Quantity(value, "V/degC")


@pytest.mark.source(PVLIB, locator="test_sapm, CS5P-220M, 1100 W/m² and 50 °C: v_oc 54.1943277")
def test_hot_module_of_the_sandia_model() -> None:
    # Printed model value taken as the reading. Linear: 59.2608 − 25 · 0.21696 = 53.8368, off by 0.664 %.
    linear = expected_voltage(1, 59.2608, volts(-0.21696), 50, 1100, 0)
    assert linear.value == pytest.approx(53.8368, abs=0.00005)
    assert 100 * (54.1943277 / linear.value - 1) == pytest.approx(0.6641, abs=0.00005)
    low, high = band(linear, 5)
    assert low.value < 54.1943277 < high.value
    # Modified: the light of 1100 W/m² by the diode of 96 cells takes most of it: 1.1 · 96 · 0.025693 · ln 1.1 = 0.2586.
    lit = expected_voltage(1, 59.2608, volts(-0.21696), 50, 1100, thermal_voltage(96))
    assert lit.value - linear.value == pytest.approx(0.2586, abs=0.00005)
    assert abs(54.1943277 - lit.value) < 0.3 * abs(54.1943277 - linear.value)


@pytest.mark.source(
    "PowerSecure International, EPC agreement, open circuit voltage test clause",
    locator="measured within 95 to 105 % of expected",
)
@pytest.mark.source(
    "Global Sustainable Energy Solutions, Calculating module voltages (2011)", locator="45.8 V, -0.13 V/°C"
)
def test_band_of_a_contract() -> None:
    # Formula and band read, module from the handout, count and temperature our own:
    # 12 · (45.8 − 0.13 · 25) = 510.6; 485.07 and 536.13.
    expected = expected_voltage(12, 45.8, volts(-0.13), 50, 1000, 0)
    low, high = band(expected, 5)
    assert [one.value for one in (expected, low, high)] == pytest.approx([510.6, 485.07, 536.13], abs=0.005)


@pytest.mark.source("IEC 62446-1:2016", locator="6.4, deviation of a string's voltage 5 %", read="memory")
@pytest.mark.parametrize(("count", "share"), [(8, 12.5), (12, 8.33), (20, 5.0), (22, 4.55)])
def test_what_five_percent_can_see_of_one_module(count: int, share: float) -> None:
    # Formula check, own figures: 100 / N.
    assert module_share(count).value == pytest.approx(share, abs=0.005)
    # A string that lacks one module is stopped, also where it lies within the 5 % band of the standard.
    full = expectation(count, 37.1, percent(-0.27), 25, 1000, thermal_voltage(54))
    found = judge_voltage(full.voltage.value * (count - 1) / count, full)
    assert found.verdict is Verdict.STOP
    assert found.mistakes[0].says == "one module is missing"
    flat = 100 * standards.number("string-voltage-tolerance").number
    assert (module_share(count).value <= flat) == (count >= 20)


@pytest.mark.source(
    "EPJ Photovoltaics (2018) pv180007",
    locator="Table 2, open-circuit voltage coefficients of data sheet and field",
)
@pytest.mark.parametrize(
    ("sheet", "field", "error"), [(-0.34, -0.30, 1.0), (-0.37, -0.29, 2.0)], ids=["mSi", "pSi"]
)
def test_coefficient_of_the_field(sheet: float, field: float, error: float) -> None:
    # Coefficients read, error lines our own: 25 K · the difference, in percent of the standard voltage.
    at_50 = [expected_voltage(10, 40, percent(one), 50, 1000, 0).value for one in (sheet, field)]
    assert 100 * (at_50[1] - at_50[0]) / 400 == pytest.approx(error, abs=0.005)


@pytest.mark.source(
    "Common practice, no source", locator="like strings read in the same minutes", read="memory"
)
@pytest.mark.parametrize("irradiance", [40, 90, 300, 800, 1050])
@pytest.mark.parametrize("cell_c", [-5, 20, 55])
def test_strings_of_seven_and_six_stand_as_their_counts(irradiance: float, cell_c: float) -> None:
    # Like strings agree within about 1 %; seven stand to six as 7 to 6 within 1 %, whatever the light.
    seven, six = (
        expected_voltage(count, 38.5, percent(-0.29), cell_c, irradiance, thermal_voltage(60)).value
        for count in (7, 6)
    )
    for off in (-0.01, 0.0, 0.01):
        read = seven * (1 + off)
        assert read / six == pytest.approx(7 / 6, rel=0.0101)
        assert count_from_neighbour(read, six, 6).named == 7
        assert count_from_neighbour(six, read, 7).named == 6
        series = {"S1": Read(Quantity(read, "V"), 7), "S2": Read(Quantity(six, "V"), 6)}
        assert judge_alike("S1", series).verdict is Verdict.ACCEPT


@pytest.mark.source("IEC 62446-1:2016", locator="6.7, Table 1, by 1.25 times the voltage", read="memory")
def test_class_of_the_insulation_test() -> None:
    # 11 · 37.1 = 408.1; · 1.25 = 510.1: above 500 V, so the test is at 1000 V and not at 500 V.
    basis = insulation_basis(408.1)
    assert basis.value == pytest.approx(510.125)
    assert standard_equipment.insulation_test(basis.value).test.number == 1000
    assert standard_equipment.insulation_test(insulation_basis(400).value).test.number == 500


@pytest.mark.source("pvlib-python, CEC module library that ships with it", locator="monocrystalline modules")
def test_fall_with_light_of_library_modules() -> None:
    # Two hundred modules drawn with a fixed seed; the one-diode model at 25 °C against the logarithm.
    import numpy as np
    import pvlib

    library = pvlib.pvsystem.retrieve_sam("CECMod").T
    mono = library[library["Technology"] == "Mono-c-Si"].sample(200, random_state=7)

    def open_circuit(light: float) -> np.ndarray:
        curve = pvlib.pvsystem.calcparams_cec(
            light,
            25,
            *(
                mono[key].to_numpy(float)
                for key in ("alpha_sc", "a_ref", "I_L_ref", "I_o_ref", "R_sh_ref", "R_s")
            ),
            mono["Adjust"].to_numpy(float),
        )
        return np.asarray(pvlib.pvsystem.singlediode(*curve)["v_oc"])

    full, voc = open_circuit(1000), mono["V_oc_ref"].to_numpy(float)
    cells = mono["N_s"].to_numpy(float)
    for light, usual in ((620, 0.02), (90, 0.10)):
        model = 1 - open_circuit(light) / full
        assert np.median(model) == pytest.approx(usual, abs=0.01)
        ours = np.array(
            [
                -thermal_voltage(float(count)).value * math.log(light / 1000) / volts_
                for count, volts_ in zip(cells, voc, strict=True)
            ]
        )
        # Within the ideality's error that the uncertainty counts with, a fifth, for nine modules in ten.
        inside = np.abs(model / ours - 1) <= standards.number("reading-ideality-error").number / 100
        assert inside.mean() > 0.9
