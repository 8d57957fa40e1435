"""Published modules, bands and models put into a folder as readings, and judged by the whole design."""

from __future__ import annotations

import math

import pytest

from reportgen.design.findings import Outcome

PVLIB = "pvlib-python, test suite (BSD-3), commit 6382338a7"


@pytest.fixture
def found(barn, design, edit):
    """Findings by id: strings of so many modules of one kind, with readings at one temperature and irradiance."""

    def make(module: str, counts: dict[str, int], read: dict[str, float], lit: str):
        entries = ", ".join(
            f'{key}: {{open_circuit_voltage: {value} V, time: "10:{40 + place}"}}'
            for place, (key, value) in enumerate(read.items())
        )
        text = f"readings:\n  may: {{date: 2026-05-03, at: array, {lit}, strings: {{{entries}}}}}\n"
        files = edit(
            barn(counts, text),
            "barn.yaml",
            "open_circuit_voltage: 37.1 V, operating_voltage: 31 V",
            "open_circuit_voltage: VOC, operating_voltage: 31 V",
        )
        voc, coefficient, cells = module.split(", ")
        files = edit(files, "barn.yaml", "VOC", voc)
        files = edit(files, "barn.yaml", "-0.27 %/degC", coefficient)
        files = edit(files, "barn.yaml", "cells_in_series: 54", f"cells_in_series: {cells}")
        return {
            finding.id: finding for finding in design(files).findings if finding.code.startswith("reading")
        }

    return make


@pytest.mark.source(PVLIB, locator="test_sapm, CS5P-220M, 1100 W/m² and 50 °C: v_oc 54.1943277")
def test_hot_module_of_the_sandia_model(found) -> None:
    # Eight times the printed model value, taken as the reading of eight modules: 433.55 V. Linear with light:
    # 8 · (59.2608 − 25 · 0.21696 + 0.2586) = 432.76 V, off by 0.8 V.
    made = found(
        "59.2608 V, -0.21696 V/degC, 96",
        {"S1": 8},
        {"S1": 433.555},
        "cell_temperature: 50 degC, irradiance: 1100 W/m2",
    )["reading-voltage:S1:may"]
    assert made.outcome is Outcome.MEETS
    assert made.value.value == pytest.approx(8 * (54.1943277 - 53.8368 - 0.2586), abs=0.01)


@pytest.mark.source(
    "PowerSecure International, EPC agreement, open circuit voltage test clause",
    locator="measured within 95 to 105 % of expected",
)
@pytest.mark.source(
    "Global Sustainable Energy Solutions, Calculating module voltages (2011)", locator="45.8 V, -0.13 V/°C"
)
@pytest.mark.parametrize(
    ("read", "then"),
    [(510.6, Outcome.MEETS), (485.2, Outcome.FAILS), (536.0, Outcome.FAILS), (497.0, Outcome.MEETS)],
)
def test_the_band_of_a_contract_is_wider_than_ours(found, read: float, then: Outcome) -> None:
    # 12 · (45.8 − 0.13 · 25) = 510.6 V; the contract takes 485.1 to 536.1 V. Half a module is 21.3 V: what the
    # contract would still take at either end is stopped here.
    made = found(
        "45.8 V, -0.13 V/degC, 72",
        {"S1": 12},
        {"S1": read},
        "cell_temperature: 50 degC, irradiance: 1000 W/m2",
    )
    assert made["reading-voltage:S1:may"].outcome is then


@pytest.mark.source("IEC 62446-1:2016", locator="6.4, deviation of a string's voltage 5 %", read="memory")
@pytest.mark.parametrize(("count", "share"), [(8, 12.5), (12, 8.33), (20, 5.0), (22, 4.55)])
def test_one_missing_module_is_seen_at_every_length(found, count: int, share: float) -> None:
    # At standard conditions: 37.1 V a module; the reading lacks exactly one.
    made = found(
        "37.1 V, -0.27 %/degC, 54",
        {"S1": count},
        {"S1": round(37.1 * (count - 1), 4)},
        "cell_temperature: 25 degC, irradiance: 1000 W/m2",
    )["reading-voltage:S1:may"]
    assert made.outcome is Outcome.FAILS
    assert made.notes[0].startswith("likely: one module is missing")
    assert 100 * made.value.value / (37.1 * count) == pytest.approx(share, abs=0.005)


@pytest.mark.source(
    "Common practice, no source", locator="like strings read in the same minutes", read="memory"
)
@pytest.mark.parametrize("light", [40, 90, 300, 800, 1050])
@pytest.mark.parametrize("off", [-0.01, 0.0, 0.01])
def test_seven_stand_to_six_and_the_other_count_is_named(found, light: int, off: float) -> None:
    # Whatever the light: 7 to 6 within 1 %. The folder claims seven for both; one of them has six.
    # Seven modules at 12 °C: 7 · (37.1 · 1.0351 + 1.5261 · ln(G / 1000)).
    seven = 7 * (37.1 * 1.0351 + 1.5261 * math.log(light / 1000))
    made = found(
        "37.1 V, -0.27 %/degC, 54",
        {"S1": 7, "S2": 7},
        {"S1": round(seven, 3), "S2": round(seven * 6 / 7 * (1 + off), 3)},
        f"cell_temperature: 12 degC, irradiance: {light} W/m2",
    )
    # Below the light that a verdict needs the two are compared with each other alone.
    assert made["reading-alike:S2:may"].outcome is Outcome.FAILS
    # In the light both are first held against expectation, and the sound one is the measure.
    true = found(
        "37.1 V, -0.27 %/degC, 54",
        {"S1": 7, "S2": 6},
        {"S1": round(seven, 3), "S2": round(seven * 6 / 7 * (1 + off), 3)},
        "sky: cloudy",
    )
    assert true["reading-alike:S1:may"].outcome is Outcome.MEETS
    assert true["reading-alike:S2:may"].outcome is Outcome.MEETS


@pytest.mark.source(
    "Common practice, no source", locator="like strings read in the same minutes", read="memory"
)
@pytest.mark.parametrize(
    ("claimed", "named"), [({"S1": 7, "S2": 7}, 6), ({"S1": 7, "S2": 5}, 6), ({"S1": 7, "S2": 8}, 6)]
)
def test_the_count_of_the_other_is_named(barn, design, claimed: dict[str, int], named: int) -> None:
    text = (
        "readings:\n  dawn: {date: 2026-05-03, at: array, strings: {"
        'S1: {open_circuit_voltage: 221.9 V, time: "06:10"}, S2: {open_circuit_voltage: 190.9 V, time: "06:13"}}}\n'
    )
    reads = design(barn(claimed, text)).facts.readings.reads
    assert reads[1].of("alike").named == named


@pytest.mark.source("IEC 62446-1:2016", locator="6.7, Table 1, by 1.25 times the voltage", read="memory")
@pytest.mark.parametrize(("count", "volts"), [(11, 1000), (10, 500)])
def test_the_insulation_test_belongs_to_the_string(barn, design, count: int, volts: int) -> None:
    # 11 · 37.1 · 1.25 = 510 V asks for 1000 V; 10 · 37.1 · 1.25 = 464 V for 500 V.
    for used, then in ((volts, Outcome.MEETS), (volts - 1, Outcome.UNKNOWN)):
        text = (
            "readings:\n  may: {date: 2026-05-03, at: array, strings: {"
            f"S1: {{insulation: 60 Mohm, insulation_test_voltage: {used} V}}}}}}\n"
        )
        made = {f.id: f for f in design(barn({"S1": count}, text)).findings}
        assert made["reading-insulation:S1:may"].outcome is then
