"""A schedule: rows of results that print as a table on a page and as a CSV file with the same columns.

One definition makes both, so the file that an installer opens in a spreadsheet cannot differ from the page.
The page rounds for reading, the file carries six significant digits.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from reportgen.binder.elements import Column, Row, Table, TableCell
from reportgen.design.findings import Outcome
from reportgen.design.missing import Missing
from reportgen.working.quantity import Cell, Quantity
from reportgen.working.text import MINUS, fixed, significant
from reportgen.working.unit_system import OTHER, places_in
from reportgen.working.units import UNITS

#: Printed where a value is not known; never a zero, never a blank.
UNKNOWN = "unknown"


#: Printed under a table with marked rows.
CHANGED_NOTE = "▸ not so in the earlier state that this binder is compared with"
#: Columns that say where an input stands: it moves when a line is added above.
_PLACES = frozenset({"place", "where", "line", "source", "sources"})


@dataclass(frozen=True, slots=True)
class Field:
    """A column: key of the file, title of the page, unit and decimal places of its numbers.

    ``both`` prints the other system's number in brackets on the page; a file has the first one alone. A column of limits
    says whether they are such at most or at least: the page rounds each to its safe side.
    """

    key: str
    title: str
    unit: str = ""
    places: int = 1
    group: str = ""
    align: Literal["left", "right"] = "left"
    both: bool = False
    at_most: bool | None = None

    @property
    def unit_printed(self) -> str:
        """The unit as the head of a file prints it."""
        return UNITS[self.unit].printed if self.unit in UNITS else self.unit

    @property
    def units_printed(self) -> str:
        """The unit as the head of the table prints it, with the one in brackets."""
        return f"{self.unit_printed} ({UNITS[OTHER[self.unit]].printed})" if self.both else self.unit_printed


@dataclass(frozen=True, slots=True)
class Marked:
    """A value with the outcome it was judged to, and where its working stands; a limit where its column holds others too."""

    value: object
    outcome: Outcome | None = None
    link: str = ""
    note: str = ""
    at_most: bool | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One row by column key; a key left out prints empty."""

    values: Mapping[str, object]
    anchor: str = ""
    group: str = ""


@dataclass(frozen=True, slots=True)
class Schedule:
    """Rows of results under named columns; of a ``trial`` the outcomes are of things that are not in the design."""

    id: str
    caption: str
    fields: tuple[Field, ...]
    lines: tuple[Line, ...]
    notes: tuple[str, ...] = ()
    wide: bool = False
    trial: bool = False
    changed: frozenset[int] = frozenset()

    def table(self, *alike: str) -> Table:
        """The schedule as a table of a page.

        Rows that print the same but for one of the columns ``alike`` stand in one row, in which that column lists
        theirs; the file has each of them. Rows that were judged to anything but that they meet are never put together.
        """
        columns = tuple(
            Column(field.title, field.units_printed, "right" if field.unit else field.align, field.group)
            for field in self.fields
        )
        rows = tuple(
            Row(
                tuple(_cell(field, line.values.get(field.key, "")) for field in self.fields),
                line.anchor,
                line.group,
                number in self.changed,
            )
            for number, line in enumerate(self.lines)
        )
        for key in alike:
            rows = _gathered(rows, next(k for k, field in enumerate(self.fields) if field.key == key))
        notes = (*self.notes, *self._asked(), *self.changed_notes)
        return Table(self.id, self.caption, columns, rows, notes, self.wide, self.trial)

    def _asked(self) -> tuple[str, ...]:
        """What is to be stated in place of each unknown, once under the table."""
        values = (line.values.get(field.key) for line in self.lines for field in self.fields)
        inner = (value.value if isinstance(value, Marked) and not value.note else value for value in values)
        asked = dict.fromkeys(item.what for item in inner if isinstance(item, Missing))
        return (f"Unknown, to be stated: {'; '.join(asked)}.",) if asked else ()

    def records(self) -> tuple[tuple[str, ...], ...]:
        """What each row says, places in files left out: two states of a schedule are compared by it."""
        told = [field for field in self.fields if field.key not in _PLACES]
        return tuple(
            tuple(_raw(field, line.values.get(field.key, "")) for field in told) for line in self.lines
        )

    def against(self, earlier: Schedule) -> Schedule:
        """The schedule with the rows marked that the earlier state of it lacks."""
        known = set(earlier.records())
        return replace(
            self, changed=frozenset(k for k, record in enumerate(self.records()) if record not in known)
        )

    def marked(self, number: int, text: str) -> str:
        """A text of a row that stands in no row of its own, with the mark of a changed one."""
        return f"▸ {text}" if number in self.changed else text

    @property
    def changed_notes(self) -> tuple[str, ...]:
        """What the mark of a changed row means, where there is one."""
        return (CHANGED_NOTE,) if self.changed else ()

    def csv(self, digest: str) -> bytes:
        """The schedule as a CSV file: a comment with the input digest, a head with units, LF line ends."""
        out = io.StringIO()
        out.write(f"# {self.caption}; inputs {digest}\n")
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(
            [f"{field.key} [{field.unit_printed}]" if field.unit else field.key for field in self.fields]
        )
        for line in self.lines:
            writer.writerow([_raw(field, line.values.get(field.key, "")) for field in self.fields])
        return out.getvalue().encode()


