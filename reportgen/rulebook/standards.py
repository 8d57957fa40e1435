"""Tables of international and national standards, which belong to no edition of a code, and numbers of single rules.

The tables stand in ``standards/*.csv`` and have the form of :mod:`reportgen.rulebook.loader`; their
``edition-clause`` line names the printed table itself. Like those of a rulebook they return cells that cite
themselves and raise :class:`~reportgen.rulebook.errors.OutsideTable` for what is not printed.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

from reportgen.rulebook.book import settled
from reportgen.rulebook.edition import sources
from reportgen.rulebook.errors import OutsideTable, UnknownRule
from reportgen.rulebook.loader import Row, Table, check, read_table
from reportgen.working.quantity import Cell

FOLDER = Path(__file__).parent / "standards"


@cache
def table(name: str) -> Table:
    """Return one table of the standards, checked.

    Raises
    ------
    UnknownRule
        If there is no such table.
    TableError
        If its file is wrong.
    """
    path = FOLDER / f"{name}.csv"
    if not path.is_file():
        raise UnknownRule("table", name)
    return check(read_table(path, sources()))


def names() -> tuple[str, ...]:
    """Names of all tables of the standards, sorted."""
    return tuple(sorted(path.stem for path in FOLDER.glob("*.csv")))


def cell_of(source: Table, row: Row | None, column: str, where: str, heading: str = "") -> Cell:
    """A cell of a table that cites itself.

    Parameters
    ----------
    source, row : Table, Row or None
        None where the table has no such row.
    column, where : str
        The column, and the row in words.
    heading : str
        The column in words, where it has other ones.

    Raises
    ------
    OutsideTable
        If there is no such row, or nothing stands in its column.
    """
    if row is None or column not in source.header.units or not row[column]:
        raise OutsideTable(source.header.clause_key, f"{where}, {heading or column}", source.header.valid)
    unit = source.header.units[column]
    printed = row.values.get("table") or source.header.clause_key
    cited = f"{source.header.source} [{', '.join(row.codes)}]"
    plain = "" if unit in {"text", "count"} else unit
    return Cell(printed, where, heading or column, row[column], plain, cited, row.recalled)


def number_text(value: float) -> str:
    """A number as tables write it."""
    return f"{value:g}"


def first_not_below(rows: list[Row] | tuple[Row, ...], column: str, value: float) -> Row | None:
    """First row whose column is not below a value; None where every row is, or the value is no finite number."""
    if not math.isfinite(value):
        return None
    return next((row for row in rows if settled(value) <= row.number(column)), None)


def number(key: str) -> Cell:
    """Number of a rule of some standard, in the unit that the cell carries.

    Raises
    ------
    UnknownRule
        If there is no such number.
    """
    source = table("numbers")
    row = source.find(key)
    if row is None:
        raise UnknownRule("number", key)
    cited = f"{row['clause']} [{', '.join(row.codes)}]"
    return Cell(row["clause"], key.replace("-", " "), "", row["value"], row["unit"], cited, row.recalled)
