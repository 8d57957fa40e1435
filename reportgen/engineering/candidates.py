"""Choice among the rows that are to be had: the smallest that does, the largest that still fits.

A row that equals the limit to the last digit of a computer's arithmetic counts as reaching it: the slack takes
up binary rounding alone (1e-12 of a value is far below any digit that a table prints).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from reportgen.working.quantity import Number, Quantity, quantity

#: Share of a value that counts as no difference.
BINARY_ROUNDING = 1e-12


@dataclass(frozen=True, slots=True)
class Candidate:
    """One row of a choice: its name and the value that decides.

    Parameters
    ----------
    name : str
        What is chosen, for instance a conductor size, a trade size or a box.
    value : Quantity
        Area, ampacity or volume, the same unit in all rows of a choice.
    """

    name: str
    value: Quantity


def reaches(value: Number, needed: Number) -> bool:
    """Whether a value is not below what is needed.

    Raises
    ------
    ValueError
        If the two measure different things.

    Examples
    --------
    >>> reaches(0.1 + 0.2, 0.3), reaches(0.3, 0.1 + 0.2), reaches(0.29, 0.3)
    (True, True, False)
    """
    have = quantity(value)
    want = quantity(needed, have.unit if isinstance(needed, Quantity) and have.unit else None)
    return have.value >= want.value - abs(want.value) * BINARY_ROUNDING


def smallest_reaching(candidates: Iterable[Candidate], needed: Number) -> Candidate | None:
    """Candidate of the least value that is not below what is needed; None where none is.

    Examples
    --------
    >>> rows = [Candidate("12", Quantity(25.0, "A")), Candidate("14", Quantity(20.0, "A"))]
    >>> smallest_reaching(rows, 13.75).name
    '14'
    """
    return min(
        (row for row in candidates if reaches(row.value, needed)),
        key=lambda row: row.value.value,
        default=None,
    )


def largest_within(candidates: Iterable[Candidate], limit: Number) -> Candidate | None:
    """Candidate of the greatest value that does not exceed a limit; None where none does.

    Examples
    --------
    >>> rows = [Candidate("15 A", Quantity(15.0, "A")), Candidate("20 A", Quantity(20.0, "A"))]
    >>> largest_within(rows, 17.4).name
    '15 A'
    """
    return max(
        (row for row in candidates if reaches(limit, row.value)),
        key=lambda row: row.value.value,
        default=None,
    )
