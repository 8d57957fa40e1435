"""Ways to string a site: fifty-six modules on two inverters, and the sample."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.stringing import stringing
from reportgen.design.array_cuts import words_of

FAR = (Path(__file__).parents[1] / "far_pasture.yaml").read_text(encoding="utf-8")

# An invented pasture: 56 modules whose Voc of 41.2 V rises by a coefficient of −0.27 %/°C to 46.2 V at −20 °C.
PASTURE = """
project: {title: Pasture, building: dwelling}
site: {record_low: -20 degC, mean_annual_minimum: -12 degC, design_high: 34 degC}
modules:
  B325: {power: 325 W, open_circuit_voltage: 41.2 V, operating_voltage: 33.9 V, short_circuit_current: 10.25 A,
         operating_current: 9.59 A, voltage_coefficient: -0.27 %/degC, current_coefficient: 0.05 %/degC,
         power_coefficient: -0.36 %/degC, cells_in_series: 60, maximum_system_voltage: 1000 V}
inverters:
  H12K:
    units: {INV-1: , INV-2: }
    maximum_dc_voltage: 600 V
    ac_power: 12 kW
    inputs: {A: &i {tracking_from: 120 V, start_voltage: 150 V, tracking_to: 550 V, short_circuit_limit: 19 A,
             short_circuit_basis: standard conditions}, B: *i, C: *i, D: *i}
