"""A formula written once: evaluated, printed in symbols, and printed with the numbers put in.

Because value and print come from the same text, a page can never show another formula than the one
that made the number. The grammar is a small part of Python's: numbers, names, ``+ - * / **``,
parentheses and a few functions. A formula is program text, never user input.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import cast

from reportgen.working.text import MINUS

_FUNCTIONS: dict[str, Callable[..., float]] = {
    "min": min,
    "max": max,
    "sqrt": math.sqrt,
    "exp": math.exp,
    "ln": math.log,
    "cos": math.cos,
    "ceil": math.ceil,
    "floor": math.floor,
    "abs": abs,
}
#: Sign as printed, and how tightly it binds.
_OPERATORS: dict[type[ast.operator], tuple[str, int]] = {
    ast.Add: (" + ", 1),
    ast.Sub: (f" {MINUS} ", 1),
    ast.Mult: (" × ", 2),
    ast.Div: (" / ", 2),
    ast.Pow: ("^", 4),
}


@dataclass(frozen=True, slots=True)
class Formula:
    """A parsed formula; make one with :func:`formula`."""

    text: str
    tree: ast.expr
    names: tuple[str, ...]
    function: Callable[..., float] = field(compare=False, repr=False)

    def evaluate(self, numbers: Mapping[str, float]) -> float:
        """Value with every name replaced by its number.

        Raises
        ------
        KeyError
            If a name of the formula has no number.
        """
        return self.function(*[numbers[name] for name in self.names])

    def printed(self, words: Mapping[str, str] | None = None) -> str:
        """The formula as a line of text, names replaced by ``words`` where given.

        Examples
        --------
        >>> formula("N * V_oc * (1 + b / 100 * (T - 25))").printed({"T": "−22", "N": "12"})
        '12 × V_oc × (1 + b / 100 × (−22 − 25))'
        """
        return _print(self.tree, words or {}, 0)


@cache
def formula(text: str) -> Formula:
    """Parse a formula; parsed once per text.

    Raises
    ------
    ValueError
        If the text holds anything outside the small grammar.
    """
    tree = ast.parse(text, mode="eval").body
    places: dict[str, int] = {}
    for node in ast.walk(tree):
        if not _allowed(node):
            msg = f"{type(node).__name__} in formula {text!r}"
            raise ValueError(msg)
        if isinstance(node, ast.Name) and node.id not in _FUNCTIONS:
            places[node.id] = min(node.col_offset, places.get(node.id, node.col_offset))
    names = tuple(sorted(places, key=places.__getitem__))
    return Formula(text, tree, names, _function(tree, names))


def _function(tree: ast.expr, names: tuple[str, ...]) -> Callable[..., float]:
    """The formula as a function of its names; nothing can be called but what the grammar allows."""
    parameters = ast.arguments([], [ast.arg(name) for name in names], None, [], [], None, [])
    whole = ast.fix_missing_locations(ast.Expression(ast.Lambda(parameters, tree)))
    made = eval(compile(whole, "<formula>", "eval"), {"__builtins__": {}, **_FUNCTIONS})
    return cast("Callable[..., float]", made)


def _allowed(node: ast.AST) -> bool:
    match node:
        case ast.Constant(value):
            return type(value) in {int, float}
        case ast.Call(ast.Name(name), _, keywords):
            return name in _FUNCTIONS and not keywords
        case ast.UnaryOp(op, _):
            return isinstance(op, ast.USub)
        case ast.operator():
            return type(node) in _OPERATORS
    return isinstance(node, ast.Name | ast.BinOp | ast.USub | ast.Load)


def _print(node: ast.expr, words: Mapping[str, str], outer: int, first: bool = True) -> str:
    match node:
        case ast.BinOp(left, op, right):
            sign, level = _OPERATORS[type(op)]
            power = isinstance(op, ast.Pow)
            # A power binds from the right and before a sign, so its base is the operand to set apart; of a
            # difference and a quotient it is the second one.
            base = level + (1 if power else 0)
            tight = level + (1 if isinstance(op, ast.Sub | ast.Div) else 0)
            leads = not power and (first or level < outer)
            text = f"{_print(left, words, base, leads)}{sign}{_print(right, words, tight, False)}"
            return f"({text})" if level < outer else text
        case ast.UnaryOp(_, operand):
            text = f"{MINUS}{_print(operand, words, 3, False)}"
            return text if first else f"({text})"
        case ast.Call(ast.Name(name), args):
            return f"{name}({', '.join(_print(arg, words, 0) for arg in args)})"
        case ast.Name(name):
            word = words.get(name, name)
            return f"({word})" if word.startswith(MINUS) and not first else word
        case ast.Constant(value):
            return str(value)
    msg = ast.dump(node)
    raise ValueError(msg)
