"""The tables of one edition, read when first asked for, and the ways to cite a cell of them."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar, cast

from reportgen.rulebook.edition import Edition, sources
from reportgen.rulebook.errors import OutsideTable, TableError, UnknownRule
from reportgen.rulebook.loader import Row, Source, Table, check, overlay, read_table
from reportgen.rulebook.sizes import normal_size, size_unit
from reportgen.working.quantity import Cell, Quantity

Asked = ParamSpec("Asked")
Found = TypeVar("Found")
AnyBook = TypeVar("AnyBook", bound="Book")


def kept(
    lookup: Callable[Concatenate[AnyBook, Asked], Found],
) -> Callable[Concatenate[AnyBook, Asked], Found]:
    """Lookup whose results the book keeps: a thousand circuits ask for the same few cells.

    The arguments have to be hashable. What lies outside the tables is looked for again each time.
    """

    @wraps(lookup)
    def found(book: AnyBook, /, *args: Asked.args, **kwargs: Asked.kwargs) -> Found:
        key = (lookup.__name__, args, tuple(kwargs.items()))
        try:
            return cast("Found", book._kept[key])
        except KeyError:
            result = book._kept[key] = lookup(book, *args, **kwargs)
            return result

    return found


def settled(value: float) -> float:
    """Value without the noise of a unit conversion, so that 86 °F falls into the band that ends at 30 °C."""
    return round(value, 9)


@dataclass(frozen=True, slots=True)
class Clause:
    """Clause of the edition that a rule of the tool rests on.

    Parameters
    ----------
    key : str
        The tool's key of the rule, the same in all editions.
    text : str
        Clause as printed; empty where the edition has no such rule.
    subject : str
        What the rule is about.
    confidence : str
        ``high``, ``medium`` or ``low``: how sure the number is.
    note : str
        What to know about the edition's wording.
    recalled : bool
        True where the clause was recalled and not read.
    source : str
        Edition and source codes.
    """

    key: str
    text: str
    subject: str
    confidence: str
    note: str
    recalled: bool
    source: str


@dataclass(frozen=True, slots=True)
class Ruling:
    """Answer of the edition to a question that has no number.

    Parameters
    ----------
    key : str
        The tool's key of the question.
    answer : str
        One word, for instance ``applies``, ``excepted`` or ``ask``.
    question : str
        What is asked.
    clause : Clause
        Where the edition answers it.
    recalled : bool
        True where the answer was recalled and not read.
    source : str
        Edition and source codes.
    """

    key: str
    answer: str
    question: str
    clause: Clause
    recalled: bool
    source: str


def quantity_of(cell: Cell, name: str = "") -> Quantity:
    """Return the cell as a quantity in the unit of its column, the cell being its origin.

    Raises
    ------
    ValueError
        Where the cell is a word or a conductor size.
    """
    return Quantity(cell.number, cell.unit, cell, name)


@dataclass(frozen=True, eq=False)
class Book:
    """The tables of one edition, each read when first asked for.

    Parameters
    ----------
    links : tuple of Edition
        The edition and its bases, itself first.
    """

    links: tuple[Edition, ...]
    _tables: dict[str, Table] = field(default_factory=dict, repr=False)
    # Not handed on to a book with other tables.
    _kept: dict[tuple[Any, ...], Any] = field(default_factory=dict, init=False, repr=False)

    @property
    def edition(self) -> Edition:
        """The edition at hand."""
        return self.links[0]

    @property
    def sources(self) -> Mapping[str, Source]:
        """Publications behind the source codes that cells cite."""
        return sources(self.edition.folder.parent)

    @property
    def digest(self) -> str:
        """SHA-256 of all the data that the edition rests on, for caches and manifests."""
        files = [self.edition.folder.parent / "sources.csv"]
        for link in self.links:
            files += sorted((*link.folder.glob("*.csv"), link.folder / "edition.toml"))
        total = hashlib.sha256()
        for path in files:
            data = path.read_bytes().replace(b"\r\n", b"\n")
            total.update(f"{path.parent.name}/{path.name}\0{len(data)}\0".encode())
            total.update(data)
        return total.hexdigest()

    def names(self) -> tuple[str, ...]:
        """Names of all tables of the edition, sorted."""
        return tuple(sorted({path.stem for link in self.links for path in link.folder.glob("*.csv")}))

    def table(self, name: str) -> Table:
        """Return one table, rows of the bases included.

        Raises
        ------
        UnknownRule
            If no folder holds it.
        TableError
            If a file of it is wrong.
        """
        if name not in self._tables:
            self._tables[name] = check(self._assembled(name))
        return self._tables[name]

    def _assembled(self, name: str) -> Table:
        result: Table | None = None
        for link in reversed(self.links):
            path = link.folder / f"{name}.csv"
            if not path.is_file():
                continue
            # A table that came new with a derived edition has no rows to lie over: it stands whole.
            table = read_table(path, self.sources, derived=bool(link.base))
            if result is None and table.header.mode == "rows":
                raise TableError(f"{link.name}/{name}.csv", 1, "the base has no table of that name")
            result = table if result is None else overlay(result, table)
        if result is None:
            raise UnknownRule("table", name)
        return result

    def cited(self, row: Row) -> str:
        """Edition and source codes of a row, as a cell carries them."""
        return f"{self.edition.short} [{', '.join(row.codes)}]"

    def title_of(self, table: Table) -> str:
        """Name of a table in this edition, for instance ``Table 310.16``."""
        key = table.header.clause_key
        return table.header.title if key == "none" else self.clause(key).text

    def cell(self, table: Table, row: Row, column: str, where: str, heading: str = "") -> Cell | None:
        """Return one cell with its citation; None where the printed table is blank.

        Parameters
        ----------
        where, heading : str
            Row and column as a reader finds them; the column's name by default.
        """
        value, unit = row[column], table.header.units[column]
        if not value:
            return None
        if unit == "number":
            unit = row["unit"]
        if unit == "size":
            unit = size_unit(value)
        local = row.local.get(column)
        return Cell(
            table=self.title_of(table),
            row=where,
            column=heading or column,
            value=value,
            unit="" if unit in {"text", "count"} else unit,
            source=self.cited(row) if local is None else local.given.span.short,
            recalled=row.recalled and local is None,
            local=local,
        )

    def outside(self, table: Table, key: str) -> OutsideTable:
        """Exception for a key that the table prints no value for."""
        return OutsideTable(self.title_of(table), key, table.header.valid)

    def found(self, table: Table, row: Row | None, column: str, where: str, heading: str = "") -> Cell:
        """Cell of a row that may be missing, under a column that may be blank or missing.

        Raises
        ------
        OutsideTable
            If the table prints no such value.
        """
        cell = None
        if row is not None and column in table.header.units:
            cell = self.cell(table, row, column, where, heading)
        if cell is None:
            raise self.outside(table, f"{where}, {heading or column}")
        return cell

    def size_or_outside(self, table: Table, size: str) -> str:
        """Size as the tables spell it; OutsideTable where the text is no AWG or kcmil size."""
        try:
            return normal_size(size)
        except ValueError as error:
            raise self.outside(table, f"size `{size}`") from error

    @kept
    def clause(self, key: str) -> Clause:
        """Clause of this edition for a rule key.

        Raises
        ------
        UnknownRule
            If the tool knows no such rule.
        """
        row = self.table("clauses").find(key)
        if row is None:
            raise UnknownRule("clause", key)
        return Clause(
            key, row["clause"], row["subject"], row["confidence"], row["note"], row.recalled, self.cited(row)
        )

    def clauses(self) -> Iterator[Clause]:
        """Every rule of the tool with its clause, in the order of the edition."""
        return (self.clause(row["key"]) for row in self.table("clauses").rows)

    @kept
    def number(self, key: str) -> Cell:
        """Number of a rule that is no table, in the unit that the cell carries.

        Raises
        ------
        UnknownRule
            If the edition holds no such number.

        Notes
        -----
        The keys are those of ``numbers.csv``; shares are fractions of one.
        """
        table = self.table("numbers")
        row = table.find(key)
        if row is None:
            raise UnknownRule("number", key)
        cell = self.cell(table, row, "value", key.replace("-", " "))
        if cell is None:
            raise UnknownRule("number", key)
        return replace(cell, table=self.clause(row["clause"]).text, column="")

    @kept
    def ruling(self, key: str) -> Ruling:
        """Answer of this edition to a question that has no number.

        Raises
        ------
        UnknownRule
            If the edition holds no such answer.
        """
        row = self.table("rulings").find(key)
        if row is None:
            raise UnknownRule("ruling", key)
        return Ruling(
            key, row["answer"], row["question"], self.clause(row["clause"]), row.recalled, self.cited(row)
        )
