"""Balance of PV power between inverters of one type: a target of the owner's, never a failure."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome


@pytest.fixture
def stacked(barn, design, edit):
    """Finding of two inverters of one type with so many modules each, and the design."""

    def make(counts: tuple[int, int], units: str = "{INV: , INW: }", policies: str = "", inputs: bool = True):
        files = barn({"S1": counts[0], "S2": counts[1]} if counts[1] else {"S1": counts[0]})
        files = edit(files, "barn.yaml", "units: {INV: }", f"units: {units}")
        if counts[1]:
            files = edit(files, "barn.yaml", "input: INV/B", "input: INW/A" if inputs else "positions: row 1")
        if policies:
            files = edit(files, "barn.yaml", "title: Barn", f"title: Barn, policies: {{{policies}}}")
        made = design(files)
        return next((f for f in made.findings if f.code == "inverter-balance"), None), made

    return make


@pytest.mark.parametrize(
    ("counts", "apart", "outcome"),
    [
        ((10, 10), 0.0, Outcome.MEETS),
        # Own hand calculation: (10 − 8) / 10, at the target, and (10 − 7) / 10, above it.
        ((10, 8), 20.0, Outcome.MEETS),
        ((10, 7), 30.0, Outcome.THIN),
        ((7, 10), 30.0, Outcome.THIN),
        # One that stands idle is as uneven as can be.
        ((10, 0), 100.0, Outcome.THIN),
    ],
)
def test_balance_by_hand(stacked, counts, apart, outcome) -> None:
    found, made = stacked(counts)
    assert found.value.value == pytest.approx(apart)
    assert found.outcome is outcome
    # Common practice, no source: so it stands among the assumptions.
    assert "policies.balance_target" in {assumed.key for assumed, _ in made.assumptions}


def test_the_target_is_the_owners(stacked) -> None:
    found, made = stacked((10, 7), policies="balance_target: 31 %")
    assert found.outcome is Outcome.MEETS
    assert "policies.balance_target" not in {assumed.key for assumed, _ in made.assumptions}
    assert stacked((10, 8), policies="balance_target: 19 %")[0].outcome is Outcome.THIN


def test_a_string_without_an_input_leaves_the_balance_unknown(stacked) -> None:
    # It may end at either of them: level as they are now, they need not stay so.
    found, _ = stacked((10, 10), inputs=False)
    assert found.outcome is Outcome.UNKNOWN
    assert found.missing == ("input of string S2",)


def test_modules_without_a_data_sheet_leave_it_unknown(barn, design, edit) -> None:
    files = edit(barn({"S1": 10}), "barn.yaml", "units: {INV: }", "units: {INV: , INW: }")
    files = edit(files, "barn.yaml", "A400: {power", "A400: {placeholder: yes, power")
    (found,) = (f for f in design(files).findings if f.code == "inverter-balance")
    assert found.outcome is Outcome.UNKNOWN


def test_an_inverter_that_is_removed_or_of_another_type_is_not_compared(stacked, sample, design) -> None:
    assert stacked((10, 0), units="{INV: , INW: {status: removed}}")[0] is None
    # The sample has two inverters, each of its own type.
    assert not [f for f in design(sample).findings if f.code == "inverter-balance"]
