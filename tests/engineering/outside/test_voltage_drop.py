"""Voltage drop and loss against published lessons; tolerances are half the last printed digit."""

from __future__ import annotations

import pytest

from reportgen.engineering import alternating, voltage_drop
from reportgen.rulebook.rulebook import load, quantity_of

BOOK = load("nec2023")


@pytest.mark.source(
    "electrician2.com, low voltage lesson (2005 edition)", locator="p. 135, 16 AWG, 24 V, 4 A, 100 ft"
)
def test_low_voltage_lesson() -> None:
    # Printed example: 4.99 Ω/kft, 4.0 V, 16.7 %.
    resistance = quantity_of(BOOK.resistance("copper", "16"))
    assert resistance.value == 4.99
    drop = voltage_drop.drop(voltage_drop.loop_resistance(100, resistance), 4)
    assert drop.value == pytest.approx(4.0, abs=0.05)
    # The source takes the percentage of its rounded volts; of the volts themselves it is 16.6 (own).
    assert voltage_drop.drop_share(4.0, 24).value == pytest.approx(16.7, abs=0.05)
    assert voltage_drop.drop_share(drop, 24).value == pytest.approx(16.63, abs=0.005)


@pytest.mark.source(
    "rvnerds.com, A few words on wire sizing (2016-01-19)", locator="1087 W at 13 V, 0.0108 ohm"
)
def test_constant_power_load() -> None:
    # Printed example: the first guess, without the wire, is 83.6 A.
    assert voltage_drop.constant_power_current(1087, 13, 0).value == pytest.approx(83.6, abs=0.05)
    # Own hand calculation: with the wire 90.405 A, 12.0236 V at the load; their product is the power again.
    current = voltage_drop.constant_power_current(1087, 13, 0.0108)
    left = 13 - voltage_drop.drop(0.0108, current).value
    assert current.value == pytest.approx(90.405, abs=0.0005)
    assert left == pytest.approx(12.0236, abs=0.00005)
    assert left * current.value == pytest.approx(1087, abs=1e-6)


@pytest.mark.source("SDM Magazine, Test your formulas knowledge (2018)", locator="question 2: 4.5 V at 10 A")
def test_loss_of_a_known_drop() -> None:
    # Printed example: 45 W. Own: the wire that drops all of 4.5 V at 10 A has 0.45 Ω.
    wire = voltage_drop.resistance_for_drop(100, 4.5, 10)
    assert wire.value == pytest.approx(0.45, abs=1e-12)
    assert voltage_drop.drop(wire, 10).value == pytest.approx(4.5, abs=1e-12)
    assert voltage_drop.power_loss(wire, 10).value == pytest.approx(45, abs=1e-9)


@pytest.mark.source(
    "pvlib-python, tests/test_pvsystem.py at commit 6382338a7", locator="test_dc_ohms_from_percent"
)
def test_resistance_of_a_share_of_loss() -> None:
    # Printed example: 3 % of one module of 38 V and 8 A is 0.1425 Ω, exact.
    assert voltage_drop.resistance_for_drop(3, 38, 8).value == pytest.approx(0.1425, abs=1e-9)


@pytest.mark.source(
    "pvlib-python, tests/test_pvsystem.py at commit 6382338a7", locator="test_dc_ohmic_losses"
)
def test_loss_of_a_resistance() -> None:
    # Printed example: 9.12 W, exact.
    assert voltage_drop.power_loss(0.1425, 8).value == pytest.approx(9.12, abs=1e-9)


@pytest.mark.source(
    "Mike Holt Enterprises, voltage drop by Ohm's law in illustrated guides (2014 to 2017 editions)",
    locator="16 A, 100 ft of 12 AWG, 120 V",
    read="memory",
)
def test_ohms_law_lesson() -> None:
    # Recalled example with 2 Ω/kft: 6.4 V, 5.3 %. Single phase; Table 9 prints 2.0 for 12 AWG.
    resistance = quantity_of(BOOK.ac_resistance("copper", "12", "pvc"))
    assert resistance.value == 2.0
    drop = alternating.drop(100, resistance, 16, three_phase=False)
    assert drop.value == pytest.approx(6.4, abs=0.05)
    assert voltage_drop.drop_share(drop, 120).value == pytest.approx(5.3, abs=0.05)
    # Own hand calculation with 1.98 Ω/kft of the direct-current table: 6.336 V.
    direct = voltage_drop.loop_resistance(100, quantity_of(BOOK.resistance("copper", "12")))
    assert voltage_drop.drop(direct, 16).value == pytest.approx(6.336, abs=1e-9)


@pytest.mark.source(
    "tradelicenseprep.com, voltage drop and Ohm's law lesson", locator="20 A, 100 ft, 120 V, K 12.9"
)
@pytest.mark.parametrize(("size", "drop", "share"), [("12", 7.9, 6.6), ("8", 3.1, 2.6)])
def test_drop_by_the_constant_of_copper(size: str, drop: float, share: float) -> None:
    # Printed example: 2 K I L / cmil with 6530 and 16510 cmil; the areas come from our table.
    area = quantity_of(BOOK.circular_mils(size))
    assert area.value == {"12": 6530, "8": 16510}[size]
    lost = alternating.drop(100, voltage_drop.resistance_by_area(12.9, area), 20, three_phase=False)
    assert lost.value == pytest.approx(drop, abs=0.05)
    assert voltage_drop.drop_share(lost, 120).value == pytest.approx(share, abs=0.05)
