"""Unlike strings on one input: the loss against an input for each, and their joined curve."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from reportgen.binder.chapters.base import Desk
from reportgen.binder.charts import ticks
from reportgen.binder.drawings.svg import Drawing
from reportgen.binder.elements import Element, Figure, Heading, Paragraph, anchor
from reportgen.binder.schedules import UNKNOWN, Field, Line, Marked, Schedule
from reportgen.design.missing import Missing
from reportgen.design.sharing import SharingDesign
from reportgen.working.text import fixed

if TYPE_CHECKING:
    # Only for the annotation: the module loads pvlib, which most binders do without.
    from reportgen.engineering.energy.sharing import SharedInput

_WIDTH, _LEFT, _RIGHT, _TOP, _BOTTOM = 640.0, 48.0, 520.0, 26.0, 220.0
_PENS = ("dashed", "dotted", "line", "accent")


def sharing(desk: Desk) -> Iterator[Element]:
    """Table and curves of the inputs that unlike strings share; nothing where there is none."""
    items = desk.design.sharing
    if not items:
        return
    yield Heading("Unlike strings on one input")
    yield Paragraph(
        "One input holds all its strings at one voltage. Computed at 1000 W/m² and 25 °C from the current-voltage curves of "
        "the data sheets, without wires; no string takes current backwards below the voltage shown."
    )
    yield desk.keep(_table(desk, items)).table()
    for item in items:
        if not isinstance(item.shared, Missing):
            yield _curve(item, item.shared)


def _table(desk: Desk, items: tuple[SharingDesign, ...]) -> Schedule:
    lines = []
    for item in items:
        shared = item.shared
        known = not isinstance(shared, Missing)
        lines.append(
            Line(
                {
                    "input": item.address,
                    "strings": " + ".join(
                        f"{key} ({count})" for key, count in zip(item.strings, item.counts, strict=True)
                    ),
                    "apart": sum(shared.apart) if not isinstance(shared, Missing) else shared,
                    "together": shared.together if not isinstance(shared, Missing) else UNKNOWN,
                    "voltage": shared.voltage if not isinstance(shared, Missing) else UNKNOWN,
                    "loss": Marked(
                        100 * shared.loss if not isinstance(shared, Missing) else UNKNOWN,
                        desk.worst("input-like-strings", subject=item.address) if known else None,
                    ),
                }
            )
        )
    fields = (
        Field("input", "Input"),
        Field("strings", "Strings (modules)"),
        Field("apart", "an input for each", "W", 0, "Power with"),
        Field("together", "this input for all", "W", 0, "Power with"),
        Field("voltage", "Best voltage", "V", 1),
        Field("loss", "Loss", "%", 1),
    )
    return Schedule("shared-inputs", "Loss of unlike strings on one input", fields, tuple(lines))


def _curve(item: SharingDesign, shared: SharedInput) -> Figure:
    """Joined curve in heavy line, each string's own beneath it, and the voltage that the input holds."""
    title = f"Current over voltage of the strings at {item.address}"
    told = f"Most power together at {fixed(shared.voltage, 1)} V: {fixed(shared.together, 0)} W, {fixed(100 * shared.loss, 1)} % less than apart."
    drawing = Drawing(anchor("shared", item.address), _WIDTH, 280, title, told)
    across, up = ticks(0.0, max(shared.volts)), ticks(0.0, max(shared.amperes))

    def x(volts: float) -> float:
        return _LEFT + (_RIGHT - _LEFT) * volts / across[-1]

    def y(amperes: float) -> float:
        return _BOTTOM - (_BOTTOM - _TOP) * amperes / up[-1]

    for mark in up:
        drawing.line(_LEFT, y(mark), _RIGHT, y(mark), "grid")
        drawing.text(
            _LEFT - 6, y(mark) + 3.5, fixed(mark, 0 if mark == int(mark) else 1), "quiet", 9.5, "end"
        )
    for mark in across:
        drawing.text(x(mark), _BOTTOM + 14, fixed(mark, 0), "quiet", 9.5, "middle")
    drawing.text(_LEFT - 6, _TOP - 10, "A", "quiet", 9.5, "end")
    drawing.text((_LEFT + _RIGHT) / 2, _BOTTOM + 30, "V at the input", "quiet", 9.5, "middle")
    drawing.line(_LEFT, _BOTTOM, _RIGHT, _BOTTOM, "axis")
    drawing.line(x(shared.voltage), _TOP, x(shared.voltage), _BOTTOM, "leader")
    drawing.text(x(shared.voltage), _TOP - 10, f"best {fixed(shared.voltage, 1)} V", "label", 9.5, "middle")
    curves = [("together", "heavy", shared.amperes)]
    for number, (key, amperes) in enumerate(zip(item.strings, shared.each, strict=True)):
        curves.append((key, _PENS[number % len(_PENS)], amperes))
    for row, (name, pen, amperes) in enumerate(curves):
        drawing.polyline([(x(v), y(a)) for v, a in zip(shared.volts, amperes, strict=True)], pen)
        height = _TOP + 10 + 16 * row
        drawing.line(_RIGHT + 14, height - 3, _RIGHT + 40, height - 3, pen)
        drawing.text(_RIGHT + 46, height, name, "label", 9.5)
    return Figure(drawing.markup(), title, told)
