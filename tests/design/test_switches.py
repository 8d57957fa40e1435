"""Rated current and load breaking of switches, PV power of inverters and inputs, strings facing several ways."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome


def one(made, identity):
    return next(finding for finding in made.findings if finding.id == identity)


def test_current_of_a_switch_by_hand(sample, design) -> None:
    # Own hand calculation: 12.95 · 1.25 = 16.1875 A; for hours 16.1875 · 1.25 = 20.234 A, below 25 A.
    found = one(design(sample), "switch-current:SW-E1:PV-E1")
    assert found.outcome is Outcome.MEETS
    assert found.value.value == pytest.approx(16.1875)
    assert "20.23 A" in found.notes[0]


@pytest.mark.parametrize(
    ("rated", "outcome"),
    [
        ("16.18 A", Outcome.FAILS),
        ("20 A", Outcome.ASK),
        ("20.24 A", Outcome.MEETS),
    ],
)
def test_between_maximum_and_continuous_the_maker_is_asked(sample, edit, design, rated, outcome) -> None:
    files = edit(sample, "equipment.yaml", "rated_current: 25 A", f"rated_current: {rated}")
    assert one(design(files), "switch-current:SW-E1:PV-E1").outcome is outcome


def test_silent_data_sheet_passes_no_switch(sample, edit, design) -> None:
    files = edit(sample, "equipment.yaml", "    rated_current: 25 A\n    load_break: yes\n", "")
    made = design(files)
    assert one(made, "switch-current:SW-E1:PV-E1").outcome is Outcome.UNKNOWN
    assert one(made, "switch-load-break:SW-E1").outcome is Outcome.UNKNOWN


def test_strings_that_meet_on_a_switch_are_added(sample, edit, design) -> None:
    # Both strings land on SW-E1 side by side on one input: 2 · 16.1875 = 32.375 A, while each alone is below 25 A.
    files = edit(sample, "arrays.yaml", "input: INV-1/B", "input: INV-1/A")
    files = edit(
        files,
        "landing.yaml",
        "SW-E1: {L1: PV-E1+, L2: INV-1/A+, L3: PV-E1-, L4: INV-1/A-}\n  SW-E2: {L1: PV-E2+, L2: INV-1/B+, L3: PV-E2-, L4: INV-1/B-}",
        "SW-E1: {L1: PV-E1+, L2: PV-E2+, T1: INV-1/A+, L3: PV-E1-, L4: PV-E2-, T3: INV-1/A-}",
    )
    made = design(files)
    found = one(made, "switch-current:SW-E1:PV-E1 PV-E2")
    assert found.value.value == pytest.approx(32.375)
    assert found.outcome is Outcome.ASK
    assert one(made, "landing:PV-E1+").outcome is Outcome.MEETS
    # Crossed, the legs of the second string short both: it arrives beside a leg that is meant for the other pole.
    crossed = edit(
        files,
        "landing.yaml",
        "L2: PV-E2+, T1: INV-1/A+, L3: PV-E1-, L4: PV-E2-",
        "L2: PV-E2-, T1: INV-1/A+, L3: PV-E1-, L4: PV-E2+",
    )
    assert one(design(crossed), "landing:PV-E1+").outcome is Outcome.FAILS
    files = edit(files, "equipment.yaml", "rated_current: 25 A", "rated_current: 12 A")
    assert one(design(files), "switch-current:SW-E1:PV-E1 PV-E2").outcome is Outcome.FAILS


def test_switch_on_the_way_without_landing_is_unknown(sample, edit, design) -> None:
    files = edit(
        sample,
        "landing.yaml",
        "  SW-E1: {L1: PV-E1+, L2: INV-1/A+, L3: PV-E1-, L4: INV-1/A-}\n",
        "",
    )
    assert one(design(files), "switch-current:SW-E1:PV-E1").outcome is Outcome.UNKNOWN


@pytest.mark.source("IEC 60947-3, utilisation categories", locator="DC-20, DC-PV0, DC-PV1", read="memory")
@pytest.mark.parametrize(
    ("stated", "outcome"),
    [
        ("load_break: yes\n    utilisation_category: DC-21B", Outcome.MEETS),
        ("load_break: yes\n    utilisation_category: DC-PV0", Outcome.UNKNOWN),
        ("load_break: yes\n    utilisation_category: AC-22B", Outcome.UNKNOWN),
        ("load_break: yes\n    utilisation_category: heavy duty", Outcome.UNKNOWN),
        ("load_break: yes\n    utilisation_category: dc-20a", Outcome.UNKNOWN),
        ("load_break: no\n    utilisation_category: DC-PV2", Outcome.ASK),
        # One string a switch: what is meant for one string will do.
        ("load_break: yes\n    utilisation_category: DC-PV1", Outcome.MEETS),
    ],
)
def test_load_break_and_category_must_agree(sample, edit, design, stated, outcome) -> None:
    files = edit(sample, "equipment.yaml", "load_break: yes\n    utilisation_category: DC-PV2", stated)
    assert one(design(files), "switch-load-break:SW-E1").outcome is outcome


@pytest.mark.parametrize(
    ("said", "outcome"),
    [
        ("    polarised: no\n", Outcome.MEETS),
        ("    polarised: yes\n", Outcome.ASK),
        ("", Outcome.UNKNOWN),
    ],
)
def test_a_switch_for_one_direction_is_no_pass(sample, edit, design, said, outcome) -> None:
    # Wired against its marks a polarised switch may fail when it is opened; silence says nothing.
    files = edit(sample, "equipment.yaml", "    polarised: no\n", said)
    assert one(design(files), "switch-load-break:SW-E1").outcome is outcome


def test_power_of_an_inverter_by_hand(sample, edit, design) -> None:
    # Own hand calculation: (12 + 12 + 9) · 0.45 kW = 14.85 kW; over 10 kW of output 1.485.
    found = one(design(sample), "inverter-pv-power:INV-1")
    assert found.outcome is Outcome.MEETS
    assert found.value.value == pytest.approx(14.85)
    assert "1.4" in found.notes[-1]
    files = edit(sample, "equipment.yaml", "maximum_pv_power: 16 kW", "maximum_pv_power: 14.84 kW")
    assert one(design(files), "inverter-pv-power:INV-1").outcome is Outcome.FAILS
    files = edit(sample, "equipment.yaml", "    maximum_pv_power: 16 kW\n", "")
    assert one(design(files), "inverter-pv-power:INV-1").outcome is Outcome.UNKNOWN


def test_limit_of_an_input_is_its_own(sample, edit, design) -> None:
    # 12 · 450 W = 5.4 kW at input A: within the limit of the inverter, above that of the input.
    files = edit(sample, "equipment.yaml", "A: &tp_input\n", "A: &tp_input\n        maximum_power: 5300 W\n")
    made = design(files)
    assert one(made, "input-pv-power:INV-1/A").outcome is Outcome.FAILS
    assert one(made, "input-pv-power:INV-1/C").outcome is Outcome.MEETS


def test_placeholder_adds_no_power(sample, edit, design) -> None:
    files = edit(
        sample,
        "equipment.yaml",
        "maker: Larkspur (invented)\n",
        "maker: Larkspur (invented)\n    placeholder: yes\n",
    )
    assert one(design(files), "inverter-pv-power:INV-1").outcome is Outcome.UNKNOWN


def test_modules_of_one_string_that_face_two_ways(sample, edit, design) -> None:
    """In series the least lit module sets the current of all; strings of one array are passed over."""
    assert not [f for f in design(sample).findings if f.code == "string-one-plane"]
    whole = 'array: WEST, count: 10, positions: "row 2, columns 5-7; row 3, columns 1-7", positive_at: "row 2, column 5", negative_at: "row 3, column 7"'
    files = edit(sample, "arrays.yaml", whole, "parts: [{array: WEST, count: 8}, {array: EAST, count: 2}]")
    made = one(design(files), "string-one-plane:W2")
    assert made.outcome is Outcome.THIN
    assert "those with the least light set the current of all" in made.headline
    stood = "mounting: ground table, home_runs_leave: left"
    alike = edit(files, "arrays.yaml", f"azimuth: 225 deg, {stood}", f"azimuth: 140 deg, {stood}")
    assert one(design(alike), "string-one-plane:W2").outcome is Outcome.MEETS
    silent = edit(files, "arrays.yaml", f"azimuth: 225 deg, {stood}", stood)
    assert one(design(silent), "string-one-plane:W2").outcome is Outcome.UNKNOWN


def test_strings_that_face_two_ways_on_one_input(sample, edit, design) -> None:
    files = edit(sample, "arrays.yaml", "WEST, count: 11", "WEST, count: 12")
    files = edit(files, "arrays.yaml", "input: INV-2/A", "input: INV-1/A")
    assert one(design(files), "input-like-strings:INV-1/A").outcome is Outcome.THIN
    files = edit(files, "arrays.yaml", "tilt: 30 deg, azimuth: 225 deg, ", "")
    assert one(design(files), "input-like-strings:INV-1/A").outcome is Outcome.UNKNOWN
