"""What would pass silently: strings without an input, a mounting that nobody stated, findings without their line."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome


def one(made, identity):
    return next(finding for finding in made.findings if finding.id == identity)


@pytest.mark.parametrize(
    ("limit", "outcome"),
    [
        # Own hand calculation: R1S with 9 modules and W1 with 11, at 0.45 kW: I1 has 33 · 0.45 = 14.85 kW as drawn;
        # without an input for R1S it has 24 · 0.45 = 10.8 kW, and 14.85 kW where R1S ends there after all.
        ("14.84 kW", Outcome.UNKNOWN),
        ("14.85 kW", Outcome.MEETS),
        ("10.79 kW", Outcome.FAILS),
    ],
)
def test_string_without_an_input_may_end_at_any_inverter(sample, edit, design, limit, outcome) -> None:
    files = edit(sample, "arrays.yaml", ", input: INV-1/C", "")
    files = edit(files, "equipment.yaml", "maximum_pv_power: 16 kW", f"maximum_pv_power: {limit}")
    found = one(design(files), "inverter-pv-power:INV-1")
    assert found.outcome is outcome
    if outcome is Outcome.UNKNOWN:
        assert found.missing == ("input of string R1S",)
        assert found.cure_span is not None
        assert found.cure_span.file == "arrays.yaml"
    if outcome is Outcome.MEETS:
        assert any("R1S, whose input is not stated, 14.85 kW" in note for note in found.notes)


def test_string_without_an_input_and_the_limit_of_an_input(sample, edit, design) -> None:
    files = edit(sample, "arrays.yaml", ", input: INV-1/C", "")
    # 12 · 0.45 = 5.4 kW at input A; with the 9 modules of R1S 9.45 kW.
    files = edit(files, "equipment.yaml", "A: &tp_input\n", "A: &tp_input\n        maximum_power: 6 kW\n")
    assert one(design(files), "input-pv-power:INV-1/A").outcome is Outcome.UNKNOWN


def test_mounting_that_nobody_stated_is_listed(barn, design) -> None:
    made = design(barn({"S1": 8}))
    (listed,) = [assumed for assumed, _ in made.assumptions if assumed.key == "arrays.T.mounting"]
    assert "mounting of T not stated: taken as a ground table" in listed.reason
    files = barn({"S1": 8})
    stated = {
        key: data.replace(b"count: 60,", b"count: 60, mounting: ground table,") for key, data in files.items()
    }
    keys = [assumed.key for assumed, _ in design(stated).assumptions]
    assert "mounting.ground table" in keys
    assert "arrays.T.mounting" not in keys


def test_landing_findings_name_the_line_of_the_terminal(sample, edit, design) -> None:
    files = edit(
        sample, "landing.yaml", "SW-E1: {L1: PV-E1+, L2: INV-1/A+", "SW-E1: {L2: PV-E1+, L1: INV-1/A-"
    )
    files = edit(files, "landing.yaml", "L4: INV-1/A-}\n  SW-E2", "L4: INV-1/A+}\n  SW-E2")
    found = one(design(files), "landing:PV-E1+")
    assert found.outcome is Outcome.FAILS
    lines = files["landing.yaml"].decode().splitlines()
    assert found.cure_span is not None
    assert found.cure_span.file == "landing.yaml"
    assert lines[found.cure_span.line - 1][found.cure_span.column - 1 :].startswith("L2: PV-E1+")


def test_ids_have_their_place(sample) -> None:
    from reportgen.project.load import load_project

    project = load_project(sample)
    lines = sample["arrays.yaml"].decode().splitlines()
    place = project.where("strings", "W1")
    assert lines[place.line - 1][place.column - 1 :].startswith("W1:")
    # What was not written has the place of what it would stand below.
    assert project.where("landing", "SW-E1", "T9") == project.where("landing", "SW-E1")
    assert project.where("landing", "SW-9") == project.where("landing")


def test_string_that_ends_nowhere_names_its_line(sample, edit, design) -> None:
    found = one(design(edit(sample, "arrays.yaml", ", input: INV-1/C", "")), "string-input:R1S")
    assert found.cure_span is not None
    assert found.cure_span.line == 10


def test_two_strings_on_an_input_of_unstated_connectors_are_unknown(sample, edit, design) -> None:
    files = edit(sample, "arrays.yaml", "input: INV-2/B", "input: INV-2/A")
    stated = {f.id: f.outcome for f in design(files).findings}
    # One pair of connectors and two strings: somebody has to say how they are joined.
    assert stated["input-connectors:INV-2/A"] is Outcome.ASK
    silent = edit(
        files,
        "equipment.yaml",
        "        short_circuit_limit: 15.5 A\n        connectors: 1\n",
        "        short_circuit_limit: 15.5 A\n",
    )
    assert {f.id: f.outcome for f in design(silent).findings}["input-connectors:INV-2/A"] is Outcome.UNKNOWN


@pytest.mark.parametrize("limit", ["30 A", "5 A"])
def test_both_readings_of_a_silent_limit_are_printed(sample, edit, design, limit) -> None:
    files = edit(sample, "equipment.yaml", "short_circuit_limit: 15.5 A", f"short_circuit_limit: {limit}")
    files = edit(files, "equipment.yaml", "usable_current: 14 A", "usable_current: 5 A")
    found = next(f for f in design(files).findings if f.id == "input-short-circuit:INV-2/A")
    # 12.95 A and 12.95 · 1.25 = 16.19 A lie on one side of it, so nobody needs to be asked.
    assert found.outcome is (Outcome.MEETS if limit == "30 A" else Outcome.FAILS)
    assert any("12.95 A at standard conditions, 16.19 A with the factor" in note for note in found.notes)
