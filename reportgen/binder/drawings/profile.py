"""Profile of a raceway as a strip: what it climbs and passes, its bends and cover, and the pull along it.

Each stretch is drawn as wide as its words need and then by its length; the tension is drawn over the same places,
so that a peak stands over the bend that makes it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reportgen.binder.charts import ticks
from reportgen.binder.drawings.svg import Drawing
from reportgen.binder.drawings.words import wrapped
from reportgen.binder.elements import Figure
from reportgen.working.text import significant

_WIDTH, _LEFT, _RIGHT, _SIZE, _PITCH = 640.0, 66.0, 604.0, 8.9, 10.6
#: Least width of a stretch, and the most stretches that a strip holds legibly. [CSS px]
_LEAST, MOST = 62.0, 8
#: Lines on which a pipe lies, by its surroundings. [CSS px]
_GRADE = 68.0
_LEVELS = {"underground": 86.0, "outdoors": 52.0, "indoors": 52.0, "roof": 40.0}
_PLOT, _PLOT_HIGH = 102.0, 62.0
#: Pens of the pulls, the one with the least friction first.
_PENS = ("heavy", "line", "dashed")
#: A limit higher than this many times the greatest tension is told and not drawn, or the lines would lie flat.
_FAR = 2.2
_ROWS = ("Stretch", "Place", "Pipe", "Length", "Bends", "Cover, climb")


@dataclass(frozen=True, slots=True)
class ProfileStretch:
    """A stretch of the strip.

    Parameters
    ----------
    length : float
        Along the pipe, in any one unit.
    place, pen : str
        Surroundings, and ``heavy`` for new, ``line`` for existing, ``dotted`` for removed pipe.
    cells : tuple of str
        Its name, place, pipe, length, bends, and cover or climb, as printed.
    bends : tuple of float
        Place of each bend that has one, as a share of the length. [-]
    """

    length: float
    place: str
    pen: str
    cells: tuple[str, str, str, str, str, str]
    bends: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class ProfileSection:
    """Stretches ``first`` to ``last`` between two pull points, pulled at once.

    Parameters
    ----------
    told : str
        What is printed of it under the strip.
    forward : bool or None
        Pulled from its start to its end; None where nothing is pulled, or no direction is known.
    pulls : tuple of tuple of (float, float)
        Tension over the distance from its start, one line for each friction, the least friction first.
    bands : tuple of (float, float)
        Where the plan takes its bends to be, along it.
    limit : float or None
        Lowest limit of its tension.
    """

    first: int
    last: int
    start: str
    end: str
    told: str
    forward: bool | None = None
    pulls: tuple[tuple[tuple[float, float], ...], ...] = ()
    bands: tuple[tuple[float, float], ...] = ()
    limit: float | None = None


def profile(
    key: str,
    title: str,
    description: str,
    stretches: Sequence[ProfileStretch],
    sections: Sequence[ProfileSection],
    names: Sequence[str],
    unit: str,
) -> Figure:
    """Strip of one raceway, or of a part of it with at most :data:`MOST` stretches.

    Parameters
    ----------
    key : str
        Unique within the binder.
    title, description : str
        For the caption; who cannot see the drawing is told what stands under it besides.
    stretches : sequence of ProfileStretch
        In order, at least one.
    sections : sequence of ProfileSection
        In order, all stretches together.
    names : sequence of str
        Of the frictions, the least first.
    unit : str
        Of the tension.

    Raises
    ------
    ValueError
        If there is no stretch, more than a strip holds, or one without a length.
    """
    if not 1 <= len(stretches) <= MOST or any(one.length <= 0 for one in stretches):
        msg = f"a profile of {len(stretches)} stretches, each of which needs a length"
        raise ValueError(msg)
    edges = _edges(stretches)
    pulled = any(one.pulls for one in sections)
    table_top = _PLOT + (_PLOT_HIGH + 24.0 if pulled else 2.0)
    cells = [
        [
            wrapped(cell, right - left - 5.0, _SIZE, "semibold" if not row else "regular", 3)
            for row, cell in enumerate(one.cells)
        ]
        for one, left, right in zip(stretches, edges, edges[1:], strict=False)
    ]
    heights = [max(1, *(len(one[row]) for one in cells)) * _PITCH + 3.0 for row in range(len(_ROWS))]
    notes = [line for one in sections for line in wrapped(one.told, _WIDTH - 4.0, _SIZE, most=3)]
    height = table_top + sum(heights) + 6.0 + _PITCH * len(notes) + 4.0
    drawing = Drawing(key, _WIDTH, height, title, f"{description} {' '.join(one.told for one in sections)}")
    _elevation(drawing, stretches, edges)
    _stations(drawing, sections, edges)
    if pulled:
        _tension(drawing, stretches, sections, edges, names, unit)
    y = table_top
    for row, head in enumerate(_ROWS):
        drawing.line(0.0, y, _RIGHT, y, "grid")
        drawing.text(2.0, y + _PITCH - 1.5, head, "quiet", _SIZE)
        for one, left in zip(cells, edges, strict=False):
            for number, words in enumerate(one[row]):
                ink = "strong" if not row else "label"
                drawing.text(left + 2.0, y + _PITCH * (number + 1) - 1.5, words, ink, _SIZE)
        y += heights[row]
    for left in edges:
        drawing.line(left, table_top, left, y, "grid")
    drawing.line(0.0, y, _RIGHT, y, "axis")
    for number, words in enumerate(notes, start=1):
        drawing.text(2.0, y + 4.0 + _PITCH * number, words, "label", _SIZE)
    return Figure(drawing.markup(), title, description, id=drawing.key)


def _edges(stretches: Sequence[ProfileStretch]) -> list[float]:
    """Left edge of each stretch and the right one of the last: a least width each, the rest by length."""
    free = _RIGHT - _LEFT - _LEAST * len(stretches)
    whole = sum(one.length for one in stretches)
    edges = [_LEFT]
    for one in stretches:
        edges.append(edges[-1] + _LEAST + free * one.length / whole)
    return edges


def _elevation(drawing: Drawing, stretches: Sequence[ProfileStretch], edges: Sequence[float]) -> None:
    drawing.text(2.0, _GRADE + 3.0, "grade", "quiet", _SIZE)
    for one, left, right in zip(stretches, edges, edges[1:], strict=False):
        if one.place == "indoors":
            drawing.rect(left, 34.0, right - left, _GRADE - 34.0, "band")
    drawing.line(_LEFT - 30.0, _GRADE, _RIGHT, _GRADE, "axis")
    for number in range(int((_RIGHT - _LEFT + 30.0) // 9.0)):
        x = _LEFT - 30.0 + 9.0 * number
        drawing.line(x + 4.0, _GRADE, x, _GRADE + 4.0, "leader")
    before = None
    for one, left, right in zip(stretches, edges, edges[1:], strict=False):
        level = _LEVELS[one.place]
        if before is not None and before != level:
            drawing.line(left, before, left, level, one.pen)
        drawing.line(left, level, right, level, one.pen)
        if one.place == "underground":
            middle = (left + right) / 2
            drawing.line(middle, _GRADE, middle, level - 2.0, "leader")
            drawing.line(middle - 3.0, level - 2.0, middle + 3.0, level - 2.0, "leader")
        for share in one.bends:
            drawing.circle(left + share * (right - left), level, 2.8, "solid")
        before = level


def _stations(drawing: Drawing, sections: Sequence[ProfileSection], edges: Sequence[float]) -> None:
    """Pull points over the strip, each with a line down to the pipe, and the direction of each pull."""
    places = [(edges[one.first], one.start) for one in sections]
    places.append((edges[sections[-1].last + 1], sections[-1].end))
    for number, (x, name) in enumerate(places):
        beside = [abs(x - places[other][0]) for other in (number - 1, number + 1) if 0 <= other < len(places)]
        room = min(*beside, 2 * x, 2 * (_WIDTH - x)) - 5.0
        made = wrapped(name, room, _SIZE, "semibold", 2)
        for line, words in enumerate(made):
            drawing.text(x, 9.0 + _PITCH * (line + 2 - len(made)), words, "strong", _SIZE, "middle")
        drawing.line(x, 23.0, x, _LEVELS["underground"] + 5.0, "dotted")
    for one in sections:
        left, right = edges[one.first] + 6.0, edges[one.last + 1] - 6.0
        if one.forward is not None:
            drawing.line(left, 29.0, right, 29.0, "axis")
            tip, back = (right, right - 6.0) if one.forward else (left, left + 6.0)
            drawing.polygon([(tip, 29.0), (back, 26.4), (back, 31.6)], "solid")


def _tension(
    drawing: Drawing,
    stretches: Sequence[ProfileStretch],
    sections: Sequence[ProfileSection],
    edges: Sequence[float],
    names: Sequence[str],
    unit: str,
) -> None:
    bottom = _PLOT + _PLOT_HIGH
    most = max(t for one in sections for line in one.pulls for _, t in line)
    drawn = [one.limit for one in sections if one.limit is not None and one.limit <= _FAR * max(most, 1e-9)]
    marks = ticks(0.0, max([most, *drawn, 1e-6]), 4)

    def y_of(tension: float) -> float:
        return bottom - tension / marks[-1] * _PLOT_HIGH

    for one in sections:
        if one.pulls:
            x_of = _along(stretches, edges, one)
            for start, end in one.bands:
                left, right = x_of(start), x_of(end)
                drawing.rect(left, _PLOT, max(1.6, right - left), _PLOT_HIGH, "band")
    for mark in marks:
        drawing.line(_LEFT, y_of(mark), _RIGHT, y_of(mark), "grid")
        drawing.text(_LEFT - 4.0, y_of(mark) + 3.0, significant(mark, 6), "quiet", _SIZE, "end")
    drawing.text(2.0, _PLOT + 3.0, unit, "quiet", _SIZE)
    for one in sections:
        if not one.pulls:
            continue
        x_of = _along(stretches, edges, one)
        if one.limit in drawn and one.limit is not None:
            drawing.line(edges[one.first], y_of(one.limit), edges[one.last + 1], y_of(one.limit), "dotted")
        for line, pen in zip(one.pulls, _PENS, strict=False):
            drawing.polyline([(x_of(x), y_of(t)) for x, t in line], pen)
    drawing.line(_LEFT, bottom, _RIGHT, bottom, "axis")
    x = _LEFT
    legend = [*zip(names, _PENS, strict=False)]
    if drawn:
        legend.append(("lowest limit", "dotted"))
    for name, pen in (*legend, ("bend as the plan takes it", "band")):
        if pen == "band":
            drawing.rect(x, bottom + 6.0, 18.0, 8.0, "band")
        else:
            drawing.line(x, bottom + 10.0, x + 18.0, bottom + 10.0, pen)
        drawing.text(x + 23.0, bottom + 13.0, name, "label", _SIZE)
        x += 92.0


def _along(
    stretches: Sequence[ProfileStretch], edges: Sequence[float], section: ProfileSection
) -> Callable[[float], float]:
    """Place on paper of a distance from the start of a section."""

    def x_of(distance: float) -> float:
        left = distance
        for number in range(section.first, section.last + 1):
            long = stretches[number].length
            if left <= long or number == section.last:
                share = min(max(left / long, 0.0), 1.0)
                return edges[number] + share * (edges[number + 1] - edges[number])
            left -= long
        return edges[section.last + 1]

    return x_of
