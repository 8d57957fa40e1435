"""Sizes that each circuit could have: what the next one up buys, and what keeps the next one down from doing."""

from __future__ import annotations

from dataclasses import replace

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.upper_bounds import is_bound
from reportgen.binder.elements import Element, Heading, Paragraph
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.findings import Outcome
from reportgen.design.missing import Known
from reportgen.design.next_size import LIFE, steps, year_loss
from reportgen.design.wire_options import SizeOption, SizeTest, wire_options
from reportgen.working.quantity import Quantity

_FIELDS = (
    Field("circuit", "Circuit"),
    Field("size", "Size"),
    Field("chosen", "Chosen"),
    Field("terminal", "at the terminals", "A", 2, "Ampacity", at_most=True),
    Field("use", "in use", "A", 2, "Ampacity", at_most=True),
    Field("stretch", "worst stretch", group="Ampacity"),
    Field("device", "largest device", "A", 0, "Ampacity", at_most=True),
    Field("fill", "fill", "%", 1, "Tightest stretch"),
    Field("fill_in", "in", group="Tightest stretch"),
    Field("share", "drop", "%", 2, "At standard conditions"),
    Field("loss", "loss", "W", 1, "At standard conditions"),
    Field("year", "loss in a year", "kWh", 0, "At standard conditions"),
    Field("does", "Of what is tested"),
    Field("governs", "Governs"),
)


def section(desk: Desk) -> list[Element]:
    """Part of the conductor chapter; empty where no circuit has a size of the table."""
    options = wire_options(desk.design.facts)
    if not options:
        return []
    lines = tuple(_line(desk, option) for option in options)
    notes: tuple[str, ...] = (
        "Tested: ampacity at the terminals and in use, the device over the home run, fill, drop, sizes that the clamps take, and distances in "
        "boxes from the size on that asks for them. Not tested: volume of boxes, the pull, the ground beside it, and a connector that states no sizes.",
        "Each size is put in alone, all else as the folder has it; the ground and devices may have to follow.",
        "The loss in a year is that of the simulated year in proportion to the resistance; blank where no year ran.",
        "Largest device: what would protect the conductor where one is fitted; blank where none is.",
    )
    if any(option.test("drop limit") for option in options):
        notes += (
            "A drop fails where it passes the stated limit in the hottest hour; printed is that at standard conditions.",
        )
    if several := [
        c for c in dict.fromkeys(o.circuit for o in options) if c in desk.design.facts.joined_on_the_way
    ]:
        notes += (
            f"Behind a box where strings come together {', '.join(several)} carries more than its own: asked, not tested.",
        )
    schedule = Schedule("wire-sizes", "Wire sizes", _FIELDS, lines, notes, wide=True, trial=True)
    return [
        Heading("Sizes to choose from"),
        Paragraph(
            "The voltage drop cannot fail a size unless you stated a limit: compare what the next size up saves in a year "
            "with what it costs."
        ),
        _told(desk.keep(schedule)).table(),
        *_buys(desk, options),
    ]


def _told(schedule: Schedule) -> Schedule:
    """The schedule as it is read: a circuit and stretches that hold for all its sizes stand once over them."""
    by_circuit: dict[str, set[tuple[object, object]]] = {}
    for line in schedule.lines:
        by_circuit.setdefault(line.group, set()).add((line.values["stretch"], line.values["fill_in"]))
    if any(len(stretches) > 1 for stretches in by_circuit.values()):
        return schedule
    over = {
        circuit: f"{circuit}: hottest in {stretch}, tightest in {fill_in}"
        for circuit, ((stretch, fill_in),) in by_circuit.items()
    }
    fields = tuple(field for field in schedule.fields if field.key not in {"circuit", "stretch", "fill_in"})
    lines = tuple(replace(line, group=over[line.group]) for line in schedule.lines)
    return replace(schedule, fields=fields, lines=lines)


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
            "year": _year(desk, option),
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


def _year(desk: Desk, option: SizeOption) -> object:
    """Loss in the simulated year, in proportion to the resistance [kWh]; blank where none ran."""
    lost = year_loss(desk.design.facts, desk.design.energy, option)
    return "" if lost is None else lost


_BUYS = (
    Field("circuit", "Circuit"),
    Field("chosen", "From"),
    Field("size", "To"),
    Field("lost", "lost now", "kWh", 1, "In a year"),
    Field("saved", "saved", "kWh", 1, "In a year"),
    Field("worth", "worth", "", 2, "In a year"),
    Field("extra", "Wire costs more", "", 2),
    Field("payback", "Payback in years", "", 1),
    Field("each", "Each kWh saved costs", "", 3),
    Field("fill", "fill", "%", 1, "In the pipe"),
    Field("fits", "fits", group="In the pipe"),
    Field("does", "Tests of the table above"),
)


def _buys(desk: Desk, options: tuple[SizeOption, ...]) -> list[Element]:
    """What the sizes next to the one chosen save or lose; empty where no year ran."""
    found = tuple(steps(desk.design.facts, desk.design.energy, options))
    if not found:
        return []
    lines = tuple(
        Line(
            {
                "circuit": step.option.circuit,
                "chosen": step.chosen,
                "size": step.option.size,
                "lost": step.lost,
                "saved": step.saved,
                "worth": _money(step.worth),
                "extra": "stands already" if step.stands else _money(step.extra),
                "payback": step.payback or "",
                "each": step.each or "",
                "fill": step.option.fill,
                "does": str(step.option.outcome),
                "fits": str(outcome) if (outcome := _outcome(step.option.test("fill"))) else "",
            },
            group=step.option.circuit,
        )
        for step in found
    )
    prices = desk.design.project.prices
    notes: tuple[str, ...] = (
        f"Money in {prices.currency}." if prices else "No prices are stated.",
        "Saved: the difference of both losses in a year in the table above; a thinner wire saves less than nothing.",
        "Wire costs more: length to cut of each leg times the difference of both prices; without grounds, pipe, devices "
        "and labour. A wire that stands already would be bought anew as a whole: no price is told for it. Payback: that over the "
        "worth of a year.",
        f"Each kWh saved costs: that over the kWh of {LIFE.show(0)} years (assumed, common practice), without interest; compare it "
        "with the price of energy.",
    )
    if is_bound(desk.design.energy):
        notes += (
            "Of a thinner wire the amount is the upper bound, and not its sign: it loses at most that much more.",
        )
    return [
        desk.keep(
            Schedule("wire-next-size", "What the next size buys", _BUYS, lines, notes, trial=True)
        ).table()
    ]


def _money(value: Known) -> object:
    """The value; what is not priced says so, any other gap stays unknown."""
    if isinstance(value, Quantity):
        return value
    return "no price stated" if value.what.startswith("price ") else value
