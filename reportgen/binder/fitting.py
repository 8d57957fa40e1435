"""How a table is set: upright or lying, in which print, and how wide each column is.

Widths are worked out from the advance widths of the font, so that a table looks the same in a browser and on
paper, and the page layout need not measure every cell.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from reportgen.binder.assets import text_width
from reportgen.binder.elements import Blank, FormTable, Table, TableCell
from reportgen.binder.typeset import long
from reportgen.design.findings import Outcome

#: Text width of a portrait and of a landscape sheet. [CSS px]
UPRIGHT, LYING = 642.0, 978.0
#: Print size of a table [CSS px] and the style class that sets it.
_SIZES = ((10.67, ""), (9.33, "dense"))
#: A text no longer than this counts as one word: ``8 AWG``; so does the name of a row. [letters]
_ONE_WORD, _ROW_NAME = 9, 24
#: Width of a field to fill in. [CSS px]
_FIELD = 62.0


@dataclass(frozen=True, slots=True)
class Fit:
    """How a table is set.

    Parameters
    ----------
    upright : bool
        It fits a portrait sheet.
    size : str
        Style class of its print size.
    shares : tuple of float
        Width of each column as a share of the table. [%]
    classes : tuple of str
        Style classes of the cells of each column.
    """

    upright: bool
    size: str
    shares: tuple[float, ...]
    classes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Column:
    """Width of the longest word, of the longest text, and of all texts together [CSS px]."""

    least: float
    most: float
    area: float


def fit(table: Table | FormTable) -> Fit:
    """How a table is set, judged by the widths of its words and texts.

    It stands upright in the largest print in which the longest word of each column fits and the fullest rows do
    not run to many lines.
    """
    for size, name in _SIZES:
        columns = _measure(table, size)
        least = sum(column.least for column in columns)
        if least <= UPRIGHT and sum(min(column.most, 260.0) for column in columns) <= 1.45 * UPRIGHT:
            return _set(table, columns, UPRIGHT, name, upright=True)
    for size, name in _SIZES:
        columns = _measure(table, size)
        if sum(column.least for column in columns) <= LYING:
            return _set(table, columns, LYING, name, upright=False)
    return _set(table, columns, LYING, "dense", upright=False)


def _set(
    table: Table | FormTable, columns: Sequence[_Column], room: float, size: str, *, upright: bool
) -> Fit:
    widths = share_out(_with_floor(columns, room), room)
    classes = tuple(
        " ".join(
            name
            for name, holds in (("num", head.align == "right"), ("one", width >= column.most - 0.01))
            if holds
        )
        for head, column, width in zip(table.columns, columns, widths, strict=True)
    )
    total = sum(widths)
    return Fit(upright, size, tuple(round(100 * width / total, 2) for width in widths), classes)


def _with_floor(columns: Sequence[_Column], room: float) -> list[_Column]:
    """Columns wide enough that no text runs to many lines, where there is room for that."""
    for lines in (1.7, 2.6, 3.6):
        raised = [replace(column, least=max(column.least, column.most / lines)) for column in columns]
        if sum(column.least for column in raised) <= room:
            return raised
    return list(columns)


def share_out(columns: Sequence[_Column], room: float) -> list[float]:
    """Widths that fill the room with as few lines of text as possible.

    The lines of a column go with the area of its text over its width; their sum is least where widths go with
    the square root of the area. No column gets less than its longest word or, while another needs the room,
    more than its longest text.
    """
    widths = [column.least for column in columns]
    open_columns = {i for i, column in enumerate(columns) if column.most > column.least}
    while open_columns:
        free = room - sum(width for i, width in enumerate(widths) if i not in open_columns)
        roots = {i: math.sqrt(columns[i].area) for i in open_columns}
        scale = free / sum(roots.values())
        wanted = {i: scale * roots[i] for i in open_columns}
        bounded = {i: min(max(wanted[i], columns[i].least), columns[i].most) for i in open_columns}
        excess = sum(bounded.values()) - sum(wanted.values())
        # Where the bounds ask for more than there is, the columns at their least are settled first.
        settled = {
            i
            for i in open_columns
            if abs(excess) < 1e-6 or (bounded[i] > wanted[i] if excess > 0 else bounded[i] < wanted[i])
        }
        for i in settled:
            widths[i] = bounded[i]
        open_columns -= settled
    spare = room - sum(widths)
    if spare > 0 and (total := sum(widths)) > 0:
        widths = [width + spare * width / total for width in widths]
    return widths


def _measure(table: Table | FormTable, size: float) -> list[_Column]:
    padding = 1.1 * size + 1
    found = []
    for i, column in enumerate(table.columns):
        cells = [row[i] for row in _cells(table)]
        whole = _ROW_NAME if i == 0 else _ONE_WORD
        words = [text_width(word, size, "semibold") for word in f"{column.title} {column.unit}".split()]
        words += [width for cell in cells for width in _words(cell, size, whole)]
        if any(isinstance(cell, Blank) and not cell.tick for cell in cells):
            words.append(_FIELD)
        texts = [cell_width(cell, size) for cell in cells]
        least = max(words, default=0.0)
        most = max([least, *texts])
        found.append(_Column(least + padding, most + padding, sum(texts) + padding * len(texts) + least))
    return found


def _words(cell: str | TableCell | Blank, size: float, whole: int) -> Iterable[float]:
    """Widths of what cannot be broken in a cell: its words, an outcome with the word after it."""
    text = cell_text(cell)
    outcome = _outcome_width(cell, size)
    words = [text] if len(text) <= whole else text.split()
    for i, word in enumerate(words or [""]):
        if not long(word):
            yield text_width(word, size) + (outcome if not i else 0.0)


def cell_width(cell: str | TableCell | Blank, size: float) -> float:
    """Width of a cell on one line. [unit of ``size``]."""
    face = "semibold" if isinstance(cell, TableCell) and cell.strong else "regular"
    return text_width(cell_text(cell), size, face) + _outcome_width(cell, size)


def _outcome_width(cell: str | TableCell | Blank, size: float) -> float:
    if not isinstance(cell, TableCell) or cell.outcome is None:
        return 0.0
    # The shape is one em wide, a fixed space follows, and the word of a failure has a frame.
    frame = 0.9 * size if cell.outcome is Outcome.FAILS else 0.0
    return 1.0 * size + text_width(f"  {cell.outcome}", size, "semibold") + frame


def _cells(table: Table | FormTable) -> Iterable[Sequence[str | TableCell | Blank]]:
    return (row.cells for row in table.rows) if isinstance(table, Table) else table.rows


def cell_text(cell: str | TableCell | Blank) -> str:
    """The text of a cell, empty for a field."""
    match cell:
        case TableCell(text):
            return text
        case Blank():
            return ""
    return cell
