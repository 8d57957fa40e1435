"""Published questions on ampacity and voltage drop, put as folders; tolerances are half the last printed digit."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

# pytest imports each test file on its own; the folder to vary stands one level up
sys.path.insert(0, str(Path(__file__).parents[1]))
from wire_folder import Run, found

from reportgen.design.findings import Outcome

INDOORS = Run().segments
THHN = "{markings: [THHN], voltage: 600 V}"


@pytest.mark.source(
    "EC&M (Mike Holt), Code Q&A no. 84 (about 2005)", locator="nine conductors of 12 AWG THHN"
)
def test_nine_conductors() -> None:
    # Printed: 30 A · 70 % = 21 A. Four strings are eight conductors, a spare is the ninth.
    spare = "  X: {kind: spare, cable: W, size: 12 AWG, conductors: 1, path: [R]}\n"
    made = Run(strings=4, count=5, size="12 AWG", cable=THHN, more=spare).design
    assert found(made, "ampacity-use:C1").limit.value == pytest.approx(21, abs=1e-9)


@pytest.mark.source(
    "engineerboards.com, thread 27269, Table 310.15(B)(2)(a) and (b)", locator="12 AWG THHN at 55 °C"
)
def test_55_degrees() -> None:
    # Printed: factor 0.76.
    made = Run(strings=1, size="12 AWG", cable=THHN, segments=INDOORS.replace("30 degC", "55 degC")).design
    (stretch,) = made.facts.circuits[0].stretches
    assert stretch.ambient_factor.value == 0.76


@pytest.mark.source(
    "Jade Learning newsletter, Code change: rooftop conduit (2008-07)", locator="75 °F, 6 in above the roof"
)
@pytest.mark.parametrize("edition", ["nec2017", "nec2020", "nec2023"])
def test_six_inches_above_a_roof(edition) -> None:
    # The printed 105 °F rest on the adder of 2008; later editions add nothing at 6 in (own), so 75 °F stay.
    roof = INDOORS.replace("indoors, ambient: 30 degC", "roof, ambient: 75 degF, height_above_roof: 6 in")
    (stretch,) = Run(strings=1, segments=roof, edition=edition).design.facts.circuits[0].stretches
    assert stretch.ambient.to("degF").value == pytest.approx(75)


@pytest.mark.source(
    "electrician2.com, low voltage lesson (2005 edition)", locator="p. 135, 16 AWG, 24 V, 4 A, 100 ft"
)
def test_low_voltage_lesson() -> None:
    # Printed: 4.0 V, 16.7 % of the rounded volts; 16.6 % of the volts themselves (own).
    module = (
        "{power: 96 W, open_circuit_voltage: 29 V, operating_voltage: 24 V, short_circuit_current: 4.3 A,"
        " operating_current: 4 A}"
    )
    (circuit,) = Run(strings=1, count=1, module=module, size="16 AWG").design.facts.circuits
    assert circuit.drop.value == pytest.approx(4.0, abs=0.05)
    assert circuit.drop_share.value == pytest.approx(16.63, abs=0.005)


@pytest.mark.source(
    "Mike Holt Enterprises, voltage drop by Ohm's law in illustrated guides (2014 to 2017 editions)",
    locator="16 A, 100 ft of 12 AWG, 120 V",
    read="memory",
)
def test_ohms_law_lesson() -> None:
    # Recalled: 6.4 V, 5.3 %, single phase with 2 Ω/kft.
    output = (
        "  AC: {kind: output, cable: W, size: 12 AWG, conductors: 2, path: [R], phases: single phase, voltage: 120 V,"
        " current: 16 A, power_factor: 1, tails: {start: 0 ft, end: 0 ft}}\n"
    )
    (made,) = Run(more=output).design.facts.outputs
    assert made.drop.value == pytest.approx(6.4, abs=0.05)
    assert made.drop_share.value == pytest.approx(5.3, abs=0.05)


H1Z2Z2 = "{markings: [H1Z2Z2-K], voltage: 1500 V, stranding: fine stranded, tinned: yes}"


@pytest.mark.source("IEC 60228:2004", locator="Table 3, 4 mm², tinned, and the annex on temperature")
def test_metric_wire_by_the_table_of_its_standard() -> None:
    """5.09 Ω/km at 20 °C; 2 · 0.03048 km · 5.09 · (1 + 0.00393 · 55) = 0.377355 Ω at 75 °C, with 12.9 A 4.8679 V."""
    (circuit,) = Run(strings=1, size="4 mm2", cable=H1Z2Z2).design.facts.circuits
    assert circuit.drop.value == pytest.approx(4.8679, abs=5e-5)
    (circuit,) = Run(strings=1, size="4 mm2", cable=H1Z2Z2, edition="nec2017").design.facts.circuits
    assert circuit.drop.value == pytest.approx(4.8679, abs=5e-5)


@pytest.mark.source("IEC 60228:2004", locator="Tables 2 and 3: stranded and flexible copper alone")
@pytest.mark.parametrize(
    ("old", "new"),
    [("fine stranded", "solid"), ("tinned: yes", "tinned: yes, material: aluminum")],
)
def test_metric_wire_that_the_table_has_not_is_unknown(old: str, new: str) -> None:
    made = Run(strings=1, size="4 mm2", cable=H1Z2Z2.replace(old, new)).design
    assert found(made, "voltage-drop:C1").outcome is Outcome.UNKNOWN
