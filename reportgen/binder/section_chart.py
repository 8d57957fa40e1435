"""Cross-section of a raceway: its wires with their true diameters, packed at the bottom of the bore."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.binder.assets import text_width
from reportgen.binder.drawings.packing import pack
from reportgen.binder.drawings.svg import Drawing
from reportgen.binder.elements import Figure
from reportgen.working.text import significant

#: Widths of a drawing as wide as the page and of one that shares it with another. [CSS px]
_WIDTH, _HALF = 640.0, 308.0
#: A section with no more wires than this is drawn half as wide; distance of the lines of its key. [-, CSS px]
_FEW, _KEY_LINE = 16, 12.5
#: Smallest and usual size of a number inside a wire; the first is 6.6 pt. [CSS px]
_LEAST, _USUAL = 8.8, 9.5


@dataclass(frozen=True, slots=True)
class SectionWire:
    """A wire as it lies in a raceway; ``diameter`` over everything, in the unit of the bore."""

    label: str
    diameter: float
    ground: bool = False


def raceway_section(
    key: str,
    title: str,
    description: str,
    bore: float,
    wires: Sequence[SectionWire],
    unit: str = "mm",
    beside: str = "",
) -> Figure:
    """Cross-section of a raceway with its wires packed inside, all to one scale.

    Wires lie as gravity would leave them, the thickest first. It shows true sizes, not a measured position. A wire
    too thin for a legible number has none, and the key says how many those are.

    Parameters
    ----------
    bore : float
        Inside diameter. [``unit``]
    wires : sequence of SectionWire
        Every wire that takes space.
    unit : str
        Of bore and diameters.
    beside : str
        The bore in the other system of units, printed in brackets; none where empty.

    Raises
    ------
    ValueError
        If the bore or a diameter is not positive.
    """
    order = sorted(range(len(wires)), key=lambda i: (-wires[i].diameter, i))
    places = pack(bore, [wires[i].diameter for i in order])
    half = len(wires) <= _FEW
    rows = max(1, len(wires) if half else math.ceil(len(wires) / 2))
    radius = 66.0 if half else 92.0
    scale = 2 * radius / bore
    left_out = sum(place is None for place in places)
    sizes = [_number_size(str(i + 1), wire.diameter / 2 * scale) for i, wire in enumerate(wires)]
    unnumbered = sum(
        place is not None and sizes[i] is None and not wires[i].ground
        for i, place in zip(order, places, strict=True)
    )
    head = [f"bore {significant(bore, 4)} {unit}" + (f" ({beside})" if beside else "")]
    head += [f"no room for {left_out} {'wire' if left_out == 1 else 'wires'}"] if left_out else []
    head += [f"too thin for a number: {unnumbered}"] if unnumbered else []
    height = max(2 * radius + 22, 23.5 + _KEY_LINE * (rows + len(head)))
    drawing = Drawing(key, _HALF if half else _WIDTH, height, title, description)
    x0 = y0 = radius + 9
    drawing.circle(x0, y0, radius + 7, "tone")
    drawing.circle(x0, y0, radius, "outline")
    for index, place in zip(order, places, strict=True):
        if place is None:
            continue
        x, y, r = x0 + place[0] * scale, y0 + place[1] * scale, wires[index].diameter / 2 * scale
        drawing.circle(x, y, r, "hatch" if wires[index].ground else "outline")
        size = sizes[index]
        if size is not None and not wires[index].ground:
            drawing.text(x, y + size * 0.36, str(index + 1), "label", size, "middle")
    _section_key(drawing, wires, head, unit, rows)
    return Figure(drawing.markup(), title, description, half, id=key)


def _number_size(text: str, radius: float) -> float | None:
    """Size at which a number lies wholly inside its wire; None where it would be too small to read [CSS px]."""
    for size in (_USUAL, _LEAST):
        if math.hypot(text_width(text, size) / 2, 0.36 * size) <= radius:
            return size
    return None


def _section_key(
    drawing: Drawing, wires: Sequence[SectionWire], head: Sequence[str], unit: str, rows: int
) -> None:
    """Number, name and diameter of each wire beside the drawing."""
    narrow = drawing.width < _WIDTH
    left, wide = (155.0, _HALF) if narrow else (235.0, 200.0)
    for i, words in enumerate(head):
        drawing.text(left, 14 + _KEY_LINE * i, words, "strong", 9.5)
    top = 19.5 + _KEY_LINE * len(head)
    for i, wire in enumerate(wires):
        x, y = left + wide * (i // rows), top + _KEY_LINE * (i % rows)
        if wire.ground:
            drawing.circle(x + 7, y - 3.3, 4.2, "hatch")
        else:
            drawing.text(x + 11, y, str(i + 1), "strong", 9, "end")
        room = (drawing.width - x if narrow else wide) - 18
        drawing.text(
            x + 16, y, _shortened(wire.label, f", {significant(wire.diameter, 4)} {unit}", room), "label", 9
        )


def _shortened(name: str, rest: str, room: float) -> str:
    """A name cut so that it and what follows fit; the number that follows is never cut."""
    shown = name
    while len(shown) > 1 and text_width(shown + rest, 9) > room:
        shown = f"{shown[:-2]}…"
    return shown + rest
