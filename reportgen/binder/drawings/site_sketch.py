"""Sketch of a site: what stands there and what runs from one to the other, in order and not to scale."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from reportgen.binder.assets import text_width
from reportgen.binder.drawings.svg import Drawing, TextBox
from reportgen.binder.drawings.words import wrapped
from reportgen.binder.elements import Figure

_WIDTH, _SIZE, _PITCH, _TOP = 640.0, 8.9, 10.6, 2.0
#: Widest box, its share of a column, height of a box and of its row. [CSS px]
_BOX, _SHARE, _HIGH, _ROW = 92.0, 0.66, 34.0, 42.0
#: Columns, rows and numbered ways that a sheet holds.
COLUMNS, ROWS, WAYS = 9, 10, 24
#: Height of a sheet, and lines of it kept for the legend. [CSS px]
_TALL, _LEGEND = 840.0, 8


@dataclass(frozen=True, slots=True)
class Place:
    """Something that stands on the site; ``kind`` is array, box, isolators or inverter, ``inside`` in or on a building."""

    id: str
    name: str
    about: str
    kind: str
    column: int
    inside: bool = False


@dataclass(frozen=True, slots=True)
class Way:
    """What runs between two places, ``told`` in words; without words it only ties a place to what it stands beside.

    ``pen`` is ``heavy`` for pipe, ``dashed`` for pipe in earth, ``axis`` for wires alone, ``leader`` for a tie.
    """

    start: str
    end: str
    pen: str
    told: str = ""


def site_sketch(
    key: str,
    title: str,
    description: str,
    places: Sequence[Place],
    ways: Sequence[Way],
    legend: Sequence[str],
) -> Figure:
    """Sheet with numbered ways and a line for each under it.

    Parameters
    ----------
    key : str
        Unique within the binder.
    title, description : str
        For the caption and for readers who cannot see the drawing.
    places : sequence of Place
        With the column of each; neighbours of a column stand one under the other.
    ways : sequence of Way
        Those with words are numbered in this order.
    legend : sequence of str
        Further lines.

    Raises
    ------
    ValueError
        If there are more columns, rows or ways than a sheet holds, or nothing to draw.
    """
    columns: dict[int, list[Place]] = defaultdict(list)
    for place in places:
        columns[place.column].append(place)
    count = max(columns, default=-1) + 1
    most = max(map(len, columns.values()), default=0)
    numbered = [way for way in ways if way.told]
    if not (1 <= count <= COLUMNS and most <= ROWS and len(numbered) <= WAYS):
        msg = f"a sketch of {count} columns, {most} rows and {len(numbered)} ways"
        raise ValueError(msg)
    pitch = (_WIDTH - 2.0) / count
    wide = min(_BOX, _SHARE * pitch)
    body = _TOP + _ROW * most
    spots: dict[str, tuple[float, float]] = {}
    for column, found in columns.items():
        first = _TOP + (_ROW * most - _ROW * len(found)) / 2
        for row, place in enumerate(found):
            spots[place.id] = (
                1.0 + pitch * column + (pitch - wide) / 2,
                first + _ROW * row + (_ROW - _HIGH) / 2,
            )
    each = max(1, min(4, (int((_TALL - body) / _PITCH) - _LEGEND) // max(len(numbered), 1)))
    told = [
        line
        for number, way in enumerate(numbered, start=1)
        for line in wrapped(f"{number}  {way.told}", _WIDTH - 4.0, _SIZE, most=each)
    ]
    for text in legend:
        told += wrapped(text, _WIDTH - 4.0, _SIZE, most=max(1, int((_TALL - body) / _PITCH) - len(told)))
    height = body + 8.0 + _PITCH * len(told) + 6.0
    drawing = Drawing(
        key, _WIDTH, height, title, f"{description} {' '.join(f'{way.told}.' for way in numbered)}"
    )
    for way in ways:
        (x1, y1), (x2, y2) = (
            _side(spots[one], spots[other], wide)
            for one, other in ((way.start, way.end), (way.end, way.start))
        )
        drawing.line(x1, y1, x2, y2, way.pen)
    for place in places:
        _place(drawing, place, spots[place.id], wide)
    taken = [TextBox("", x, y, x + wide, y + _HIGH) for x, y in spots.values()]
    for number, way in enumerate(numbered, start=1):
        _number(
            drawing,
            number,
            _side(spots[way.start], spots[way.end], wide),
            _side(spots[way.end], spots[way.start], wide),
            taken,
        )
    for number, line in enumerate(told, start=1):
        drawing.text(2.0, body + 8.0 + _PITCH * number, line, "label", _SIZE)
    return Figure(drawing.markup(), title, description, id=drawing.key)


def _side(one: tuple[float, float], other: tuple[float, float], wide: float) -> tuple[float, float]:
    """Middle of the edge of a box that looks towards another."""
    x, y = one
    if other[0] > x + 1.0:
        return x + wide, y + _HIGH / 2
    if other[0] < x - 1.0:
        return x, y + _HIGH / 2
    return x + wide / 2, y + (_HIGH if other[1] > y else 0.0)


def _place(drawing: Drawing, place: Place, spot: tuple[float, float], wide: float) -> None:
    x, y = spot
    drawing.rect(
        x, y, wide, _HIGH, "tone" if place.inside else "outline", 6.0 if place.kind == "inverter" else 0.0
    )
    if place.kind == "array":
        for number in (1, 2):
            drawing.line(x + wide * number / 3, y, x + wide * number / 3, y + 4.0, "axis")
    elif place.kind == "isolators":
        drawing.line(x + wide - 12.0, y + 4.5, x + wide - 4.0, y + 1.0, "axis")
    name = wrapped(place.name, wide - 5.0, _SIZE, "semibold", 2)
    about = wrapped(place.about, wide - 5.0, _SIZE, most=3 - len(name))
    top = y + (_HIGH - _PITCH * (len(name) + len(about))) / 2 + _PITCH - 2.0
    for number, line in enumerate((*name, *about)):
        ink = "strong" if number < len(name) else "label"
        drawing.text(x + wide / 2, top + _PITCH * number, line, ink, _SIZE, "middle")


def _number(
    drawing: Drawing,
    number: int,
    start: tuple[float, float],
    end: tuple[float, float],
    taken: list[TextBox],
) -> None:
    """Number of a way in a small box on its line, where it hides no other one."""
    half = text_width(str(number), _SIZE, "semibold") / 2 + 2.5
    for share in (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9):
        x, y = (a + share * (b - a) for a, b in zip(start, end, strict=True))
        for beside in (0.0, -13.0, 13.0):
            box = TextBox("", x - half, y + beside - 6.0, x + half, y + beside + 6.0)
            if box.left >= 0 and box.top >= 0 and box.right <= _WIDTH and not any(map(box.overlaps, taken)):
                taken.append(box)
                drawing.rect(box.left, box.top, 2 * half, 12.0, "outline", 3.0)
                drawing.text(x, y + beside + 3.2, str(number), "strong", _SIZE, "middle")
                return


def columns_of(ids: Sequence[str], ways: Sequence[Way]) -> Mapping[str, int]:
    """Column of each place: one behind the farthest that leads to it; a way back to an earlier place counts for nothing.

    Examples
    --------
    >>> columns_of(["A", "B", "C"], [Way("A", "B", "heavy"), Way("B", "C", "heavy"), Way("A", "C", "heavy")])
    {'A': 0, 'B': 1, 'C': 2}
    """
    waiting = dict.fromkeys(ids, 0)
    leads: dict[str, list[str]] = defaultdict(list)
    for way in ways:
        if way.start != way.end:
            leads[way.start].append(way.end)
            waiting[way.end] += 1
    first = {one for one, count in waiting.items() if not count}
    made = dict.fromkeys(ids, 0)
    ready = [one for one in ids if one in first]
    while waiting:
        # In a ring the place that the folder names first begins it.
        one = ready.pop(0) if ready else next(iter(waiting))
        if waiting.pop(one, None) is None:
            continue
        for end in leads[one]:
            if end in waiting:
                made[end] = max(made[end], made[one] + 1)
                waiting[end] -= 1
                if not waiting[end]:
                    ready.append(end)
    ahead: dict[str, list[int]] = defaultdict(list)
    for way in ways:
        ahead[way.start].append(made[way.end])
    # What nothing leads to stands right before what it leads to, so that no way runs behind another place.
    return {
        one: max(min(ahead[one]) - 1, 0) if one in first and ahead[one] else place
        for one, place in made.items()
    }
