"""Pull plan: both directions of every section for three frictions, limits, feed end, line, lubricant, who stands where."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.profiles import profiles
from reportgen.binder.chapters.pull_cards import CODES, cards, plan_tables
from reportgen.binder.elements import Caution, Chapter, Element, Heading, Paragraph
from reportgen.binder.schedules import UNKNOWN, Field, Line, Marked, Schedule
from reportgen.design.missing import Known
from reportgen.design.pull_design import BOTH_ENDS, DRY, FRICTIONS, LUBRICATED, PullDesign
from reportgen.engineering.pull_advice import PARTS
from reportgen.engineering.pull_runs import Bend
from reportgen.engineering.pulling import Pull
from reportgen.working.quantity import Quantity, quantity
from reportgen.working.text import fixed
from reportgen.working.unit_system import UnitSystem


def chapter(desk: Desk) -> Chapter | None:
    """The pull of every section that new wires are drawn into; no chapter where nothing is pulled."""
    plans = desk.design.facts.pulls
    if not plans:
        return None
    units = desk.units
    workings: list[Element] = []
    for item in plans:
        workings += _workings(desk, item, units)
    elements: list[Element] = [
        Caution(
            "Line under tension",
            "Nobody stands in the line of a rope under tension, nor in its angle at a pulley; a line that parts whips back. "
            "Hands stay out of the last half metre before a pipe. One person only gives the word to pull.",
            "makers' manuals; common practice, no source",
        ),
        Caution(
            "Power winch",
            "A winch does not feel a wire that catches. Use one only with a gauge or a clutch set to the stop value of this plan.",
            "common practice, no source",
        ),
        *_summary(desk, plans, units),
        *profiles(desk, pulled=True),
        Paragraph(
            "A bend without a stated place is taken at whichever end of its stretch pulls harder, in each direction anew; "
            "one without a stated turn lies level, and the climb of its stretch is made by the straights. A slope is even. "
            "In a profile the arrow shows which way is pulled; the tension stands under the pipe at the same places. "
            "Middle is the mean of the two frictions. No code limits a pull; what is judged are the makers' figures and the user's own. "
            f"A further pull point is looked for between straights and bends and at each {fixed(100 / PARTS, 0)} % of a straight: "
            "the best of these places is named, not the best of all."
        ),
    ]
    steps = [desk.keep(one).table() for one in _steps(plans, units)]
    elements += plan_tables(desk, plans)
    elements += steps
    if workings:
        elements += [Heading("Working"), *workings]
    elements += cards(desk, plans)
    return Chapter(
        "pull-plan",
        "Pull plan",
        "Which end the wires are fed from, what the line will feel, and when to stop.",
        tuple(elements),
    )


def _summary(desk: Desk, plans: tuple[PullDesign, ...], units: UnitSystem) -> Iterator[Element]:
    lines = []
    for item in plans:
        subject = {
            f.code: f.outcome
            for f in desk.findings(*CODES, subject=item.section.raceway)
            if f.part == item.part
        }
        feed = item.feed
        pulls = item.pulls(feed) if feed else ()
        reached: dict[str, object] = {
            name: one.hardest.after for name, one in zip(FRICTIONS, pulls, strict=False)
        }
        pressed = [bend.pressure if (bend := one.worst_bend) else None for one in pulls]
        lines.append(
            Line(
                {
                    "section": item.name,
                    "wires": str(len(item.wires)),
                    "weight": item.weight,
                    "correction": item.correction,
                    "feed": item.place(feed) if feed else UNKNOWN,
                    **{name: reached.get(name, UNKNOWN) for name in FRICTIONS},
                    "tension": Marked(_lowest(item), subject.get("pull-tension")),
                    "line": Marked(item.line, subject.get("pull-line")),
                    "pressure": pressed[DRY] if pressed else "",
                    "pressure_lubricated": pressed[LUBRICATED] if pressed else "",
                    "sidewall": Marked(item.sidewall, subject.get("pull-sidewall")),
                    "stop": item.stop,
                }
            )
        )
    force, press = units.force, units.per_length
    fields = (
        Field("section", "Section"),
        Field("wires", "Wires", align="right"),
        Field("weight", "w", press, 3),
        Field("correction", "w_c", "", 2, align="right"),
        Field("feed", "Feed from"),
        Field("lubricated", "lubricated", force, 0, "Greatest tension"),
        Field("middle", "middle", force, 0, "Greatest tension"),
        Field("dry", "dry", force, 0, "Greatest tension"),
        Field("tension", "wire and grip", force, 0, "Limit of tension", at_most=True),
        Field("line", "line", force, 0, "Limit of tension", at_most=True),
        Field("pressure_lubricated", "lubricated", press, 0, "Pressure in a bend"),
        Field("pressure", "dry", press, 0, "Pressure in a bend"),
        Field("sidewall", "limit", press, 0, "Pressure in a bend", at_most=True),
        Field("stop", "Stop at", force, 0, at_most=True),
    )
    notes = (
        "Stop at: the lowest of all limits, the sharpest bend included. At this reading the pull is stopped and found out about.",
    )
    yield desk.keep(Schedule("pulls", "Pulls by section", fields, tuple(lines), notes, wide=True)).table()


def _lowest(item: PullDesign) -> Known:
    missing = [limit for limit in item.tension_limits if not isinstance(limit, Quantity)]
    if missing:
        return missing[0]
    known = [limit for limit in item.tension_limits if isinstance(limit, Quantity)]
    return min(known, key=lambda limit: limit.to("lbf").value)


def _steps(plans: tuple[PullDesign, ...], units: UnitSystem) -> Iterator[Schedule]:
    lines = []
    for item in plans:
        for feed in BOTH_ENDS:
            pulls = item.pulls(feed)
            if not pulls:
                continue
            by_hand = pulls[DRY].steps
            for index, step in enumerate(by_hand):
                element = step.element
                bend = isinstance(element, Bend)
                alike = [one.steps[index] if _same(one, pulls[DRY]) else None for one in pulls]
                lines.append(
                    Line(
                        {
                            "section": item.name,
                            "fed": item.place(feed),
                            "element": element.name,
                            "length": element.run,
                            "climb": "" if bend else quantity(element.rise, "ft"),  # type: ignore[union-attr]
                            "angle": quantity(element.angle, "deg") if bend else "",  # type: ignore[union-attr]
                            "radius": quantity(element.radius, "ft") if bend else "",  # type: ignore[union-attr]
                            **{
                                name: one.after if one else ""
                                for name, one in zip(FRICTIONS, alike, strict=True)
                            },
                            "pressure": step.pressure if step.pressure is not None else "",
                        }
                    )
                )
    force = units.force
    fields = (
        Field("section", "Section"),
        Field("fed", "Fed from"),
        Field("element", "Element"),
        Field("length", "Length", units.length, 2),
        Field("climb", "Climb", units.length, 2),
        Field("angle", "Bend", "deg", 0),
        Field("radius", "Radius", units.length, 3),
        Field("lubricated", "lubricated", force, 1, "Tension behind it"),
        Field("middle", "middle", force, 1, "Tension behind it"),
        Field("dry", "dry", force, 1, "Tension behind it"),
        Field("pressure", "Pressure, dry", units.per_length, 0),
    )
    notes = (
        "Straight: T + w · (climb + μ · w_c · level distance). Bend: T · exp(μ · w_c · π / 180 · angle), and the weight of its own climb where it turns up or down. Pressure: T behind the bend over its radius.",
        "Where a friction pulls hardest with a loose bend at another place than dry does, its column is empty; the summary has its end value.",
    )
    if lines:
        yield Schedule(
            "pull-steps",
            "Tension behind every straight and bend, both ways",
            fields,
            tuple(lines),
            notes,
            wide=True,
        )


def _same(one: Pull, other: Pull) -> bool:
    return [step.element.name for step in one.steps] == [step.element.name for step in other.steps]


def _workings(desk: Desk, item: PullDesign, units: UnitSystem) -> Iterator[Element]:
    feed = item.feed
    if feed is None:
        return
    for value, what in (
        (item.pulls(feed)[DRY].hardest.after.to(units.force), "dry"),
        (item.tension_limits[0], "limit"),
        (item.stop, "stop"),
        (item.lubricant, "lubricant"),
    ):
        yield from desk.working(value, "pull", item.name, what)
