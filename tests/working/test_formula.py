"""A formula prints what it computes: the printed line, keyed into a calculator, gives the value again."""

from __future__ import annotations

import ast
import math
import re
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reportgen.working.formula import formula
from reportgen.working.text import MINUS

NAMES = "abcde"


def reread(printed: str) -> Fraction:
    """Value of a printed line as a reader with exact arithmetic gets it, by the usual order of operations."""
    text = printed.replace("×", "*").replace("^", "**").replace(MINUS, "-")
    return eval(re.sub(r"\d+", r"F(\g<0>)", text), {"F": Fraction, "min": min, "max": max, "abs": abs})


def binary(operator: ast.operator) -> object:
    return lambda pair: ast.BinOp(pair[0], operator, pair[1])


def trees(inner: st.SearchStrategy[ast.expr]) -> st.SearchStrategy[ast.expr]:
    pairs = st.tuples(inner, inner)
    call = st.tuples(st.sampled_from(["min", "max"]), pairs)
    return st.one_of(
        *(pairs.map(binary(operator)) for operator in (ast.Add(), ast.Sub(), ast.Mult(), ast.Div())),
        inner.map(lambda base: ast.BinOp(base, ast.Pow(), ast.Constant(2))),
        inner.map(lambda operand: ast.UnaryOp(ast.USub(), operand)),
        call.map(lambda made: ast.Call(ast.Name(made[0], ast.Load()), list(made[1]), [])),
    )


expressions = st.recursive(
    st.sampled_from(NAMES).map(lambda name: ast.Name(name, ast.Load())) | st.integers(1, 9).map(ast.Constant),
    trees,
    max_leaves=10,
)
numbers = st.fixed_dictionaries({name: st.integers(-9, 9) for name in NAMES})


@given(expressions, numbers)
def test_printed_numbers_give_the_value_again(tree: ast.expr, values: dict[str, int]) -> None:
    # Whole numbers in exact fractions: any bracket too few shows, and nothing else does.
    text = ast.unparse(tree)
    exact = {name: Fraction(value) for name, value in values.items()}
    # Constants divide as floats in evaluate(); names keep the arithmetic exact.
    parsed = formula(re.sub(r"\d+", lambda found: f"n{found[0]}", re.sub(r"\*\* 2", "** two", text)))
    exact |= {f"n{digit}": Fraction(digit) for digit in range(1, 10)} | {"two": Fraction(2)}
    try:
        expected = parsed.evaluate(exact)
    except ZeroDivisionError:
        assume(False)
    words = {name: str(value).replace("-", MINUS) for name, value in exact.items()}
    assert reread(parsed.printed(words)) == expected


@pytest.mark.parametrize(
    ("text", "words", "printed"),
    [
        ("N * V_oc * (1 + β / 100 * (T - 25))", {}, "N × V_oc × (1 + β / 100 × (T − 25))"),
        ("a - (b - c)", {}, "a − (b − c)"),
        ("a - b - c", {}, "a − b − c"),
        ("a / (b / c)", {}, "a / (b / c)"),
        ("a / b / c", {}, "a / b / c"),
        ("a / (b * c)", {}, "a / (b × c)"),
        ("(a + b) * c", {}, "(a + b) × c"),
        ("a + b * c", {}, "a + b × c"),
        ("(a + b) ** 2", {}, "(a + b)^2"),
        ("(a ** b) ** c", {}, "(a^b)^c"),
        ("a ** b ** c", {}, "a^b^c"),
        ("-a ** 2", {}, "−a^2"),
        ("(-a) ** 2", {}, "(−a)^2"),
        ("a - -b", {}, "a − (−b)"),
        ("R * I ** 2", {"R": "3", "I": "−2"}, "3 × (−2)^2"),
        ("I ** 2 * R", {"R": "3", "I": "−2"}, "(−2)^2 × 3"),
        ("T - 25", {"T": "−29"}, "−29 − 25"),
        ("25 - T", {"T": "−29"}, "25 − (−29)"),
        ("(T - 25) * b", {"T": "−29", "b": "−0.3"}, "(−29 − 25) × (−0.3)"),
        ("min(a, -b)", {"b": "−3"}, "min(a, −(−3))"),
        ("sqrt(1 - pf ** 2)", {"pf": "0.85"}, "sqrt(1 − 0.85^2)"),
    ],
)
def test_brackets_stand_where_they_are_needed_and_nowhere_else(text, words, printed) -> None:
    assert formula(text).printed(words) == printed


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2 + 3 * 4", 14.0),
        ("(2 + 3) * 4", 20.0),
        ("2 - 3 - 4", -5.0),
        ("24 / 4 / 2", 3.0),
        ("-2 ** 2", -4.0),
        ("2 ** 3 ** 2", 512.0),
        ("min(3, 1, 2) + max(3, 1, 2)", 4.0),
        ("sqrt(9) + abs(-2)", 5.0),
        ("ceil(1.2) + floor(1.8)", 3.0),
        ("exp(0)", 1.0),
    ],
)
def test_value(text: str, expected: float) -> None:
    assert formula(text).evaluate({}) == expected


@pytest.mark.parametrize(
    "text",
    [
        "a % b",
        "a // b",
        "a @ b",
        "+a",
        "~a",
        "not a",
        "a if b else c",
        "a < b",
        "a and b",
        "a.b",
        "a[0]",
        "[a]",
        "(a, b)",
        "lambda: a",
        "round(a)",
        "__import__('os')",
        "min(*a)",
        "max(a, key=b)",
        "a.b(c)",
        "'a' * b",
        "True * a",
        "1j * a",
        "None",
        "f'{a}'",
    ],
)
def test_anything_beyond_the_small_grammar_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="in formula"):
        formula(text)


def test_text_that_is_no_expression_is_refused() -> None:
    with pytest.raises(SyntaxError):
        formula("a +")


def test_names_stand_in_the_order_of_the_formula() -> None:
    assert formula("k * I_max + I").names == ("k", "I_max", "I")
    assert formula("n_10 * a + n_1 * b").names == ("n_10", "a", "n_1", "b")
    assert formula("min(L, f * L)").names == ("L", "f")
    assert formula("ΔV / (β * V)").names == ("ΔV", "β", "V")


def test_a_missing_number_is_an_error() -> None:
    with pytest.raises(KeyError):
        formula("a + b").evaluate({"a": 1.0})


def test_a_formula_is_parsed_once() -> None:
    assert formula("a + b") is formula("a + b")


@given(st.floats(-1e3, 1e3), st.floats(1, 1e3))
def test_functions_are_those_of_mathematics(a: float, b: float) -> None:
    assert formula("sqrt(b) * abs(a)").evaluate({"a": a, "b": b}) == math.sqrt(b) * abs(a)
