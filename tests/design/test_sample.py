"""The sample: nothing fails, some is thin, unknown and to be asked; and each number by hand."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome
from reportgen.working.quantity import Given


@pytest.fixture
def made(sample, design):
    return design(sample)


def found(made, identity):
    return next(finding for finding in made.findings if finding.id == identity)


def test_nothing_fails_and_every_other_outcome_occurs(made) -> None:
    outcomes = {finding.outcome for finding in made.findings}
    assert outcomes == {Outcome.MEETS, Outcome.THIN, Outcome.UNKNOWN, Outcome.ASK}


def test_finding_ids_are_unique(made) -> None:
    ids = [finding.id for finding in made.findings]
    assert len(ids) == len(set(ids))


def test_worst_first(made) -> None:
    ranks = [finding.outcome.rank for finding in made.findings]
    assert ranks == sorted(ranks)


def test_cold_voltage_by_hand(made) -> None:
    # Own hand calculation: 12 · 44.1 · (1 − 0.0026 · (−22 − 25)) = 529.2 · 1.1222 = 593.868 V.
    cold = found(made, "cold-voltage-inverter:E1")
    assert cold.outcome is Outcome.THIN
    assert cold.value.value == pytest.approx(593.868, abs=5e-4)
    assert cold.margin == pytest.approx(1 - 593.868 / 600, abs=1e-6)
    # 600 = 529.2 · (1 − 0.0026 · (T − 25)) → T = 25 − (600 / 529.2 − 1) / 0.0026 = −26.456 °C.
    assert "−26.4 °C" in cold.break_even


def test_all_methods_stand_side_by_side(made) -> None:
    notes = found(made, "cold-voltage-inverter:E1").notes
    # Own hand calculation with the table's 1.20 and 1.16: 529.2 · 1.20 = 635.0 V, 529.2 · 1.16 = 613.9 V.
    assert "record low, by code table: 635.0 V" in notes
    assert "mean annual minimum, by code table: 613.9 V" in notes
    assert "mean annual minimum, by coefficient: 582.9 V" in notes


def test_ampacity_in_the_worst_stretch_by_hand(made) -> None:
    # Ten conductors carry current: 50 %; riser at 42 °C: 0.87; 10 AWG at 90 °C: 40 A → 40 · 0.87 · 0.50 = 17.4 A,
    # against 1.25 · 12.95 = 16.1875 A.
    use = found(made, "ampacity-use:PV-W1:R2/riser-yard")
    assert use.limit.value == pytest.approx(17.4)
    assert use.value.value == pytest.approx(16.1875)
    assert "meets up to 50 °C" in use.break_even


def test_terminals_without_a_mark_take_the_lowest_column(made) -> None:
    west = found(made, "ampacity-terminal:PV-W1")
    assert west.limit.value == 30
    assert "60 °C" in west.headline
    assert any(assumed.key == "terminals of INV-2" for assumed, _ in made.assumptions)
    assert found(made, "ampacity-terminal:PV-R1S").limit.value == 35


def test_drop_by_hand(made) -> None:
    # One leg: 9 + 1.5 + 46 + 1.8 + 38 + 1.2 + 3.5 + 1.5 + 3.5 = 106.0 m = 347.77 ft;
    # Warmest in the yard's riser: 42 + (90 − 42) · (12.2 / (40 · 0.87 · 0.5))² = 65.60 °C;
    # 1.24 · (1 + 0.00323 · (65.60 − 75)) = 1.20234 Ω/kft; 2 · 347.77 / 1000 · 1.20234 = 0.83628 Ω;
    # · 12.2 A = 10.203 V; of 11 · 36.9 = 405.9 V: 2.5136 %.
    drop = found(made, "voltage-drop:PV-W1")
    assert drop.value.value == pytest.approx(2.5136, abs=1e-4)
    assert drop.outcome is Outcome.THIN


def test_fill_by_hand(made) -> None:
    # 4 · 0.0366 + 6 · 0.0211 + 1 · 0.0211 = 0.2941 in² of 1.711 in² = 17.19 %.
    fill = found(made, "raceway-fill:R2/riser-yard")
    assert fill.value.value == pytest.approx(17.19, abs=5e-3)
    assert fill.notes == ("carry current: 10; take space: 11",)


def test_each_leg_passes_two_poles(made) -> None:
    assert {arrival.poles for arrival in made.facts.arrivals} == {2}


def test_every_judged_number_leads_back_to_input_lines(made) -> None:
    for finding in made.findings:
        if finding.value is not None:
            assert finding.sources, finding.id


def test_every_given_number_keeps_its_place(made) -> None:
    for item in made.quantities:
        if isinstance(item.origin, Given):
            assert item.origin.span.file.endswith(".yaml")
            assert item.origin.span.line > 0


def test_each_wire_names_its_two_ends(made) -> None:
    ends = {wire.id: (wire.start, wire.end) for wire in made.facts.graph.conductors}
    assert ends["PV-E1+"] == ("EAST", "INV-1/A")
    assert ends["EG-1"] == ("EAST", "TR-1")
    # The ground of the roof stops at the pull box, in the middle of its raceway.
    assert ends["EG-2"] == ("ROOF", "PB-1")
