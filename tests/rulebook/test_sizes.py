"""Spelling and order of conductor and trade sizes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.rulebook.rulebook import load
from reportgen.rulebook.sizes import (
    compare_sizes,
    normal_size,
    normal_trade_size,
    size_index,
    size_text,
    size_unit,
    trade_size_number,
)

SIZES = [
    *("18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"),
    *("250", "300", "350", "400", "500", "600", "700", "750"),
]


def test_order_runs_from_fine_awg_over_aughts_to_kcmil() -> None:
    assert sorted(["250", *SIZES[:15], *SIZES[16:]], key=size_index) == SIZES


def test_order_agrees_with_the_circular_mils_of_the_table() -> None:
    book = load("nec2023")
    mils = [book.circular_mils(size).number for size in SIZES]
    assert mils == sorted(set(mils))


@given(st.sampled_from(SIZES), st.sampled_from(SIZES))
def test_comparison_is_antisymmetric(one: str, other: str) -> None:
    assert compare_sizes(one, other) == -compare_sizes(other, one)
    assert (compare_sizes(one, other) == 0) == (one == other)


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("10 AWG", "10"),
        ("10awg", "10"),
        ("1/0", "1/0"),
        ("250 kcmil", "250"),
        ("250 MCM", "250"),
        (" 8 ", "8"),
    ],
)
def test_spellings_of_a_size(text: str, size: str) -> None:
    assert normal_size(text) == size


@pytest.mark.parametrize(
    "text",
    [
        "",
        "AWG",
        "0",
        "5/0",
        "0/0",
        "6 mm2",
        "41",
        "100",
        "249",
        "10 kcmil",
        "250 AWG",
        "1/0 kcmil",
        "-8",
        "10.5",
    ],
)
def test_what_is_no_size_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="not an AWG or kcmil size"):
        normal_size(text)


def test_a_size_prints_with_its_unit() -> None:
    assert [size_text(size) for size in ("10", "4/0", "250")] == ["10 AWG", "4/0 AWG", "250 kcmil"]
    assert size_unit("4/0") == "AWG"


@pytest.mark.parametrize(
    ("text", "size"), [("1-1/4", "1-1/4"), ("1 1/4 in", "1-1/4"), ("3/4 in", "3/4"), ("2", "2")]
)
def test_spellings_of_a_trade_size(text: str, size: str) -> None:
    assert normal_trade_size(text) == size


@pytest.mark.parametrize("text", ["", "1.5", "1/", "53 mm", "-1"])
def test_what_is_no_trade_size_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="not a trade size"):
        normal_trade_size(text)


def test_trade_sizes_of_each_kind_run_upwards() -> None:
    book = load("nec2023")
    for kind in book.kinds():
        numbers = [trade_size_number(size) for size in book.trade_sizes(kind)]
        assert numbers == sorted(set(numbers))
        assert numbers
