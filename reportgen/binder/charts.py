"""Charts as drawings: string voltage window, bars by month, bars of losses, cross-section of a raceway.

A chart repeats numbers that stand in a table beside it; it computes places on paper and nothing else. Pattern,
shape and label tell things apart, so a black-and-white print loses nothing.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from reportgen.binder.assets import text_width
from reportgen.binder.drawings.svg import Drawing
from reportgen.binder.elements import Bar, BarTable, Figure, anchor
from reportgen.working.text import fixed, significant

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
#: Width of a drawing as wide as the page. [CSS px]
_WIDTH = 640.0


@dataclass(frozen=True, slots=True)
class WindowPoint:
    """Voltages of a string of so many modules; a voltage that is not known is None [V]."""

    modules: int
    cold_low: float | None
    cold_mean: float | None
    hot: float | None


@dataclass(frozen=True, slots=True)
class WindowLimit:
    """Limit of an input: never to exceed, edge of the tracking window, or needed to start [V]."""

    label: str
    value: float
    kind: Literal["never", "window", "start"]


def ticks(low: float, high: float, most: int = 7) -> tuple[float, ...]:
    """Round numbers for an axis that covers ``low`` to ``high``.

    Examples
    --------
    >>> ticks(180, 640)
    (100.0, 200.0, 300.0, 400.0, 500.0, 600.0, 700.0)
    """
    size = max(abs(low), abs(high))
    span = high - low if high - low > 1e-9 * size and high - low > 1e-9 else size if size > 1e-9 else 1.0
    rough = span / (most - 1)
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * factor for factor in (1, 2, 2.5, 5, 10, 20) if power * factor >= rough * 0.999)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return tuple(round(step * i, 10) for i in range(first, max(last, first + 1) + 1))


@dataclass(frozen=True, slots=True)
class _Axis:
    """Linear map from values to places on paper; the first tick lies at ``start``."""

    marks: tuple[float, ...]
    start: float
    end: float

    def at(self, value: float) -> float:
        low, high = self.marks[0], self.marks[-1]
        return self.start + (value - low) / (high - low) * (self.end - self.start)


def _label(value: float) -> str:
    return significant(value, 6)


def _draw_axis(drawing: Drawing, axis: _Axis, left: float, right: float, unit: str) -> None:
    for mark in axis.marks:
        y = axis.at(mark)
        drawing.line(left, y, right, y, "grid")
        drawing.text(left - 6, y + 3.5, _label(mark), "quiet", 9.5, "end")
    drawing.text(left - 6, axis.end - 9, unit, "quiet", 9.5, "end")


def _spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Places for labels, in ascending order, at least ``gap`` apart and close to where they belong."""
    places: list[float] = []
    for value in wanted:
        places.append(max(value, places[-1] + gap if places else low))
    for i in range(len(places) - 1, -1, -1):
        below = places[i + 1] - gap if i + 1 < len(places) else high
        places[i] = min(places[i], below)
    return places


def window_chart(
    key: str,
    title: str,
    description: str,
    points: Sequence[WindowPoint],
    limits: Sequence[WindowLimit],
    chosen: Collection[int] = (),
    unit: str = "V",
) -> Figure:
    """Voltage of a string over its number of modules, between the limits of the input.

    Parameters
    ----------
    key : str
        Unique within the binder.
    title, description : str
        For the caption and for readers who cannot see the drawing.
    points : sequence of WindowPoint
        In ascending order of modules, at least one.
    limits : sequence of WindowLimit
        Lines across the chart.
    chosen : collection of int
        Numbers of modules that the design uses.
    unit : str
        Printed at the axis.

    Raises
    ------
    ValueError
        If there is no point, or no voltage at all.
    """
    values = [v for p in points for v in (p.cold_low, p.cold_mean, p.hot) if v is not None]
    if not values:
        msg = "a window chart needs at least one voltage"
        raise ValueError(msg)
    values += [limit.value for limit in limits]
    drawing = Drawing(key, _WIDTH, 330, title, description)
    left, right, top, bottom = 48.0, 486.0, 26.0, 268.0
    axis = _Axis(ticks(min(values), max(values)), bottom, top)
    window = sorted(limit.value for limit in limits if limit.kind == "window")
    if len(window) == 2:
        drawing.rect(left, axis.at(window[1]), right - left, axis.at(window[0]) - axis.at(window[1]), "band")
    _draw_axis(drawing, axis, left, right, unit)
    step = (right - left) / len(points)
    for i, point in enumerate(points):
        _window_column(drawing, axis, left + step * (i + 0.5), point, point.modules in chosen, bottom)
    drawing.line(left, bottom, right, bottom, "axis")
    drawing.text((left + right) / 2, bottom + 34, "modules in series", "quiet", 9.5, "middle")
    _limit_lines(drawing, axis, limits, left, right, unit)
    _window_legend(drawing, left, 322, any(point.modules in chosen for point in points))
    return Figure(drawing.markup(), title, description)


def _window_column(
    drawing: Drawing, axis: _Axis, x: float, point: WindowPoint, used: bool, bottom: float
) -> None:
    known = [v for v in (point.cold_low, point.cold_mean, point.hot) if v is not None]
    if len(known) > 1:
        y = axis.at(max(known))
        drawing.rect(x - 4, y, 8, axis.at(min(known)) - y, "solid" if used else "outline")
    if point.cold_low is not None:
        _low_mark(drawing, x, axis.at(point.cold_low))
    if point.cold_mean is not None:
        _mean_mark(drawing, x, axis.at(point.cold_mean))
    if point.hot is not None:
        _hot_mark(drawing, x, axis.at(point.hot))
    drawing.line(x, bottom, x, bottom + 4, "axis")
    if used:
        drawing.rect(x - 11, bottom + 6, 22, 16, "solid", 2)
    drawing.text(x, bottom + 18, str(point.modules), "reversed" if used else "label", 10.5, "middle")


