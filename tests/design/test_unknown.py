"""A rating that nobody states is unknown and never a pass, whichever rating it is."""

from __future__ import annotations

import re

import pytest

from reportgen.design.findings import Outcome

#: File, text of the optional rating to take out, id of a finding that rests on it.
RATINGS = [
    ("equipment.yaml", "    voltage_coefficient: -0.26 %/degC\n", "cold-voltage-inverter:E1", "table"),
    ("equipment.yaml", "    maximum_system_voltage: 1000 V\n", "cold-voltage-module:E1", "unknown"),
    ("equipment.yaml", "    power_coefficient: -0.34 %/degC\n", "hot-voltage-window:E1", "unknown"),
    ("equipment.yaml", "    current_coefficient: 0.045 %/degC\n", "hot-voltage-window:E1", "unknown"),
    ("equipment.yaml", "    maximum_dc_voltage: 600 V\n", "cold-voltage-inverter:E1", "unknown"),
    ("equipment.yaml", "        tracking_from: 150 V\n", "hot-voltage-window:E1", "unknown"),
    ("equipment.yaml", "        tracking_to: 550 V\n", "cold-operating-window:E1", "unknown"),
    ("equipment.yaml", "        start_voltage: 180 V\n", "hot-voltage-start:E1", "unknown"),
    ("equipment.yaml", "        usable_current: 16 A\n", "input-usable-current:INV-1/A", "unknown"),
    ("equipment.yaml", "        short_circuit_limit: 20 A\n", "input-short-circuit:INV-1/A", "unknown"),
    ("equipment.yaml", "    pv_legs: floating\n", "floating-poles:H10", "unknown"),
    ("equipment.yaml", "    arc_fault_protection: yes\n", "arc-fault:H10", "unknown"),
    ("equipment.yaml", "    backfeed_current: 0 A\n", "backfeed:H10", "unknown"),
    (
        "equipment.yaml",
        "      - {poles_in_series: 2, voltage: 800 V}\n",
        "cold-voltage-switch:PV-E1:SW-E1",
        "unknown",
    ),
    ("equipment.yaml", "    voltage: 600 V\n", "cold-voltage-wire:PV-E1", "unknown"),
    ("site.yaml", "  record_low: -22 degC\n", "cold-voltage-inverter:E1", "unknown"),
    ("site.yaml", "  design_high: 36 degC\n", "hot-voltage-window:E1", "unknown"),
    ("site.yaml", "  ground_temperature: 28 degC\n", "ampacity-use:PV-E1", "unknown"),
    ("project.yaml", "  building: other building\n", "cold-voltage-place:E1", "unknown"),
    ("circuits.yaml", "    tails: {start: 6 m, end: 1.4 m}\n", "voltage-drop:PV-E1", "unknown"),
    ("raceways.yaml", ", height_above_roof: 12 mm", "ampacity-use:PV-R1S", "unknown"),
    (
        "landing.yaml",
        "  SW-E1: {L1: PV-E1+, L2: INV-1/A+, L3: PV-E1-, L4: INV-1/A-}\n",
        "landing:PV-E1+",
        "unknown",
    ),
    ("arrays.yaml", "rows: 2, columns: 12, ", "module-balance:EAST", "unknown"),
]


@pytest.mark.parametrize(
    ("file", "line", "identity", "then"),
    RATINGS,
    ids=[f"{r[2]} without {r[1].strip()[:30]}" for r in RATINGS],
)
def test_a_missing_rating_is_no_pass(sample, edit, design, file, line, identity, then) -> None:
    before = {finding.id: finding for finding in design(sample).findings}
    after = {finding.id: finding for finding in design(edit(sample, file, line, "", 1)).findings}
    if then == "table":
        # Without a coefficient the code's table is what is left, and it is judged: 635 V at a 600 V input.
        assert after[identity].outcome is Outcome.FAILS
        return
    assert after[identity].outcome is Outcome.UNKNOWN
    assert after[identity].missing
    gained = [
        key
        for key, finding in after.items()
        if finding.outcome is Outcome.MEETS and before.get(key, finding).outcome is not Outcome.MEETS
    ]
    assert not gained


def test_an_unknown_names_what_to_state(sample, edit, design) -> None:
    made = design(edit(sample, "equipment.yaml", "        short_circuit_limit: 20 A\n", "", 1))
    finding = next(finding for finding in made.findings if finding.id == "input-short-circuit:INV-1/A")
    assert "short_circuit_limit of input INV-1/A" in finding.missing
    assert re.search(r"equipment\.yaml:\d+", str(finding.cure_span))


def test_a_missing_ground_fails_and_metal_asks(sample, edit, design) -> None:
    without = edit(sample, "circuits.yaml", "path: [R2/roof, R2/drop]", "path: [R2/roof]")
    made = {finding.id: finding.outcome for finding in design(without).findings}
    assert made["ground-present:R2/drop"] is Outcome.ASK
    text = sample["circuits.yaml"].decode()
    start = text.index("  EG-1:")
    end = text.index("  EG-2:")
    files = edit(sample, "arrays.yaml", ", grounded_by: EG-1", "")
    rest = (text[:start] + text[end:]).replace("    bonded_to: EG-1\n", "")
    files = {**files, "circuits.yaml": rest.encode()}
    made = {f.id: f.outcome for f in design(files).findings}
    assert made["ground-present:R1/trench-orchard"] is Outcome.FAILS
