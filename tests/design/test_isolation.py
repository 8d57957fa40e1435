"""Voltages that can be touched, and terminals that stay live while a switch is open."""

from __future__ import annotations

import pytest

from reportgen.design.missing import Missing


def opened(made, string):
    return next(item for item in made.isolation.opened if item.string == string)


def terminals(made, unit):
    switch = next(item for item in made.isolation.switches if item.unit == unit)
    return {item.terminal: item for item in switch.terminals}


def test_middle_connector_halves_the_voltage_by_hand(sample, design) -> None:
    made = design(sample)
    # Own hand calculation: 12 · 44.1 · 1.1222 = 593.868 V, half of it 296.934 V; one module 49.489 V, two are 98.98 V.
    even = opened(made, "E1")
    assert even.whole.value == pytest.approx(593.868, abs=5e-4)
    assert (even.piece, even.harmless) == (6, 2)
    assert even.halved.value == pytest.approx(296.934, abs=5e-4)
    # Eleven: six and five; the longer piece counts: 6 · 49.489 = 296.934 V.
    odd = opened(made, "W1")
    assert (odd.piece, odd.halved.value) == (6, pytest.approx(296.934, abs=5e-4))


def test_missing_cold_temperature_gives_no_voltage_to_touch(sample, edit, design) -> None:
    made = design(edit(sample, "site.yaml", "  record_low: -22 degC\n", ""))
    item = opened(made, "E1")
    assert isinstance(item.whole, Missing)
    assert isinstance(item.halved, Missing)
    assert item.harmless is None


def test_policy_does_not_lower_what_hands_can_meet(sample, edit, design) -> None:
    files = edit(
        sample, "project.yaml", "cold_temperature: record low", "cold_temperature: mean annual minimum"
    )
    assert opened(design(files), "E1").whole.value == pytest.approx(593.868, abs=5e-4)


def test_live_side_is_where_the_string_lands(sample, design) -> None:
    # With links between the far ends both leg and lead lie on the line side: L1 and L3 live, L2 and L4 lead to the input.
    found = terminals(design(sample), "SW-E1")
    assert {key: item.legs for key, item in found.items() if item.legs} == {
        "L1": ("PV-E1+",),
        "L3": ("PV-E1-",),
    }
    assert found["L2"].inputs == ("INV-1/A+",)
    assert found["L2"].behind == ()
    assert found["T1"].legs == found["T1"].inputs == ()


def test_second_string_feeds_an_open_switch_from_behind(sample, edit, design) -> None:
    # Both strings meet at input A over a switch each: with SW-E1 alone open its far side stays live from E2.
    files = edit(sample, "arrays.yaml", "input: INV-1/B", "input: INV-1/A")
    files = edit(
        files,
        "landing.yaml",
        "L2: INV-1/B+, L3: PV-E2-, L4: INV-1/B-",
        "L2: INV-1/A+, L3: PV-E2-, L4: INV-1/A-",
    )
    found = terminals(design(files), "SW-E1")
    assert found["L2"].legs == ("PV-E2+",)
    assert found["L4"].legs == ("PV-E2-",)
    assert found["L2"].behind == ()
    assert found["L1"].legs == found["L1"].behind == ("PV-E1+",)


def test_wires_without_landing_are_told(sample, edit, design) -> None:
    files = edit(
        sample, "landing.yaml", "  SW-W2: {L1: PV-W2+, L2: INV-2/B+, L3: PV-W2-, L4: INV-2/B-}\n", ""
    )
    assert design(files).isolation.not_landed == ("PV-W2+", "PV-W2-")
