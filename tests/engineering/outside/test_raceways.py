"""Fill, bore and movement of raceways against published questions and answers."""

from __future__ import annotations

import math

import pytest

from reportgen.engineering.candidates import Candidate
from reportgen.engineering.expansion import length_change, opening, temperature_swing
from reportgen.engineering.fitting import FillShares, most_alike, smallest_raceway
from reportgen.engineering.raceway import occupied_area
from reportgen.rulebook.rulebook import load, quantity_of
from reportgen.working.quantity import Quantity

BOOK = load("nec2023")
SHARES = FillShares(*(quantity_of(BOOK.fill_limit(count)) for count in (1, 2, 3)))
DECIMAL = quantity_of(BOOK.number("fill-rounding-decimal"))


def bores(kind: str) -> list[Candidate]:
    return [Candidate(size, quantity_of(BOOK.bore(kind, size).area)) for size in BOOK.trade_sizes(kind)]


def area(marking: str, size: str) -> Quantity:
    return quantity_of(BOOK.conductor_size(marking, size).area)


@pytest.mark.source(
    "Steel Tube Institute, NEC conduit and EMT fill tables Q&A", locator="3 x 12, 4 x 10, 8 x 8 THWN"
)
def test_mixed_sizes_in_tubing() -> None:
    # Printed example: 0.4171 in², EMT 1-1/4.
    groups = [(3, area("THWN", "12")), (4, area("THWN", "10")), (8, area("THWN", "8"))]
    assert occupied_area(groups).value == pytest.approx(0.4171, abs=0.00005)
    chosen = smallest_raceway(bores("EMT"), groups, SHARES)
    assert chosen is not None
    assert chosen.name == "1-1/4"


@pytest.mark.source("examzify.com, fundamental code calculations", locator="nine 12 AWG THW in EMT")
def test_nine_conductors_in_tubing() -> None:
    # Printed example: EMT 3/4. The area of 12 AWG THW, 0.0181 in², is recalled.
    groups = [(9, area("THW", "12"))]
    assert occupied_area(groups).value == pytest.approx(0.1629, abs=0.00005)
    chosen = smallest_raceway(bores("EMT"), groups, SHARES)
    assert chosen is not None
    assert chosen.name == "3/4"


@pytest.mark.source("forums.mikeholt.com, 14 AWG EMT fill (2008)", locator="thread 40079")
def test_most_conductors_in_half_inch_tubing() -> None:
    # Printed example: 0.304 in², 0.0097 in², 40 %: 12 conductors.
    bore, wire = quantity_of(BOOK.bore("EMT", "1/2").area), area("THHN", "14")
    assert (bore.value, wire.value) == (0.304, 0.0097)
    found = most_alike(bore, wire, SHARES, DECIMAL)
    assert (found.whole, found.rounded) == (12, 12)
    # Own hand calculation: the quotient is 12.54, so rounding up from 0.8 changes nothing.
    assert found.quotient.value == pytest.approx(12.54, abs=0.005)


CARLON = "Thomas & Betts, Carlon expansion joints (manual)"


@pytest.mark.source(CARLON, locator="p. 4: 90 ft of PVC, -10 to 110 °F, put in at 65 °F")
def test_expansion_of_ninety_feet() -> None:
    # Printed example: 4.38 in, ratio 0.375 (the source prints "in." after it), a 6 in joint set at 2.25 in.
    swing = temperature_swing(-10, 110)
    change = length_change(90, quantity_of(BOOK.number("pvc-expansion-coefficient")), swing)
    assert change.value == pytest.approx(4.38, abs=0.005)
    assert opening(1, 110, swing, 65).value == pytest.approx(0.375, abs=1e-12)
    assert opening(6, 110, swing, 65).value == pytest.approx(2.25, abs=0.005)


@pytest.mark.source(CARLON, locator="p. 4, with the sun that the same page asks for")
def test_expansion_of_ninety_feet_in_the_sun() -> None:
    # The example leaves out the source's own 30 °F of sun. Own hand calculation with it: 150 °F, 5.476 in,
    # the joint at 6 · (140 − 65) / 150 = 3.0 in.
    swing = temperature_swing(-10, 110, quantity_of(BOOK.number("pvc-sun-rise")))
    change = length_change(90, quantity_of(BOOK.number("pvc-expansion-coefficient")), swing)
    assert change.value == pytest.approx(5.476, abs=0.0005)
    assert opening(6, 140, swing, 65).value == pytest.approx(3.0, abs=1e-12)


@pytest.mark.source("forums.mikeholt.com, Expansion joints for EMT (2004)", locator="thread 25560")
def test_expansion_of_steel() -> None:
    # Printed example: 120 in of steel, 6.5e-6, 93 °F: 0.072 in, truncated by the source.
    change = length_change(Quantity(120, "in"), 6.5e-6, 93)
    assert math.floor(change.value * 1000) / 1000 == 0.072
    # Own hand calculation: 0.07254 in.
    assert change.value == pytest.approx(0.07254, abs=0.000005)
