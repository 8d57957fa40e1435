"""Unlike strings on one input at standard conditions."""

from __future__ import annotations

import pytest

from reportgen.engineering.energy.module import SheetModule
from reportgen.engineering.energy.sharing import SharedString, share_input

SHEET = SheetModule(400.0, 37.1, 13.79, 31.0, 12.9, 0.0069, -0.1, 54)


def loss(*counts: int) -> float:
    return share_input([SharedString(SHEET, count) for count in counts]).loss


# Common practice, no source: 8 beside 6 loses about 11 %, 11 beside 9 about 6 to 7 %.
@pytest.mark.parametrize(("counts", "low", "high"), [((8, 6), 0.10, 0.125), ((11, 9), 0.055, 0.075)])
def test_unequal_counts(counts, low, high) -> None:
    assert low < loss(*counts) < high


def test_order_does_not_matter_and_equal_strings_lose_nothing() -> None:
    assert loss(8, 6) == pytest.approx(loss(6, 8), rel=1e-9)
    assert loss(9, 9, 9) == pytest.approx(0.0, abs=1e-9)


def test_joined_curve_is_the_sum_and_holds_the_best_point() -> None:
    shared = share_input([SharedString(SHEET, 8), SharedString(SHEET, 6)])
    assert shared.amperes == pytest.approx([sum(pair) for pair in zip(*shared.each, strict=True)])
    drawn = max(v * a for v, a in zip(shared.volts, shared.amperes, strict=True))
    assert drawn <= shared.together * (1 + 1e-9)
    assert drawn == pytest.approx(shared.together, rel=0.01)
    # The sheet itself: 14 modules of 31.0 V times 12.9 A apart.
    assert sum(shared.apart) == pytest.approx(14 * 31.0 * 12.9, rel=2e-3)
