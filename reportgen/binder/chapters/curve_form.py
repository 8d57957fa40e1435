"""Form for current-voltage curves of strings: what the data sheets let expect, and room for what the tracer found."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Blank, Column, FormTable, TableCell
from reportgen.binder.schedules import UNKNOWN
from reportgen.design.missing import Known
from reportgen.working.quantity import Quantity
from reportgen.working.text import fixed
from reportgen.working.units import UNITS

#: Most strings that have room under the tests in order, on a letter sheet and on A4.
_ROOM, _ROOM_TALL = 3, 5


def curve_form(desk: Desk, id: str) -> Iterator[FormTable]:
    """A row for each string: the four points of its curve at standard conditions, and the same four as read.

    Of more strings than the card has room for the first stand on it; the note says that it is copied for the others.
    """
    strings = desk.design.facts.strings
    part = strings[: _ROOM_TALL if desk.tall else _ROOM]
    if not part:
        return
    expected, read = "Expected at 1000 W/m², 25 °C", "Read, as traced"
    points = (("V_oc", "V"), ("V_mp", "V"), ("I_mp", "A"), ("I_sc", "A"))
    columns = (
        Column("String"),
        *(Column(name, unit, "right", expected) for name, unit in points),
        Column("Light", "W/m²", group=read),
        Column("Cell", UNITS[desk.units.temperature].printed, group=read),
        *(Column(name, unit, group=read) for name, unit in points),
        Column("File"),
    )
    rows: tuple[tuple[str | TableCell | Blank, ...], ...] = tuple(
        (
            string.id,
            _told(string.stc_open, 1),
            _told(string.stc_operating, 1),
            _told(string.operating, 2),
            _told(string.short_circuit, 2),
            *(Blank() for _ in range(7)),
        )
        for string in part
    )
    more = "" if len(part) == len(strings) else f" {len(strings) - len(part)} further strings: on a copy."
    notes = (
        "IEC 62446-1 category 2, recalled: where it is asked for. Other light and temperature: expected readings."
        + more,
    )
    yield FormTable(id, "Current-voltage curves", columns, rows, notes)


def _told(value: Known, places: int) -> str:
    return fixed(value.value, places) if isinstance(value, Quantity) else UNKNOWN
