"""Places of modules in an array, read from words such as ``row 1, columns 1-7; row 2, columns 1-4``."""

from __future__ import annotations

import re

_PART = re.compile(
    r"rows?\s+(\d{1,4})(?:\s*-\s*(\d{1,4}))?\s*[,:]?\s*columns?\s+(\d{1,4})(?:\s*-\s*(\d{1,4}))?"
)


def places(words: str, rows: int, columns: int) -> tuple[tuple[int, int], ...] | None:
    """Row and column of each module that the words name, in their order, counted from one.

    None where the words are of another form, name a place twice, or one that the array does not have: a plan
    drawn from part of them would show a string that is not there.

    Examples
    --------
    >>> places("row 1, columns 3-4; row 2, column 1", 2, 4)
    ((1, 3), (1, 4), (2, 1))
    >>> places("row 3, columns 1-2", 2, 4) is None
    True
    """
    found: list[tuple[int, int]] = []
    for part in words.strip().lower().split(";"):
        match = _PART.fullmatch(part.strip())
        if match is None:
            return None
        first_row, first_column = int(match[1]), int(match[3])
        last_row, last_column = int(match[2] or first_row), int(match[4] or first_column)
        if not (1 <= first_row <= last_row <= rows and 1 <= first_column <= last_column <= columns):
            return None
        found += [
            (row, column)
            for row in range(first_row, last_row + 1)
            for column in range(first_column, last_column + 1)
        ]
    return tuple(found) if len(set(found)) == len(found) else None
