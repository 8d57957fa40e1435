"""Currents of strings, least ratings and fuses against published exercises.

Tolerances are half the last printed digit.
"""

from __future__ import annotations

from contextlib import suppress

import pytest

from reportgen.engineering.candidates import Candidate, smallest_reaching
from reportgen.engineering.currents import continuous_current, maximum_current
from reportgen.engineering.overcurrent import RatingWindow, least_rating
from reportgen.rulebook.rulebook import OutsideTable, load, quantity_of
from reportgen.working.quantity import Quantity

BOOK = load("nec2023")
IRRADIANCE = quantity_of(BOOK.number("irradiance-factor"))
CONTINUOUS = quantity_of(BOOK.number("continuous-factor"))
DEVICE = quantity_of(BOOK.number("ocpd-factor"))


def column(temperature_c: int) -> list[Candidate]:
    """Sizes that the column prints an ampacity for: 18 and 16 AWG have none at 75 °C."""
    rows = []
    for size in BOOK.sizes("copper"):
        with suppress(OutsideTable):
            rows.append(Candidate(size, quantity_of(BOOK.ampacity("copper", size, temperature_c))))
    return rows


@pytest.mark.source("quizwizapp.com, PV Tech cards", locator="overcurrent device for I_sc 8.8 A")
def test_device_of_a_quiz_card() -> None:
    # Printed example: 13.75 A, next standard size 15 A.
    floor = least_rating(maximum_current(8.8, IRRADIANCE), DEVICE)
    assert floor.value == pytest.approx(13.75, abs=0.005)
    assert BOOK.next_standard_rating(floor.value).number == 15


@pytest.mark.source(
    "altestore.com forums, Panel to converter in-line fuse size (2008-05-05)", locator="topic 1356"
)
def test_five_strings_on_one_fuse() -> None:
    # Printed example: 5 · 3 A · 1.56 = 23.4 A, too much for conductors of 20 A. 1.25 twice is 1.5625, not 1.56.
    together = least_rating(maximum_current(3, IRRADIANCE, strings=5), DEVICE)
    assert together.value == pytest.approx(23.4, abs=0.05)
    window = RatingWindow(together, (Quantity(20.0, "A"),))
    assert window.fitting([Quantity(float(rating), "A") for rating in (15, 20, 25)]) == ()


@pytest.mark.source(
    "Home Power magazine, PV circuit sizing and current calculations (2014 edition)",
    locator="p. 2, Sacramento",
)
def test_smallest_size_by_the_terminal_column() -> None:
    # Printed example: I_sc 8.8 A, 11 A, 13.75 A, 14 AWG in the 75 °C column.
    maximum = maximum_current(8.8, IRRADIANCE)
    needed = continuous_current(maximum, CONTINUOUS)
    assert maximum.value == pytest.approx(11, abs=1e-9)
    assert needed.value == pytest.approx(13.75, abs=0.005)
    chosen = smallest_reaching(column(75), needed)
    assert chosen is not None
    assert (chosen.name, chosen.value.value) == ("14", 20)


@pytest.mark.source(
    "18voltpowertoolsz.blogspot.com, Solar power math problems part II (2011)", locator="10.585 A"
)
def test_continuous_current_of_a_blog() -> None:
    # Printed example: 10.585 A · 1.25 = 13.23 A; later in its text the source says 13.3 A, a slip.
    needed = continuous_current(10.585, CONTINUOUS)
    assert needed.value == pytest.approx(13.23, abs=0.005)
    assert needed.value != pytest.approx(13.3, abs=0.05)
