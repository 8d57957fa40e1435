"""What each pull is done by: its feed end, limits, line, head and wires side by side, and the cards taken outside."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import (
    Blank,
    Caution,
    Column,
    Element,
    Fields,
    FormTable,
    Heading,
    Listing,
    Paragraph,
    Table,
    TableCell,
    TaskCard,
    row,
)
from reportgen.binder.schedules import UNKNOWN
from reportgen.design.findings import Outcome
from reportgen.design.missing import Known, Missing
from reportgen.design.pull_design import BOTH_ENDS, DRY, FRICTIONS, LUBRICATED, MIDDLE, Feed, PullDesign
from reportgen.rulebook.sizes import size_index
from reportgen.working.quantity import Quantity
from reportgen.working.unit_system import UnitSystem

CODES = ("pull-tension", "pull-line", "pull-sidewall")
#: Pulls that stand side by side on a page or a card.
_ABREAST = 3


def plan_tables(desk: Desk, plans: Sequence[PullDesign]) -> list[Element]:
    """Plans of the pulls side by side; what is missing for those that are not worked out."""
    elements: list[Element] = []
    for item in plans:
        if item.feed is None:
            elements += [
                Heading(item.name),
                Paragraph("The pull is not worked out, because something is missing:"),
                Listing(tuple(f"state {missing.what}" for missing in item.missing)),
            ]
    known = [item for item in plans if item.feed is not None]
    if staying := [item.name for item in known if item.staying]:
        elements.append(
            Caution(
                f"Wires stay in this pipe: {', '.join(staying)}",
                "The figures hold for an empty pipe. Wires that slide over each other cut insulation: draw the old ones out first, "
                "and pull everything as one bundle.",
                "common practice, no source",
            )
        )
    for number, part in enumerate(_abreast(known), start=1):
        told = [dict(_plan(desk, item)) for item in part]
        kit = [dict(_kit(item, desk.units)) for item in part]
        elements += [
            _side_by_side(f"pull-plan-{number}", "Plan", part, told),
            _side_by_side(f"pull-kit-{number}", "Line, head and wires", part, kit),
        ]
    return elements


def _abreast(plans: Sequence[PullDesign]) -> list[Sequence[PullDesign]]:
    return [plans[start : start + _ABREAST] for start in range(0, len(plans), _ABREAST)]


def _side_by_side(
    id: str, caption: str, plans: Sequence[PullDesign], told: Sequence[Mapping[str, str | TableCell]]
) -> Table:
    """A column for each pull, a row for each name that one of them tells something under."""
    names = dict.fromkeys(name for one in told for name in one)
    rows = tuple(row(name, *(one.get(name, "") for one in told)) for name in names)
    return Table(id, caption, (Column("Pull"), *(Column(item.name) for item in plans)), rows)


def _shown(value: Known, unit: str, places: int = 0, at_most: bool | None = None) -> str:
    """Value in a unit, or that it is not known."""
    return value.to(unit).show(places, at_most) if isinstance(value, Quantity) else UNKNOWN


def _plan(desk: Desk, item: PullDesign) -> Iterator[tuple[str, str]]:
    """What the plan of a pull says, by name."""
    feed, units = item.feed, desk.units
    assert feed is not None
    other: Feed = "start" if feed == "end" else "end"
    yield "Feed from", f"{item.place(feed)}, pull at {item.place(other)}"
    yield "Why", _why(item, units)
    yield (
        "Friction",
        ", ".join(
            f"{name} {one.friction.keyed}" for name, one in zip(FRICTIONS, item.pulls(feed), strict=True)
        ),
    )
    yield "Tension where the wires enter", _shown(item.feed_tension, units.force)
    for limit in (*item.tension_limits, item.line):
        if isinstance(limit, Quantity):
            yield (
                f"Limit: {limit.name or 'working load of the line'}",
                _shown(limit, units.force, at_most=True),
            )
    yield "Stop the pull at", _told_stop(item, units)
    failing = _outcomes(desk, item) & {Outcome.FAILS}
    yield (
        "Further pull point",
        "needed: a limit is passed even with lubricant" if failing else "not needed by these limits",
    )
    if (point := item.further_pull_point()) is not None:
        yield (
            "Where it would help most",
            f"{_shown(point.distance, units.length, 1)} from {item.place(feed)}, in or behind {point.after}: "
            f"dry {_shown(point.before, units.force)} becomes {_shown(point.hardest, units.force)}",
        )
    jammed = [
        f.headline for key in item.section.segments for f in desk.findings("raceway-jam", subject=str(key))
    ]
    if jammed:
        yield "Jamming", "; ".join(jammed)


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
        return _shown(item.stop, units.force, at_most=True)
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
    yield "Wires, in this order", bundle(item)
    yield (
        "Left behind",
        f"a spare line of {_shown(item.line_length, units.length, 1)}, pulled in with the wires and tied off at both ends",
    )


def bundle(item: PullDesign) -> str:
    """Wires as they lie at the feed end, the stiffest wire first so that it lies in the middle of the bundle."""
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


#: Least tension that a pull gauge can be read at; our own choice, common practice. [lbf]
_LEAST_READING = 10.0


def _too_light(tension: Quantity) -> bool:
    """Whether a pull is so light that no gauge shows it."""
    return tension.to("lbf").value < _LEAST_READING


def _expected(tension: Quantity, units: UnitSystem) -> str:
    told = _shown(tension, units.force)
    return f"{told}, less than a gauge shows: by hand" if _too_light(tension) else told


def _early(item: PullDesign, feed: Feed, units: UnitSystem) -> str:
    """Reading above which lubricant does not do its work, where that shows before the stop value."""
    middle = item.pulls(feed)[MIDDLE].hardest.after
    if _too_light(middle):
        # So little shows on no gauge, and is no sign of anything.
        return "any reading: the pull is lighter than a gauge shows"
    if isinstance(item.stop, Quantity) and middle.value < item.stop.to("lbf").value:
        return _shown(middle, units.force)
    return "no reading below the stop value"


def cards(desk: Desk, plans: Sequence[PullDesign]) -> list[TaskCard]:
    """Cards of the pulls that are worked out, a few side by side on each."""
    parts = _abreast([item for item in plans if item.feed is not None])
    return [_card(desk, part, number, len(parts)) for number, part in enumerate(parts, start=1)]


def _card(desk: Desk, plans: Sequence[PullDesign], number: int, count: int) -> TaskCard:
    id = f"card-pull-{number}"
    return TaskCard(
        id,
        "Pull the wires" + (f", card {number} of {count}" if count > 1 else ""),
        (
            Caution(
                "Line under tension",
                "Stand beside it, never in it or in its angle. Hands off the mouth of the pipe.",
                "",
            ),
            _side_by_side(
                f"{id}-figures", "To have at hand", plans, [_figures(desk, item) for item in plans]
            ),
            _done(id, plans),
            Fields(f"{id}-signed", (Blank("Remarks"),)),
        ),
        "Draw all wires of a pipe in one pull each, without hurting wire or hands.",
        (
            "the gauge shows the stop value of this pull, or a value printed as unknown is still open",
            "the gauge passes the reading for which lubricant is to be looked after: find out why first",
            "a wire, a knot or the tape catches, or either end says stop",
            "the pipe was not proven with a mandrel and swabbed, or old wire is in it",
        ),
    )


def _figures(desk: Desk, item: PullDesign) -> dict[str, str | TableCell]:
    """What is needed at the pipe, the stop value first."""
    feed, units = item.feed, desk.units
    assert feed is not None
    other: Feed = "start" if feed == "end" else "end"
    kit = dict(_kit(item, units))
    return {
        "Stop at": TableCell(_told_stop(item, units), strong=True),
        "Look after lubricant above": _early(item, feed, units),
        "Expected at most, lubricated": _expected(item.pulls(feed)[LUBRICATED].hardest.after, units),
        "Wires and lubricant at": item.place(feed),
        "Pull and gauge at": item.place(other),
        "Through": ", ".join(str(key.segment) for key in item.section.segments),
        "Wires, in this order": f"{len(item.wires)} wires: {bundle(item)}",
        "Head": kit["Head"],
        "Lubricant in all": _shown(item.lubricant, units.liquid, 2),
        "Run": kit["Run"],
        "Pull line": kit["Pull line"],
        "Kind of line": kit["Kind of line"],
    }


def _done(id: str, plans: Sequence[PullDesign]) -> FormTable:
    """Steps with a box for each pull, and who did it when."""
    steps = (
        "Prove the pipe with a mandrel and a swab; draw the line in and leave a second one for later.",
        "Lay the wires out in long loops, as the cut list has cut them, in their order; each marked at both ends.",
        "Make up the head, staggered and taped smooth; no knot wider than the bundle.",
        "Put in lubricant ahead of the head and on the wires.",
        "At the loops one guides and lubricates, one feeds the wires side by side. At the other end one pulls, one reads the gauge and gives the word.",
        "Pull slowly and without a stop, until the tails are out at both ends; cut the head off; tie off the spare line.",
        "Ring out every wire and test its insulation before anything is landed.",
    )
    rows: list[tuple[str | Blank, ...]] = [
        (f"{k} {step}", *(Blank(tick=True) for _ in plans)) for k, step in enumerate(steps, start=1)
    ]
    rows += [(name, *(Blank() for _ in plans)) for name in ("Done by, initials", "Date")]
    columns = (Column("Step"), *(Column(item.name) for item in plans))
    return FormTable(f"{id}-form", "Steps", columns, tuple(rows))
