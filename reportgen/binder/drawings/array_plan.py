"""Plan of an array seen from the front: each module with the letter and the tone of its string."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.binder.assets import text_width
from reportgen.binder.drawings.svg import Drawing
from reportgen.binder.elements import Figure, anchor

_WIDTH, _LEFT, _TOP, _LINE = 640.0, 26.0, 20.0, 15.0
#: Largest module drawn, its height over its width, and the most rows and columns that stay legible.
_LARGEST, _TALL, MOST = 46.0, 0.8, 40
_TONES = ("outline", "tone", "hatch")


@dataclass(frozen=True, slots=True)
class PlanString:
    """A string in a plan: its letter, the words beside it, and the places of its modules (row, column)."""

    letter: str
    told: str
    places: tuple[tuple[int, int], ...]


def letter(number: int) -> str:
    """Letter of the string of this number, counted from zero.

    Examples
    --------
    >>> letter(0), letter(25), letter(26)
    ('A', 'Z', 'AA')
    """
    return (letter(number // 26 - 1) if number >= 26 else "") + chr(ord("A") + number % 26)


def array_plan(array: str, rows: int, columns: int, strings: Sequence[PlanString]) -> Figure:
    """Plan of one array of at most :data:`MOST` rows and columns.

    A module that two strings claim shows ``!``; one that none claims stays empty with a dashed edge.
    """
    cell = min(_LARGEST, (_WIDTH - _LEFT - 4.0) / columns)
    high = cell * _TALL
    size = min(10.5, high * 0.6)
    bottom = _TOP + high * rows
    claims = Counter(place for string in strings for place in string.places)
    twice = sum(1 for count in claims.values() if count > 1)
    empty = rows * columns - len(claims)
    told = f"{rows} rows of {columns} modules seen from the front; {empty} in no string drawn" + (
        f"; {twice} in more than one string, marked !" if twice else ""
    )
    title = f"Plan of array {array}"
    height = bottom + 10.0 + _LINE * len(strings) + 4.0
    drawing = Drawing(anchor("array-plan", array), _WIDTH, height, title, told + ".")
    every = 1 if cell >= 15 else 5
    for column in range(1, columns + 1):
        if column == 1 or column % every == 0:
            drawing.text(_LEFT + cell * (column - 0.5), _TOP - 5.0, str(column), "quiet", 8.0, "middle")
    step = 1 if high >= 11 else 5
    for row in range(1, rows + 1):
        y = _TOP + high * (row - 1)
        if row == 1 or row % step == 0:
            drawing.text(_LEFT - 5.0, y + high / 2 + 3.0, str(row), "quiet", 8.0, "end")
        for column in range(1, columns + 1):
            if (row, column) not in claims:
                drawing.rect(_LEFT + cell * (column - 1), y, cell, high, "dashed")
    for number, string in enumerate(strings):
        tone = _TONES[number % len(_TONES)]
        for row, column in string.places:
            x, y = _LEFT + cell * (column - 1), _TOP + high * (row - 1)
            if claims[row, column] > 1:
                if string is next(one for one in strings if (row, column) in one.places):
                    _module(drawing, x, y, cell, high, "outline", "!", size)
                continue
            _module(drawing, x, y, cell, high, tone, string.letter, size)
        base = bottom + 10.0 + _LINE * (number + 0.75)
        _module(drawing, _LEFT, base - 10.0, 22.0, 13.0, tone, string.letter, 8.5)
        drawing.text(_LEFT + 30.0, base, _cut(string.told, _WIDTH - _LEFT - 34.0), "label", 9.5)
    return Figure(drawing.markup(), title, drawing.description, id=drawing.key)


def _module(
    drawing: Drawing, x: float, y: float, wide: float, high: float, tone: str, mark: str, size: float
) -> None:
    size = min(size, size * (wide - 2.0) / max(text_width(mark, size, "semibold"), 0.1))
    drawing.rect(x, y, wide, high, tone)
    if tone == "hatch":  # paper behind the letter, or the hatching eats it
        behind = text_width(mark, size, "semibold") + 2.0
        drawing.rect(x + (wide - behind) / 2, y + high / 2 - size / 2, behind, size, "outline")
    drawing.text(x + wide / 2, y + high / 2 + size * 0.36, mark, "strong", size, "middle")


def _cut(words: str, room: float) -> str:
    if text_width(words, 9.5) <= room:
        return words
    words = words[:200]
    while words and text_width(words + "…", 9.5) > room:
        words = words[:-1]
    return words + "…"
