"""Plan of an array seen from the front: each module with the letter and the colour of its string."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reportgen.binder.assets import text_width
from reportgen.binder.drawings.svg import HUES, Drawing
from reportgen.binder.elements import Figure, anchor

_WIDTH, _LEFT, _TOP, _LINE = 640.0, 26.0, 20.0, 15.0
#: Largest module drawn, its height over its width, and the most rows and columns that stay legible.
_LARGEST, _TALL, MOST = 46.0, 0.8, 40
#: Where the wire of an end runs beside the letters of the modules below it, as a share of a module from its left edge;
#: how far under the array it turns to the side that it leaves on [CSS px]; its pen.
_RUNS = {"+": (0.12, 5.0, "line"), "−": (0.88, 9.0, "dotted")}


@dataclass(frozen=True, slots=True)
class PlanString:
    """A string in a plan: its letter, the words beside it, the places of its modules (row, column), and of its ends."""

    letter: str
    told: str
    places: tuple[tuple[int, int], ...]
    positive: tuple[int, int] | None = None
    negative: tuple[int, int] | None = None

    def ends(self) -> Iterator[tuple[str, tuple[int, int]]]:
        """Sign and module of each end that is among its places."""
        for sign, at in (("+", self.positive), ("−", self.negative)):
            if at is not None and at in self.places:
                yield sign, at

    def mark(self, at: tuple[int, int]) -> str:
        """What a module of it shows: the letter, with the sign where an end is."""
        return self.letter + "".join(sign for sign, end in self.ends() if end == at)


def letter(number: int) -> str:
    """Letter of the string of this number, counted from zero.

    Examples
    --------
    >>> letter(0), letter(25), letter(26)
    ('A', 'Z', 'AA')
    """
    return (letter(number // 26 - 1) if number >= 26 else "") + chr(ord("A") + number % 26)


def array_plan(
    array: str, rows: int, columns: int, strings: Sequence[PlanString], leave: str = "", into: str = ""
) -> Figure:
    """Plan of one array of at most :data:`MOST` rows and columns.

    A module that two strings claim shows ``!``; one that none claims stays empty with a dashed edge. Ends carry their
    sign, and their wires run to the side, ``left`` or ``right``, on which the home runs ``leave``; ``into`` what.
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
    ends = any(True for string in strings for _ in string.ends())
    below = bottom + (16.0 if ends and leave else 10.0)
    height = below + _LINE * (len(strings) + ends) + 4.0
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
        tone = f"hue{number % len(HUES) + 1}"
        for row, column in string.places:
            x, y = _LEFT + cell * (column - 1), _TOP + high * (row - 1)
            if claims[row, column] > 1:
                if string is next(one for one in strings if (row, column) in one.places):
                    _module(drawing, x, y, cell, high, "outline", "!", size)
                continue
            _module(drawing, x, y, cell, high, tone, string.mark((row, column)), size)
        base = below + _LINE * (number + 0.75)
        _module(drawing, _LEFT, base - 10.0, 22.0, 13.0, tone, string.letter, 8.5)
        drawing.text(_LEFT + 30.0, base, _cut(string.told, _WIDTH - _LEFT - 34.0), "label", 9.5)
    if ends:
        words = f"+ and − positive and negative end; home runs {into}".rstrip()
        if leave:
            words += f" leave on the {leave}, dotted the negative"
            _runs(drawing, strings, cell, high, bottom, _LEFT + cell * columns if leave == "right" else _LEFT)
        else:
            words += ": side not stated"
        drawing.text(
            _LEFT, below + _LINE * (len(strings) + 0.75), _cut(words, _WIDTH - _LEFT - 4.0), "label", 9.5
        )
    return Figure(drawing.markup(), title, drawing.description, id=drawing.key)


def _runs(
    drawing: Drawing, strings: Sequence[PlanString], cell: float, high: float, bottom: float, side: float
) -> None:
    """Wire from each end down past the modules below it, then to the side; those of one column lie together."""
    for sign, (share, under, pen) in _RUNS.items():
        highest: dict[int, int] = {}
        for row, column in (at for string in strings for mark, at in string.ends() if mark == sign):
            highest[column] = min(row, highest.get(column, row))
        for column, row in highest.items():
            x = _LEFT + cell * (column - 1 + share)
            drawing.polyline([(x, _TOP + high * row), (x, bottom + under), (side, bottom + under)], pen)


def _module(
    drawing: Drawing, x: float, y: float, wide: float, high: float, tone: str, mark: str, size: float
) -> None:
    room = wide - 2.0 if len(mark) == 1 else 0.7 * wide  # beside a mark of several signs a wire may run
    size = min(size, size * room / max(text_width(mark, size, "semibold"), 0.1))
    drawing.rect(x, y, wide, high, tone)
    drawing.text(x + wide / 2, y + high / 2 + size * 0.36, mark, "strong", size, "middle")


def _cut(words: str, room: float) -> str:
    if text_width(words, 9.5) <= room:
        return words
    words = words[:200]
    while words and text_width(words + "…", 9.5) > room:
        words = words[:-1]
    return words + "…"
