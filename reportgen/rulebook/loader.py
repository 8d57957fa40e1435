"""Read one CSV of the rulebook, strictly: a table that can be misread is refused with file and line.

A file begins with ``#`` lines, then the column names, then one row a key::

    # title: Least size of equipment grounding conductors by rating of the overcurrent device
    # source: NFPA 70, National Electrical Code, 2023 edition, Table 250.122
    # read-by: who read it, and when; second reading
    # units: rating=A; copper=size; aluminum=size
    # valid: devices up to 6000 A
    # keys: rating
    # edition-clause: egc-table
    # rising: rating; copper
    rating,copper,aluminum,src
    15,14,12,S15

Units are ``text``, ``size`` (AWG or kcmil), ``count``, ``number`` (the row's own ``unit`` column says which),
nothing for a plain number, or a unit symbol. Optional lines: ``blank`` (columns where the printed table has no
value), ``rising``, ``falling``, ``never-falling`` and ``never-rising`` (``column within column, column``; what
physics says of the column), ``bands`` (two columns of whole degrees or counts without gap or overlap). In an
edition with a base also ``mode`` (``whole`` or ``rows``) and ``remove`` (keys parted by ``|``, rows by ``;``).

``src`` names codes of ``sources.csv``, parted by commas, and after a semicolon a remark. A row counts as recalled
where a code is recalled, where all codes are weak, or where the remark says so.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from reportgen.rulebook.errors import TableError
from reportgen.rulebook.sizes import normal_size, size_index
from reportgen.working.quantity import Local

_REQUIRED = ("title", "source", "read-by", "units", "valid", "keys", "edition-clause")
_ORDERS = {
    "rising": (1, True),
    "never-falling": (1, False),
    "falling": (-1, True),
    "never-rising": (-1, False),
}
_OPTIONAL = ("blank", "bands", "mode", "remove", *_ORDERS)
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_UNSURE = re.compile(r"memory|recalled|uncertain", re.IGNORECASE)
_STANDINGS = ("read", "weak", "recalled", "derived")


@dataclass(frozen=True, slots=True)
class Source:
    """Where values were read: a code, what weight it has, and the publication."""

    code: str
    standing: str
    description: str


@dataclass(frozen=True, slots=True)
class Order:
    """How a column must run down the table, by itself or within rows that share other columns."""

    column: str
    within: tuple[str, ...]
    sign: int
    strict: bool

    @property
    def words(self) -> str:
        """The order as a message says it."""
        return (
            ("rise" if self.sign > 0 else "fall")
            if self.strict
            else ("not fall" if self.sign > 0 else "not rise")
        )


@dataclass(frozen=True, slots=True)
class Header:
    """What the ``#`` lines of a table say."""

    title: str
    source: str
    read_by: str
    units: Mapping[str, str]
    valid: str
    keys: tuple[str, ...]
    clause_key: str
    blank: frozenset[str] = frozenset()
    orders: tuple[Order, ...] = ()
    bands: tuple[str, str] | None = None
    mode: str = ""
    remove: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its cells by column, where it stands, where it was read, and what an authority put in place."""

    values: Mapping[str, str]
    file: str
    line: int
    codes: tuple[str, ...] = ()
    recalled: bool = False
    local: Mapping[str, Local] = field(default_factory=dict)

    def __getitem__(self, column: str) -> str:
        return self.values[column]

    def number(self, column: str) -> float:
        """The cell as a number; ValueError where it is blank."""
        return float(self.values[column])


@dataclass(frozen=True, slots=True)
class Table:
    """One table, checked: header, rows in their order, and rows by key."""

    name: str
    header: Header
    rows: tuple[Row, ...]
    index: Mapping[tuple[str, ...], Row]

    def find(self, *key: str) -> Row | None:
        """Row of the key, None where there is none."""
        return self.index.get(key)


def _file(path: Path) -> str:
    return f"{path.parent.name}/{path.name}"


def _split(text: str, mark: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(mark) if part.strip())


def _header_lines(path: Path, lines: list[str]) -> tuple[dict[str, str], int]:
    file, found = _file(path), dict[str, str]()
    for number, line in enumerate(lines, 1):
        if not line.startswith("#"):
            missing = [key for key in _REQUIRED if key not in found]
            if missing:
                raise TableError(file, number, f"header line `# {missing[0]}:` is missing")
            return found, number - 1
        key, colon, value = line[1:].partition(":")
        key, value = key.strip(), value.strip()
        if not colon or key not in (*_REQUIRED, *_OPTIONAL):
            raise TableError(file, number, f"unknown header line `{line}`")
        if key in found:
            raise TableError(file, number, f"header line `# {key}:` stands twice")
        if not value:
            raise TableError(file, number, f"header line `# {key}:` is empty")
        found[key] = value
    raise TableError(file, len(lines) or 1, "no column names after the header")


def _orders(path: Path, found: Mapping[str, str]) -> Iterator[Order]:
    for name, (sign, strict) in _ORDERS.items():
        for text in _split(found.get(name, ""), ";"):
            column, _, within = text.partition(" within ")
            yield Order(column.strip(), _split(within, ","), sign, strict)


def _header(path: Path, found: Mapping[str, str]) -> Header:
    file = _file(path)
    units: dict[str, str] = {}
    for text in _split(found["units"], ";"):
        column, equals, unit = text.partition("=")
        if not equals or column.strip() in units:
            raise TableError(file, 1, f"`# units:` has no `column=unit` in `{text}`, or has the column twice")
        units[column.strip()] = unit.strip()
    keys, blank, orders = (
        _split(found["keys"], ","),
        _split(found.get("blank", ""), ","),
        tuple(_orders(path, found)),
    )
    bands = _split(found.get("bands", ""), ",")
    named = (*keys, *blank, *bands, *(c for order in orders for c in (order.column, *order.within)))
    for column in named:
        if column not in units:
            raise TableError(file, 1, f"header names the column `{column}`, which has no unit")
    if len(bands) not in (0, 2):
        raise TableError(file, 1, "`# bands:` wants two columns")
    remove = tuple(_split(text, "|") for text in _split(found.get("remove", ""), ";"))
    mode = found.get("mode", "")
    if mode not in ("", "whole", "rows") or (remove and mode != "rows"):
        raise TableError(file, 1, "`# mode:` is `whole` or `rows`; `# remove:` goes with `rows`")
    return Header(
        title=found["title"],
        source=found["source"],
        read_by=found["read-by"],
        units=units,
        valid=found["valid"],
        keys=keys,
        clause_key=found["edition-clause"],
        blank=frozenset(blank),
        orders=orders,
        bands=(bands[0], bands[1]) if bands else None,
        mode=mode,
        remove=remove,
    )


def _check_cell(header: Header, values: Mapping[str, str], column: str) -> str | None:
    text, unit = values[column], header.units[column]
    if text != text.strip():
        return f"`{column}` has blanks around `{text}`"
    if not text:
        return None if column in header.blank else f"`{column}` is blank"
    if unit == "number":
        unit = values["unit"]
    if unit == "text":
        return None
    if unit == "size":
        try:
            plain = normal_size(text) == text
        except ValueError:
            plain = False
        return None if plain else f"`{column}` holds `{text}`, which is no conductor size"
    return None if _NUMBER.fullmatch(text) else f"`{column}` holds `{text}`, which is no plain number"


def _standing(text: str, sources: Mapping[str, Source]) -> tuple[tuple[str, ...], bool, str]:
    codes = _split(text.partition(";")[0], ",")
    unknown = next((code for code in codes if code not in sources), "")
    standings = {sources[code].standing for code in codes if code in sources} - {"derived"}
    recalled = "recalled" in standings or standings == {"weak"} or bool(_UNSURE.search(text))
    return codes, recalled, unknown


def _rows(
    path: Path, lines: list[str], skipped: int, header: Header, extra: tuple[str, ...]
) -> Iterator[Row]:
    file, columns = _file(path), (*header.units, *extra)
    reader = csv.reader(lines[skipped:], strict=True)
    try:
        if tuple(next(reader)) != columns:
            raise TableError(file, skipped + 1, f"columns are not {', '.join(columns)}")
        for fields in reader:
            line = skipped + reader.line_num
            if len(fields) != len(columns):
                raise TableError(file, line, f"has {len(fields)} cells for {len(columns)} columns")
            yield Row(dict(zip(columns, fields, strict=True)), file, line)
    except csv.Error as error:
        raise TableError(file, skipped + reader.line_num, str(error)) from error


def _read(path: Path) -> tuple[list[str], int, Header]:
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise TableError(_file(path), 1, f"cannot be read: {error}") from error
    found, skipped = _header_lines(path, lines)
    return lines, skipped, _header(path, found)


def relaid(table: Table, rows: tuple[Row, ...]) -> Table:
    """Return the table with other rows under the same keys."""
    return _indexed(table.name, table.header, rows)


def _indexed(name: str, header: Header, rows: tuple[Row, ...]) -> Table:
    index: dict[tuple[str, ...], Row] = {}
    for row in rows:
        key = tuple(row[column] for column in header.keys)
        if key in index:
            raise TableError(
                row.file, row.line, f"key `{' | '.join(key)}` stands twice, first in line {index[key].line}"
            )
        index[key] = row
    return Table(name, header, rows, index)


def _place(header: Header, row: Row, column: str) -> float:
    return float(size_index(row[column])) if header.units[column] == "size" else row.number(column)


def check(table: Table) -> Table:
    """Return the table after checking the order of its columns and the seams of its bands.

    Raises
    ------
    TableError
        With the first row that breaks an order that the header declares.
    """
    header = table.header
    for order in header.orders:
        last: dict[tuple[str, ...], float] = {}
        for row in table.rows:
            if not row[order.column]:
                continue
            group = tuple(row[column] for column in order.within)
            step = order.sign * (
                _place(header, row, order.column) - last.get(group, -order.sign * float("inf"))
            )
            if step < 0 or (order.strict and step == 0):
                raise TableError(row.file, row.line, f"`{order.column}` must {order.words} down the table")
            last[group] = _place(header, row, order.column)
    if header.bands:
        low, high = header.bands
        ends = [(row, row[low], row[high]) for row in table.rows]
        for (_, low1, high1), (row, low2, high2) in pairwise(ends):
            seam = (high1, low2) if low1 == "" or (low2 and float(low2) > float(low1)) else (high2, low1)
            if not all(seam) or float(seam[1]) - float(seam[0]) != 1:
                raise TableError(
                    row.file, row.line, f"`{low}` and `{high}` leave a gap or overlap with the row before"
                )
    return table


def read_sources(path: Path) -> dict[str, Source]:
    """Read the list of source codes.

    Raises
    ------
    TableError
        If the file is not as the module describes.
    """
    lines, skipped, header = _read(path)
    table = _indexed(path.stem, header, tuple(_rows(path, lines, skipped, header, ())))
    for row in table.rows:
        if row["standing"] not in _STANDINGS:
            raise TableError(row.file, row.line, f"standing is none of {', '.join(_STANDINGS)}")
    return {row["code"]: Source(row["code"], row["standing"], row["description"]) for row in table.rows}


def read_table(path: Path, sources: Mapping[str, Source], *, derived: bool = False) -> Table:
    """Read one table; its order is checked by :func:`check` once rows of a base are in.

    Parameters
    ----------
    path : Path
        The CSV file.
    sources : mapping
        Known source codes.
    derived : bool
        True for an edition with a base, which must say its ``mode``.

    Raises
    ------
    TableError
        With file, line and the first thing wrong.
    """
    lines, skipped, header = _read(path)
    if derived != bool(header.mode):
        raise TableError(_file(path), 1, "`# mode:` is for editions with a base, and needed there")
    rows: list[Row] = []
    for raw in _rows(path, lines, skipped, header, ("src",)):
        problem = next((p for c in header.units if (p := _check_cell(header, raw.values, c))), None)
        codes, recalled, unknown = _standing(raw["src"], sources)
        if problem is None and (unknown or not codes):
            problem = f"`src` names no known source code: `{unknown or raw['src']}`"
        if problem is not None:
            raise TableError(raw.file, raw.line, problem)
        rows.append(Row(raw.values, raw.file, raw.line, codes, recalled))
    if not rows and not header.remove:
        raise TableError(_file(path), len(lines), "has no rows")
    return _indexed(path.stem, header, tuple(rows))


def overlay(base: Table, change: Table) -> Table:
    """Return the table of an edition: its own rows over those of its base.

    Raises
    ------
    TableError
        If the change names other columns, removes what is not there or repeats the base.
    """
    if change.header.mode == "whole":
        return change
    file = change.rows[0].file if change.rows else change.name
    if (change.header.keys, dict(change.header.units)) != (base.header.keys, dict(base.header.units)):
        raise TableError(file, 1, "columns or keys are not those of the base")
    for key in change.header.remove:
        if key not in base.index or key in change.index:
            raise TableError(
                file, 1, f"`# remove:` names `{' | '.join(key)}`, which the base has not or the file keeps"
            )
    for key, row in change.index.items():
        if key in base.index and base.index[key].values == row.values:
            raise TableError(row.file, row.line, "repeats the row of the base")
    gone = set(change.header.remove)
    kept = [change.index.get(key, row) for key, row in base.index.items() if key not in gone]
    added = [row for key, row in change.index.items() if key not in base.index]
    return _indexed(base.name, base.header, (*kept, *added))
