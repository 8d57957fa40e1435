"""Section through a trench: raceways side by side, their cover, warning tape and bedding, to one scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.binder.assets import text_width
from reportgen.binder.drawings.svg import Drawing, TextBox
from reportgen.binder.drawings.words import wrapped
from reportgen.binder.elements import Figure

_WIDTH, _LEFT, _RIGHT, _SIZE, _PITCH = 308.0, 6.0, 150.0, 8.9, 10.6
#: Where grade lies, how deep the ground is drawn, and where the labels begin. [CSS px]
_GRADE, _DEEP, _LABELS = 12.0, 128.0, 168.0
#: Size on paper of a raceway whose own is not known, and of a distance that nobody stated, at most. [CSS px]
_UNKNOWN = 12.0
#: Raceways that a section holds legibly.
MOST = 8


@dataclass(frozen=True, slots=True)
class TrenchPipe:
    """A raceway in the section; lengths in millimetres, None where nobody stated one.

    Parameters
    ----------
    told : str
        Its line under the section.
    diameter : float or None
        Outside diameter, or the bore where only that is known. [mm]
    outside : bool
        Whether ``diameter`` is the outside one; else its wall is dashed.
    cover : float or None
        From grade to its top. [mm]
    gap : float or None
        Clear distance to the raceway before it. [mm]
    """

    told: str
    diameter: float | None
    outside: bool
    cover: float | None
    gap: float | None = None


@dataclass(frozen=True, slots=True)
class Depth:
    """A depth below grade with its words; ``pen`` of its line, empty for none. [mm]."""

    depth: float
    told: str
    pen: str = ""


def trench_section(
    key: str,
    title: str,
    description: str,
    pipes: Sequence[TrenchPipe],
    depths: Sequence[Depth],
    bedding: tuple[float, float] | None,
    bar: tuple[float, str],
    notes: Sequence[str] = (),
) -> Figure:
    """Section of a trench, as wide as half a page.

    Parameters
    ----------
    key : str
        Unique within the binder.
    title, description : str
        For the caption and for readers who cannot see the drawing.
    pipes : sequence of TrenchPipe
        From left to right, at least one and at most :data:`MOST`.
    depths : sequence of Depth
        What is written beside the section.
    bedding : (float, float) or None
        Depths between which bedding lies. [mm]
    bar : (float, str)
        Length of the scale bar and what is written on it. [mm]
    notes : sequence of str
        Lines under those of the raceways.

    Raises
    ------
    ValueError
        If there is no raceway, or more than a section holds.
    """
    if not 1 <= len(pipes) <= MOST:
        msg = f"a section of {len(pipes)} raceways"
        raise ValueError(msg)
    deepest = max(
        [item.depth for item in depths]
        + [(one.cover or 0.0) + (one.diameter or 0.0) for one in pipes]
        + [1.0]
    )
    wide = sum(one.diameter or 0.0 for one in pipes) + sum(one.gap or 0.0 for one in pipes[1:])
    open_places = sum(one.diameter is None for one in pipes) + sum(one.gap is None for one in pipes[1:])
    whole = _RIGHT - _LEFT - 12.0
    unknown = min(_UNKNOWN, 0.7 * whole / max(open_places, 1))
    room = whole - unknown * open_places
    scale = min((_DEEP - 12.0) / deepest, room / wide if wide > 0 else room)
    labels = _spread([Depth(0.0, "grade"), *depths], scale)
    lines = [
        line
        for number, one in enumerate(pipes, start=1)
        for line in wrapped(f"{number}  {one.told}", _WIDTH - 4.0, _SIZE, most=3)
    ]
    lines += [line for note in notes for line in wrapped(note, _WIDTH - 4.0, _SIZE, most=4)]
    low = max([_GRADE + _DEEP, *(y + _PITCH * (len(words) - 1) for y, words, _ in labels)])
    height = low + 20.0 + _PITCH * len(lines) + 4.0
    drawing = Drawing(
        key, _WIDTH, height, title, f"{description} {' '.join(one.told + '.' for one in pipes)}"
    )
    _ground(drawing, scale, bedding)
    for y, words, item in labels:
        at = _GRADE + item.depth * scale
        if item.pen:
            drawing.line(_LEFT, at, _RIGHT, at, item.pen)
        drawing.line(_RIGHT, at, _LABELS - 3.0, y - 3.0, "leader")
        for number, line in enumerate(words):
            drawing.text(_LABELS, y + _PITCH * number, line, "label", _SIZE)
    _pipes(drawing, pipes, scale, unknown, wide * scale + unknown * open_places)
    long = bar[0] * scale
    drawing.line(_LEFT, low + 10.0, _LEFT + long, low + 10.0, "heavy")
    drawing.text(_LEFT + long + 5.0, low + 13.0, bar[1], "quiet", _SIZE)
    for number, line in enumerate(lines, start=1):
        drawing.text(2.0, low + 20.0 + _PITCH * number, line, "label", _SIZE)
    return Figure(drawing.markup(), title, description, half=True, id=drawing.key)


def _spread(depths: Sequence[Depth], scale: float) -> list[tuple[float, list[str], Depth]]:
    """First base line of every label, its words, and the depth it belongs to; never over each other."""
    placed: list[tuple[float, list[str], Depth]] = []
    free = _GRADE
    for item in sorted(depths, key=lambda one: (one.depth, one.told)):
        words = wrapped(item.told, _WIDTH - _LABELS - 2.0, _SIZE, most=4)
        y = max(_GRADE + item.depth * scale + 3.0, free)
        placed.append((y, words, item))
        free = y + _PITCH * len(words) + 1.5
    return placed


def _ground(drawing: Drawing, scale: float, bedding: tuple[float, float] | None) -> None:
    if bedding is not None:
        top, bottom = (_GRADE + depth * scale for depth in bedding)
        drawing.rect(_LEFT, top, _RIGHT - _LEFT, max(bottom - top, 0.8), "hatch")
    for x in (_LEFT, _RIGHT):
        drawing.line(x, _GRADE, x, _GRADE + _DEEP, "dashed")
    drawing.line(_LEFT, _GRADE, _RIGHT, _GRADE, "line")
    for number in range(int((_RIGHT - _LEFT) // 9.0)):
        drawing.line(_LEFT + 9.0 * number + 4.0, _GRADE, _LEFT + 9.0 * number, _GRADE + 4.0, "leader")


def _pipes(drawing: Drawing, pipes: Sequence[TrenchPipe], scale: float, unknown: float, wide: float) -> None:
    x = (_LEFT + _RIGHT) / 2 - wide / 2
    places: list[tuple[float, float, float]] = []
    for number, one in enumerate(pipes):
        across = unknown if one.diameter is None else one.diameter * scale
        if number:
            x += unknown if one.gap is None else one.gap * scale
        top = _GRADE + (0.6 * _DEEP if one.cover is None else one.cover * scale)
        known = one.outside and one.diameter is not None and one.cover is not None
        drawing.circle(x + across / 2, top + across / 2, across / 2, "outline" if known else "dotted")
        places.append((x + across / 2, top, top + across))
        x += across
    for number, (middle, top, bottom) in enumerate(places, start=1):
        # Above or below its raceway; where neither has room the number is left out, the order tells it.
        half = text_width(str(number), _SIZE, "semibold") / 2
        for y in (top - 2.5, bottom + 9.0):
            box = TextBox("", middle - half, y - 0.75 * _SIZE, middle + half, y + 0.22 * _SIZE)
            if box.top >= 0 and not any(box.overlaps(other) for other in drawing.texts):
                drawing.text(middle, y, str(number), "strong", _SIZE, "middle")
                break
