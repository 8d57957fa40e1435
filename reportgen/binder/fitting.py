"""How a table is set: upright or lying, in which print, and how wide each column is.

Widths are worked out from the advance widths of the font, so that a table looks the same in a browser and on
paper, and the page layout need not measure every cell.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from reportgen.binder.assets import text_width
from reportgen.binder.elements import Blank, FormTable, Table, TableCell
from reportgen.binder.typeset import long, unbroken
from reportgen.design.findings import Outcome

#: Text width of a portrait and of a landscape sheet. [CSS px]
UPRIGHT, LYING = 642.0, 978.0
#: Width of a table that shares an upright sheet with another. [CSS px]
HALF = 312.0
#: Print sizes of a table, the usual one first [CSS px], and the style class that sets each.
SIZES = ((10.67, ""), (10.0, "snug"), (9.33, "dense"))
#: Taken only where a table would else have to lie: the least print that is read at arm's length.
_FINE = (8.67, "fine")
#: How much higher than in the smallest print a table may be before a smaller print is taken. [-]
_LOOSE = 1.16
#: Print of a note under a text, and how much of a note is kept on one line. [em]
_NOTE, _NOTED = 0.88, 11.0
#: Rows that are enough to judge how many lines a table runs to.
_ENOUGH = 40
#: The name of a row no longer than this counts as one word. [letters]
_ROW_NAME = 24
#: Most lines of a table that stands on one sheet whatever room the one before has left.
_UNPARTED = 9
#: Space beside the texts of a column on half a sheet. [em]
_CLOSE = 0.85
#: Most columns of a table on half a sheet.
_IN_HALF = 5
#: Width that words ask for on half a sheet. [CSS px]
_WORDS = 96.0
#: Width of a field to fill in. [CSS px]
_FIELD = 62.0
#: Most that a long text asks of an upright sheet before the table has to lie. [CSS px]
_ASKED = 260.0


@dataclass(frozen=True, slots=True)
class Fit:
    """How a table is set.

    Parameters
    ----------
    upright : bool
        It fits a portrait sheet.
    size : str
        Style class of its print size; ``crowded`` besides where some word must be broken.
    shares : tuple of float
        Width of each column as a share of the table. [%]
    classes : tuple of str
        Style classes of the cells of each column.
    lines : int
        Lines of its body.
    """

    upright: bool
    size: str
    shares: tuple[float, ...]
    classes: tuple[str, ...]
    lines: int = 0

    @property
    def short(self) -> bool:
        """A table of so few lines is not parted between sheets."""
        return self.lines <= _UNPARTED


@dataclass(frozen=True, slots=True)
class _Column:
    """Width of the longest word, of the longest text, and of all texts together [CSS px]."""

    least: float
    most: float
    area: float


@dataclass(frozen=True, slots=True)
class _Measured:
    """Longest word and width of each text of a column [em of its print]; ``field`` asks for room to write."""

    word: float
    texts: tuple[float, ...]
    field: bool

    def column(self, size: float, beside: float | None = None) -> _Column:
        """The column in a print, with the space beside its texts; that of a table on all of a sheet, if not told."""
        padding = _padding(size) if beside is None else beside
        least = max(self.word * size, _FIELD if self.field else 0.0)
        most = max([least, *(text * size for text in self.texts)])
        area = sum(self.texts) * size + padding * len(self.texts) + least
        return _Column(least + padding, most + padding, area)


@lru_cache(maxsize=1 << 9)
def fit(table: Table | FormTable) -> Fit:
    """How a table is set, judged by the widths of its words and texts.

    It stands upright if in some print the longest word of each column fits and the fullest rows do not run to
    many lines, and takes the largest print that does not make it much higher than the smallest would.
    """
    measured = _measure(table)
    heads = [column.align == "right" for column in table.columns]
    lines = _Lines(measured)
    if isinstance(table, Table) and table.half:
        found = [
            ([item.column(size, _CLOSE * size) for item in measured], size, name) for size, name in SIZES[1:]
        ]
        loose = (one for one in found if sum(column.most for column in one[0]) <= HALF)
        columns, size, name = next(loose, found[-1])
        count, widths = _lowest(lines, columns, HALF, size)
        return _set(heads, columns, widths, name, count, upright=True)
    for room, sizes, asked in ((UPRIGHT, SIZES, 1.45), (UPRIGHT, (_FINE,), 2.2), (LYING, SIZES[1:], 0.0)):
        fits: list[tuple[int, list[float], list[_Column], float, str]] = []
        for size, name in sizes:
            columns = [item.column(size) for item in measured]
            if sum(column.least for column in columns) > room:
                continue
            if room != LYING and sum(min(column.most, _ASKED) for column in columns) > asked * UPRIGHT:
                continue
            count, widths = _lowest(lines, columns, room, size)
            fits.append((count, widths, columns, size, name))
            if len(fits) == 1 and count == lines.least and size <= _LOOSE * sizes[-1][0]:
                break  # one line a row: no smaller print makes it much lower
        if fits:
            most = _LOOSE * min(size * count for count, _, _, size, _ in fits)
            count, widths, columns, _, name = next(item for item in fits if item[3] * item[0] <= most)
            return _set(heads, columns, widths, name, count, upright=room == UPRIGHT)
    size, name = SIZES[-1]
    columns = [item.column(size) for item in measured]
    widths = share_out(columns, LYING)
    return _set(heads, columns, widths, f"{name} crowded", lines.of(widths, size), upright=False)


def fits_half(table: Table) -> bool:
    """Whether a table stands on half the width of a sheet with every number on one line."""
    if len(table.columns) > _IN_HALF:
        return False
    size = SIZES[-1][0]
    columns = [item.column(size, _CLOSE * size) for item in _measure(table)]
    # Words may run to a second line, numbers stand on one.
    needed = (
        min(column.most, max(column.least, _WORDS)) if told.align == "left" else column.most
        for told, column in zip(table.columns, columns, strict=True)
    )
    return sum(needed) <= HALF


def _set(
    numeric: Sequence[bool],
    columns: Sequence[_Column],
    widths: Sequence[float],
    size: str,
    lines: int,
    *,
    upright: bool,
) -> Fit:
    classes = tuple(
        " ".join(name for name, holds in (("num", right), ("one", width >= column.most - 0.01)) if holds)
        for right, column, width in zip(numeric, columns, widths, strict=True)
    )
    total = sum(widths)
    return Fit(upright, size, tuple(round(100 * width / total, 2) for width in widths), classes, lines)


def _lowest(lines: _Lines, columns: Sequence[_Column], room: float, size: float) -> tuple[int, list[float]]:
    """Lines of the body and the widths of columns that make it lowest.

    Tried are shares by the amount of text alone, and with the narrowest columns kept to one line.
    """
    narrow = sorted(range(len(columns)), key=lambda i: (columns[i].most, i))
    held = list(columns)
    best = share_out(columns, room)
    count = lines.of(best, size)
    for i in narrow:
        held[i] = replace(held[i], least=held[i].most)
        if count == lines.least or sum(column.least for column in held) > room:
            break
        widths = share_out(held, room)
        fewer = lines.of(widths, size)
        if fewer < count:
            count, best = fewer, widths
    return count, best


def _padding(size: float) -> float:
    """Space beside the texts of a column; narrower in the least print. [CSS px]."""
    return (0.66 if size == _FINE[0] else 1.1) * size + 1


class _Lines:
    """Lines that the body of a table runs to; every so many rows stand for all where there are hundreds."""

    def __init__(self, measured: Sequence[_Measured]) -> None:
        self._columns = [item.texts[:: 1 + len(item.texts) // _ENOUGH] for item in measured]
        self._longest = [max(texts, default=0.0) for texts in self._columns]
        self.least = len(self._columns[0]) if self._columns else 0

    def of(self, widths: Sequence[float], size: float) -> int:
        """Lines of all rows, each as high as its fullest cell."""
        padding = _padding(size)
        ems = [(width - padding) / size * 1.0001 for width in widths]
        broken = [
            [math.ceil(text / em) for text in texts]
            for texts, longest, em in zip(self._columns, self._longest, ems, strict=True)
            if longest > em
        ]
        if not broken:
            return self.least
        return sum(max(1, *row) for row in zip(*broken, strict=True))


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


def _measure(table: Table | FormTable) -> list[_Measured]:
    found = []
    for i, column in enumerate(table.columns):
        cells = [row[i] for row in _cells(table)]
        head = f"{column.symbol} {column.title} {column.unit}"
        word = max((text_width(word, 1, "semibold") for word in head.split()), default=0.0)
        texts = tuple(cell_width(cell, 1) for cell in cells)
        for cell, text in zip(cells, texts, strict=True):
            # No word is wider than its text: most cells need not be taken apart.
            if text > word:
                word = max((word, *_words(cell, whole=_ROW_NAME if i == 0 else 0)))
        field = any(isinstance(cell, Blank) and not cell.tick for cell in cells)
        found.append(_Measured(word, texts, field))
    return found


def _words(cell: str | TableCell | Blank, whole: int) -> Iterable[float]:
    """Widths of what is not broken in a cell: its words, an outcome with the word after it. [em]."""
    text = cell_text(cell)
    outcome = _outcome_width(cell, 1)
    words = [text] if len(text) <= whole else unbroken(text)
    for i, word in enumerate(words or [""]):
        if not long(word):
            yield text_width(word, 1) + (outcome if not i else 0.0)


def cell_width(cell: str | TableCell | Blank, size: float) -> float:
    """Width of a cell on one line. [unit of ``size``]."""
    face = "semibold" if isinstance(cell, TableCell) and cell.strong else "regular"
    page = text_width(", page 000", size) if isinstance(cell, TableCell) and cell.page else 0.0
    width = text_width(cell_text(cell), size, face) + page + _outcome_width(cell, size)
    if isinstance(cell, TableCell) and cell.note:
        return max(width, min(text_width(cell.note, _NOTE * size), _NOTED * size))
    return width


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
