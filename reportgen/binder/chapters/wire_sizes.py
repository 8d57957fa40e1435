"""Sizes that each circuit could have: what the next one up buys, and what keeps the next one down from doing."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Element, Heading, Paragraph
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.findings import Outcome
from reportgen.design.results import CircuitDesign, WiredDesign
from reportgen.design.wire_options import SizeOption, SizeTest, wire_options
from reportgen.working.quantity import Quantity

_FIELDS = (
    Field("circuit", "Circuit"),
    Field("size", "Size"),
    Field("chosen", "Chosen"),
    Field("terminal", "at the terminals", "A", 2, "Ampacity"),
    Field("use", "in use", "A", 2, "Ampacity"),
    Field("stretch", "worst stretch", group="Ampacity"),
    Field("device", "largest device", "A", 0, "Ampacity"),
    Field("fill", "fill", "%", 1, "Tightest stretch"),
    Field("fill_in", "in", group="Tightest stretch"),
    Field("share", "drop", "%", 2, "At standard conditions"),
    Field("loss", "loss", "W", 1, "At standard conditions"),
    Field("year", "loss in a year", "kWh", 0, "At standard conditions"),
    Field("does", "Does"),
    Field("governs", "Governs"),
)


def section(desk: Desk) -> list[Element]:
    """Part of the conductor chapter; empty where no circuit has a size of the table."""
    options = wire_options(desk.design.facts)
    if not options:
        return []
    lines = tuple(_line(desk, option) for option in options)
    notes = (
        "Each size is put in alone, all else as the folder has it; the ground and devices may have to follow.",
        "The loss in a year is that of the simulated year in proportion to the resistance; blank where no year ran.",
        "Largest device: what would protect the conductor where one is fitted; blank where none is.",
    )
    schedule = Schedule("wire-sizes", "Wire sizes", _FIELDS, lines, notes, wide=True)
    return [
        Heading("Sizes to choose from"),
        Paragraph(
            "The voltage drop cannot fail a size unless you stated a limit: compare what the next size up saves in a year "
            "with what it costs."
        ),
        desk.keep(schedule).table(),
    ]


def _line(desk: Desk, option: SizeOption) -> Line:
    worst = option.wired.governing
    governs = option.governs
    device = option.test("device")
    return Line(
        {
            "circuit": option.circuit,
            "size": option.size,
            "chosen": "yes" if option.chosen else "",
            "terminal": _marked(option.test("terminals")),
            "use": _marked(option.test("in use")),
            "stretch": str(worst.segment) if worst else "unknown",
            "device": _marked(device) if device else "",
            "fill": Marked(option.fill, _outcome(option.test("fill"))),
            "fill_in": option.fill_in,
            "share": Marked(option.wired.drop_share, _drop_outcome(option)),
            "loss": option.wired.loss,
            "year": _year(desk, option.wired),
            "does": str(option.outcome),
            "governs": f"{governs.name}{f', {governs.where}' if governs.where else ''}",
        },
        group=option.circuit,
    )


def _marked(test: SizeTest | None) -> object:
    return Marked(test.limit, test.outcome) if test else ""


def _outcome(test: SizeTest | None) -> Outcome | None:
    return test.outcome if test else None


def _drop_outcome(option: SizeOption) -> Outcome:
    """Worst outcome against the user's target and a stated limit."""
    told = [test.outcome for test in option.tests if test.name in {"drop target", "drop limit"}]
    return min(told, key=lambda outcome: outcome.rank)


def _year(desk: Desk, wired: WiredDesign) -> object:
    """Loss in the simulated year, in proportion to the resistance [kWh]; blank where none ran."""
    energy = desk.design.energy
    if energy is None or energy.year is None or not isinstance(wired, CircuitDesign):
        return ""
    of_string = [one.resistance for one in desk.design.facts.circuits if one.string.id == wired.string.id]
    ohms = [one.value for one in of_string if isinstance(one, Quantity)]
    if len(ohms) < len(of_string) or not isinstance(wired.resistance, Quantity) or not sum(ohms):
        return ""
    lost = next((sum(one.figures.wire) for one in energy.year.strings if one.id == wired.string.id), None)
    return "" if lost is None else Quantity(lost * wired.resistance.value / sum(ohms), "kWh")