#: What starts with a sign and is no formula.
_SIGNED = re.compile(r"[+-](\d+(\.\d+)?([eE][+-]?\d+)?)?")


def _gathered(rows: Sequence[Row], column: int) -> tuple[Row, ...]:
    """Rows that differ in nothing but a column in one, at the place of the first of them."""
    found: dict[object, list[Row]] = {}
    for number, row in enumerate(rows):
        told = any(cell.outcome not in {None, Outcome.MEETS} for cell in row.cells)
        same = replace(row, cells=(*row.cells[:column], *row.cells[column + 1 :]))
        found.setdefault(number if row.anchor or told else same, []).append(row)
    made = []
    for first, *others in found.values():
        cell = first.cells[column]
        texts = dict.fromkeys(row.cells[column].text for row in (first, *others))
        cells = (*first.cells[:column], replace(cell, text=", ".join(texts)), *first.cells[column + 1 :])
        made.append(replace(first, cells=cells))
    return tuple(made)


def cell_text(cell: Cell) -> str:
    """Value of a table's cell with its unit as a page prints it; of a local rule's as it was written."""
    if cell.local is not None:
        return cell.local.given.text
    unit = UNITS[cell.unit].printed if cell.unit in UNITS else cell.unit
    return f"{cell.value}{unit}" if unit == "°" else f"{cell.value} {unit}".strip()


def _cell(field: Field, value: object) -> TableCell:
    marked = value if isinstance(value, Marked) else Marked(value)
    inner = marked.value
    at_most = field.at_most if marked.at_most is None else marked.at_most
    shown = _shown(field, inner, at_most)
    if field.both and isinstance(inner, Quantity):
        other = OTHER[field.unit]
        shown += f" ({fixed(inner.to(other).value, places_in(other, field.places), at_most)})"
    return TableCell(shown, marked.outcome, marked.link, note=marked.note)


def _shown(field: Field, value: object, at_most: bool | None = None) -> str:
    if isinstance(value, Missing):
        return UNKNOWN
    if isinstance(value, Quantity):
        return fixed(value.to(field.unit).value, field.places, at_most)
    if isinstance(value, float):
        return fixed(value, field.places, at_most)
    return "" if value is None else str(value)


def _raw(field: Field, value: object) -> str:
    inner = value.value if isinstance(value, Marked) else value
    if isinstance(inner, Quantity):
        inner = inner.to(field.unit).value
    if isinstance(inner, float):
        return significant(inner).replace(MINUS, "-")
    return _defused(_shown(field, inner))


def _defused(text: str) -> str:
    """Text that a spreadsheet will not take for a formula: a leading sign of one is preceded by a space.

    A sign alone, as of a leg, and a number with its sign are none.
    """
    harmless = text[:1] not in {"=", "@", "+", "-", "\t", "\r"} or _SIGNED.fullmatch(text)
    return text if harmless else f" {text}"