def _low_mark(drawing: Drawing, x: float, y: float) -> None:
    drawing.polygon(((x - 7, y - 10), (x + 7, y - 10), (x, y)), "solid")


def _mean_mark(drawing: Drawing, x: float, y: float) -> None:
    drawing.line(x - 9, y, x + 9, y, "heavy")


def _hot_mark(drawing: Drawing, x: float, y: float) -> None:
    drawing.polygon(((x - 7, y + 10), (x + 7, y + 10), (x, y)), "outline")


def _limit_lines(
    drawing: Drawing, axis: _Axis, limits: Sequence[WindowLimit], left: float, right: float, unit: str
) -> None:
    pens = {"never": "heavy", "window": "dashed", "start": "dotted"}
    ordered = sorted(limits, key=lambda limit: (-limit.value, limit.label))
    ys = [axis.at(limit.value) for limit in ordered]
    places = _spread(ys, 26, axis.end - 8, axis.start + 6)
    for limit, y, place in zip(ordered, ys, places, strict=True):
        drawing.line(left, y, right, y, pens[limit.kind])
        drawing.polyline(((right, y), (right + 9, place), (right + 13, place)), "leader")
        drawing.text(right + 17, place - 1, limit.label, "strong" if limit.kind == "never" else "label", 9.5)
        drawing.text(right + 17, place + 10.5, f"{_label(limit.value)} {unit}", "quiet", 9.5)


def _window_legend(drawing: Drawing, left: float, y: float, used: bool) -> None:
    entries = [
        ("V_oc at record low", _low_mark, -0.5),
        ("V_oc at mean minimum", _mean_mark, -4.0),
        ("V_mp in the heat", _hot_mark, -9.5),
    ]
    x = left
    for words, mark, shift in entries:
        symbol, rest = words.split(" ", 1)
        mark(drawing, x + 9, y + shift)
        base, below = symbol.split("_")
        drawing.text(x + 22, y, base, "symbol", 9.5)
        drawing.text(x + 22 + text_width(base, 9.5, "italic"), y + 2, below, "label", 7)
        start = x + 25 + text_width(base, 9.5, "italic") + text_width(below, 7)
        drawing.text(start, y, rest, "label", 9.5)
        x = start + text_width(rest, 9.5) + 20
    if used:
        drawing.rect(x, y - 11, 16, 13, "solid", 2)
        drawing.text(x + 22, y, "as designed", "label", 9.5)


def monthly_bars(
    values: Sequence[float],
    title: str,
    unit: str = "kWh",
    *,
    description: str = "",
    places: int = 0,
    labels: Sequence[str] = MONTHS,
    key: str = "",
) -> Figure:
    """One bar a month with its number above; bars start at zero.

    Parameters
    ----------
    values : sequence of float
        As many as ``labels``, in ``unit``.
    title, description : str
        The description is made from the numbers where none is given.
    places : int
        Decimal places of the printed numbers.

    Raises
    ------
    ValueError
        If values and labels differ in number.
    """
    numbers = [fixed(float(value), places) for value in values]
    said = description or (
        "Highest in "
        + " and lowest in ".join(f"{labels[i]}, {numbers[i]} {unit}," for i in _extremes(values)).rstrip(",")
    )
    drawing = Drawing(key or anchor("chart", title), _WIDTH, 226, title, said)
    right, top, bottom = 632.0, 34.0, 198.0
    axis = _Axis(ticks(min(0.0, *values), max(0.0, *values), 6), bottom, top)
    left = max(52.0, *(text_width(_label(mark), 9.5) + 12 for mark in axis.marks))
    _draw_axis(drawing, axis, left, right, unit)
    step = (right - left) / len(labels)
    for i, (value, text, name) in enumerate(zip(values, numbers, labels, strict=True)):
        x, y, zero = left + step * (i + 0.5), axis.at(float(value)), axis.at(0.0)
        drawing.rect(x - step * 0.32, min(y, zero), step * 0.64, abs(zero - y), "tone")
        drawing.text(
            x, min(y, zero) - 4, text, "label", min(9.5, 9.5 * (step - 3) / text_width(text, 9.5)), "middle"
        )
        drawing.text(x, bottom + 16, name, "label", 10, "middle")
    drawing.line(left, axis.at(0.0), right, axis.at(0.0), "axis")
    return Figure(drawing.markup(), title, said)


def _extremes(values: Sequence[float]) -> tuple[int, int]:
    order = sorted(range(len(values)), key=lambda i: float(values[i]))
    return order[-1], order[0]


def loss_bars(
    id: str,
    caption: str,
    steps: Iterable[tuple[str, float, float]],
    unit: str = "kWh",
    *,
    places: int = 0,
    notes: tuple[str, ...] = (),
) -> BarTable:
    """Table of steps with a bar for the size of each; a gain is negative and its bar hollow.

    Parameters
    ----------
    steps : iterable of (str, float, float)
        What the step is, its amount in ``unit``, and its share of the whole. [-]
    """
    rows = tuple(steps)
    longest = max((abs(share) for _, _, share in rows), default=0.0) or 1.0
    bars = tuple(
        Bar(words, fixed(amount, places), abs(share) / longest, f"{fixed(100 * share, 2)} %", gain=share < 0)
        for words, amount, share in rows
    )
    return BarTable(id, caption, "Step", "Amount", unit, "Share", bars, notes)
