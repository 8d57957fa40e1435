"""A year as a picture: days across, hours of the clock up, the more power the darker.

Each step of grey is one path, drawn over the lighter ones, a stroke for every run of hours of a day: sharp at any
size, small as a file, and told apart on a photocopy by the key with its numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise

import numpy as np
from numpy.typing import NDArray

from reportgen.binder.charts import MONTHS
from reportgen.binder.drawings.svg import Drawing
from reportgen.binder.elements import Figure
from reportgen.working.months import DAYS
from reportgen.working.text import fixed

_STARTS = (0, *accumulate(DAYS))
_LEFT, _RIGHT, _TOP, _ROW = 48.0, 632.0, 14.0, 7.0
#: Least power drawn at all, as a share of the highest [-].
LEAST = 0.005


def day_name(day: int) -> str:
    """Day of a year of 365 days, counted from zero, in words.

    Examples
    --------
    >>> day_name(0), day_name(59), day_name(364)
    ('Jan 1', 'Mar 1', 'Dec 31')
    """
    month = next(k for k in range(12) if day < _STARTS[k + 1])
    return f"{MONTHS[month]} {day - _STARTS[month] + 1}"


def heat_map(key: str, title: str, days: NDArray[np.float64], unit: str = "kW", more: str = "") -> Figure:
    """Power over day and hour of a year in five steps of grey, with a key.

    Parameters
    ----------
    key : str
        Unique within the binder.
    title : str
        For the caption.
    days : ndarray (365, 24)
        Mean of each hour of the clock in ``unit``; not a number where unknown, which is drawn as paper.
    more : str
        Put behind the picture in words.

    Raises
    ------
    ValueError
        If no hour is above zero.
    """
    power = np.nan_to_num(np.asarray(days, dtype=np.float64), nan=0.0)
    highest = float(power.max())
    if not highest > 0.0:
        raise ValueError("a picture of a year needs an hour with power")
    # Five equal steps, as many greys as a photocopy keeps apart; the first begins just above nothing.
    edges = [LEAST * highest, *(share * highest for share in (0.2, 0.4, 0.6, 0.8))]
    said = " ".join(part for part in (_said(power, unit), more) if part)
    bottom = _TOP + 24 * _ROW
    drawing = Drawing(key, 640.0, bottom + 50.0, title, said)
    step = (_RIGHT - _LEFT) / len(power)
    place = f"translate({_LEFT + step / 2:g} {bottom:g}) scale({step:g} {-_ROW:g})"
    drawing.rect(_LEFT, _TOP, _RIGHT - _LEFT, 24 * _ROW, "outline")
    for level, edge in enumerate(edges):
        drawing.path(_runs(power >= edge), f"heat{level + 1}", place)
    for month, start in enumerate(_STARTS[:12]):
        x = _LEFT + step * start
        drawing.line(x, bottom, x, bottom + 4, "axis")
        drawing.text(x + step * DAYS[month] / 2, bottom + 13, MONTHS[month], "label", 9.5, "middle")
    for hour in (0, 6, 12, 18, 24):
        y = bottom - _ROW * hour
        drawing.line(_LEFT - 4, y, _LEFT, y, "axis")
        drawing.text(_LEFT - 7, y + 3.5, f"{hour} h", "quiet", 9.5, "end")
    _key(drawing, edges, highest, unit, bottom + 34.0)
    return Figure(drawing.markup(), title, said)


def _runs(dark: NDArray[np.bool_]) -> str:
    """A stroke for each run of dark hours, a day one unit across and an hour one unit up."""
    padded = np.zeros((dark.shape[0], dark.shape[1] + 2), dtype=np.int8)
    padded[:, 1:-1] = dark
    turns = np.diff(padded, axis=1)
    days, starts = np.nonzero(turns == 1)
    lengths = np.nonzero(turns == -1)[1] - starts
    return "".join(
        f"M{day} {start}v{length}"
        for day, start, length in zip(days.tolist(), starts.tolist(), lengths.tolist(), strict=True)
    )


def _key(drawing: Drawing, edges: Sequence[float], highest: float, unit: str, y: float) -> None:
    """A patch of each grey with the power it stands for."""
    width = (_RIGHT - _LEFT) / len(edges)
    places = _places(highest)
    for level, (low, high) in enumerate(pairwise((*edges, highest))):
        x = _LEFT + width * level
        drawing.path(f"M{x + 9:.1f} {y + 3:g}v-12", f"patch{level + 1}")
        start = "above 0" if level == 0 else fixed(low, places)
        drawing.text(x + 24, y, f"{start} to {fixed(high, places)} {unit}", "label", 9.5)


def _places(highest: float) -> int:
    return 1 if highest >= 1.0 else 4


def _said(power: NDArray[np.float64], unit: str) -> str:
    """The picture in words: the highest hour, how long much is given, and the first and last light by season."""
    highest = float(power.max())
    day, hour = divmod(int(power.argmax()), power.shape[1])
    much = int((power >= 0.5 * highest).sum())
    told = (
        f"Highest hour {fixed(highest, _places(highest))} {unit}, {day_name(day)} from {hour} to {hour + 1} h "
        f"local standard time; {much} hours give at least half of that."
    )
    spans = []
    for name, month in (("January", 0), ("June", 5)):
        lit = np.nonzero((power[_STARTS[month] : _STARTS[month + 1]] > LEAST * highest).any(axis=0))[0]
        if len(lit):
            spans.append(f"in {name} between {lit[0]} and {lit[-1] + 1} h")
    return f"{told} Power comes {' and '.join(spans)}." if spans else told
