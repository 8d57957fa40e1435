"""Cut plans against published cutting-stock instances."""

from __future__ import annotations

import pytest

from reportgen.engineering.cutting.solver import plan
from reportgen.engineering.cutting.spools import Offer, Piece
from reportgen.working.quantity import Quantity


def pieces(demand: dict[int, int]) -> list[Piece]:
    return [
        Piece(f"{length}-{number}", Quantity(float(length), "ft"))
        for length, count in demand.items()
        for number in range(count)
    ]


def rolls(length: float) -> list[Offer]:
    return [Offer("roll", Quantity(length, "ft"))]


@pytest.mark.source("V. Chvátal, Linear Programming (Freeman, 1983)", locator="p. 195", read="memory")
def test_chvatal() -> None:
    # Instance read in later copies, optimum recalled: relaxation 452.25, so 453 rolls and no fewer.
    found = plan(pieces({45: 97, 36: 610, 31: 395, 14: 211}), rolls(100))
    assert (len(found.spools), found.proved) == (453, True)
    assert found.least == pytest.approx(45_300)
    assert found.bought.value == pytest.approx(45_300)


@pytest.mark.source("SAS/OR User's Guide, example 4.5 (ormpug 63975)", locator="table of widths and demands")
def test_the_same_with_35_in_place_of_36() -> None:
    # Instance read, optimum not printed there. Own calculation: the relaxation is 452.25 as well.
    found = plan(pieces({45: 97, 35: 610, 31: 395, 14: 211}), rolls(100))
    assert (len(found.spools), found.proved) == (453, True)


@pytest.mark.source("MiniZinc benchmarks, cutstock.mzn, J. Puchinger (2007)", locator="instance in the file")
def test_minizinc() -> None:
    # The file prints no objective; own calculation: 36 / 10 needs 4, and 7+3, 7+3, 5+5, 3+3 does it.
    found = plan(pieces({7: 2, 5: 2, 3: 4}), rolls(10))
    assert (len(found.spools), found.proved) == (4, True)
    assert found.scrap.value == pytest.approx(4)


@pytest.mark.source(
    "OR-Tools documentation, bin packing example", locator="eleven items, bins of 100", read="memory"
)
def test_bin_packing() -> None:
    lengths = [48, 30, 19, 36, 36, 27, 42, 42, 36, 24, 30]
    found = plan([Piece(str(i), Quantity(float(x), "ft")) for i, x in enumerate(lengths)], rolls(100))
    assert (len(found.spools), found.proved) == (4, True)
