"""Conductor and trade sizes as texts: one spelling, one order.

A conductor size is an AWG number (``10``), an aught (``2/0``) or an area in kcmil (``250``). AWG runs
down to 1, then aughts run up, then kcmil: numbers of 250 and more are kcmil, which no AWG number reaches.
"""

from __future__ import annotations

import re

_SIZE = re.compile(r"(?P<number>\d+)(?P<aught>/0)?\s*(?P<unit>AWG|kcmil|MCM)?", re.IGNORECASE)
_TRADE = re.compile(r"(?:(?P<whole>\d+)(?:[- ](?P<part>\d/\d))?|(?P<fraction>\d/\d))(?:\s*in)?")

#: Finest wire and largest aught of the American wire gauge; least area given in kcmil (ASTM B258).
_FINEST_AWG, _LARGEST_AUGHT, _LEAST_KCMIL = 40, 4, 250


def normal_size(text: str) -> str:
    """Conductor size as the tables spell it: ``10``, ``1/0`` or ``250``.

    Raises
    ------
    ValueError
        If the text is no AWG or kcmil size.

    Examples
    --------
    >>> normal_size("10 AWG"), normal_size("1/0"), normal_size("250 kcmil")
    ('10', '1/0', '250')
    """
    match = _SIZE.fullmatch(text.strip())
    if match is None:
        msg = f"`{text}` is not an AWG or kcmil size"
        raise ValueError(msg)
    number, aught, unit = int(match["number"]), bool(match["aught"]), (match["unit"] or "").lower()
    kcmil = not aught and number >= _LEAST_KCMIL
    gauge = 1 <= number <= (_LARGEST_AUGHT if aught else _FINEST_AWG)
    if not (kcmil or gauge) or (unit == "awg" and kcmil) or (unit in {"kcmil", "mcm"} and not kcmil):
        msg = f"`{text}` is not an AWG or kcmil size"
        raise ValueError(msg)
    return f"{number}/0" if aught else str(number)


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
    return number if number >= _LEAST_KCMIL else -number


def compare_sizes(one: str, other: str) -> int:
    """-1, 0 or 1 as the first conductor is smaller than, equal to or larger than the second.

    Examples
    --------
    >>> compare_sizes("12", "10 AWG"), compare_sizes("1/0", "1"), compare_sizes("250", "250 kcmil")
    (-1, 1, 0)
    """
    a, b = size_index(one), size_index(other)
    return (a > b) - (a < b)


def size_unit(text: str) -> str:
    """Unit that a size is printed with: ``AWG`` or ``kcmil``."""
    size = normal_size(text)
    return "kcmil" if size.isdigit() and int(size) >= _LEAST_KCMIL else "AWG"


def size_text(text: str) -> str:
    """Conductor size as a page prints it.

    Examples
    --------
    >>> size_text("10"), size_text("4/0"), size_text("500")
    ('10 AWG', '4/0 AWG', '500 kcmil')
    """
    return f"{normal_size(text)} {size_unit(text)}"


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
