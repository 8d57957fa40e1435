"""Places of modules in an array, read from words such as ``row 1, columns 1-7; row 2, columns 1-4``."""

from __future__ import annotations

import re

_PART = re.compile(
    r"rows?\s+(\d{1,4})(?:\s*-\s*(\d{1,4}))?\s*[,:]?\s*columns?\s+(\d{1,4})(?:\s*-\s*(\d{1,4}))?"
)


#: More modules than any array has; more words than that are not spelt out.
_MOST = 20_000


def read(words: str) -> tuple[tuple[range, range], ...] | None:
    """Rows and columns that each part of the words spans; None where they are of another form.

    Examples
    --------
    >>> read("row 1, columns 3-4")
    ((range(1, 2), range(3, 5)),)
    >>> read("the left half") is None
    True
    """
    found = []
    for part in words.strip().lower().split(";"):
        match = _PART.fullmatch(part.strip())
        if match is None:
            return None
        first_row, first_column = int(match[1]), int(match[3])
        last_row, last_column = int(match[2] or first_row), int(match[4] or first_column)
        if last_row < first_row or last_column < first_column:
            return None
        found.append((range(first_row, last_row + 1), range(first_column, last_column + 1)))
    return tuple(found)


def spelt(blocks: tuple[tuple[range, range], ...]) -> tuple[tuple[int, int], ...] | None:
    """Row and column of each place in some blocks, in their order; None where they are more than any array has."""
    if sum(len(rows) * len(columns) for rows, columns in blocks) > _MOST:
        return None
    return tuple((row, column) for rows, columns in blocks for row in rows for column in columns)


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
    blocks = read(words)
    if blocks is None or any(not within(block, rows, columns) for block in blocks):
        return None
    found = spelt(blocks)
    return found if found is not None and len(set(found)) == len(found) else None


def named(words: str) -> tuple[tuple[int, int], ...]:
    """Row and column of each module that the words name, in their order; none where they are of another form or too many.

    Examples
    --------
    >>> named("row 1, columns 3-4"), named("the left half")
    (((1, 3), (1, 4)), ())
    """
    return spelt(read(words) or ()) or ()


def one_place(words: str) -> tuple[int, int] | None:
    """Row and column of the one module that the words name; None where they name none or more.

    Examples
    --------
    >>> one_place("row 1, column 12")
    (1, 12)
    >>> one_place("row 1, columns 1-12") is None
    True
    """
    found = named(words)
    return found[0] if len(found) == 1 else None


def within(block: tuple[range, range], rows: int, columns: int) -> bool:
    """Whether an array of so many rows and columns has every place of a block."""
    return block[0][0] >= 1 and block[0][-1] <= rows and block[1][0] >= 1 and block[1][-1] <= columns
