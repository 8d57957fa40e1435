"""Plan of a site to scale: arrays by their corners, devices by their places, raceways by their course, bar and north."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from reportgen.binder.assets import text_width
from reportgen.binder.drawings.svg import Drawing, TextBox
from reportgen.binder.drawings.words import wrapped
from reportgen.binder.elements import Figure

#: Sheet, and the field of it that the plan takes; the rest is bar, arrow and legend. [CSS px]
_WIDTH, _FIELD, _HIGH = 640.0, 566.0, 400.0
_SIZE, _PITCH, _EDGE = 8.9, 10.6, 34.0
#: Half a mark of a device, widest name beside a mark, most lines of the legend.
_MARK, _NAME, _LEGEND = 4.0, 150.0, 36
#: CSS px of one metre drawn in full size.
_PX = 96 / 25.4 * 1000
#: Scales of drawings, by decades.
_STEPS = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.5)
#: Most names that a plan holds.
NAMES = 60

XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Outline:
    """An array by its corners on the plan [m]."""

    name: str
    corners: tuple[XY, ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """What stands at one place of the plan [m]; ``inside`` in a building."""

    name: str
    at: XY
    inside: bool = False


@dataclass(frozen=True, slots=True)
class Course:
    """Course of a stretch of raceway [m]; neighbours of one ``name`` are named once. ``buried`` is drawn dashed."""

    name: str
    points: tuple[XY, ...]
    buried: bool = False


@dataclass(frozen=True, slots=True)
class Bar:
    """Scale bar: its length [m] and what stands at its end."""

    length: float
    told: str


def scale_of(points: Iterable[XY]) -> int:
    """Scale 1 : n of the largest drawing of these points [m] that the field holds.

    Examples
    --------
    >>> scale_of([(0.0, 0.0), (40.0, 20.0)])
    400
    """
    left, bottom, right, top = _extent(points)
    n = 1.0
    while True:
        for step in _STEPS:
            ratio = step * n
            wide, high = ((b - a) * _PX / ratio for a, b in ((left, right), (bottom, top)))
            if ratio >= 20 and wide <= _FIELD - 2 * _EDGE and high <= _HIGH - 2 * _EDGE:
                return round(ratio)
        n *= 10.0


def site_plan(
    key: str,
    title: str,
    description: str,
    outlines: Sequence[Outline],
    spots: Sequence[Spot],
    courses: Sequence[Course],
    bar: Bar,
    north: float | None,
    legend: Sequence[str],
) -> Figure:
    """The plan with its scale bar, north arrow and legend.

    Parameters
    ----------
    key : str
        Unique within the binder.
    title, description : str
        For the caption and for readers who cannot see the drawing.
    outlines, spots, courses
        What is drawn; something has to be.
    bar : Bar
        In a length that the reader's tape shows.
    north : float, optional
        Compass direction of the plan's upward axis, clockwise from north [deg]; no arrow where it is not stated.
    legend : sequence of str
        Lines under the plan.
    """
    points = [*_points(outlines, spots, courses)]
    ratio = scale_of(points)
    left, bottom, right, top = _extent(points)
    unit = _PX / ratio
    high = max((top - bottom) * unit + 2 * _EDGE, 110.0)
    shift = (_FIELD - (right - left) * unit) / 2

    def place(at: XY) -> XY:
        return shift + (at[0] - left) * unit, _EDGE + (top - at[1]) * unit

    told = [line for text in legend for line in wrapped(text, _WIDTH - 4.0, _SIZE, most=_LEGEND)][:_LEGEND]
    drawing = Drawing(key, _WIDTH, high + 26.0 + _PITCH * len(told) + 6.0, title, description)
    for outline in outlines:
        drawing.polygon([place(corner) for corner in outline.corners], "outline")
    for course in courses:
        if len(course.points) > 1:
            drawing.polyline([place(at) for at in course.points], "dashed" if course.buried else "heavy")
    labels = _Labels(drawing, high)
    for spot in spots:
        x, y = place(spot.at)
        labels.taken.append(TextBox("", x - _MARK, y - _MARK, x + _MARK, y + _MARK))
    for course in courses:
        labels.lines += [(place(a), place(b)) for a, b in pairwise(course.points)]
    for outline in outlines:
        corners = [place(corner) for corner in outline.corners]
        labels.lines += [*pairwise(corners), (corners[-1], corners[0])]
    _bar(drawing, bar.length * unit, bar.told, high)
    _arrow(drawing, north)
    for outline in outlines:
        labels.put(outline.name, _middle([place(corner) for corner in outline.corners]), within=True)
    for spot in spots:
        x, y = place(spot.at)
        pen = "tone" if spot.inside else "outline"
        drawing.rect(x - _MARK, y - _MARK, 2 * _MARK, 2 * _MARK, pen)
        labels.put(spot.name, (x, y))
    for name, at in _named(courses):
        labels.put(name, place(at), "label")
    for number, line in enumerate(told, start=1):
        drawing.text(2.0, high + 24.0 + _PITCH * number, line, "label", _SIZE)
    return Figure(drawing.markup(), title, description, id=drawing.key)


def _points(outlines: Sequence[Outline], spots: Sequence[Spot], courses: Sequence[Course]) -> Iterator[XY]:
    for outline in outlines:
        yield from outline.corners
    yield from (spot.at for spot in spots)
    for course in courses:
        yield from course.points


def _extent(points: Iterable[XY]) -> tuple[float, float, float, float]:
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _middle(points: Sequence[XY]) -> XY:
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


def _named(courses: Sequence[Course]) -> Iterator[tuple[str, XY]]:
    """Each name with the middle of the longest straight piece that bears it."""
    longest: dict[str, tuple[float, XY]] = {}
    for course in courses:
        for (x1, y1), (x2, y2) in pairwise(course.points):
            length = math.hypot(x2 - x1, y2 - y1)
            if length > longest.get(course.name, (0.0, (0.0, 0.0)))[0]:
                longest[course.name] = length, ((x1 + x2) / 2, (y1 + y2) / 2)
    yield from ((name, at) for name, (_, at) in longest.items())


def _bar(drawing: Drawing, wide: float, told: str, high: float) -> None:
    y = high + 8.0
    drawing.rect(2.0, y, wide / 2, 4.0, "solid")
    drawing.rect(2.0 + wide / 2, y, wide / 2, 4.0, "outline")
    drawing.text(2.0 + wide + 6.0, y + 5.5, told, "label", _SIZE)


def _arrow(drawing: Drawing, up: float | None) -> None:
    """North arrow, turned against the compass direction of the upward axis."""
    x, y, reach = _FIELD + 38.0, 40.0, 20.0
    if up is None:
        for number, line in enumerate(("north is", "not stated")):
            drawing.text(x, y + _PITCH * number, line, "label", _SIZE, "middle")
        return
    turn = math.radians(-up)
    east, south = math.sin(turn), -math.cos(turn)

    def at(along: float, across: float) -> XY:
        return x + along * east - across * south, y + along * south + across * east

    drawing.polygon(
        [at(reach, 0.0), at(-0.6 * reach, 6.0), at(-0.3 * reach, 0.0), at(-0.6 * reach, -6.0)], "solid"
    )
    letter = at(reach + 8.0, 0.0)
    drawing.text(letter[0], letter[1] + 3.2, "N", "strong", _SIZE, "middle")


class _Labels:
    """Names on their way to a place where they hide neither each other nor a mark, and cross no line where they can."""

    def __init__(self, drawing: Drawing, high: float) -> None:
        self.drawing, self.high = drawing, high
        self.taken: list[TextBox] = []
        self.lines: list[tuple[XY, XY]] = []

    def put(self, name: str, at: XY, ink: str = "strong", *, within: bool = False) -> None:
        face = "semibold" if ink == "strong" else "regular"
        told = wrapped(name, _NAME, _SIZE, face, 3)
        if not told:
            return
        wide = max(text_width(line, _SIZE, face) for line in told)
        tall = _PITCH * len(told)
        for free in (True, False):
            for box, far in self._boxes(at, wide, tall, within):
                if any(map(box.overlaps, self.taken)) or (
                    free and any(_crosses(box, line) for line in self.lines)
                ):
                    continue
                self.taken.append(box)
                if far:
                    x = min(max(at[0], box.left), box.right)
                    y = min(max(at[1], box.top), box.bottom)
                    self.drawing.line(*at, x, y, "leader")
                for number, line in enumerate(told, start=1):
                    self.drawing.text(box.left + 1.0, box.top + _PITCH * number - 2.4, line, ink, _SIZE)
                return

    def _boxes(self, at: XY, wide: float, tall: float, within: bool) -> Iterator[tuple[TextBox, bool]]:
        x, y = at
        if within:
            yield TextBox("", x - wide / 2 - 1, y - tall / 2, x + wide / 2 + 1, y + tall / 2), False
        for reach in (7.0, 16.0, 28.0, 44.0, 64.0, 90.0, 124.0, 170.0):
            for across, down in ((1, 0), (-1, 0), (0, -1), (0, 1), (1, -1), (1, 1), (-1, -1), (-1, 1)):
                left = x + across * reach - (wide + 2.0) * (1 - across) / 2
                top = y + down * reach - tall * (1 - down) / 2
                box = TextBox("", left, top, left + wide + 2.0, top + tall)
                if box.left >= 0 and box.top >= 0 and box.right <= _FIELD and box.bottom <= self.high:
                    yield box, reach > 16.0


def _crosses(box: TextBox, line: tuple[XY, XY]) -> bool:
    """Whether a straight line passes through a box: what lies in it of the line, clipped side by side, is not empty."""
    (x1, y1), (x2, y2) = line
    first, last = 0.0, 1.0
    for start, step, least, most in ((x1, x2 - x1, box.left, box.right), (y1, y2 - y1, box.top, box.bottom)):
        if step == 0.0:
            if not least < start < most:
                return False
            continue
        near, far = sorted(((least - start) / step, (most - start) / step))
        first, last = max(first, near), min(last, far)
    return first < last
