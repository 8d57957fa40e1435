"""Rules of conductors that are commonly misstated: for each, what the tool does about it.

All folders are invented; expectations are own hand calculations.
"""

from __future__ import annotations

import pytest
from wire_folder import Run, found

from reportgen.design.findings import Outcome

SPARE = "  X: {kind: %s, cable: W, size: 10 AWG, conductors: %d, path: [R]}\n"
GROUND = "  EG: {kind: ground, cable: W, size: 10 AWG, path: [R]}\n"
OUTDOORS = Run().segments.replace("indoors", "outdoors")


def factor(run: Run) -> float:
    return run.design.facts.circuits[0].stretches[0].count_factor.value


def test_myth_the_ground_wire_does_not_count() -> None:
    plain, grounded = Run().design, Run(more=GROUND).design
    # It takes space and carries nothing: 4 carry, 5 take space.
    assert (
        found(grounded, "raceway-fill:R/trench").value.value
        > found(plain, "raceway-fill:R/trench").value.value
    )
    assert grounded.facts.circuits[0].stretches[0].carrying.value == 4


@pytest.mark.parametrize("place", ["underground", "outdoors", "roof"])
def test_myth_thhn_in_buried_or_outdoor_conduit_is_fine(place) -> None:
    made = Run(segments=Run().segments.replace("indoors", place), cable="{markings: [THHN]}").design
    finding = found(made, "wet-marking:C1")
    assert finding.outcome is Outcome.FAILS
    assert "THWN-2" in finding.cure
    dual = Run(segments=OUTDOORS, cable="{markings: [THHN, THWN]}").design
    # Wet it is worth 75 °C: 35 · 0.8 for four conductors.
    assert found(dual, "ampacity-use:C1").limit.value == pytest.approx(28)


def test_myth_156_percent_and_derate_too() -> None:
    made = Run(strings=8, count=10).design
    # The use test holds 1.25 · 13.79 = 17.24 A against 20 A; 1.5625 · 13.79 = 21.55 A would not fit.
    use, terminal = found(made, "ampacity-use:C1"), found(made, "ampacity-terminal:C1")
    assert use.value.value == pytest.approx(17.24, abs=0.005)
    assert use.limit.value == pytest.approx(20)
    assert use.outcome is Outcome.MEETS
    assert terminal.value.value == pytest.approx(21.55, abs=0.005)
    assert terminal.limit.value == 35


def test_myth_one_factor_on_the_short_circuit_current_is_enough() -> None:
    # 1.25 · 18 = 22.5 A is below 25 A of 12 AWG at 75 °C; 1.5625 · 18 = 28.1 A is not.
    module = Run().module.replace("13.79 A", "18 A").replace("12.9 A", "17 A").replace("400 W", "527 W")
    assert found(Run(size="12 AWG", module=module).design, "ampacity-terminal:C1").outcome is Outcome.FAILS


def test_myth_12_awg_of_30_amperes_takes_a_30_ampere_device() -> None:
    output = (
        "  AC: {kind: output, inverter: INV, cable: W, size: 12 AWG, conductors: 2, path: [R], phases: single phase,"
        " voltage: 240 V, current: 15 A, power_factor: 1, device: 30 A, tails: {start: 1 ft, end: 1 ft}}\n"
    )
    made = Run(strings=1, more=output).design
    device = found(made, "output-device:AC:conductor")
    assert device.limit.value == 20
    assert device.outcome is Outcome.FAILS


def test_myth_the_insulation_sets_the_column() -> None:
    made = Run(terminals="{}").design
    # THWN-2 stands 90 °C and 40 A; unmarked terminals leave 30 A.
    assert found(made, "ampacity-terminal:C1").limit.value == 30


@pytest.mark.parametrize(
    ("edition", "height", "adder"),
    [
        ("nec2017", "22 mm", 33),
        ("nec2020", "22 mm", 33),
        ("nec2023", "22 mm", 0),
        ("nec2023", "19 mm", 33),
        ("nec2017", "23 mm", 0),
    ],
)
def test_myth_the_rooftop_adder_applies_always(edition, height, adder) -> None:
    # 7/8 in is 22.2 mm, 3/4 in is 19.05 mm.
    roof = Run().segments.replace("indoors", f"roof, height_above_roof: {height}")
    (stretch,) = Run(segments=roof, edition=edition).design.facts.circuits[0].stretches
    assert stretch.ambient.value == pytest.approx(30 + adder)
    ground = Run(segments=OUTDOORS, edition=edition).design.facts.circuits[0].stretches[0]
    assert ground.ambient.value == 30
    exempt = Run(segments=roof, edition=edition, cable="{markings: [XHHW-2]}").design.facts.circuits[0]
    assert exempt.stretches[0].ambient.value == 30


