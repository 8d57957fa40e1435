"""Task cards: what is carried outside, each on one sheet, black on white, complete without the rest of the binder.

A chapter makes its cards with :func:`task_cards` and appends them to its elements::

    *task_cards(
        "ring-out",
        "Ring-out of pulled wire",
        purpose="Prove that every wire is the one its label says, before anything is landed.",
        stop=("a meter lead shows any voltage: the array is not isolated",),
        cautions=(Caution("Electronics", "Disconnect them before a megohmmeter.", "maker's manual"),),
        steps=("Open and lock SW-1.", "Short the far ends one at a time."),
        form=FormTable("ring-out-card", "Readings", columns, rows),
    )

Steps print with large boxes to tick, the form with cells to fill in (``Blank()``, ``Blank(tick=True)``), and each
card ends with space for remarks, a line for name, date and initials, and in the foot of its page project, revision
and input digest. A form too long for a page is dealt out over several cards; every one of them repeats purpose,
stop conditions and cautions, since a sheet gets lost from its fellows; steps and facts stand on the first alone.
Steps and facts have to fit one page with the rest. A card that is laid out otherwise may be a
:class:`~reportgen.binder.elements.TaskCard` by itself; its page is then for its author to keep.

Heights are worked out from the widths of the font, like those of tables. A card is never parted between two sheets;
two short ones that follow each other share a sheet.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import zip_longest

from reportgen.binder.assets import text_width
from reportgen.binder.elements import Blank, Caution, Facts, Fields, FormTable, Steps, TableCell, TaskCard
from reportgen.binder.fields import subjects
from reportgen.binder.fitting import SIZES, UPRIGHT, cell_width, fit

_MM = 96 / 25.4
#: Height of the text of a card on a letter sheet, with a reserve, and how much higher A4 is. [CSS px]
_ROOM, _TALLER = (279.4 - 14 - 22 - 4) * _MM, 17.6 * _MM
#: Print sizes of running text, cautions and facts on a card. [CSS px]
_TEXT, _CAUTION, _FACTS = 9.5 * 96 / 72, 8.5 * 96 / 72, 8.5 * 96 / 72
#: Least height of a row of a form: of a box to tick and its borders. [CSS px]
_LEAST = 6.7 * _MM + 2
#: Lines run a little fuller than their text is wide, because words are not split. [-]
_RAGGED = 1.12

FormRow = tuple[str | TableCell | Blank, ...]


def task_cards(
    id: str,
    title: str,
    *,
    purpose: str,
    stop: Sequence[str],
    cautions: Sequence[Caution] = (),
    steps: Sequence[str] = (),
    facts: Facts | None = None,
    form: FormTable | None = None,
    remarks: int = 2,
    tall: bool = False,
    twice: bool = False,
) -> tuple[TaskCard, ...]:
    """Cards of one task, as many as its form needs; one where it has none.

    Parameters
    ----------
    id : str
        Unique in the binder; the card is `card-<id>`, further ones carry a number behind it.
    title : str
        Names the task.
    purpose : str
        What the task is for, one sentence.
    stop : sequence of str
        When the work is not begun or not gone on with; a card without one is refused.
    cautions : sequence of Caution
        Hazards of this task, printed on every card of it.
    steps : sequence of str
        In the order of the work, each with a box to tick.
    facts : Facts, optional
        Numbers to have at hand.
    form : FormTable, optional
        What is filled in, one row a thing.
    remarks : int
        Height of the space for remarks. [lines]
    tall : bool
        The sheets are A4, which is higher than letter.
    twice : bool
        The rows of the form stand two abreast.

    Raises
    ------
    ValueError
        If purpose or stop conditions are missing.
    """
    if not purpose or not stop:
        msg = f"task card {id!r} needs a purpose and at least one stop condition"
        raise ValueError(msg)
    room = _ROOM + (_TALLER if tall else 0) - _fixed_height(title, purpose, stop, cautions, remarks)
    once = _steps_height(steps) + _facts_height(facts)
    parts: list[FormTable | None] = [None]
    if form is not None:
        named = replace(form, called=f"card-{id}", subjects=subjects(form))
        parts = list(_dealt(named, room - once, room, twice))
    cards = []
    for number, part in enumerate(parts, start=1):
        place = f"card-{id}" if number == 1 else f"card-{id}-{number}"
        told = title if len(parts) == 1 else f"{title}, card {number} of {len(parts)}"
        body: list[Caution | Steps | Facts | FormTable | Fields] = list(cautions)
        if steps and number == 1:
            body.append(Steps(f"{place}-steps", tuple(steps)))
        if facts is not None and number == 1:
            body.append(facts)
        if part is not None:
            body.append(replace(part, id=f"{place}-form"))
        signed = [Blank("Done by, initials"), Blank("Date")]
        if remarks:
            signed.insert(0, Blank("Remarks", lines=remarks))
        body.append(Fields(f"{place}-signed", tuple(signed)))
        cards.append(TaskCard(place, told, tuple(body), purpose, tuple(stop)))
    return tuple(cards)


def _dealt(form: FormTable, first: float, further: float, twice: bool) -> Iterator[FormTable | None]:
    """The form in pieces that fit the room on the first and on every further card; None where the first has no room."""
    heights = _Heights(form, twice)
    start, room = 0, first - heights.beside
    if form.rows and heights.of(0, 1) > room and further > first:
        yield None
        room = further - heights.beside
    while True:
        end = min(len(form.rows), start + (2 if twice else 1) * max(1, int(room // _LEAST)))
        while end - start > 1 and heights.of(start, end) > room:
            end -= 1
        yield _folded(form, start, end) if twice else _part(form, start, end)
        start, room = end, further - heights.beside
        if start >= len(form.rows):
            return


def _folded(form: FormTable, start: int, end: int) -> FormTable:
    """Rows of a form two abreast: down the left half and then down the right one."""
    half = (end - start + 1) // 2
    empty: FormRow = ("",) * len(form.columns)
    rows = tuple(
        (*form.rows[k], *(form.rows[k + half] if k + half < end else empty))
        for k in range(start, start + half)
    )
    part = _part(form, start, end)
    return replace(part, columns=form.columns * 2, rows=rows, twice=True)


def _part(form: FormTable, start: int, end: int) -> FormTable:
    return replace(form, rows=form.rows[start:end], subjects=form.subjects[start:end])


class _Heights:
    """Heights of a form: of what stands beside its rows, and of rows [CSS px]."""

    def __init__(self, form: FormTable, twice: bool = False) -> None:
        whole = _folded(form, 0, len(form.rows)) if twice else form
        set_ = fit(whole)
        size = next((px for px, name in SIZES if name and name in set_.size.split()), SIZES[0][0])
        widths = [share / 100 * UPRIGHT for share in set_.shares]
        heads = [f"{column.title} {column.unit}" for column in whole.columns]
        head = size * 1.22 * (2 + _lines(heads, widths, size)) + 2 * size
        if any(column.group for column in form.columns):
            head += 2 * size
        notes = sum(_wrapped(note, 10.0, UPRIGHT) * 10.0 * 1.4 for note in form.notes)
        self.beside = head + notes + (8 if form.notes else 0) + 4 * _MM
        left, right = widths[: len(form.columns)], widths[-len(form.columns) :]
        self._left = [_row_height(row, left, size) for row in form.rows]
        self._right = [_row_height(row, right, size) for row in form.rows] if twice else []

    def of(self, start: int, end: int) -> float:
        """Height of some of the rows, two abreast where they are set so."""
        if not self._right:
            return sum(self._left[start:end])
        half = start + (end - start + 1) // 2
        pairs = zip_longest(self._left[start:half], self._right[half:end], fillvalue=0.0)
        return sum(max(pair) for pair in pairs)


def card_height(card: TaskCard) -> float:
    """About how high a card is, and endless where it holds something that is not measured [CSS px]."""
    cautions = [one for one in card.elements if isinstance(one, Caution)]
    told = _fixed_height(card.title, card.purpose, card.stop, cautions, 0) - 10 * _MM
    for element in card.elements:
        match element:
            case FormTable():
                heights = _Heights(element)
                told += heights.beside + heights.of(0, len(element.rows))
            case Steps(items=items):
                told += _steps_height(items)
            case Facts():
                told += _facts_height(element)
            case Fields(fields=fields):
                told += sum((field.lines * 1.6 * 10.7 + 7.5 * _MM) for field in fields if field.lines > 1)
                told += 8 * _MM * (sum(field.lines == 1 for field in fields) // 2)
            case Caution():
                pass
            case _:
                return math.inf
    return told


def sheet_height(*, tall: bool) -> float:
    """Height of the text of a card on a sheet [CSS px]."""
    return _ROOM + (_TALLER if tall else 0)


def _row_height(row: FormRow, widths: Sequence[float], size: float) -> float:
    lines = max(
        _cell_lines(cell, width - 1.1 * size - 1, size) for cell, width in zip(row, widths, strict=True)
    )
    # A cell to write in or to tick is 6.7 mm high, with its border.
    return max(_LEAST, lines * size * 1.33 + 0.6 * size)


def _cell_lines(cell: str | TableCell | Blank, room: float, size: float) -> float:
    width = cell_width(cell, size)
    lines = 1 if width <= room else math.ceil(width * _RAGGED / max(room, size))
    note = _wrapped(cell.note, size * 0.88, room) if isinstance(cell, TableCell) and cell.note else 0
    return lines + note


def _lines(texts: Sequence[str], widths: Sequence[float], size: float) -> int:
    pairs = zip(texts, widths, strict=True)
    return max(_wrapped(text, size, width - 1.1 * size, "semibold") for text, width in pairs)


def _wrapped(text: str, size: float, room: float, face: str = "regular") -> int:
    """Lines of a text in a column."""
    return max(1, math.ceil(text_width(text, size, face) * _RAGGED / max(room, size)))


def _fixed_height(
    title: str,
    purpose: str,
    stop: Sequence[str],
    cautions: Sequence[Caution],
    remarks: int,
) -> float:
    """Height of what stands on every card [CSS px]."""
    line = _TEXT * 1.42
    told = _wrapped(f"Task card: {title}, card 10 of 10", 20, UPRIGHT, "semibold") * 20 * 1.42 + 8
    told += _wrapped(purpose, _TEXT, UPRIGHT) * line + 8 if purpose else 0
    inner = UPRIGHT - 9 * _MM
    # The word beside the conditions takes its own room.
    if stop:
        told += sum(_wrapped(item, _TEXT, inner - 18 * _MM) for item in stop) * (line + 1) + 6 * _MM
    for caution in cautions:
        texts = (caution.title, caution.text, caution.basis)
        told += sum(_wrapped(text, _CAUTION, inner) * _CAUTION * 1.42 for text in texts if text) + 7.5 * _MM
    told += (remarks * 1.6 * 10.7 + 7.5 * _MM) if remarks else 0
    # The line for name and date.
    return told + 10 * _MM


def _steps_height(steps: Sequence[str]) -> float:
    if not steps:
        return 0.0
    line = _TEXT * 1.42
    each = [_wrapped(f"10 {step}", _TEXT, UPRIGHT - 12 * _MM) * line + 2 * _MM for step in steps]
    return sum(max(7.2 * _MM, height) + 2 for height in each) + 4 * _MM


def _facts_height(facts: Facts | None) -> float:
    if facts is None:
        return 0.0
    names, values = UPRIGHT * 0.31 - 14, UPRIGHT * 0.69 - 14
    lines = [max(_wrapped(name, _FACTS, names), _wrapped(text, _FACTS, values)) for name, text in facts.pairs]
    caption = 2 * _FACTS if facts.caption else 0.0
    return sum(each * _FACTS * 1.33 + 0.6 * _FACTS for each in lines) + 20 + caption
