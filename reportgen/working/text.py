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


def fixed(value: float, places: int) -> str:
    """Number with a fixed count of decimal places and a true minus sign; never prints minus zero.

    Examples
    --------
    >>> fixed(-13.386, 1)
    '−13.4'
    >>> fixed(-0.04, 1)
    '0.0'
    """
    text = f"{value:.{places}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def apart(value: float, limit: float, places: int) -> tuple[str, str]:
    """Value and limit printed with as many places as it takes to tell them apart.

    Examples
    --------
    >>> apart(40.04, 40.0, 1)
    ('40.04', '40.00')
    >>> apart(31.2, 40.0, 1)
    ('31.2', '40.0')
    """
    if value != limit:
        while places < 9 and fixed(value, places) == fixed(limit, places):
            places += 1
    return fixed(value, places), fixed(limit, places)
