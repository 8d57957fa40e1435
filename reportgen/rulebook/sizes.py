"""Conductor and trade sizes as texts: one spelling, one order.

A conductor size is an AWG number (``10``), an aught (``2/0``) or an area in kcmil (``250``). AWG runs
down to 1, then aughts run up, then kcmil: numbers of 250 and more are kcmil, which no AWG number reaches.
"""

from __future__ import annotations

import re

from reportgen.working.wire_sizes import LEAST_KCMIL, normal_size, size_text, size_unit

__all__ = [
    "compare_sizes",
    "normal_size",
    "normal_trade_size",
    "size_index",
    "size_text",
    "size_unit",
    "trade_size_number",
]

_TRADE = re.compile(r"(?:(?P<whole>\d+)(?:[- ](?P<part>\d/\d))?|(?P<fraction>\d/\d))(?:\s*in)?")


def size_index(text: str) -> int:
    """Rank of a conductor size: the larger the conductor, the larger the number.

    Ranks order sizes and mean nothing else.

    Examples
    --------
    >>> sorted(["250", "10", "1/0", "1", "12"], key=size_index)
    ['12', '10', '1', '1/0', '250']
    """
    size = normal_size(text)
    if size.endswith("/0"):
        return int(size[:-2])
    number = int(size)
    return number if number >= LEAST_KCMIL else -number


def compare_sizes(one: str, other: str) -> int:
    """-1, 0 or 1 as the first conductor is smaller than, equal to or larger than the second.

    Examples
    --------
    >>> compare_sizes("12", "10 AWG"), compare_sizes("1/0", "1"), compare_sizes("250", "250 kcmil")
    (-1, 1, 0)
    """
    a, b = size_index(one), size_index(other)
    return (a > b) - (a < b)


def normal_trade_size(text: str) -> str:
    """Trade size of a raceway as the tables spell it.

    Raises
    ------
    ValueError
        If the text is no trade size.

    Examples
    --------
    >>> normal_trade_size("1 1/2 in"), normal_trade_size("3/4")
    ('1-1/2', '3/4')
    """
    match = _TRADE.fullmatch(text.strip())
    if match is None:
        msg = f"`{text}` is not a trade size"
        raise ValueError(msg)
    if match["fraction"]:
        return match["fraction"]
    return f"{match['whole']}-{match['part']}" if match["part"] else match["whole"]


def trade_size_number(text: str) -> float:
    """Nominal number of a trade size, for ordering only: the bore is another figure.

    Examples
    --------
    >>> trade_size_number("1-1/2"), trade_size_number("3/8")
    (1.5, 0.375)
    """
    total = 0.0
    for part in normal_trade_size(text).split("-"):
        top, _, bottom = part.partition("/")
        total += int(top) / int(bottom or 1)
    return total