def test_myth_a_pair_counts_as_one_conductor() -> None:
    # Two strings in one pipe are four conductors: 80 %.
    assert Run().design.facts.circuits[0].stretches[0].carrying.value == 4
    assert factor(Run()) == pytest.approx(0.8)
    assert factor(Run(strings=1)) == 1


@pytest.mark.parametrize("kind", ["spare", "abandoned"])
def test_myth_spare_and_abandoned_wires_do_not_count(kind) -> None:
    # 16 + 2 stays at 50 %, 20 + 2 falls to 45 %, 8 + 2 from 70 to 50 %.
    assert factor(Run(strings=8, count=5, more=SPARE % (kind, 2))) == pytest.approx(0.5)
    assert factor(Run(strings=10, count=5, more=SPARE % (kind, 2))) == pytest.approx(0.45)
    assert factor(Run(strings=4, count=5)) == pytest.approx(0.7)
    assert factor(Run(strings=4, count=5, more=SPARE % (kind, 2))) == pytest.approx(0.5)


def test_myth_three_percent_of_drop_is_a_code_limit() -> None:
    long = Run().segments.replace("100 ft", "2000 ft")
    finding = found(Run(segments=long).design, "voltage-drop:C1")
    assert finding.value.value > 10
    assert finding.outcome is Outcome.THIN
    assert not finding.clause


def test_myth_the_alternating_table_serves_direct_current() -> None:
    # Table 8 prints 1.24 for stranded 10 AWG, Table 9 1.2: both legs of 100 ft are 0.248 Ω.
    assert Run().design.facts.circuits[0].loop.value == pytest.approx(0.248)


@pytest.mark.parametrize(
    ("markings", "outcome"), [("[USE-2]", Outcome.FAILS), ("[USE-2, RHW-2]", None), ("[USE-2/RHW-2]", None)]
)
def test_myth_use_2_may_run_inside_a_house(markings, outcome) -> None:
    made = Run(cable=f"{{markings: {markings}, voltage: 600 V}}").design
    judged = [finding.outcome for finding in made.findings if finding.code == "indoor-marking"]
    assert set(judged) == ({outcome} if outcome else set())


@pytest.mark.parametrize(
    ("voltage", "outcome"),
    # 13 · 37.1 · (1 + 0.0027 · 45) = 540.9 V at −20 °C.
    [("600 V", Outcome.MEETS), ("500 V", Outcome.FAILS), ("2000 V", Outcome.MEETS), ("", Outcome.UNKNOWN)],
)
@pytest.mark.parametrize("status", ["new", "existing"])
def test_myth_600_volt_wire_is_rated_for_any_array(voltage, outcome, status) -> None:
    mark = f", voltage: {voltage}" if voltage else ""
    run = Run(count=13, cable=f"{{markings: [THWN-2]{mark}}}", circuit=f"{Run().circuit}, status: {status}")
    finding = found(run.design, "cold-voltage-wire:C1")
    assert finding.outcome is outcome
    if finding.value is not None:
        assert finding.value.value == pytest.approx(540.9, abs=0.05)


def test_myth_a_short_hot_stretch_governs_nothing() -> None:
    hot = f"stub: {{kind: PVC-80, size: 2, length: 3 ft, place: indoors, ambient: 60 degC}}\n{Run().segments}"
    use = found(Run(segments=hot).design, "ampacity-use:C1")
    # 40 · 0.71 · 0.8 = 22.72 A counts as long as nobody claims the exception.
    assert use.part == "R/stub"
    assert use.limit.value == pytest.approx(22.72)


@pytest.mark.parametrize(("ambient", "value"), [("30 degC", 1.0), ("30.1 degC", 0.96), ("35.5 degC", 0.91)])
def test_myth_between_rows_one_interpolates(ambient, value) -> None:
    segments = Run().segments.replace("30 degC", ambient)
    (stretch,) = Run(segments=segments).design.facts.circuits[0].stretches
    assert stretch.ambient_factor.value == value


def test_myth_results_round_down() -> None:
    # 13.79 A stays 13.79 A; 1.25 · 13.79 is 17.2375 A and no 17 A.
    assert Run().design.facts.circuits[0].maximum.value == pytest.approx(17.2375, abs=1e-12)
