"""Symbols of one-line and grounding drawings after IEC 60617, drawn by this program.

Recalled from the standard and not read; every sheet says so and carries a key of the symbols on it. Five of them agree with
what others write who have it: see the list in DEVELOPERS.md. Each function draws
round a point of a level line and leaves the line itself to the caller, from half its width left to half its width right.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from reportgen.binder.assets import text_width
from reportgen.binder.drawings.svg import Drawing

#: Printed with the key.
BASIS = "Symbols after IEC 60617, recalled"
#: Size of the smallest text, 6.9 pt as printed, and the distance of its lines. [CSS px]
SIZE, PITCH = 9.2, 11.0


@dataclass(frozen=True, slots=True)
class Symbol:
    """A symbol: what it stands for, half its width, its height above and below the line, and how it is drawn."""

    told: str
    half: float
    above: float
    below: float
    draw: Callable[[Drawing, float, float], None]


def _generator(drawing: Drawing, x: float, y: float) -> None:
    drawing.rect(x - 15.0, y - 13.0, 30.0, 26.0)
    drawing.text(x - 8.0, y + 4.0, "G", "strong", 10.5, "middle")
    drawing.line(x + 5.0, y - 2.0, x + 5.0, y + 9.0)
    drawing.line(x + 9.0, y + 0.5, x + 9.0, y + 6.5, "heavy")
    for shift in (0.0, 5.0):
        tip = (x + 3.0 + shift, y - 4.0)
        drawing.line(tip[0] - 5.0, tip[1] - 6.0, *tip, "axis")
        drawing.polygon((tip, (tip[0] - 3.4, tip[1] - 1.2), (tip[0] - 0.6, tip[1] - 3.6)), "solid")


def _fuse(drawing: Drawing, x: float, y: float) -> None:
    drawing.rect(x - 12.0, y - 4.5, 24.0, 9.0)
    drawing.line(x - 12.0, y, x + 12.0, y)


def _device(drawing: Drawing, x: float, y: float) -> None:
    drawing.rect(x - 12.0, y - 7.0, 24.0, 14.0)
    drawing.text(x, y + 3.4, "I >", "label", SIZE, "middle")


def _contact(drawing: Drawing, x: float, y: float) -> None:
    drawing.line(x - 10.0, y - 9.0, x + 12.0, y)


def _switch(drawing: Drawing, x: float, y: float) -> None:
    drawing.line(x - 15.0, y, x - 9.0, y)
    _contact(drawing, x, y)


def _disconnector(drawing: Drawing, x: float, y: float) -> None:
    drawing.line(x - 15.0, y, x - 9.0, y)
    drawing.line(x - 9.0, y - 4.5, x - 9.0, y + 4.5)
    _contact(drawing, x, y)


def _load_switch(drawing: Drawing, x: float, y: float) -> None:
    drawing.line(x - 15.0, y, x - 11.0, y)
    drawing.line(x - 11.0, y - 4.5, x - 11.0, y + 4.5)
    drawing.circle(x - 8.4, y, 2.4)
    _contact(drawing, x, y)


def _box(drawing: Drawing, x: float, y: float) -> None:
    drawing.rect(x - 14.0, y - 11.0, 28.0, 22.0, "dashed")
    drawing.line(x - 14.0, y, x + 14.0, y)


def _unit(drawing: Drawing, x: float, y: float) -> None:
    drawing.rect(x - 14.0, y - 9.0, 28.0, 18.0)


def _spliced(drawing: Drawing, x: float, y: float) -> None:
    _box(drawing, x, y)
    drawing.circle(x, y, 2.6, "solid")


def _connector(drawing: Drawing, x: float, y: float) -> None:
    drawing.rect(x - 9.0, y - 2.0, 9.0, 4.0, "solid")
    drawing.path(f"M{x + 6:.2f} {y - 6:.2f} A6 6 0 0 0 {x + 6:.2f} {y + 6:.2f}")
    drawing.line(x, y, x + 9.0, y)


def _converter(drawing: Drawing, x: float, y: float) -> None:
    drawing.rect(x - 14.0, y - 14.0, 28.0, 28.0)
    drawing.line(x - 14.0, y + 14.0, x + 14.0, y - 14.0)
    drawing.line(x - 11.0, y - 8.5, x - 3.0, y - 8.5)
    for start in (-11.0, -8.0, -5.0):
        drawing.line(x + start, y - 5.5, x + start + 1.8, y - 5.5)
    drawing.path(
        f"M{x + 2:.2f} {y + 8:.2f} C{x + 4:.2f} {y + 3:.2f} {x + 6:.2f} {y + 3:.2f} {x + 7:.2f} {y + 8:.2f} "
        f"S{x + 10:.2f} {y + 13:.2f} {x + 12:.2f} {y + 8:.2f}"
    )


def _mark(drawing: Drawing, x: float, y: float) -> None:
    drawing.polygon(
        ((x - 10.0, y - 7.0), (x + 4.0, y - 7.0), (x + 10.0, y), (x + 4.0, y + 7.0), (x - 10.0, y + 7.0))
    )


def _open(drawing: Drawing, x: float, y: float) -> None:
    drawing.line(x - 4.0, y, x, y)
    drawing.line(x, y - 7.0, x, y + 7.0, "heavy")


def _earth(drawing: Drawing, x: float, y: float) -> None:
    drawing.line(x, y - 8.0, x, y)
    for number, half in enumerate((9.0, 6.0, 3.0)):
        drawing.line(x - half, y + 3.5 * number, x + half, y + 3.5 * number)


def _frame(drawing: Drawing, x: float, y: float) -> None:
    drawing.line(x - 10.0, y, x + 10.0, y)
    for start in (-10.0, -1.5, 7.0):
        drawing.line(x + start, y + 7.0, x + start + 3.5, y)


#: Symbols by name, in the order of the key.
SYMBOLS = {
    "string": Symbol("photovoltaic string", 15.0, 13.0, 13.0, _generator),
    "fuse": Symbol("fuse", 12.0, 4.5, 4.5, _fuse),
    "device": Symbol("overcurrent device, kind not stated", 12.0, 7.0, 7.0, _device),
    "connector": Symbol("plug and socket", 9.0, 6.0, 6.0, _connector),
    "box": Symbol("box, conductors pass", 14.0, 11.0, 11.0, _box),
    "spliced": Symbol("box, conductors joined", 14.0, 11.0, 11.0, _spliced),
    "load switch": Symbol("switch-disconnector", 15.0, 9.0, 4.5, _load_switch),
    "disconnector": Symbol("disconnector, not for load", 15.0, 9.0, 4.5, _disconnector),
    "switch": Symbol("switch, load breaking not stated", 15.0, 9.0, 1.0, _switch),
    "converter": Symbol("inverter, d.c. to a.c.", 14.0, 14.0, 14.0, _converter),
    "mark": Symbol("goes on at the same letter", 10.0, 7.0, 7.0, _mark),
    "open": Symbol("nothing stated beyond", 4.0, 7.0, 7.0, _open),
    "unit": Symbol("device at which the wire ends", 14.0, 9.0, 9.0, _unit),
    "frame": Symbol("frames and rails", 10.0, 1.0, 7.0, _frame),
    "earth": Symbol("electrode in the soil", 9.0, 8.0, 7.0, _earth),
}


def key_height(used: Iterable[str], width: float, further: Iterable[str] = ()) -> float:
    """Height of the key of some symbols [CSS px]."""
    return 26.0 * (1 + max((line for line, _, _ in _key_places(used, width, further)), default=0)) + 14.0


def draw_key(drawing: Drawing, used: Iterable[str], top: float, further: Iterable[str] = ()) -> None:
    """Key of the symbols on a sheet, in lines under ``top``; ``further`` words end it."""
    names, words = list(used), list(further)
    drawing.line(0.0, top, drawing.width, top, "grid")
    drawing.text(0.0, top + 11.0, "; ".join((BASIS, *words)) + ".", "quiet", SIZE)
    for line, x, name in _key_places(names, drawing.width, words):
        y = top + 30.0 + 26.0 * line
        symbol = SYMBOLS[name]
        middle = x + 15.0
        for start, end in ((x - 3.0, middle - symbol.half), (middle + symbol.half, x + 33.0)):
            beyond = name == "open" and start > middle
            if start < end and name not in {"frame", "earth", "mark", "unit"} and not beyond:
                drawing.line(start, y, end, y)
        symbol.draw(drawing, middle, y)
        drawing.text(x + 38.0, y + 3.3, symbol.told, "label", SIZE)


def _key_places(
    used: Iterable[str], width: float, further: Iterable[str] = ()
) -> list[tuple[int, float, str]]:
    """Line, left edge and name of each symbol."""
    wanted = set(used)
    places: list[tuple[int, float, str]] = []
    line, x = 0, 3.0
    for name, symbol in SYMBOLS.items():
        if name not in wanted:
            continue
        room = 38.0 + text_width(symbol.told, SIZE) + 14.0
        if x > 3.0 and x + room > width:
            line, x = line + 1, 3.0
        places.append((line, x, name))
        x += room
    return places
