"""Tolerance of measured lengths carried into the verdicts on drop, fill and ampacity."""

from __future__ import annotations

import pytest
from pipe_folder import folder

from reportgen.design.findings import Outcome


def found(made, key):
    return next(finding for finding in made.findings if finding.id == key or finding.id.startswith(f"{key}:"))


def targeted(edit, sample, share):
    return edit(sample, "project.yaml", "drop_target: 2.5 %", f"drop_target: {share:.4f} %")


@pytest.fixture
def drop(sample, design) -> float:
    return found(design(sample), "voltage-drop:PV-E1").value.value


@pytest.mark.parametrize(
    ("of_target", "outcome", "told"),
    [
        (1.10, Outcome.MEETS, "holds over the whole tolerance"),
        # The pipes are 90 % of the length and 1 % uncertain: 0.4 % of room is less than that.
        (1.004, Outcome.THIN, "flips within the tolerance"),
        (0.996, Outcome.THIN, "at the short end it would be kept"),
        (0.90, Outcome.THIN, "holds over the whole tolerance"),
    ],
)
def test_a_drop_near_its_target(sample, edit, design, drop, of_target, outcome, told) -> None:
    made = found(design(targeted(edit, sample, drop * of_target)), "voltage-drop:PV-E1")
    assert made.outcome is outcome
    assert any(told in note for note in made.notes)


def test_the_span_by_hand(sample, design) -> None:
    made = design(sample)
    circuit = next(item for item in made.facts.circuits if item.id == "PV-E1")
    drop = found(made, "voltage-drop:PV-E1")
    # Own hand calculation: 1 % of 1.5 + 46 + 1.8 + 38 + 1.2 + 3.5 = 92 m is 0.92 m, of 102.5 m with tails and loops.
    assert circuit.length.value == pytest.approx(102.5)
    low, high = drop.value.value * (1 - 0.92 / 102.5), drop.value.value * (1 + 0.92 / 102.5)
    assert any(f"102.5 m ± 0.9 m it lies within {low:.2f} to {high:.2f} %" in note for note in drop.notes)


def test_a_failed_limit_stays_failed_at_its_nominal_length(sample, edit, design, drop) -> None:
    files = edit(
        sample, "circuits.yaml", "    string: E1\n", f"    string: E1\n    drop_limit: {drop * 0.999:.4f} %\n"
    )
    assert found(design(files), "voltage-drop:PV-E1").outcome is Outcome.FAILS


def test_a_raceway_without_a_tolerance_is_named(sample, edit, design) -> None:
    files = edit(sample, "raceways.yaml", "    length_tolerance: 1 %\n", "")
    made = found(design(files), "voltage-drop:PV-E1")
    assert any("no length_tolerance is stated for R1, R2" in note for note in made.notes)


@pytest.mark.parametrize(
    ("length", "tolerance", "outcome"),
    [
        # Seven 10 AWG THWN-2 in 1/2 in EMT: 7 · 0.0211 of 0.304 in² is 48.6 %, between 40 % and a nipple's 60 %.
        ("23 in", "1 %", Outcome.MEETS),
        ("23.9 in", "1 %", Outcome.THIN),
        ("24 in", "0 %", Outcome.MEETS),
        ("24.1 in", "1 %", Outcome.FAILS),
    ],
)
def test_a_nipple_that_may_be_too_long(design, length, tolerance, outcome) -> None:
    pipe = f"t: {{kind: EMT, size: 1/2, length: {length}, place: indoors}}"
    made = design(folder(pipe, strings=3, raceway=f"length_tolerance: {tolerance}"))
    assert found(made, "raceway-fill:R1/t").outcome is outcome
    if outcome is Outcome.THIN:
        told = "R1/t may be too long for a nipple within its tolerance, and is too full then"
        assert found(made, "raceway-fill:R1/t").headline.endswith(told)


@pytest.mark.parametrize(
    ("strings", "size", "outcome", "then"),
    [
        # 17.24 A; 40 A · 0.91 = 36.4 A, of six conductors · 0.8 = 29.12 A: plenty of room either way.
        (3, "10 AWG", Outcome.MEETS, "29.12 A: the verdict holds over the whole tolerance"),
        # 30 A · 0.91 = 27.3 A, of ten conductors · 0.5 = 13.65 A: too little if it is no nipple.
        (5, "12 AWG", Outcome.THIN, "13.65 A"),
    ],
)
def test_ampacity_in_a_doubtful_nipple_is_thin_where_the_factor_matters(
    design, strings, size, outcome, then
) -> None:
    pipe = "t: {kind: EMT, size: 1, length: 23.9 in, place: indoors}"
    made = design(folder(pipe, strings=strings, size=size, raceway="length_tolerance: 1 %"))
    use = found(made, "ampacity-use:C1")
    assert use.outcome is outcome
    assert any("may be too long for a nipple" in note and note.endswith(then) for note in use.notes)
    assert ("carries 13.65 A then" in use.headline) is (outcome is Outcome.THIN)
