"""String voltages, cold and hot, against published exercises.

Tolerances are half the last printed digit. A check of ours beside a printed one is said to be so.
"""

from __future__ import annotations

import pytest

from reportgen.engineering.strings import (
    most_modules,
    string_voltage,
    string_voltage_by_table,
)
from reportgen.rulebook.rulebook import load, quantity_of
from reportgen.working.quantity import Quantity


def percent(value: float) -> Quantity:
    return Quantity(value, "%/degC")


def volts(value: float) -> Quantity:
    return Quantity(value, "V/degC")


@pytest.mark.source("amozeshbargh.ir, string sizing of a 550 W module (training blog)", locator="post 69")
def test_cold_voltage_and_most_modules_of_a_blog() -> None:
    # Printed example: V_oc 49.5 V, V_mp 41.2 V, -0.28 %/°C, -5 °C, inverter 200 to 1000 V.
    cold = string_voltage(1, 49.5, percent(-0.28), -5, "cold")
    assert cold.value == pytest.approx(53.66, abs=0.005)
    assert most_modules(1000, cold) == 18


@pytest.mark.source("amozeshbargh.ir, string sizing of a 550 W module (training blog)", locator="post 69")
def test_hot_voltage_of_a_blog_and_what_is_wrong_with_it() -> None:
    # Printed example: at 45 °C 38.9 V a module, "about 700 V" for 18. The source takes 45 °C of air for the
    # cell and the coefficient of V_oc for V_mp; the arithmetic follows, the method is not ours.
    hot = string_voltage(1, 41.2, percent(-0.28), 45, "hot")
    assert hot.value == pytest.approx(38.9, abs=0.05)
    assert string_voltage(18, 41.2, percent(-0.28), 45, "hot").value == pytest.approx(700, abs=1)
    # Own hand calculation: a cell 30 K above the air and -0.35 %/°C of V_mp give 41.2 · (1 − 0.0035 · 50).
    right = string_voltage(1, 41.2, percent(-0.35), 75, "hot")
    assert right.value == pytest.approx(33.99, abs=0.005)
    # Both slips flatter the string that has to reach the inverter's least voltage.
    assert right.value < hot.value


@pytest.mark.source("jeopardylabs.com, NABCEP review 4 (class quiz)", locator="rec, 410 points")
def test_rise_and_cold_voltage_of_a_quiz() -> None:
    # Printed example: 49.0 V, -0.24 %/°C, -7.2 °C: rise 7.73 %, 52.79 V.
    cold = string_voltage(1, 49.0, percent(-0.24), -7.2, "cold")
    assert 100 * (cold.value / 49.0 - 1) == pytest.approx(7.73, abs=0.005)
    assert cold.value == pytest.approx(52.79, abs=0.005)


GSES = "Global Sustainable Energy Solutions, Calculating module voltages (training handout, 2011)"


@pytest.mark.source(GSES, locator="V_mp at cell temperatures of 55 and 70 °C")
@pytest.mark.parametrize(
    ("voltage", "coefficient", "cell", "expected", "half_digit"),
    [(35.4, -0.16, 55, 30.6, 0.05), (36.4, -0.17, 70, 28.75, 0.005)],
)
def test_hot_voltage_by_volts_a_degree(voltage, coefficient, cell, expected, half_digit) -> None:
    # Printed examples.
    hot = string_voltage(1, voltage, volts(coefficient), cell, "hot")
    assert hot.value == pytest.approx(expected, abs=half_digit)


@pytest.mark.source(GSES, locator="V_oc at a cell temperature of 0 °C")
def test_cold_voltage_by_volts_a_degree() -> None:
    # Printed example; the handout writes 0 − 25 = 25, a dropped sign, and still has the right result.
    cold = string_voltage(1, 45.8, volts(-0.13), 0, "cold")
    assert cold.value == pytest.approx(49.05, abs=0.005)


HOLT = "Mike Holt Enterprises, 690.7 examples in illustrated guides (2014 to 2017 editions)"


@pytest.mark.source(HOLT, locator="12 modules by percent a degree, -7 °C", read="memory")
def test_string_by_percent_a_degree() -> None:
    # Recalled example: 42.71 V a module; 513 V a string of 12.
    assert string_voltage(1, 38.3, percent(-0.36), -7, "cold").value == pytest.approx(42.71, abs=0.005)
    assert string_voltage(12, 38.3, percent(-0.36), -7, "cold").value == pytest.approx(513, abs=0.5)


@pytest.mark.source(HOLT, locator="12 modules by volts a degree, -7 °C", read="memory")
def test_string_by_volts_a_degree() -> None:
    # Recalled example: 512 V for the same string.
    assert string_voltage(12, 38.3, volts(-0.137), -7, "cold").value == pytest.approx(512, abs=0.5)
    # Own hand calculation: -137 mV/°C is the same coefficient in another unit.
    in_millivolts = string_voltage(12, 38.3, Quantity(-137, "mV/degC"), -7, "cold")
    assert in_millivolts.value == pytest.approx(512.208, abs=0.0005)


@pytest.mark.source(
    "PV course exercise in French (training course text)", locator="two modules at -20 °C, 1.18"
)
def test_string_by_the_code_table() -> None:
    # Printed example: 2 · 38.9 V · 1.18 = 91.8 V; the factor comes from our table, for -16 to -20 °C.
    factor = quantity_of(load("nec2023").voltage_table_factor(-20), "table factor")
    assert factor.value == 1.18
    assert string_voltage_by_table(2, 38.9, factor, "cold").value == pytest.approx(91.8, abs=0.05)
