"""How a table is set: upright or lying, in which print, and how wide each column is.

Widths are worked out from the advance widths of the font, so that a table looks the same in a browser and on
paper, and the page layout need not measure every cell.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reportgen.binder.assets import text_width
from reportgen.binder.elements import Blank, FormTable, Table, TableCell
from reportgen.binder.typeset import long

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
    widths = share_out(columns, room)
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
        short = {i for i in open_columns if wanted[i] < columns[i].least}
        over = {i for i in open_columns if wanted[i] > columns[i].most}
        if not short and not over:
            for i in open_columns:
                widths[i] = wanted[i]
            break
        # Too narrow columns are settled first: they take room that a wide one could then not have.
        for i in short or over:
            widths[i] = columns[i].least if short else columns[i].most
        open_columns -= short or over
    spare = room - sum(widths)
    if spare > 0 and (total := sum(widths)) > 0:
        widths = [width + spare * width / total for width in widths]
    return widths


def _measure(table: Table | FormTable, size: float) -> list[_Column]:
    padding = 1.15 * size + 2
    found = []
    for i, column in enumerate(table.columns):
        texts = [cell_text(cells[i]) for cells in _cells(table)]
        whole = _ROW_NAME if i == 0 else _ONE_WORD
        words = {
            word
            for text in texts
            for word in ([text] if len(text) <= whole else text.split())
            if not long(word)
        }
        words |= {word for text in (column.title, column.unit) for word in text.split()}
        widths = [text_width(text, size, "semibold") for text in texts]
        least = max((text_width(word, size, "semibold") for word in words), default=0.0)
        if any(_is_line(cells[i]) for cells in _cells(table)):
            least = max(least, _FIELD)
        most = max([least, *widths])
        found.append(_Column(least + padding, most + padding, sum(widths) + padding * len(widths) + least))
    return found


def _cells(table: Table | FormTable) -> Iterable[Sequence[str | TableCell | Blank]]:
    return (row.cells for row in table.rows) if isinstance(table, Table) else table.rows


def _is_line(cell: str | TableCell | Blank) -> bool:
    return isinstance(cell, Blank) and not cell.tick


def cell_text(cell: str | TableCell | Blank) -> str:
    """The text of a cell as it counts for widths, the outcome with its shape included."""
    match cell:
        case TableCell(text, outcome):
            return f"■ {outcome} {text}".rstrip() if outcome else text
        case Blank():
            return ""
    return cell
