"""Quantities: what they rest on can be followed, and what they print can be recomputed."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.diagnostics.model import Span
from reportgen.engineering.alternating import effective_impedance
from reportgen.engineering.ampacity import conductor_temperature, corrected_ampacity
from reportgen.engineering.expansion import opening
from reportgen.engineering.overcurrent import feedback_current
from reportgen.engineering.strings import string_voltage, temperature_at
from reportgen.engineering.voltage_drop import constant_power_current, power_loss, resistance_at
from reportgen.working.quantity import (
    Assumed,
    Cell,
    Given,
    Quantity,
    Working,
    assumptions_of,
    cells_of,
    quantity,
    spans_of,
    walk,
    work,
)
from reportgen.working.text import MINUS

FUNCTIONS = {"min": min, "max": max, "sqrt": math.sqrt}


def typed(text: str, value: float, unit: str, line: int = 1) -> Quantity:
    return Quantity(value, unit, Given(text, Span("a.yaml", line, 1, line, 9)), "typed")


def recomputed(result: Quantity) -> float:
    """What a pocket calculator gives for the printed numbers."""
    assert isinstance(result.origin, Working)
    text = result.origin.numbers.replace("×", "*").replace("^", "**").replace(MINUS, "-")
    return eval(text, dict(FUNCTIONS))


# Up to five digits, as data sheets and tables have them: such a number is keyed as it is.
def sheet(low: int, high: int, places: int) -> st.SearchStrategy[float]:
    return st.integers(low * 10**places, high * 10**places).map(lambda number: number / 10**places)


@given(sheet(1, 30, 0), sheet(20, 60, 2), sheet(-1, -1, 0) | sheet(-9, 9, 1), sheet(-40, 85, 1))
def test_a_string_voltage_can_be_recomputed(count, voltage, coefficient, cell) -> None:
    result = string_voltage(count, voltage, Quantity(coefficient / 10, "%/degC"), cell, "cold")
    assert recomputed(result) == pytest.approx(result.value, rel=1e-12, abs=1e-9)


@given(sheet(1, 30, 0), sheet(20, 60, 2), sheet(1, 99, 1), sheet(1, 1500, 0))
def test_a_temperature_can_be_recomputed(count, voltage, coefficient, limit) -> None:
    result = temperature_at(count, voltage, Quantity(-coefficient / 100, "%/degC"), limit)
    assert recomputed(result) == pytest.approx(result.value, rel=1e-12, abs=1e-9)


@given(sheet(1, 400, 1), sheet(0, 1, 2), sheet(0, 1, 2), sheet(1, 6, 0))
def test_an_ampacity_can_be_recomputed(table, ambient, count, parallel) -> None:
    result = corrected_ampacity(table, ambient, count, parallel)
    assert recomputed(result) == pytest.approx(result.value, rel=1e-12)


@given(sheet(-40, 85, 1), sheet(1, 200, 2), sheet(1, 200, 2), sheet(0, 20, 3), sheet(0, 1, 2))
def test_other_results_can_be_recomputed(temperature, current, ampacity, resistance, share) -> None:
    results = [
        conductor_temperature(temperature, 90, current, ampacity),
        feedback_current(3, current, ampacity),
        resistance_at(resistance, 0.00323, 75, temperature),
        power_loss(resistance, -current),
        effective_impedance(resistance, 0.05, share),
        constant_power_current(current, 600, resistance),
        opening(6, 140, 150, 140 - share * 150),
    ]
    for result in results:
        assert recomputed(result) == pytest.approx(result.value, rel=1e-9, abs=1e-9)


@given(st.lists(st.floats(0.001, 1e6), min_size=1, max_size=6))
def test_six_digits_of_each_factor_give_the_product_to_its_printed_digits(factors: list[float]) -> None:
    terms = {f"x_{index}": factor for index, factor in enumerate(factors)}
    result = work("product", "", " * ".join(terms), **terms)
    # Half a unit of the sixth digit of each factor, at worst 5e-6 of it.
    assert recomputed(result) == pytest.approx(result.value, rel=5.001e-6 * len(factors) + 1e-12)


class TestWorking:
    def test_value_symbols_and_numbers(self) -> None:
        result = work("maximum current", "A", "k * I_sc", k=1.25, I_sc=typed("13.79 A", 13.79, "A"))
        assert result.value == pytest.approx(17.2375)
        assert (result.unit, result.name) == ("A", "maximum current")
        assert result.origin.symbols == "k × I_sc"
        assert result.origin.numbers == "1.25 × 13.79"
        assert [name for name, _ in result.origin.terms] == ["k", "I_sc"]

    def test_terms_stand_in_the_order_of_the_formula(self) -> None:
        result = work("sum", "A", "b + a_b + a", a=1, a_b=2, b=3)
        assert [name for name, _ in result.origin.terms] == ["b", "a_b", "a"]
        assert result.origin.numbers == "3 + 2 + 1"

    def test_a_missing_term_is_an_error(self) -> None:
        with pytest.raises(KeyError):
            work("sum", "A", "a + b", a=1)

    def test_a_result_keeps_its_full_digits_in_the_next_step(self) -> None:
        third = work("third", "", "a / b", a=1, b=3)
        assert work("whole", "", "3 * t", t=third).value == 1.0


class TestKeyed:
    @pytest.mark.parametrize(
        ("text", "value", "unit", "keyed"),
        [
            ("12.50 A", 12.5, "A", "12.50"),
            ("-0.27 %/degC", -0.27, "%/degC", "−0.27"),
            ("210ft", 210.0, "ft", "210"),
            ("1e3 W", 1000.0, "W", "1e3"),
            ("40.000001 V", 40.000001, "V", "40.000001"),
        ],
    )
    def test_as_typed(self, text: str, value: float, unit: str, keyed: str) -> None:
        assert typed(text, value, unit).keyed == keyed

    def test_six_digits_where_the_typed_number_is_another(self) -> None:
        assert typed("210 ft", 210.0, "ft").to("m").keyed == "64.008"
        assert typed("5 ft 6 in", 5.5, "ft").keyed == "5.5"
        assert Quantity(467.5783, "V").keyed == "467.578"

    @pytest.mark.parametrize(
        ("value", "unit", "places", "shown"),
        [
            (467.578, "V", 1, "467.6 V"),
            (-13.386, "degC", 1, "−13.4 °C"),
            (90.0, "deg", 0, "90°"),
            (0.556, "ohm", None, "0.556 Ω"),
            (6.0, "", None, "6"),
            (0.00323, "1/degC", None, "0.00323 1/degC"),
        ],
    )
    def test_show(self, value, unit, places, shown) -> None:
        assert Quantity(value, unit).show(places) == shown


class TestOrigins:
    cell = Cell("Table 310.16", "copper, 10 AWG", "90 °C", "40", "A", "NEC 2023 [S1]")
    assumed = Assumed("site.albedo", "nothing was given")

    def result(self) -> Quantity:
        current = typed("13.79 A", 13.79, "A", line=7)
        once = work("one", "A", "k * I", k=Quantity(1.25, "", self.assumed), I=current)
        twice = work("two", "A", "I + J", I=once, J=Quantity(40.0, "A", self.cell))
        return work("three", "A", "a + b + c", a=twice, b=once, c=typed("1 A", 1.0, "A", line=3))

    def test_what_a_result_rests_on_is_found_once_and_in_order(self) -> None:
        result = self.result()
        assert [span.line for span in spans_of(result)] == [7, 3]
        assert cells_of(result) == (self.cell,)
        assert assumptions_of(result) == (self.assumed,)
        assert [item.name for item in walk(result)][:3] == ["three", "two", "one"]
        assert len(list(walk(result))) == len({id(item) for item in walk(result)})

    def test_several_roots_and_none_among_them(self) -> None:
        result = self.result()
        assert spans_of(None, result, result) == spans_of(result)
        assert cells_of(None) == ()

    def test_origin_stays_with_conversion_and_name(self) -> None:
        length = typed("210 ft", 210.0, "ft")
        assert length.to("m").value == pytest.approx(64.008)
        assert length.to("m").origin is length.origin
        assert length.named("trench").origin is length.origin
        assert length.to("ft") is length

    def test_citation_of_a_cell(self) -> None:
        assert self.cell.citation == "Table 310.16 [copper, 10 AWG, 90 °C]"
        assert Cell("240.6(A)", "", "", "15").citation == "240.6(A)"
        assert self.cell.number == 40.0
        with pytest.raises(ValueError, match="2/0"):
            _ = Cell("Table 250.122", "", "copper", "2/0").number


class TestQuantityOfNumbers:
    def test_a_plain_number_takes_the_unit_and_a_quantity_is_converted(self) -> None:
        assert quantity(3) == Quantity(3.0)
        assert quantity(3, "ft") == Quantity(3.0, "ft")
        assert quantity(Quantity(10, "ft"), "m").value == pytest.approx(3.048)
        assert quantity(Quantity(10, "ft")).unit == "ft"

    def test_unlike_units_are_refused(self) -> None:
        with pytest.raises(ValueError, match="length"):
            quantity(Quantity(10, "ft"), "A")
