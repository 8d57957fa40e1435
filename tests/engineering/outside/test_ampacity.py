"""Corrected ampacities against published questions and answers."""

from __future__ import annotations

import pytest

from reportgen.engineering.ampacity import ambient_with_adder, corrected_ampacity
from reportgen.rulebook.rulebook import load, quantity_of
from reportgen.working.quantity import Quantity
from reportgen.working.units import convert

BOOK = load("nec2023")


@pytest.mark.source(
    "EC&M (Mike Holt), Code Q&A no. 84 (about 2005)", locator="nine conductors of 12 AWG THHN"
)
def test_nine_conductors() -> None:
    # Printed example: 30 A · 70 % = 21 A.
    table = quantity_of(BOOK.ampacity("copper", "12", 90))
    count = quantity_of(BOOK.count_factor(9))
    assert table.value == 30
    # Exact in print; 1e-9 takes up binary rounding.
    assert corrected_ampacity(table, 1, count).value == pytest.approx(21, abs=1e-9)


JADE = "Jade Learning newsletter, Code change: rooftop conduit (2008-07)"


@pytest.mark.source(JADE, locator="75 °F, 6 in above the roof")
def test_roof_arithmetic_with_the_adder_of_2008() -> None:
    # Printed example of the 2008 edition: 75 °F + 30 °F = 105 °F, factor 0.87, 100 A · 0.87 = 87 A. The table of
    # adders by height has gone since; so the printed adder goes in, and our own table gives the factor.
    ambient = ambient_with_adder(Quantity(75, "degF").to("degC"), Quantity(30, "delta_degF").to("K"))
    assert convert(ambient.value, "degC", "degF") == pytest.approx(105, abs=1e-9)
    factor = quantity_of(BOOK.ambient_factor(90, ambient.value))
    assert factor.value == 0.87
    assert corrected_ampacity(100, factor, 1).value == pytest.approx(87, abs=1e-9)


@pytest.mark.source(JADE, locator="75 °F, 6 in above the roof")
@pytest.mark.parametrize("edition", ["nec2017", "nec2020", "nec2023"])
def test_no_adder_six_inches_above_a_roof_any_more(edition: str) -> None:
    # The printed case under later editions (own hand calculation): no adder from 7/8 in (2023: 3/4 in) up, so
    # 75 °F is the row of 21 to 25 °C with 1.04.
    book = load(edition)
    ambient = ambient_with_adder(Quantity(75, "degF").to("degC"), quantity_of(book.roof_adder(6)))
    factor = quantity_of(book.ambient_factor(90, ambient.value))
    assert corrected_ampacity(100, factor, 1).value == pytest.approx(104, abs=1e-9)


@pytest.mark.source(
    "engineerboards.com, thread 27269, Table 310.15(B)(2)(a) and (b)", locator="12 AWG THHN at 55 °C"
)
def test_factor_at_55_degrees() -> None:
    # Printed example: 0.76, not the 0.84 of the table based on 40 °C.
    factor = quantity_of(BOOK.ambient_factor(90, 55))
    assert factor.value == 0.76
    # Own hand calculation: 30 A · 0.76.
    table = quantity_of(BOOK.ampacity("copper", "12", 90))
    assert corrected_ampacity(table, factor, 1).value == pytest.approx(22.8, abs=1e-9)
