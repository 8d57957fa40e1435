"""Equipment grounding conductors, upsized and shared, against published answers."""

from __future__ import annotations

import pytest

from reportgen.engineering.candidates import Candidate
from reportgen.engineering.grounding import bounded_area, deciding_rating, proportional_area, size_for
from reportgen.rulebook.rulebook import load, quantity_of
from reportgen.working.quantity import Quantity

BOOK = load("nec2023")
SIZES = [Candidate(size, quantity_of(BOOK.circular_mils(size))) for size in BOOK.sizes("copper")]


def area(size: str) -> Quantity:
    return quantity_of(BOOK.circular_mils(size))


@pytest.mark.source(
    "IN-W Industrial Training, Code Talk episode 32 notes", locator="300 A, 250 kcmil grown to 350 kcmil"
)
def test_ground_grows_with_its_circuit() -> None:
    # Printed example: ratio 1.4, 58 436 cmil, 2 AWG.
    base = BOOK.egc_size(300, "copper")
    assert base.value == "4"
    assert area("350").value / area("250").value == pytest.approx(1.4, abs=1e-12)
    grown = proportional_area(area(base.value), area("350"), area("250"))
    assert grown.value == pytest.approx(58436, abs=0.5)
    chosen = size_for(grown, SIZES)
    assert chosen is not None
    assert chosen.name == "2"


@pytest.mark.source(
    "Electrical Contractor, CQD spotlight: equipment grounding controls (2013)",
    locator="20 A, 12 AWG grown to 6 AWG",
)
def test_ground_grows_up_to_its_circuit() -> None:
    # Printed example: the ground becomes 6 AWG too.
    base = BOOK.egc_size(20, "copper")
    assert base.value == "12"
    grown = proportional_area(area(base.value), area("6"), area("12"))
    chosen = size_for(bounded_area(grown, area("6")), SIZES)
    assert chosen is not None
    assert chosen.name == "6"


QUIZ = "Electrical Contractor, Conductors and circuit requirements (quiz)"


@pytest.mark.source(QUIZ, locator="feeders of 200, 400 and 600 A share an aluminum ground")
def test_shared_ground_goes_by_the_largest_device() -> None:
    # Printed example: aluminum 2/0.
    rating = deciding_rating([Quantity(float(amperes), "A") for amperes in (200, 400, 600)])
    assert BOOK.egc_size(rating.value, "aluminum").value == "2/0"


@pytest.mark.source(QUIZ, locator="copper for 1000 A; area of 6 AWG")
def test_ground_of_a_large_device() -> None:
    # Printed example: copper 2/0; 6 AWG has 26 240 cmil.
    assert BOOK.egc_size(1000, "copper").value == "2/0"
    assert area("6").value == 26240
