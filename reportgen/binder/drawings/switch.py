"""A switch as the installer sees it: terminals in physical order, what lands on them, poles and links."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from reportgen.binder.assets import text_width
from reportgen.binder.drawings.svg import Drawing
from reportgen.binder.elements import Figure, anchor
from reportgen.binder.typeset import clean

#: Widths of a drawing as wide as the page, half and a third of it, each with the terminals of a side that it takes.
_WIDTHS = ((200.0, 4), (308.0, 6), (640.0, math.inf))
_RADIUS, _BODY, _SIZE = 11.0, 96.0, 9.5


def switch_figure(
    unit: str,
    line: Sequence[str],
    load: Sequence[str],
    joined: Iterable[tuple[str, str]],
    jumpers: Iterable[tuple[str, str]],
    landed: Mapping[str, str],
) -> Figure:
    """Drawing of one switch with everything that is landed on it.

    Parameters
    ----------
    unit : str
        Id of the switch.
    line, load : sequence of str
        Terminals of the two sides, left to right.
    joined, jumpers : iterable of (str, str)
        Pairs that closing connects, and pairs that a link connects for good.
    landed : mapping of str to str
        Wire or lead by terminal.
    """
    unit = str(clean(unit))
    landed = {terminal: str(clean(wire)) for terminal, wire in landed.items()}
    most = max(len(line), len(load))
    size, width = next((k, width) for k, (width, taken) in enumerate(_WIDTHS) if most <= taken)
    above, below = (
        max((text_width(landed[one], _SIZE) for one in side if one in landed), default=0.0)
        for side in (line, load)
    )
    top, body_top = 14.0, 22.0 + above + 10.0
    body_bottom = body_top + _BODY
    height = body_bottom + 10.0 + below + 12.0
    title = f"Switch {unit} as the installer sees it"
    drawing = Drawing(anchor("switch", unit), width, height, title, _told(joined, jumpers))
    drawing.rect(8.0, body_top, width - 16.0, _BODY, "outline", 4.0)
    drawing.text(width - 12.0, top - 2.0, unit, "strong", 10.5, "end")
    places: dict[str, tuple[float, float]] = {}
    for side, y in ((line, body_top + 18.0), (load, body_bottom - 18.0)):
        step = (width - 40.0) / max(len(side), 1)
        for number, terminal in enumerate(side):
            places[terminal] = (20.0 + step * (number + 0.5), y)
    for one, other in joined:
        if one in places and other in places:
            drawing.line(*places[one], *places[other])
    for number, (one, other) in enumerate(jumpers):
        if one in places and other in places:
            middle = (body_top + body_bottom) / 2
            _link(drawing, places[one], places[other], middle, number)
    for side, outward in ((line, -1.0), (load, 1.0)):
        for terminal in side:
            x, y = places[terminal]
            drawing.circle(x, y, _RADIUS)
            drawing.text(x, y + 3.2, terminal, "label", _SIZE if len(terminal) < 4 else 7.0, "middle")
            if terminal in landed:
                edge = body_top if outward < 0 else body_bottom
                drawing.line(x, y + outward * _RADIUS, x, edge + outward * 8.0)
                drawing.text(
                    x + 3.3,
                    edge + outward * 11.0,
                    landed[terminal],
                    "label",
                    _SIZE,
                    "start" if outward < 0 else "end",
                    turned=True,
                )
    return Figure(
        drawing.markup(), title, drawing.description, half=size == 1, third=size == 0, id=drawing.key
    )


def _link(
    drawing: Drawing, one: tuple[float, float], other: tuple[float, float], middle: float, number: int
) -> None:
    """A link: a dashed bracket towards the middle of the body, neighbours at unlike depths."""
    if one[1] != other[1]:
        drawing.polyline((one, other), "dashed")
        return
    inward = 1.0 if one[1] < middle else -1.0
    depth = one[1] + inward * (_RADIUS + 5.0 + 4.0 * (number % 3))
    drawing.polyline((one, (one[0], depth), (other[0], depth), other), "dashed")


def _told(joined: Iterable[tuple[str, str]], jumpers: Iterable[tuple[str, str]]) -> str:
    poles = ", ".join(f"{one}–{other}" for one, other in joined)
    links = ", ".join(f"{one}–{other}" for one, other in jumpers)
    return f"Poles {poles or 'none'}" + (f"; links, dashed, {links}." if links else ".")
