"""Strings to inputs on one sheet: each leg over terminals, poles and links to what it meets."""

from __future__ import annotations

from collections.abc import Sequence

from reportgen.binder.assets import text_width
from reportgen.binder.drawings.svg import Drawing
from reportgen.binder.elements import Figure, anchor
from reportgen.binder.typeset import clean
from reportgen.design.string_map import LegWay

_WIDTH, _HEAD, _ROW, _SIZE, _RADIUS = 640.0, 26.0, 34.0, 9.5, 4.0
#: Left edge and width of the columns. [CSS px]
_STRING, _WIRE, _UNIT, _CHAIN, _MEETS = (4.0, 74.0), (106.0, 104.0), (216.0, 74.0), (300.0, 212.0), (528.0, 110.0)  # fmt: skip
_POLARITY = 91.0
#: Legs of one sheet, and lines of words that a row holds.
LEGS, _LINES = 20, 3


def string_maps(ways: Sequence[LegWay]) -> list[Figure]:
    """Sheets of at most :data:`LEGS` legs each."""
    parts = [ways[start : start + LEGS] for start in range(0, len(ways), LEGS)]
    return [_sheet(part, number, len(parts)) for number, part in enumerate(parts, start=1)]


def _sheet(ways: Sequence[LegWay], number: int, count: int) -> Figure:
    title = "Strings to poles to inputs" + (f", sheet {number} of {count}" if count > 1 else "")
    told = (
        "Each leg from its string to the input; a slanted stroke is a pole, drawn open, a dashed line a link. "
        "The schedule of the landing names both ends of each. With a switch open its array side stays live in any light: "
        "measure the polarity of every string before anything is closed."
    )
    drawing = Drawing(anchor("string-map", str(number)), _WIDTH, _HEAD + _ROW * len(ways) + 4.0, title, told)
    heads = ("String", "Wire label", "Lands on", "Terminals, poles and links", "Meets")
    for head, (x, _) in zip(heads, (_STRING, _WIRE, _UNIT, _CHAIN, _MEETS), strict=True):
        drawing.text(x, 14.0, head, "strong", _SIZE)
    before = None
    for place, way in enumerate(ways):
        top = _HEAD + _ROW * place
        drawing.line(0.0, top - 4.0, _WIDTH, top - 4.0, "axis" if way.string != before else "grid")
        _leg(drawing, way, top + _ROW / 2 - 4.0)
        before = way.string
    return Figure(drawing.markup(), title, told, id=drawing.key)


def _leg(drawing: Drawing, way: LegWay, y: float) -> None:
    _words(drawing, way.string or "not stated", _STRING, y, "strong")
    drawing.circle(_POLARITY, y, 7.5)
    drawing.text(_POLARITY, y + 3.3, "+" if way.leg == "+" else "−", "strong", _SIZE, "middle")
    _words(drawing, way.wire, _WIRE, y)
    _words(drawing, way.unit or "–", _UNIT, y)
    if way.unclear:
        _words(drawing, f"Not drawn: {way.unclear}.", _CHAIN, y)
    elif not _drawn(drawing, way, y):
        passed = "".join(
            f" {step} {terminal}" for step, terminal in zip(way.steps, way.terminals[1:], strict=True)
        )
        _words(drawing, f"{way.terminals[0]}{passed}", _CHAIN, y)
    if not way.wanted:
        verdict = "no input stated"
    elif way.meets == way.wanted:
        verdict = "as meant"
    else:
        verdict = f"{'NOT as meant: for' if way.wrong else 'meant for'} {way.wanted}"
    if way.beside:
        verdict += f", with {' and '.join(way.beside)}"
    if not way.meets:
        _words(drawing, verdict, _MEETS, y)
        return
    two = len(_wrapped(str(clean(verdict)), _MEETS[1], "regular", 2)) > 1
    _words(drawing, way.meets, _MEETS, y - (10.6 if two else 5.3), "strong", 1)
    _words(drawing, verdict, _MEETS, y + 5.3, lines=2)


def _drawn(drawing: Drawing, way: LegWay, y: float) -> bool:
    """Draw terminals and what joins them; False where a name does not fit its place."""
    left, wide = _CHAIN
    step = wide / len(way.terminals)
    if step < 6 * _RADIUS or any(text_width(one, _SIZE) > step - 4.0 for one in way.terminals):
        return False
    places = [left + step * (place + 0.5) for place in range(len(way.terminals))]
    for one, other, how in zip(places, places[1:], way.steps, strict=False):
        start, end = one + _RADIUS, other - _RADIUS
        if how != "pole":
            drawing.line(start, y - 4.0, end, y - 4.0, "dashed" if how == "link" else "line")
            continue
        middle = (start + end) / 2
        blade = min(8.0, (end - start) / 2 - 1.0)
        drawing.line(start, y - 4.0, middle - blade, y - 4.0)
        drawing.line(middle - blade, y - 4.0, middle + blade, y - 10.0)
        drawing.line(middle + blade, y - 4.0, end, y - 4.0)
    for x, terminal in zip(places, way.terminals, strict=True):
        drawing.circle(x, y - 4.0, _RADIUS)
        drawing.text(x, y + 11.0, terminal, "label", _SIZE, "middle")
    return True


def _words(
    drawing: Drawing,
    text: str,
    column: tuple[float, float],
    y: float,
    ink: str = "label",
    lines: int = _LINES,
) -> None:
    """Words in a column, wrapped round the middle ``y``; a last line that ends in … was cut."""
    left, wide = column
    made = _wrapped(str(clean(text)), wide, "semibold" if ink == "strong" else "regular", lines)
    pitch = 10.6
    for number, line in enumerate(made):
        drawing.text(left, y + 3.3 + pitch * (number - (len(made) - 1) / 2), line, ink, _SIZE)


def _wrapped(text: str, wide: float, face: str, lines: int) -> list[str]:
    made = [""]
    rest = text
    while rest:
        taken = next(
            (end for end in range(1, len(rest) + 1) if text_width(rest[:end], _SIZE, face) > wide), None
        )
        if taken is None:
            made[-1] = rest
            break
        if len(made) == lines:
            cut = taken - 1
            while cut and text_width(rest[:cut] + "…", _SIZE, face) > wide:
                cut -= 1
            made[-1] = rest[:cut] + "…"
            break
        space = rest.rfind(" ", 0, taken)
        end = space if space > 0 else max(taken - 1, 1)
        made[-1], rest = rest[:end], rest[end:].lstrip()
        made.append("")
    return made
