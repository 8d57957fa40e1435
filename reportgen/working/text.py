"""How numbers are written for people: enough digits to recompute, never so few that a verdict flips."""

from __future__ import annotations

import math
import re

_PLAIN = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
MINUS = "\u2212"


def plain_number(text: str) -> float | None:
    """Value of a plain decimal number, or None where the text is none or not finite.

    Examples
    --------
    >>> plain_number("-12.5")
    -12.5
    >>> plain_number("1e999") is None
    True
    """
    if len(text) > 40 or not _PLAIN.fullmatch(text):
        return None
    value = float(text)
    return value if math.isfinite(value) else None


def significant(value: float, digits: int = 6) -> str:
    """Number with the given significant digits, no exponent for everyday sizes, true minus sign.

    Examples
    --------
    >>> significant(467.5783)
    '467.578'
    >>> significant(12.0)
    '12'
    >>> significant(-0.27)
    '−0.27'
    """
    if value == 0:
        return "0"
    if not 1e-6 <= abs(value) < 1e9:
        return f"{value:.{digits - 1}e}".replace("-", MINUS)
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return ("0" if text in {"-0", ""} else text).replace("-", MINUS)


#: Share of a number that converting it from unit to unit may cost: nothing that rounding should act on.
_CONVERTED = 1e-9


def fixed(value: float, places: int, at_most: bool | None = None) -> str:
    """Number with a fixed count of decimal places and a true minus sign; never prints minus zero.

    A limit is rounded to its safe side, so that whoever keeps the printed figure keeps the real one.

    Parameters
    ----------
    value : float
        What is printed.
    places : int
        Digits behind the point.
    at_most : bool, optional
        True for a limit not to be exceeded, which is rounded down, False for one to be reached, which is rounded up;
        without it the number is no limit and rounded to the nearest.

    Examples
    --------
    >>> fixed(-13.386, 1)
    '−13.4'
    >>> fixed(-0.04, 1)
    '0.0'
    >>> fixed(8.25, 1, at_most=True), fixed(8.25, 1, at_most=False)
    ('8.2', '8.3')
    """
    if at_most is not None:
        steps = value * 10.0**places
        near = float(round(steps))
        if abs(steps - near) > _CONVERTED * max(1.0, abs(near)):
            near = float(math.floor(steps) if at_most else math.ceil(steps))
        value = near / 10.0**places
    text = f"{value:.{places}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


#: Most digits behind the point, and how many more than asked for an exact figure may take.
_MOST_PLACES, _EXACT = 9, 2


def apart(value: float, limit: float, places: int, at_most: bool | None = None) -> tuple[str, str]:
    """Value and limit printed with as many places as it takes to tell them apart.

    With ``at_most`` the limit is rounded to its safe side, see :func:`fixed`, and the two stand to each other as the
    numbers themselves do.

    Examples
    --------
    >>> apart(40.04, 40.0, 1)
    ('40.04', '40.00')
    >>> apart(31.2, 40.0, 1)
    ('31.2', '40.0')
    >>> apart(17.446, 17.449, 2, at_most=True), apart(8.25, 8.25, 1, at_most=False)
    (('17.446', '17.449'), ('8.25', '8.25'))
    """
    if value == limit:
        exact = (more for more in range(places, places + _EXACT + 1) if _same(value, fixed(value, more)))
        both = fixed(limit, next(exact, places), at_most)
        return both, both
    while places < _MOST_PLACES and not _ordered(value, limit, places, at_most):
        places += 1
    return fixed(value, places), fixed(limit, places, at_most)


def _same(value: float, text: str) -> bool:
    return abs(_read(text) - value) <= _CONVERTED * max(1.0, abs(value))


def _ordered(value: float, limit: float, places: int, at_most: bool | None) -> bool:
    """Whether two unlike numbers are unlike in print, and the smaller one is."""
    one, other = _read(fixed(value, places)), _read(fixed(limit, places, at_most))
    return one != other and (one < other) is (value < limit)


def _read(text: str) -> float:
    return float(text.replace(MINUS, "-"))
