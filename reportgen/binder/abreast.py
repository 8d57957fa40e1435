"""Which workings stand two abreast: neighbours whose narrow tables would leave half a sheet empty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from reportgen.binder.assets import text_width
from reportgen.binder.elements import Table, TableCell, WorkingTable
from reportgen.binder.fitting import HALF, UPRIGHT, cell_width, fit, fits_half

#: Most lines of a table that stands abreast of another: the two are never parted between sheets.
_MOST = 16
#: Print of a working, height of its lines and of the rows of its table. [CSS px]
_SIZE, _LINE, _ROW, _HEAD = 10.0, 14.2, 17.0, 12.2
#: Height that has to be saved by standing abreast. [CSS px]
_WORTH = 12.0


def abreast(workings: Sequence[WorkingTable]) -> list[WorkingTable]:
    """The same workings in the same order, pairs of neighbours set on half the width where that makes them lower."""
    made: list[WorkingTable] = []
    waiting: WorkingTable | None = None
    for working in workings:
        narrow = _narrow(working)
        if narrow is not None and waiting is not None:
            left = replace(waiting, table=replace(waiting.table, half=True)) if waiting.table else waiting
            right = replace(working, table=narrow)
            lower = max(_height(left, HALF), _height(right, HALF)) + _WORTH
            if lower < _height(waiting, UPRIGHT) + _height(working, UPRIGHT):
                made[-1:] = [left, right]
                waiting = None
                continue
        made.append(working)
        waiting = working if narrow is not None else None
    return made


def _narrow(working: WorkingTable) -> Table | None:
    """The table of a working on half the width, nothing where it asks for more."""
    table = working.table
    if table is None or len(table.rows) > _MOST or not fits_half(table):
        return None
    return replace(table, half=True)


def _height(working: WorkingTable, room: float) -> float:
    """Height of a working, about [CSS px]."""
    table = working.table
    if table is None:
        return 0.0
    told = [working.name, working.symbols, working.clause]
    told += [
        f"{term.symbol} = {term.value} {term.unit} {term.name}, {term.source};" for term in working.given
    ]
    widths = [share / 100 * room - _SIZE for share in fit(table).shares]
    heads = max(
        math.ceil(text_width(f"{column.symbol} {column.title} {column.unit}", _SIZE) / max(width, _SIZE))
        for column, width in zip(table.columns, widths, strict=True)
    )
    notes = sum(_lines(note, room) for note in table.notes)
    more = sum(
        max(_more(cell, width) for cell, width in zip(row.cells, widths, strict=True)) for row in table.rows
    )
    rows = len(table.rows) * _ROW + more * _LINE
    return (_lines(" ".join(told), room) + notes) * _LINE + heads * _HEAD + rows


def _more(cell: TableCell, width: float) -> int:
    """Lines of a cell beyond its first."""
    return math.ceil(cell_width(cell, _SIZE) / max(width, _SIZE)) - 1 + bool(cell.note)


def _lines(text: str, room: float) -> int:
    return math.ceil(text_width(text, _SIZE) * 1.08 / room)
