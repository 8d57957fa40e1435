"""Numbers for people: enough digits, a true minus sign, and never two unlike numbers that look alike."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.working.text import MINUS, apart, fixed, plain_number, significant

finite = st.floats(-1e12, 1e12)


def reread(text: str) -> float:
    return float(text.replace(MINUS, "-"))


@given(finite, st.integers(3, 9))
def test_significant_digits_are_close_enough(value: float, digits: int) -> None:
    shown = reread(significant(value, digits))
    assert abs(shown - value) <= 0.5000001 * 10 ** (1 - digits) * abs(value)


@given(st.integers(-99999, 99999), st.integers(0, 4))
def test_a_number_of_few_digits_is_shown_as_it_is(number: int, places: int) -> None:
    value = number / 10**places
    assert reread(significant(value, 6)) == value


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (12.0, "12"),
        (100000.0, "100000"),
        (1234567.0, "1234567"),
        (999999.7, "1000000"),
        (9.9999999, "10"),
        (0.0000338, "0.0000338"),
        (-29.0, "−29"),
        (1e-7, "1.00000e−07"),
        (2.5e9, "2.50000e+09"),
    ],
)
def test_significant(value: float, expected: str) -> None:
    assert significant(value) == expected


@given(finite, st.integers(0, 6))
def test_fixed_places_are_close_and_never_minus_zero(value: float, places: int) -> None:
    text = fixed(value, places)
    assert abs(reread(text) - value) <= 0.5000001 * 10**-places + abs(value) * 1e-15
    assert not (text.startswith(MINUS) and reread(text) == 0)
    assert len(text.partition(".")[2]) == places


@given(st.floats(-1e4, 1e4), st.floats(-1e-3, 1e-3), st.integers(0, 3))
def test_two_numbers_print_apart(value: float, gap: float, places: int) -> None:
    limit = value + gap
    shown, bound = apart(value, limit, places)
    if abs(value - limit) > 1e-8:
        assert shown != bound
        # And in the right order, so that the page shows the verdict.
        assert (reread(shown) < reread(bound)) is (value < limit)
    if value == limit:
        assert shown == bound


@given(finite, st.integers(0, 4), st.booleans())
def test_a_limit_is_rounded_to_its_safe_side(value: float, places: int, at_most: bool) -> None:
    text = fixed(value, places, at_most)
    assert len(text.partition(".")[2]) == places
    # No further off than a unit of the last digit, and beyond the limit by no more than converting a unit costs.
    slack = 2e-9 * max(10.0**-places, abs(value))
    beyond = reread(text) - value if at_most else value - reread(text)
    assert -(10.0**-places) - slack <= beyond <= slack


@pytest.mark.parametrize(
    ("value", "places", "down", "up"),
    [
        (8.25, 1, "8.2", "8.3"),
        (600.0, 0, "600", "600"),
        # 3.3 is no binary number, nor is what conversion leaves of 12.7 mm.
        (3.3, 1, "3.3", "3.3"),
        (0.5 * 25.4, 1, "12.7", "12.7"),
        (-13.386, 1, f"{MINUS}13.4", f"{MINUS}13.3"),
        (-0.04, 1, f"{MINUS}0.1", "0.0"),
    ],
)
def test_limits_by_hand(value: float, places: int, down: str, up: str) -> None:
    assert (fixed(value, places, at_most=True), fixed(value, places, at_most=False)) == (down, up)


@pytest.mark.parametrize(
    "text", ["", " 1", "1 ", "1,5", "0x10", "1_000", "nan", "inf", "1e999", "--1", "1.2.3", "٣", "9" * 41]
)
def test_no_plain_number(text: str) -> None:
    assert plain_number(text) is None


@given(st.floats(allow_nan=False, allow_infinity=False, width=32))
def test_plain_numbers_are_read(value: float) -> None:
    assert plain_number(repr(value)) == value
    assert math.isfinite(value)
