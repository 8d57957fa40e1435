"""What one edition says otherwise than another, row by row: the page that a reviewer reads against the book."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.rulebook.book import Book
from reportgen.rulebook.errors import UnknownRule
from reportgen.rulebook.loader import Row, Table


@dataclass(frozen=True, slots=True, order=True)
class Difference:
    """One cell that differs; the column is ``row``, and one side None, where a row stands in one edition only."""

    table: str
    key: str
    column: str
    before: str | None
    after: str | None

    def __str__(self) -> str:
        def shown(text: str | None) -> str:
            return "no such row" if text is None else (text or "blank")

        return f"{self.table}[{self.key}].{self.column}: {shown(self.before)} → {shown(self.after)}"


def _rows(book: Book, name: str) -> dict[str, Row]:
    try:
        table: Table = book.table(name)
    except UnknownRule:
        return {}
    return {" | ".join(key): row for key, row in table.index.items()}


def _said(row: Row) -> list[str]:
    return [text for column, text in row.values.items() if column != "src" and text]


def differences(a: Book, b: Book) -> tuple[Difference, ...]:
    """List every cell in which edition ``b`` differs from edition ``a``, sorted by table and key.

    Where a value was read is not compared: only what it says.

    Examples
    --------
    >>> from reportgen.rulebook.rulebook import load
    >>> for difference in differences(load("nec2020"), load("nec2023")):
    ...     if difference.table == "standard-ratings":
    ...         print(difference)
    standard-ratings[10].breaker: no → yes
    """
    found: list[Difference] = []
    for name in sorted({*a.names(), *b.names()}):
        old, new = _rows(a, name), _rows(b, name)
        for key in sorted({*old, *new}):
            before, after = old.get(key), new.get(key)
            if before is None or after is None:
                only = tuple(None if row is None else ", ".join(_said(row)) for row in (before, after))
                found.append(Difference(name, key, "row", *only))
                continue
            for column in before.values:
                if column != "src" and before[column] != after[column]:
                    found.append(Difference(name, key, column, before[column], after[column]))
    return tuple(found)
