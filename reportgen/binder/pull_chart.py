"""Tension along a run as a drawing: one line for each friction, the bends as bands, the lowest limit across.

A chart repeats numbers that stand in a table beside it; it computes places on paper and nothing else.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reportgen.binder.charts import ticks
from reportgen.binder.drawings.svg import Drawing
from reportgen.binder.elements import Figure
from reportgen.working.text import fixed, significant

#: Pens of the lines, the pull with the least friction first.
_PENS = ("heavy", "line", "dashed")
#: A limit higher than this many times the greatest tension is told and not drawn, or the lines would lie flat.
_FAR = 2.2
_WIDTH, _HEIGHT = 640.0, 268.0


@dataclass(frozen=True, slots=True)
class PullLine:
    """One pull: its label and its points, each a place along the run and the tension there."""

    label: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class BendBand:
    """A bend: from where to where along the run, and what is printed above it."""

    start: float
    end: float
    label: str


def pull_chart(
    key: str,
    title: str,
    description: str,
    lines: Sequence[PullLine],
    bends: Sequence[BendBand],
    limit: tuple[str, float] | None,
    ends: tuple[str, str],
    units: tuple[str, str],
) -> Figure:
    """Tension over the distance along a run.

    Parameters
    ----------
    key : str
        Unique within the binder.
    title, description : str
        For the caption and for readers who cannot see the drawing.
    lines : sequence of PullLine
        Least friction first, at least one.
    bends : sequence of BendBand
        Along the run.
    limit : (str, float) or None
        Name and value of the lowest limit.
    ends : (str, str)
        What stands at the start and at the end of the run.
    units : (str, str)
        Of distance and of tension.

    Raises
    ------
    ValueError
        If there is no line, or the run has no length.
    """
    places = [x for line in lines for x, _ in line.points]
    if not places or max(places) <= 0:
        msg = "a pull chart needs a run with a length"
        raise ValueError(msg)
    most, longest = max(t for line in lines for _, t in line.points), max(places)
    drawn = limit is not None and limit[1] <= _FAR * max(most, 1e-9)
    marks = ticks(0.0, max(most, limit[1] if limit and drawn else 0.0, 1e-6), 6)
    left, right, top, bottom = 56.0, 500.0, 44.0, 214.0
    drawing = Drawing(key, _WIDTH, _HEIGHT, title, description)

    def x_of(place: float) -> float:
        return left + place / longest * (right - left)

    def y_of(tension: float) -> float:
        return bottom - tension / marks[-1] * (bottom - top)

    for band in bends:
        wide = max(2.0, x_of(band.end) - x_of(band.start))
        drawing.rect(x_of(band.start), top, wide, bottom - top, "tone")
    _bend_labels(
        drawing, [(x_of((band.start + band.end) / 2), band.label) for band in bends], top - 6, left, right
    )
    for mark in marks:
        drawing.line(left, y_of(mark), right, y_of(mark), "grid")
        drawing.text(left - 6, y_of(mark) + 3.5, significant(mark, 6), "quiet", 9.5, "end")
    drawing.text(left - 6, top - 18, units[1], "quiet", 9.5, "end")
    if limit is not None and drawn:
        drawing.line(left, y_of(limit[1]), right, y_of(limit[1]), "accent")
    for line, pen in zip(lines, _PENS, strict=False):
        drawing.polyline([(x_of(x), y_of(t)) for x, t in line.points], pen)
    _end_labels(drawing, lines, limit if drawn else None, y_of, right, (top, bottom), units[1])
    for mark in ticks(0.0, longest, 8):
        if mark <= longest:
            drawing.line(x_of(mark), bottom, x_of(mark), bottom + 4, "axis")
            drawing.text(x_of(mark), bottom + 16, significant(mark, 6), "quiet", 9.5, "middle")
    drawing.line(left, bottom, right, bottom, "axis")
    drawing.text(left, bottom + 32, ends[0], "strong", 9.5)
    drawing.text((left + right) / 2, bottom + 32, f"along the pipe, {units[0]}", "quiet", 9.5, "middle")
    drawing.text(right, bottom + 32, ends[1], "strong", 9.5, "end")
    if limit is not None and not drawn:
        told = f"lowest limit {fixed(limit[1], 0)} {units[1]} ({limit[0]}), above the drawing"
        drawing.text(left, bottom + 48, told, "quiet", 9.5)
    return Figure(drawing.markup(), title, description)


def _bend_labels(
    drawing: Drawing, wanted: Sequence[tuple[float, str]], y: float, left: float, right: float
) -> None:
    """Angles above the bands; where they lie too close together, every one that still has room."""
    free = left - 12
    for x, label in sorted(wanted):
        if x - 12 >= free and x <= right:
            drawing.text(x, y, label, "label", 9, "middle")
            free = x + 14


def _end_labels(
    drawing: Drawing,
    lines: Sequence[PullLine],
    limit: tuple[str, float] | None,
    y_of: Callable[[float], float],
    right: float,
    room: tuple[float, float],
    unit: str,
) -> None:
    """Names of the lines with their greatest tension, one under the other beside the drawing."""
    told = [
        (line.label, max(t for _, t in line.points), pen) for line, pen in zip(lines, _PENS, strict=False)
    ]
    if limit is not None:
        told.append(("limit", limit[1], "accent"))
    told.sort(key=lambda item: -item[1])
    step = 27.0
    y = room[0] + 6
    for label, value, pen in told:
        y = max(y, min(y_of(value), room[1] - 12))
        drawing.line(right + 10, y - 4, right + 30, y - 4, pen)
        drawing.text(right + 35, y, label, "label", 9.5)
        drawing.text(right + 35, y + 11.5, f"{fixed(value, 0)} {unit}", "quiet", 9.5)
        y += step
