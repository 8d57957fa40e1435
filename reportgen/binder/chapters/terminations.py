"""Torque and termination sheet: every terminal with its wire, torque in both units, strip length and ferrule."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Blank, Caution, Chapter, Column, Element, Facts, FormTable, TableCell
from reportgen.binder.elements import Paragraph as Words
from reportgen.binder.schedules import UNKNOWN, Field, Line, Schedule
from reportgen.binder.task_cards import task_cards
from reportgen.design.missing import Known, Missing
from reportgen.design.terminations import Termination
from reportgen.working.quantity import Quantity
from reportgen.working.text import fixed
from reportgen.working.unit_system import UnitSystem
from reportgen.working.units import UNITS

#: Printed for a torque that no maker states; never a number in its place.
NOT_STATED = "not stated by the maker"

_CAUTION = Caution(
    "Before a cover is opened",
    "The array side is live in any light, and the inputs of an inverter stay charged after isolation. Open the strings "
    "at a middle connector, isolate, lock, wait the maker's time, and prove dead on both sides.",
    "IEC 60364-7-712; IEC 62109-1, recalled",
)


def chapter(desk: Desk) -> Chapter | None:
    """Every terminal; no chapter where nothing lands."""
    terminations = desk.design.facts.terminations
    if not terminations:
        return None
    schedule = desk.keep(_schedule(terminations, desk.units))
    elements: list[Element] = [
        _CAUTION,
        Words(
            "Torques are those of the makers. Where a maker states none, none is printed: ask the maker, since a guessed "
            "torque breaks a clamp or leaves it loose. Use a calibrated driver, set each terminal once, and tighten again "
            "only where the maker says so."
        ),
        *_sources(terminations),
        schedule.table("terminal", "unit"),
        Words(
            "Equipment grounding terminals and bars are not part of the landing section; their torque stands on the device "
            "or the lug."
        ),
        *_cards(desk, terminations),
    ]
    return Chapter(
        "terminations",
        "Torque and terminations",
        "What lands on each terminal, how far it is stripped, and how tight.",
        tuple(elements),
    )


def _sources(terminations: tuple[Termination, ...]) -> Iterator[Element]:
    found = dict.fromkeys((one.unit, one.source or "not stated") for one in terminations)
    by_source: dict[str, list[str]] = {}
    for unit, source in found:
        by_source.setdefault(source, []).append(unit)
    yield Facts(
        tuple((", ".join(units), source) for source, units in by_source.items()), "Where the values stand"
    )


def ferrule_text(one: Termination) -> str:
    """What is put on the end of the wire."""
    if not one.cable:
        return ""
    if isinstance(one.ferrule, Missing):
        return UNKNOWN
    if isinstance(one.ferrule, Quantity):
        return one.ferrule.show()
    return "none, forbidden" if one.fine and one.rule == "forbidden" else "none"


def _card_text(value: Known, unit: str, places: int) -> str:
    return "not stated" if isinstance(value, Missing) else fixed(value.to(unit).value, places)


def _schedule(terminations: tuple[Termination, ...], units: UnitSystem) -> Schedule:
    lines = tuple(
        Line(
            {
                "unit": one.unit,
                "terminal": one.terminal,
                "wire": one.wire,
                "size": one.size,
                "newton": one.torque if isinstance(one.torque, Quantity) else NOT_STATED,
                "inch": one.torque if isinstance(one.torque, Quantity) else NOT_STATED,
                "strip": one.strip if isinstance(one.strip, Quantity) else NOT_STATED,
                "ferrule": ferrule_text(one),
            }
        )
        for one in terminations
    )
    torques = Field("newton", "Torque", "N·m", 2), Field("inch", "Torque", "lb·in", 1)
    fields = (
        Field("unit", "Device"),
        Field("terminal", "Terminal"),
        Field("wire", "Wire"),
        Field("size", "Size"),
        *(reversed(torques) if units.imperial else torques),
        Field("strip", "Strip", units.small, units.places(2, 0)),
        Field("ferrule", "Ferrule"),
    )
    notes = (
        "A lead is named by the input it goes to; a link by its two terminals. Ferrules are put on fine strands where the "
        "maker allows it, and on every wire where the maker asks for it.",
    )
    return Schedule("terminations", "Terminals", fields, lines, notes, wide=True)


def _cards(desk: Desk, terminations: tuple[Termination, ...]) -> Iterator[Element]:
    units = desk.units
    torques = [("N·m", 2), ("lb·in", 1)]
    if units.imperial:
        torques.reverse()
    (unit, places), (other, other_places) = torques
    columns = (
        Column("Terminal"),
        Column("Wire"),
        Column("Strip", UNITS[units.small].printed),
        Column("Torque", f"{unit} ({other})"),
        Column("Done"),
    )
    alike: dict[tuple[str, ...], list[str]] = {}
    for one in terminations:
        # The two ends of a link are one piece of work; every wire has its own row.
        end = "" if one.wire.startswith("link ") else one.terminal
        strip = _card_text(one.strip, units.small, units.places(2, 0))
        ferrule = ferrule_text(one)
        if ferrule not in {"", "none"}:
            strip += f", ferrule {ferrule}"
        torque = _card_text(one.torque, unit, places)
        if isinstance(one.torque, Quantity):
            torque += f" ({_card_text(one.torque, other, other_places)})"
        key = (one.unit, f"{one.wire} {one.size}".strip(), strip, torque, end)
        alike.setdefault(key, []).append(one.terminal)
    rows: tuple[tuple[str | TableCell | Blank, ...], ...] = tuple(
        (f"{device} {', '.join(ends)}", wire, strip, torque, Blank(tick=True))
        for (device, wire, strip, torque, _), ends in alike.items()
    )
    yield from task_cards(
        "terminations",
        "Terminate and tighten",
        tall=desk.tall,
        purpose="Land every wire on its terminal and tighten it once, to the maker's figure.",
        stop=(
            "any voltage is measured on a terminal: the place is not isolated",
            "the label of a wire differs from the card, or the wire was not rung out",
            "the card says that the maker states no torque: ask the maker first",
        ),
        cautions=(_CAUTION,),
        form=FormTable("terminations", "Terminals", columns, rows),
        remarks=1,
        twice=True,
    )
