"""Straights and bends of a stretch in every way that the folder leaves open, and the hardest pull through them.

A bend without a place stands at whichever end of its stretch pulls harder, in each direction anew; the friction of a
slope is that of an even slope, which no other shape of the same length and climb exceeds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from reportgen.design.graph import SegmentId
from reportgen.design.missing import Missing
from reportgen.engineering.pull_runs import Bend, Element, Straight, Turn
from reportgen.engineering.pulling import Pull, Step, pull
from reportgen.project.layout import RacewaySegment
from reportgen.working.quantity import Assumed, Quantity, work

#: Share of a stretch by which its parts may overlap, or its climb exceed its length: how well a pipe is measured. [-]
_MEASURING = 0.02
#: Straights shorter than this are left by converting units and are none. [ft]
_NOTHING = 1e-3
#: Ways in which a stretch may be made up, each from its start to its end.
Variants = tuple[tuple[Element, ...], ...]


def hardest_pull(
    stretches: Sequence[Variants], weight: Quantity, friction: Quantity, correction: Quantity, start: Quantity
) -> Pull:
    """The pull in one direction with every loose bend where it pulls harder.

    Tension behind a stretch never falls when the tension before it rises, so the worst of each stretch in turn is
    the worst of the whole.
    """
    steps: list[Step] = []
    tension = start
    for variants in stretches:
        made = [pull(variant, weight, friction, correction, tension).steps for variant in variants if variant]
        if not made:
            continue
        worst = max(made, key=lambda one: (one[-1].after.value, _most_pressure(one)))
        steps += worst
        tension = worst[-1].after
    return Pull(tuple(steps), friction)


def _most_pressure(steps: Sequence[Step]) -> float:
    return max((step.pressure.value for step in steps if step.pressure is not None), default=0.0)


def made_up(key: SegmentId, segment: RacewaySegment, bends: list[Bend]) -> Variants | Missing:
    """Straights and bends of a stretch, from its start to its end."""
    length = segment.length.to("ft").named(f"length of {key}")
    arcs = [bend.run.named(f"arc of {bend.name}") for bend in bends]
    straight = length.value - sum(arc.value for arc in arcs)
    slack = _MEASURING * length.value
    if straight < -slack:
        return Missing(
            f"length of {key} with its elbows: it is shorter than the arcs of its bends, so measure it, or state their radius",
            segment.where("length"),
        )
    fitted = _climbing(segment, bends, max(0.0, straight) + slack)
    if fitted is None:
        return Missing(f"rise of {key} that its length allows", segment.where("rise"))
    bends = fitted
    rise = _rise_left(key, segment, bends)
    placed = sorted(
        (
            (stated.at.to("ft"), bend, arc)
            for stated, bend, arc in zip(segment.bends, bends, arcs, strict=True)
            if stated.at is not None
        ),
        key=lambda item: item[0].value,
    )
    loose = [
        (bend, arc) for stated, bend, arc in zip(segment.bends, bends, arcs, strict=True) if stated.at is None
    ]
    ways = [False, True] if loose else [True]
    made = []
    for late in ways:
        gaps = _gaps(key, length, placed, [arc for _, arc in loose], late=late)
        if gaps is not None:
            between = _sloped(gaps, rise, key)
            row: list[Element] = [*between[:1]]
            for (_, bend, _), behind in zip(placed, between[1:], strict=True):
                row += [bend, behind]
            free = [bend for bend, _ in loose]
            row = [*row, *free] if late else [*free, *row]
            made.append(tuple(one for one in row if isinstance(one, Bend) or one.run.value > _NOTHING))
    if not made:
        return Missing(f"places of the bends of {key} that fit its length", segment.where("bends"))
    return tuple(made)


def _climbing(segment: RacewaySegment, bends: list[Bend], straight: float) -> list[Bend] | None:
    """Bends of a stretch, those without a stated turn climbing where its straights alone cannot make the rise [ft]."""
    if segment.rise is None:
        return bends
    rise = segment.rise.to("ft").value
    signs = {Turn.UP: 1.0, Turn.DOWN: -1.0, Turn.LEVEL: 0.0}
    fitted = list(bends)

    def left() -> float:
        return rise - sum(signs[bend.turn] * bend.climb.value for bend in fitted)

    for number, stated in enumerate(segment.bends):
        if abs(left()) > straight and stated.turn is None:
            fitted[number] = replace(fitted[number], turn=Turn.UP if left() > 0 else Turn.DOWN)
    return fitted if abs(left()) <= straight else None


def _rise_left(key: SegmentId, segment: RacewaySegment, bends: Sequence[Bend]) -> Quantity:
    """Climb that the straights of a stretch make: its whole climb but for that of its bends [ft]."""
    if segment.rise is None:
        return Quantity(
            0.0,
            "ft",
            Assumed(
                "rise of stretches",
                "a stretch without a rise of its own is taken as level",
                "our own default",
            ),
            f"rise of {key}",
        )
    rise = segment.rise.to("ft").named(f"rise of {key}")
    ups = {f"c_{n}": bend.climb for n, bend in enumerate(bends, start=1) if bend.turn is Turn.UP}
    downs = {f"d_{n}": bend.climb for n, bend in enumerate(bends, start=1) if bend.turn is Turn.DOWN}
    if not ups and not downs:
        return rise
    text = "h" + "".join(f" - {name}" for name in ups) + "".join(f" + {name}" for name in downs)
    return work(f"rise of the straights of {key}", "ft", text, h=rise, **ups, **downs)


def _gaps(
    key: SegmentId,
    length: Quantity,
    placed: Sequence[tuple[Quantity, Bend, Quantity]],
    loose: Sequence[Quantity],
    *,
    late: bool,
) -> list[Quantity] | None:
    """Straights before, between and behind the bends with a place; None where they do not fit [ft]."""
    off = {f"a_{number}": arc for number, arc in enumerate(loose, start=1)}
    less = "".join(f" - {name}" for name in off)
    name = f"straight of {key}"
    if not placed and not off:
        return [length.named(name)]
    found: list[Quantity] = []
    if not placed:
        found.append(work(name, "ft", f"L{less}", L=length, **off))
    else:
        early, behind = ("", less) if late else (less, "")
        (first, _, arc), (last, _, end) = placed[0], placed[-1]
        off_early, off_late = ({}, off) if late else (off, {})
        found.append(work(f"first {name}", "ft", f"x - b / 2{early}", x=first, b=arc, **off_early))
        for (one, _, arc), (two, _, other) in pairwise(placed):
            between = f"{name} behind {one.show(1)}"
            found.append(work(between, "ft", "y - x - b / 2 - c / 2", y=two, x=one, b=arc, c=other))
        found.append(
            work(f"last {name}", "ft", f"L - x - b / 2{behind}", L=length, x=last, b=end, **off_late)
        )
    if any(gap.value < -_MEASURING * length.value for gap in found):
        return None
    return [gap if gap.value >= 0 else work(gap.name, "ft", "max(0, l)", l=gap) for gap in found]


def _sloped(gaps: Sequence[Quantity], rise: Quantity, key: SegmentId) -> list[Straight]:
    """Straights that share the climb of their stretch by their length: an even slope."""
    room = sum(gap.value for gap in gaps)
    if abs(rise.value) > room:
        text = "min(h, l)" if rise.value > 0 else "max(h, -l)"
        rise = work(rise.name, "ft", text, h=rise, l=Quantity(room, "ft", None, f"straights of {key}"))
    if len(gaps) == 1 or rise.value == 0:
        return [Straight(gap, rise, gap.name) for gap in gaps]
    whole = work(
        f"straights of {key}",
        "ft",
        " + ".join(f"l_{n}" for n in range(len(gaps))),
        **{f"l_{n}": gap for n, gap in enumerate(gaps)},
    )
    return [
        Straight(
            gap, work(f"climb of {gap.name}", "ft", "h * l / l_all", h=rise, l=gap, l_all=whole), gap.name
        )
        for gap in gaps
    ]
