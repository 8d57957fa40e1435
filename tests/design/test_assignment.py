"""Strings on inputs: one that reaches two, an input used twice, and devices of outputs that are not told whole."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome


def of(made, code: str) -> dict[str, Outcome]:
    return {
        finding.id.removeprefix(f"{code}:"): finding.outcome
        for finding in made.findings
        if finding.code == code
    }


def test_a_string_that_reaches_two_inputs_fails_at_both_legs(sample, edit, design) -> None:
    # A link between the poles of two inputs' leads on the switch: the string feeds both.
    files = edit(
        sample,
        "landing.yaml",
        "SW-E1: &links [[T1, T2], [T3, T4]]",
        "SW-E1: [[T1, T2], [T3, T4], [L2, T5], [L4, T6]]",
    )
    files = edit(files, "landing.yaml", "SW-E2: *links", "SW-E2: &links [[T1, T2], [T3, T4]]")
    files = edit(files, "landing.yaml", "L4: INV-1/A-}", "L4: INV-1/A-, T5: INV-1/B+, T6: INV-1/B-}", 1)
    files = edit(files, "equipment.yaml", "load: [T1, T2, T3, T4]", "load: [T1, T2, T3, T4, T5, T6]")
    found = of(design(files), "landing")
    assert (found["PV-E1+"], found["PV-E1-"]) == (Outcome.FAILS, Outcome.FAILS)
    told = next(f for f in design(files).findings if f.id == "landing:PV-E1+")
    assert "INV-1/A+ and INV-1/B+ instead of INV-1/A+" in told.headline


def test_an_input_used_twice_by_unlike_strings_fails(sample, edit, design) -> None:
    files = edit(sample, "arrays.yaml", "input: INV-2/B", "input: INV-2/A")
    made = design(files)
    assert of(made, "input-like-strings") == {"INV-2/A": Outcome.FAILS}
    # 11 and 10 modules beside each other are computed together, not only refused.
    (shared,) = made.sharing
    assert shared.counts == (11, 10)


OUTPUT = """
circuits:
  AC-1: {kind: output, inverter: INV-1, cable: THWN10, size: 6 AWG, conductors: 3, path: [R2/hall], voltage: 240 V,
         current: 41.7 A, power_factor: 1, device: 60 A%s, tails: {start: 1 m, end: 1 m}}
"""


@pytest.mark.parametrize(
    ("more", "voltage", "poles"),
    [
        ("", Outcome.UNKNOWN, Outcome.UNKNOWN),
        (", phases: single phase, device_voltage: 240 V, device_poles: 2", Outcome.MEETS, Outcome.MEETS),
        (", phases: single phase, device_voltage: 120 V, device_poles: 1", Outcome.FAILS, Outcome.ASK),
        (", phases: three phase, device_voltage: 480 V, device_poles: 2", Outcome.MEETS, Outcome.FAILS),
        (", phases: three phase, device_voltage: 480 V, device_poles: 3", Outcome.MEETS, Outcome.MEETS),
        (", device_voltage: 240 V, device_poles: 3", Outcome.MEETS, Outcome.UNKNOWN),
    ],
)
def test_device_of_an_output_by_voltage_and_poles(sample, design, more, voltage, poles) -> None:
    found = of(design({**sample, "output.yaml": (OUTPUT % more).encode()}), "output-device")
    assert (found["AC-1:voltage"], found["AC-1:poles"]) == (voltage, poles)


@pytest.mark.parametrize(
    ("file", "old", "new", "identity"),
    [
        (
            "equipment.yaml",
            'INV-1: {place: "outbuilding, north wall", inside: yes,',
            'INV-1: {place: "outbuilding, north wall", inside: yes, status: removed,',
            "string-input:E1",
        ),
        (
            "equipment.yaml",
            "SW-E1: {place: outbuilding, inside: yes}",
            "SW-E1: {place: outbuilding, inside: yes, status: removed}",
            "landing:PV-E1-",
        ),
        (
            "arrays.yaml",
            "status: existing, frames_bonded: yes, bonded_by: listed clamps",
            "status: removed, frames_bonded: yes, bonded_by: listed clamps",
            "module-balance:EAST",
        ),
    ],
)
def test_nothing_rests_on_what_is_removed(sample, edit, design, file, old, new, identity) -> None:
    (found,) = (f for f in design(edit(sample, file, old, new)).findings if f.id == identity)
    assert found.outcome is Outcome.FAILS
    assert "removed" in found.headline
    assert found.cure_span is not None
