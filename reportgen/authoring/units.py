"""The list of every quantity with its accepted spellings, for `reportgen schema --units` and for the guide."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from reportgen.working.units import DIMENSIONS, SAMPLES

#: Fields whose values are no number with a unit.
_OTHERS = (
    (
        "conductor size",
        "AWG, kcmil, mm2",
        '10 AWG, 10AWG, "#10" in quotes, 1/0 AWG, 1/0, 250 kcmil, 250 MCM, 6 mm2, 6 mm²',
        "a bare 10 is refused",
    ),
    ("money", "as `prices.currency`", "0.14, 0.14 USD", "another currency is refused, not converted"),
    ("plain number", "none", "0.2, -5", "a point for the fraction, no thousands, no exponent"),
    ("whole number", "none", "12", "digits only"),
    ("yes or no", "none", "yes, no, true, false", "`on`, `off`, `Y`, `1` are refused"),
    ("date", "none", "2026-04-18", "year-month-day"),
)
_REMARKS = {
    "length": "also feet with inches: 5 ft 6 in; negative only where a height or a climb is meant",
    "temperature": "a reading on a scale; never taken for a difference",
    "temperature_difference": "a step between two temperatures; never taken for a reading",
    "force": "lb means pound-force here",
    "mass": "lb means pound-mass here",
    "linear_mass": "lb/ft means mass per length here",
    "linear_force": "lb/ft means force per length here",
    "angle": "compass directions: north 0, east 90",
}


@dataclass(frozen=True, slots=True)
class Row:
    """One quantity: its name, the unit it is kept in, what may be written, and a remark."""

    quantity: str
    kept_in: str
    accepted: str
    remark: str


def rows() -> Iterator[Row]:
    """Every quantity, dimensions first."""
    for name, units in DIMENSIONS.items():
        if name == "count":
            continue
        accepted = ", ".join(dict.fromkeys(spelling for unit in units for spelling in unit.accepted))
        remark = "; ".join(part for part in (f"e.g. {SAMPLES[name][0]}", _REMARKS.get(name, "")) if part)
        yield Row(name.replace("_", " "), units[0].symbol, accepted, remark)
    for other in _OTHERS:
        yield Row(*other)


def units_text() -> str:
    """The table as plain text, one quantity a block.

    Examples
    --------
    >>> print(units_text().splitlines()[0])
    length  (kept in m)
    """
    return "\n".join(
        f"{row.quantity}  (kept in {row.kept_in})\n    {row.accepted}\n    {row.remark}" for row in rows()
    )


def units_markdown() -> str:
    """The table for the guide."""
    lines = ["| Quantity | Kept in | Accepted | Remark |", "|---|---|---|---|"]
    lines += [f"| {row.quantity} | {row.kept_in} | {row.accepted} | {row.remark} |" for row in rows()]
    return "\n".join(lines)
