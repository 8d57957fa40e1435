"""The greatest and the least of values of which one may be unknown."""

from __future__ import annotations

import pytest

from reportgen.design.missing import Missing, highest, lowest
from reportgen.working.quantity import Quantity

VOLTS = [Quantity(value, "V", None, f"{value:g}") for value in (480.0, 1000.0, 600.0)]


def test_outermost_of_known_values() -> None:
    assert highest(VOLTS) is VOLTS[1]
    assert lowest(VOLTS) is VOLTS[0]


@pytest.mark.parametrize("choose", [highest, lowest])
@pytest.mark.parametrize("at", range(4))
def test_one_unknown_leaves_it_unknown(choose, at) -> None:
    lacking = Missing("voltage of circuit X")
    assert choose([*VOLTS[:at], lacking, *VOLTS[at:], Missing("a later one")]) is lacking


@pytest.mark.parametrize("choose", [highest, lowest])
def test_of_nothing_there_is_none(choose) -> None:
    with pytest.raises(ValueError, match="empty"):
        choose([])
