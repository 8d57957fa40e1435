"""Tables: printed ones, those with bars, and those with cells to fill in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from reportgen.design.findings import Outcome


@dataclass(frozen=True, slots=True)
class Column:
    """Column of a table: ``unit`` stands under the title, ``group`` spans neighbours that share it.

    A title may hold symbols such as ``V_oc``; they print with a subscript. ``symbol`` is that of a formula and
    stands over the title.
    """

    title: str
    unit: str = ""
    align: Literal["left", "right"] = "left"
    group: str = ""
    symbol: str = ""


@dataclass(frozen=True, slots=True)
class TableCell:
    """Cell of a table: its text, and in this order an outcome before it and a small note under it.

    ``link`` names the anchor that the text leads to; where no such place exists in the binder the text
    stands alone. ``page`` has the page of that anchor printed behind the text.
    """

    text: str = ""
    outcome: Outcome | None = None
    link: str = ""
    strong: bool = False
    note: str = ""
    page: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """Row of a table; its first cell names the row. Neighbours that share a ``group`` stand under its name.

    ``changed`` rows carry a mark: they are not as in the earlier state that the binder is compared with.
    """

    cells: tuple[TableCell, ...]
    anchor: str = ""
    group: str = ""
    changed: bool = False


def row(*cells: str | TableCell, anchor: str = "", group: str = "") -> Row:
    """Row from texts and cells."""
    made = tuple(cell if isinstance(cell, TableCell) else TableCell(cell) for cell in cells)
    return Row(made, anchor, group)


@dataclass(frozen=True, slots=True)
class Table:
    """Table with a caption; ``wide`` lets it lie on a landscape sheet where it does not fit upright.

    One that is ``half`` as wide as the page stands abreast of its neighbour. Outcomes of a ``trial`` are of things that are not in the design: the contents do not count them.

    Raises
    ------
    ValueError
        If a row has another number of cells than there are columns.
    """

    id: str
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()
    wide: bool = False
    trial: bool = False
    half: bool = False

    def __post_init__(self) -> None:
        for item in self.rows:
            if len(item.cells) != len(self.columns):
                msg = f"row with {len(item.cells)} cells in table {self.id!r} of {len(self.columns)} columns"
                raise ValueError(msg)


@dataclass(frozen=True, slots=True)
class Bar:
    """Row of a :class:`BarTable`: ``length`` as a share of the longest, 0 to 1 [-]; a gain prints hollow."""

    label: str
    text: str
    length: float
    share: str = ""
    gain: bool = False


@dataclass(frozen=True, slots=True)
class BarTable:
    """Table in which a bar stands for each number; made by :func:`reportgen.binder.charts.loss_bars`."""

    id: str
    caption: str
    label_title: str
    value_title: str
    unit: str
    share_title: str
    bars: tuple[Bar, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """One of the texts that stand close together in a row of an :class:`EntryTable`; its link and anchor may be empty."""

    text: str
    link: str = ""
    anchor: str = ""


@dataclass(frozen=True, slots=True)
class EntryRow:
    """Row of an :class:`EntryTable`: what its entries share, a note to that, and the entries."""

    title: str
    entries: tuple[Entry, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class EntryTable:
    """Short texts set close under what they share: a register, where a row for each would fill sheets."""

    id: str
    caption: str
    heads: tuple[str, str]
    rows: tuple[EntryRow, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Blank:
    """Field to fill in on paper, in the PDF or on the screen.

    Parameters
    ----------
    name : str
        What is to be filled in, for readers that speak; in a table the row and column say it.
    tick : bool
        A box to tick instead of a line to write on.
    lines : int
        Height of the field. [lines]
    """

    name: str = ""
    tick: bool = False
    lines: int = 1


@dataclass(frozen=True, slots=True)
class FormTable:
    """Table with printed cells and cells to fill in; the first cell of a row is printed and names it.

    Where one form prints in several pieces, each has the form's own name in ``called`` and what its rows are about
    in ``subjects``, so that the names of its fields do not depend on how it is dealt out (:mod:`reportgen.binder.fields`).
    ``twice`` says that a row holds two entries abreast, each in its half of the columns.
    """

    id: str
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str | TableCell | Blank, ...], ...]
    notes: tuple[str, ...] = ()
    wide: bool = False
    called: str = ""
    subjects: tuple[str, ...] = ()
    twice: bool = False

    @property
    def entries(self) -> tuple[tuple[str | TableCell | Blank, ...], ...]:
        """What is filled in one by one: the rows, or where two stand abreast their left halves and then their right ones."""
        if not self.twice:
            return self.rows
        half = len(self.columns) // 2
        return (*(row[:half] for row in self.rows), *(row[half:] for row in self.rows if any(row[half:])))