cables: {W: {markings: [THWN-2], voltage: 600 V}}
arrays: {P: {module: B325, count: 56, tilt: 30 deg, azimuth: 180 deg}}
strings: {S1: {array: P, count: 7, input: INV-1/A}}
circuits: {PV-S1: {string: S1, cable: W, size: 10 AWG, path: []}}
"""


@pytest.fixture
def pasture(design):
    def make(text: str = PASTURE):
        return design({"pasture.yaml": text.encode()})

    return make


def test_five_of_eleven_and_a_spare_come_before_eight_of_seven(pasture) -> None:
    made = pasture().stringing
    (array,) = made.arrays
    assert not array.missing
    words = [words_of(array.ranked[way.chosen["P"]].cut) for way in made.ways]
    assert words[0] == "5 × 11 + 1 spare"
    assert words.index("5 × 11 + 1 spare") < words.index("8 × 7")
    best = array.ranked[0]
    # Own hand calculation: 11 · 41.2 · (1 + 0.0027 · 45) = 508.26 V, 15.3 % below 600 V.
    assert best.cold == pytest.approx(508.26, abs=0.01)
    assert best.margin == pytest.approx(1 - 508.26 / 600, abs=1e-4)
    assert dict(array.out)["13 in series"] == "600.7 V cold, above 600 V"
    assert dict(array.out)["4 × 12"] == "leaves 8 modules over, more than 2"


@pytest.mark.parametrize(
    ("count", "even", "behind"),
    [(28, "1 × 10 + 2 × 9", "2 × 10 + 1 × 8"), (46, "1 × 10 + 4 × 9", "3 × 12 + 1 × 10")],
)
def test_unlike_strings_on_separate_inputs_are_offered_and_rank_by_how_even_they_are(
    pasture, count, even, behind
) -> None:
    made = pasture(PASTURE.replace("count: 56", f"count: {count}")).stringing
    (array,) = made.arrays
    ranks = [words_of(item.cut) for item in array.ranked]
    # Like strings with a module over, then those a module apart, then the others.
    assert (
        max(k for k, item in enumerate(array.ranked) if item.cut.alike)
        < ranks.index(even)
        < ranks.index(behind)
    )
    way = next(way for way in made.ways if words_of(array.ranked[way.chosen["P"]].cut) == even)
    assert sum(length * many for _, length, _, many in way.strings) == count
    places = [place for _, _, place, _ in way.strings]
    assert len(set(places)) == len(places)


def test_loss_is_worked_out_with_the_resistance_of_the_conductor_schedule(sample, design) -> None:
    made = design(sample)
    (roof,) = (choice for choice in made.stringing.arrays if choice.array == "ROOF")
    (wired,) = (item for item in made.facts.circuits if item.id == "PV-R1S")
    as_built = next(item for item in roof.ranked if words_of(item.cut) == "1 × 9 + 1 spare")
    assert as_built.loss_w == pytest.approx(wired.loss.value)


def test_ceiling_of_the_wire_counts_too(pasture) -> None:
    made = pasture(PASTURE.replace("voltage: 600 V}}", "voltage: 500 V}}")).stringing
    assert max(n for item in made.arrays[0].ranked for n, _ in item.cut.lengths) == 10


def test_power_limit_of_the_inverters_holds(pasture) -> None:
    # 55 · 325 W = 17.9 kW: two limits of 8 kW hold no way at all.
    text = PASTURE.replace("ac_power: 12 kW", "ac_power: 12 kW\n    maximum_pv_power: 8 kW")
    assert pasture(text).stringing.ways == ()


def test_silent_data_sheets_are_left_out_and_told(pasture) -> None:
    made = pasture(PASTURE.replace("tracking_from: 120 V, ", "")).stringing
    assert made.ways == ()
    assert any("tracking_from of input A" in item.what for item in made.left_out)
    made = pasture(PASTURE.replace("record_low: -20 degC, ", "")).stringing
    assert made.arrays[0].missing
    made = pasture(
        PASTURE.replace(
            "short_circuit_limit: 19 A,\n             short_circuit_basis: standard conditions",
            "short_circuit_limit: 11 A",
        )
    ).stringing
    assert "INV-1/A" in made.asked


def test_large_sites_are_not_searched_and_say_so(pasture, monkeypatch) -> None:
    monkeypatch.setattr("reportgen.design.stringing.MOST_PAIRS", 3)
    made = pasture()
    assert made.stringing.too_large
    assert made.stringing.ways == ()
    told = [getattr(item, "text", "") for item in stringing(Desk(made, {}))]
    assert any("too many arrays and inputs" in text for text in told)


def test_page_of_the_sample_recomputed(sample, design) -> None:
    desk = Desk(design(sample), sample)
    assert list(stringing(desk))
    rows = [line.split(",") for line in desk.schedules["stringing-ways"].csv("x").decode().splitlines()[2:]]
    east = next(row for row in rows if row[1] == "EAST" and row[2] == "3 × 8")
    # 8 · 44.1 · 1.1222 = 395.912 V; 34.01 % below 600 V; three strings are six conductors.
    assert float(east[3]) == pytest.approx(395.912, abs=0.001)
    assert float(east[4]) == pytest.approx(34.015, abs=0.001)
    assert float(east[5]) == 6


def test_without_a_string_the_ways_are_found_all_the_same(design) -> None:
    made = design({"far.yaml": FAR.encode()}).stringing
    (array,) = made.arrays
    words = [words_of(array.ranked[way.chosen["P"]].cut) for way in made.ways]
    assert words[0] == "5 × 11 + 1 spare"
    # Own hand calculation: 40.9 · (1 + 0.0029 · 45) = 46.237 V each; 11 make 508.61 V, 12 554.85 V, 13 601.09 V.
    assert array.ranked[0].cold == pytest.approx(508.61, abs=0.01)
    out = dict(array.out)
    assert out["13 in series"] == "601.1 V cold, above 600 V"
    assert out["8 × 7"] == "8 strings, and the inputs take 6 such"
    assert made.untried == ("P",)
    # No wire stands there yet, so none is counted, and nothing of the trial is left in the design.
    assert array.ranked[0].wire_m is None
    assert design({"far.yaml": FAR.encode()}).facts.strings == ()


def test_eight_of_seven_fit_two_on_an_input_and_rank_behind(design) -> None:
    text = FAR.replace("{tracking_from", "{connectors: 2, tracking_from")
    (array,) = design({"far.yaml": text.encode()}).stringing.arrays
    ranks = [words_of(item.cut) for item in array.ranked]
    assert ranks.index("5 × 11 + 1 spare") < ranks.index("8 × 7")


def test_thirteen_in_series_is_never_proposed(design) -> None:
    made = design({"far.yaml": FAR.encode()}).stringing
    assert max(length for way in made.ways for _, length, _, _ in way.strings) == 12


def test_arrays_without_known_modules_are_told(design) -> None:
    made = design({"far.yaml": FAR.replace("count: 56, ", "").encode()}).stringing
    assert made.ways == ()
    assert made.arrays[0].missing
