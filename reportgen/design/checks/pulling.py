"""Pulls: tension and pressure of the planned pull against what wire, grip, line and user allow.

No code limits a pull. The verdict is that of the recommended feed end: a pull that stays within a limit even dry
meets it; one that does so with lubricant alone, or from one end alone, is thin and says what must not be left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from reportgen.design.checks.base import Facts, Words, check, compare, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Known, Missing, missing_of
from reportgen.design.pull_design import DRY, LUBRICATED, Feed, PullDesign
from reportgen.diagnostics.model import Span
from reportgen.engineering.pulling import Pull
from reportgen.working.quantity import Quantity
from reportgen.working.unit_system import both

#: What is told where a limit is not known.
_NAMES = {
    "pull-tension": "what the conductors may carry",
    "pull-line": "the working load of the line",
    "pull-sidewall": "the cable maker's limit",
}


@dataclass(frozen=True)
class _Limit:
    """One thing that a pull is held against."""

    code: str
    what: str
    unit: str
    limit: Known
    taken: Callable[[Pull], Quantity | None]
    cure: str
    cure_span: Span | None


@check
def pulls(facts: Facts) -> Iterator[Finding]:
    """Tension against conductors, grip, line and user; sidewall pressure against the cable maker's limit."""
    for item in facts.pulls:
        if item.staying:
            yield _staying(item)
        if item.missing:
            headline = f"pull of {item.name} is not worked out"
            yield unknown("pull-tension", item.section.raceway, headline, item.missing, part=item.part)
            continue
        for limit in _limits(facts, item):
            yield _judged(facts, item, limit)
        if not item.bends:
            told = f"{item.name} has no bend to press on"
            yield Finding("pull-sidewall", item.section.raceway, Outcome.MEETS, told, item.part)


def _limits(facts: Facts, item: PullDesign) -> Iterator[_Limit]:
    stock = facts.project.stock
    place = stock.span if stock else facts.project.project.span
    force, press = "lbf", "lbf/ft"
    another = "put a further pull point into this section, pull fewer wires at a time, or use wider bends"

    def hardest(one: Pull) -> Quantity:
        return one.hardest.after.to(force)

    def pressed(one: Pull) -> Quantity | None:
        bend = one.worst_bend
        return bend.pressure.to(press) if bend is not None and bend.pressure is not None else None

    yield _Limit(
        "pull-tension", "tension", force, _least(item.tension_limits, force), hardest, another, place
    )
    line = (
        item.line if isinstance(item.line, Missing) else item.line.to(force).named("working load of the line")
    )
    stronger = "take a stronger line, or stop at the value of the pull plan"
    at_line = stock.where("line_rating") if stock else place
    yield _Limit("pull-line", "tension", force, line, hardest, stronger, at_line)
    if item.bends:
        side = (
            item.sidewall
            if isinstance(item.sidewall, Missing)
            else item.sidewall.to(press).named("the cable maker's limit")
        )
        segment = facts.graph.segments[item.section.segments[-1]][1]
        yield _Limit(
            "pull-sidewall",
            "pressure on the wall of a bend",
            press,
            side,
            pressed,
            another,
            segment.where("bends"),
        )


def _least(limits: tuple[Known, ...], unit: str) -> Known:
    """Lowest of the limits, unknown where one of them is."""
    if missing := missing_of(*limits):
        return missing[0]
    stated = [limit.to(unit) for limit in limits if isinstance(limit, Quantity)]
    return min(stated, key=lambda limit: limit.value)


def _judged(facts: Facts, item: PullDesign, limit: _Limit) -> Finding:
    feed = item.feed
    assert feed is not None
    other: Feed = "start" if feed == "end" else "end"
    dry, lubricated = (_taken(item, limit, feed, index) for index in (DRY, LUBRICATED))
    wrong = _taken(item, limit, other, LUBRICATED)
    bound = limit.limit.name if isinstance(limit.limit, Quantity) else _NAMES[limit.code]
    end = item.place(feed)
    told = f"pull of {item.name} fed from {end}: {limit.what}"
    thin = facts.policies.share("pull_margin")

    def made(value: Quantity, how: str) -> Finding:
        return compare(
            limit.code,
            item.section.raceway,
            value,
            limit.limit,
            Words(f"{told} {how}", bound, 0),
            thin,
            part=item.part,
            cure=limit.cure,
            cure_span=limit.cure_span,
            notes=(
                f"lubricated {both(lubricated, 0)}, dry {both(dry, 0)}; fed from {item.place(other)} {both(wrong, 0)} lubricated",
            ),
        )

    found = made(dry, "dry")
    if found.outcome is Outcome.FAILS:
        found = made(lubricated, "lubricated")
        if found.outcome is not Outcome.FAILS:
            found = replace(
                found,
                outcome=Outcome.THIN,
                headline=f"{found.headline}; dry {both(dry, 0)}: lubricant is not optional",
                cure="use the lubricant of the pull plan and stop at its stop value",
            )
    if (
        found.outcome is not Outcome.FAILS
        and isinstance(limit.limit, Quantity)
        and wrong.value > limit.limit.value > 0
    ):
        found = replace(
            found,
            outcome=Outcome.THIN,
            headline=f"{found.headline}; {both(wrong, 0)} even lubricated from {item.place(other)}: the feed end is not optional",
            cure=f"feed from {end}",
        )
    return _unsettled(found, item)


def _unsettled(found: Finding, item: PullDesign) -> Finding:
    """A verdict that rests on a guessed friction or on a pipe that is not empty is none."""
    if found.outcome is Outcome.UNKNOWN:
        return found
    if item.usual_friction:
        return replace(
            found,
            outcome=Outcome.UNKNOWN,
            headline=f"{found.headline}, with the usual friction: not judged",
            margin=None,
            missing=("friction_dry and friction_lubricated of stock, from the cable or lubricant maker",),
            cure="state friction_dry and friction_lubricated of stock",
        )
    if item.staying and found.outcome is not Outcome.FAILS:
        return replace(
            found,
            outcome=Outcome.ASK,
            headline=f"{found.headline}, in an empty pipe; but wires stay in it",
            margin=None,
            question=f"Can the wires in {item.section.raceway} be drawn out before the pull, or who vouches for pulling over them?",
        )
    return found


def _taken(item: PullDesign, limit: _Limit, feed: Feed, index: int) -> Quantity:
    value = limit.taken(item.pulls(feed)[index])
    assert value is not None
    return value


def _staying(item: PullDesign) -> Finding:
    count = len(item.staying)
    names = ", ".join(dict.fromkeys(wire.circuit for wire in item.staying))
    return Finding(
        "pull-over-wires",
        item.section.raceway,
        Outcome.ASK,
        f"{count} {'wire stays' if count == 1 else 'wires stay'} in {item.name} ({names}) while {len(item.wires)} are pulled",
        item.part,
        question="Can they be drawn out first, as a bundle with the new ones or for good? Wires sliding over each other cut insulation, and friction is not that of an empty pipe.",
        cure="draw the old wires out first, or mark their circuit `removed`",
    )
