"""Names of fields to fill in: what a filled-in file is read by, and what a reader that speaks says of each.

Two fields of one name are one field to a PDF: what is typed into one shows in both. So no two fields of a binder
share a name, whatever a folder calls its things, and a name says what it is about: the form, what the row is about
(a circuit, a terminal, a string), and what is read there. It does not change when forms are dealt out otherwise.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from reportgen.binder.elements import Blank, Column, Fields, FormTable, Steps, TableCell
from reportgen.binder.fitting import cell_text
from reportgen.binder.typeset import clean

#: Longer subjects are cut in a name, which then tells the number of the row instead.
_LONGEST = 80
_COUNT = re.compile(r"\d+\.?")
_NUMBER = re.compile(r"[+−-]?\d+(\.\d+)?")


def subjects(form: FormTable) -> tuple[str, ...]:
    """What each row of a form is about: as few of its printed cells as tell it from every other row.

    Numbers are told with what they are. Rows that print the same are told apart by their place in the form.

    Examples
    --------
    >>> heads = (Column("Device"), Column("Terminal"), Column("Done"))
    >>> rows = (("SW-1", "T1", Blank(tick=True)), ("SW-1", "T2", Blank(tick=True)), ("SW-2", "T1", Blank(tick=True)))
    >>> subjects(FormTable("t", "", heads, rows))
    ('SW-1, T1', 'SW-1, T2', 'SW-2')
    """
    if form.subjects:
        return form.subjects
    told = [_told(row, form.columns) for row in form.rows]
    # A running number says nothing about a row.
    taken = [
        2 if len(row) > 1 and _COUNT.fullmatch(cell_text(cells[0])) and not form.columns[0].unit else 1
        for row, cells in zip(told, form.rows, strict=True)
    ]
    while True:
        found = [", ".join(row[:k]) for row, k in zip(told, taken, strict=True)]
        shared = Counter(found)
        longer = [
            k + 1 if shared[text] > 1 and k < len(row) else k
            for text, row, k in zip(found, told, taken, strict=True)
        ]
        if longer == taken:
            return tuple(_distinct(found))
        taken = longer


def placed(form: FormTable) -> tuple[tuple[tuple[str, str], ...], ...]:
    """Name of the field in each cell of a form, and what it is about, by row; where two stand abreast for each its own."""
    if not form.twice:
        return tuple(
            tuple((name, subject) for name in row)
            for row, subject in zip(names(form), subjects(form), strict=True)
        )
    half = len(form.columns) // 2
    single = replace(form, columns=form.columns[:half], rows=form.entries, twice=False)
    told, count = placed(single), len(form.rows)
    empty = (("", ""),) * half
    return tuple((*told[k], *(told[k + count] if k + count < len(told) else empty)) for k in range(count))


def label(field: Blank, column: Column, subject: str) -> str:
    """What a reader that speaks says of a field of a table: what is read, in which unit, and of what.

    Examples
    --------
    >>> label(Blank(), Column("+", "V", group="To ground"), "E1")
    'To ground +, V: E1'
    """
    return f"{_what(field, column)}{f', {column.unit}' if column.unit else ''}: {subject}"


def names(form: FormTable) -> tuple[tuple[str, ...], ...]:
    """Name of the field in each cell of a form, by row; empty for what is printed.

    Examples
    --------
    >>> form = FormTable("ring-out", "", (Column("Wire"), Column("Beeps")), (("PV-1+", Blank()), ("PV-1-", Blank())))
    >>> names(form)
    (('', 'ring-out/PV-1+/Beeps'), ('', 'ring-out/PV-1-/Beeps'))
    """
    place = _part(form.called or form.id)
    made = []
    for number, (row, subject) in enumerate(zip(form.rows, subjects(form), strict=True), 1):
        about = subject if len(subject) <= _LONGEST else f"{subject[:_LONGEST]}… {number}"
        blanks = [k for k, cell in enumerate(row) if isinstance(cell, Blank)]
        whats = _distinct([_what(row[k], form.columns[k]) for k in blanks])  # type: ignore[arg-type]
        told = dict(zip(blanks, whats, strict=True))
        made.append(
            tuple(
                f"{place}/{_part(about, '/')}/{_part(told[k])}" if k in told else "" for k in range(len(row))
            )
        )
    return tuple(made)


def field_names(sheet: Fields | Steps) -> tuple[str, ...]:
    """Name of each field of a sheet's head, sign-off block or list of steps, which are numbered.

    Examples
    --------
    >>> field_names(Fields("card-signed", (Blank("Remarks"), Blank("Date"))))
    ('card-signed/Remarks', 'card-signed/Date')
    """
    if isinstance(sheet, Steps):
        return tuple(f"{_part(sheet.id)}/{number}" for number in range(1, len(sheet.items) + 1))
    return tuple(f"{_part(sheet.id)}/{_part(text)}" for text in _distinct([f.name for f in sheet.fields]))


def _distinct(texts: Sequence[str]) -> list[str]:
    """The texts, those that occur again with a number behind them that makes them unlike all others."""
    taken: dict[str, int] = {}
    for text in texts:
        told, number = text, 1
        while told in taken:
            number += 1
            told = f"{text} ({number})"
        taken[told] = number
    return list(taken)


def _what(field: Blank, column: Column) -> str:
    return field.name or f"{column.group} {column.title}".strip()


def _told(row: Sequence[str | TableCell | Blank], columns: Sequence[Column]) -> list[str]:
    """The printed cells of a row, numbers with their heads and units."""
    return [
        f"{column.title.removesuffix('.')} {text} {column.unit}".strip()
        if _NUMBER.fullmatch(text)
        else text.removesuffix(".") or text
        for text, column in zip((str(clean(cell_text(cell))) for cell in row), columns, strict=True)
        if text
    ]


def _part(text: str, kept: str = "") -> str:
    """A part of a name: a full stop would part it into names of names, a stroke into further parts."""
    found = str(clean(text)).replace("%", "%25").replace(".", "%2E")
    return found if kept else found.replace("/", "%2F")
