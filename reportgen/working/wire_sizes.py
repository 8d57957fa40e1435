"""Conductor sizes as texts: one spelling of what people write on wire and in tables.

A conductor size is an AWG number (``10``), an aught (``2/0``) or an area in kcmil (``250``). Numbers of 250 and
more are kcmil, which no AWG number reaches.
"""

from __future__ import annotations

import re

_SIZE = re.compile(r"(?P<number>\d+)(?P<aught>/0)?\s*(?P<unit>AWG|kcmil|MCM)?", re.IGNORECASE | re.ASCII)
#: Cross-sections of conductors made to metric standards.
_METRIC = re.compile(r"(?P<number>\d{1,4}(?:\.\d{1,2})?)\s*mm(?:2|²|\^2)", re.ASCII)

#: Finest wire and largest aught of the American wire gauge; least area given in kcmil (ASTM B258).
_FINEST_AWG, _LARGEST_AUGHT, LEAST_KCMIL = 40, 4, 250


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
    kcmil = not aught and number >= LEAST_KCMIL
    gauge = 1 <= number <= (_LARGEST_AUGHT if aught else _FINEST_AWG)
    if not (kcmil or gauge) or (unit == "awg" and kcmil) or (unit in {"kcmil", "mcm"} and not kcmil):
        msg = f"`{text}` is not an AWG or kcmil size"
        raise ValueError(msg)
    return f"{number}/0" if aught else str(number)


def size_unit(text: str) -> str:
    """Unit that a size is printed with: ``AWG`` or ``kcmil``."""
    size = normal_size(text)
    return "kcmil" if size.isdigit() and int(size) >= LEAST_KCMIL else "AWG"


def size_text(text: str) -> str:
    """Conductor size as a page prints it.

    Examples
    --------
    >>> size_text("10"), size_text("4/0"), size_text("500")
    ('10 AWG', '4/0 AWG', '500 kcmil')
    """
    return f"{normal_size(text)} {size_unit(text)}"


def metric_size(text: str) -> str | None:
    """Cross-section of a metric conductor as the project keeps it, or None where the text is none.

    Examples
    --------
    >>> metric_size("6mm²"), metric_size("10 AWG")
    ('6 mm2', None)
    """
    match = _METRIC.fullmatch(text.strip())
    return f"{match['number']} mm2" if match else None
