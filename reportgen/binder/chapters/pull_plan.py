"""Pull plan: both directions of every section for three frictions, limits, feed end, line, lubricant, who stands where."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.profiles import profiles
from reportgen.binder.elements import (
    Caution,
    Chapter,
    Element,
    Facts,
    Heading,
    Listing,
    Paragraph,
    TaskCard,
)
from reportgen.binder.schedules import UNKNOWN, Field, Line, Marked, Schedule
from reportgen.binder.task_cards import task_cards
from reportgen.design.findings import Outcome
from reportgen.design.missing import Known, Missing
from reportgen.design.pull_design import BOTH_ENDS, DRY, FRICTIONS, LUBRICATED, MIDDLE, Feed, PullDesign
from reportgen.engineering.pull_runs import Bend
from reportgen.engineering.pulling import Pull
from reportgen.rulebook.sizes import size_index
from reportgen.working.quantity import Quantity, quantity
from reportgen.working.unit_system import UnitSystem

CODES = ("pull-tension", "pull-line", "pull-sidewall")


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
            "Hands stay out of the last half metre before a pipe. Reels are braced, and one person only gives the word to pull.",
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
            "Middle is the mean of the two frictions. No code limits a pull; what is judged are the makers' figures and the user's own."
        ),
    ]
    steps = [desk.keep(one).table() for one in _steps(plans, units)]
    for item in plans:
        elements += [Heading(item.name), *_section(desk, item, units)]
    elements += steps
    if workings:
        elements += [Heading("Working"), *workings]
    for item in plans:
        elements += _cards(desk, item, units)
    return Chapter(
        "pull-plan",
        "Pull plan",
        "Which end the reels stand at, what the line will feel, and when to stop.",
        tuple(elements),
    )


def _shown(value: Known, unit: str, places: int = 0) -> str:
    """Value in a unit, or that it is not known."""
    return value.to(unit).show(places) if isinstance(value, Quantity) else UNKNOWN


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
        Field("tension", "wire and grip", force, 0, "Limit of tension"),
        Field("line", "line", force, 0, "Limit of tension"),
        Field("pressure_lubricated", "lubricated", press, 0, "Pressure in a bend"),
        Field("pressure", "dry", press, 0, "Pressure in a bend"),
        Field("sidewall", "limit", press, 0, "Pressure in a bend"),
        Field("stop", "Stop at", force, 0),
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


def _section(desk: Desk, item: PullDesign, units: UnitSystem) -> Iterator[Element]:
    feed = item.feed
    if feed is None:
        yield Paragraph("The pull is not worked out, because something is missing:")
        yield Listing(tuple(f"state {missing.what}" for missing in item.missing))
        return
    if item.staying:
        yield Caution(
            "Wires stay in this pipe",
            "The figures hold for an empty pipe. Wires that slide over each other cut insulation: draw the old ones out first, "
            "and pull everything as one bundle.",
            "common practice, no source",
        )
    assert not isinstance(item.advice, Missing)
    other: Feed = "start" if feed == "end" else "end"
    point = item.further_pull_point()
    failing = _outcomes(desk, item) & {Outcome.FAILS}
    pairs = [
        ("Feed from", f"{item.place(feed)}, pull at {item.place(other)}"),
        ("Why", _why(item, units)),
        (
            "Friction",
            ", ".join(
                f"{name} {one.friction.keyed}" for name, one in zip(FRICTIONS, item.pulls(feed), strict=True)
            ),
        ),
        ("Tension where the wires enter", _shown(item.feed_tension, units.force)),
        *(
            (f"Limit: {limit.name or 'working load of the line'}", _shown(limit, units.force))
            for limit in (*item.tension_limits, item.line)
            if isinstance(limit, Quantity)
        ),
        ("Stop the pull at", _told_stop(item, units)),
        (
            "Further pull point",
            "needed: a limit is passed even with lubricant" if failing else "not needed by these limits",
        ),
    ]
    if point is not None:
        pairs.append(
            (
                "Where it would help most",
                f"{_shown(point.distance, units.length, 1)} from {item.place(feed)}, in or behind {point.after}: "
                f"dry {_shown(point.before, units.force)} becomes {_shown(point.hardest, units.force)}",
            )
        )
    jammed = [
        f.headline for key in item.section.segments for f in desk.findings("raceway-jam", subject=str(key))
    ]
    if jammed:
        pairs.append(("Jamming", "; ".join(jammed)))
    yield Facts(tuple(pairs), "Plan")
    yield Facts(tuple(_kit(item, units)), "Line, head and reels")


def _why(item: PullDesign, units: UnitSystem) -> str:
    """The reason for the feed end, in the units of the page."""
    assert not isinstance(item.advice, Missing)
    told = "; ".join(
        f"dry {_shown(item.pulls(end)[DRY].hardest.after, units.force)} fed from {item.place(end)}"
        for end in BOTH_ENDS
    )
    behind = (
        item.advice.reason.partition("; ")[2]
        .replace("start", item.section.start)
        .replace("end,", f"{item.section.end},")
    )
    return f"{told}; {behind or 'both ends are alike'}"


def _outcomes(desk: Desk, item: PullDesign) -> set[Outcome]:
    return {f.outcome for f in desk.findings(*CODES, subject=item.section.raceway) if f.part == item.part}


def _told_stop(item: PullDesign, units: UnitSystem) -> str:
    if isinstance(item.stop, Quantity):
        return _shown(item.stop, units.force)
    return f"{UNKNOWN}: state {item.stop.what}"


def _kit(item: PullDesign, units: UnitSystem) -> Iterator[tuple[str, str]]:
    yield "Run", _shown(item.length, units.length, 1)
    yield "Pull line", f"{_shown(item.line_length, units.length, 1)}: run and both ends"
    yield (
        "Kind of line",
        "flat woven tape: a string or thin rope saws through the wall of a plastic bend"
        if item.plastic
        else "flat woven tape or rope with the working load marked on it",
    )
    yield (
        "Lubricant",
        f"{_shown(item.lubricant, units.liquid, 2)} at least, in the pipe and on the wires all the way",
    )
    carrying = sum(wire.carries for wire in item.wires)
    grounds = len(item.wires) - carrying
    yield (
        "Head",
        f"{carrying} conductors bare and folded into the head, staggered so that it tapers"
        + (
            f"; {grounds} {'ground' if grounds == 1 else 'grounds'} taped on behind, carrying nothing"
            if grounds and carrying
            else ""
        ),
    )
    yield "Reels, in this order", reels(item)
    yield (
        "Left behind",
        f"a spare line of {_shown(item.line_length, units.length, 1)}, pulled in with the wires and tied off at both ends",
    )


def reels(item: PullDesign) -> str:
    """Reels as they stand at the feed end, the stiffest wire first so that it lies in the middle of the bundle."""
    kinds = Counter(
        (wire.size, wire.colour or ("ground" if not wire.carries else "no colour stated"))
        for wire in item.wires
    )
    order = sorted(kinds, key=lambda kind: (-_gauge(kind[0]), kind[1]))
    return "; ".join(f"{kinds[kind]} × {kind[0]} {kind[1]}" for kind in order)


def _gauge(size: str) -> float:
    """Rank of a size, thicker being more."""
    try:
        return float(size_index(size))
    except ValueError:
        return 0.0


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


def _early(item: PullDesign, feed: Feed, units: UnitSystem) -> Iterator[str]:
    """Sign that lubricant does not do its work, where that shows before the stop value."""
    middle = item.pulls(feed)[MIDDLE].hardest.after
    if isinstance(item.stop, Quantity) and middle.value < item.stop.to("lbf").value:
        yield f"the gauge passes {_shown(middle, units.force)}: the lubricant does not do its work, find out why first"


def _cards(desk: Desk, item: PullDesign, units: UnitSystem) -> tuple[TaskCard, ...]:
    feed = item.feed
    if feed is None:
        return ()
    other: Feed = "start" if feed == "end" else "end"
    here, there = item.place(feed), item.place(other)
    boxes = ", ".join(str(key.segment) for key in item.section.segments)
    low = item.pulls(feed)[LUBRICATED]
    return task_cards(
        f"pull-{item.name}",
        f"Pull {item.name}",
        tall=desk.tall,
        purpose=f"Draw {len(item.wires)} wires through {boxes} in one pull, without hurting wire or hands.",
        stop=(
            f"the gauge shows {_told_stop(item, units)}",
            *_early(item, feed, units),
            "a wire, a knot or the tape catches, or either end says stop",
            "the pipe was not proven with a mandrel and swabbed, or old wire is in it",
        ),
        cautions=(
            Caution(
                "Line under tension",
                "Stand beside it, never in it or in its angle. Hands off the mouth of the pipe.",
                "",
            ),
        ),
        steps=(
            "Prove the pipe with a mandrel and a swab; draw the line in and leave a second one for later.",
            f"Set up the reels at {here}: {reels(item)}. Mark both ends of every wire before it goes in.",
            "Make up the head, staggered and taped smooth; no knot wider than the bundle.",
            f"Put in lubricant ahead of the head and on the wires, {_shown(item.lubricant, units.liquid, 2)} in all.",
            f"At {here}: one guides and lubricates, one brakes the reels. At {there}: one pulls, one reads the gauge and gives the word.",
            f"Pull slowly and without a stop; {_shown(low.hardest.after, units.force)} is expected at most with lubricant.",
            "Pull on until the tails are out at both ends, then cut the head off; tie off the spare line.",
            "Ring out every wire and test its insulation before anything is landed.",
        ),
        facts=Facts(
            tuple(
                pair for pair in _kit(item, units) if pair[0] in {"Run", "Pull line", "Kind of line", "Head"}
            ),
            "To have at hand",
        ),
        remarks=2,
    )
