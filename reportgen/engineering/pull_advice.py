"""From which end to pull a run, and where a further pull point helps most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from reportgen.engineering.pull_limits import Limits, governing
from reportgen.engineering.pull_runs import Bend, Element, Straight, reverse, run_length
from reportgen.engineering.pulling import Pull, pull
from reportgen.working.quantity import Number, Quantity, quantity, work

#: Parts into which a straight is divided in the search for a further pull point.
PARTS = 20
#: Share by which two ends may differ and still count as alike: rounding of a computer alone.
_ALIKE = 1e-9
End = Literal["start", "end", "either"]


@dataclass(frozen=True, slots=True)
class FeedAdvice:
    """A run pulled both ways, and from which end to feed it.

    Parameters
    ----------
    from_start, from_end : tuple of Pull
        One pull for each coefficient of friction, in the order given.
    feed : {"start", "end", "either"}
        Where the reels stand.
    reason : str
        With the figures of the highest friction.
    """

    from_start: tuple[Pull, ...]
    from_end: tuple[Pull, ...]
    feed: End
    reason: str

    @property
    def better(self) -> tuple[Pull, ...]:
        """The pulls from the recommended end."""
        return self.from_end if self.feed == "end" else self.from_start


def advice_from(there: Sequence[Pull], other: Sequence[Pull], limits: Limits | None = None) -> FeedAdvice:
    """From which end to feed, with both directions pulled already.

    Parameters
    ----------
    there, other : sequence of Pull
        From the start and from the end, one for each coefficient of friction in the same order; the highest
        decides. The two may differ in more than their direction, where it is not known at which end of a stretch
        a bend stands and each direction is given its own worst place.
    limits : Limits, optional
        With them the ends are compared by the limit that governs, without by the greatest tension.
    """
    limits = limits or Limits(())
    worst = max(range(len(there)), key=lambda index: there[index].friction.value)
    one, two = there[worst], other[worst]
    first, second = _burden(one, limits), _burden(two, limits)
    if _alike(first, second):
        # A limit taken alike from both ends leaves the choice to the tension.
        first, second = one.hardest.after.value, two.hardest.after.value
    feed: End = "start" if first < second else "end"
    if _alike(first, second):
        feed = "either"
    return FeedAdvice(tuple(there), tuple(other), feed, _reason(feed, one, two, limits))


def _alike(first: float, second: float) -> bool:
    return abs(first - second) <= _ALIKE * max(first, second)


def _burden(one: Pull, limits: Limits) -> float:
    taken = governing(one, limits)
    return taken.share.value if taken else one.hardest.after.value


def _reason(feed: End, one: Pull, two: Pull, limits: Limits) -> str:
    told = f"at friction {one.friction.keyed}: {_told(one, limits)} fed from the start, {_told(two, limits)} from the end"
    if feed == "either":
        return told
    early = _bends_early(one)
    if early is None or early != (feed == "start"):
        return f"{told}; the climbs decide"
    return f"{told}; the bends lie nearer the {feed}, where the tension that they multiply is still low"


def _told(one: Pull, limits: Limits) -> str:
    taken = governing(one, limits)
    greatest = one.hardest.after.show(0)
    return f"{greatest}, {taken.share.show(0)} of the governing limit" if taken else greatest


def _bends_early(one: Pull) -> bool | None:
    """Whether the bends lie in the first half of a run, weighed by their angles; None without bends or in balance."""
    position, moment, angles = 0.0, 0.0, 0.0
    for step in one.steps:
        length = step.element.run.value
        if isinstance(step.element, Bend):
            angle = quantity(step.element.angle, "deg").value
            moment, angles = moment + angle * (position + length / 2), angles + angle
        position += length
    if not angles or abs(moment / angles - position / 2) <= _ALIKE * position:
        return None
    return moment / angles < position / 2


@dataclass(frozen=True, slots=True)
class PullPoint:
    """Where a further pull point helps most.

    Parameters
    ----------
    distance : Quantity
        From the start of the run. [ft]
    after : str
        Element that it stands in or behind.
    first, second : FeedAdvice
        The two runs that it makes.
    hardest : Quantity
        Greatest tension that is left, at the highest friction. [lbf]
    before : Quantity
        Greatest tension without it, from the better end [lbf].
    """

    distance: Quantity
    after: str
    first: FeedAdvice
    second: FeedAdvice
    hardest: Quantity
    before: Quantity


def further_pull_point(
    run: Sequence[Element],
    weight: Number,
    friction: Number,
    correction: Number,
    limits: Limits | None = None,
    start: Number = 0.0,
    *,
    one_way: bool = False,
) -> PullPoint | None:
    """Best place for a further pull point: between two elements or in a straight; None in a run of one bend.

    Both runs that it makes are fed from their better end, or with ``one_way`` both in the direction of the run. The best place leaves the least of the governing limit
    taken, or the least tension where no limit is stated; a straight is tried at the ends of :data:`PARTS` equal parts.

    Examples
    --------
    >>> found = further_pull_point([Straight(100), Bend(90, 1), Bend(90, 1), Straight(100)], 0.5, 0.5, 1)
    >>> found.before.value, found.hardest.value
    (145.3, 25.0)
    """
    limits = limits or Limits(())

    def ways(part: Sequence[Element]) -> list[Sequence[Element]]:
        return [part] if one_way else [part, reverse(part)]

    def burden(part: Sequence[Element]) -> float:
        return min(_burden(pull(way, weight, friction, correction, start), limits) for way in ways(part))

    def advised(part: Sequence[Element]) -> FeedAdvice:
        pulls = [pull(way, weight, friction, correction, start) for way in ways(part)]
        return advice_from(pulls[:1], pulls[-1:], limits)

    best: tuple[float, list[Element], list[Element]] | None = None
    for head, tail in _cuts(run):
        left = max(burden(head), burden(tail))
        # A place that is better by rounding alone is not better: the first of equals stays.
        if best is None or left < best[0] * (1 - _ALIKE):
            best = left, head, tail
    if best is None:
        return None
    _, head, tail = best
    first, second = advised(head), advised(tail)
    hardest = max(_hardest(first), _hardest(second), key=lambda tension: tension.value)
    return PullPoint(run_length(head), head[-1].name, first, second, hardest, _hardest(advised(run)))


def _hardest(advice: FeedAdvice) -> Quantity:
    return advice.better[0].hardest.after


def _cuts(run: Sequence[Element]) -> list[tuple[list[Element], list[Element]]]:
    """Every way to cut a run in two that is looked at, from its start to its end."""
    found: list[tuple[list[Element], list[Element]]] = []
    for index, element in enumerate(run):
        before, behind = list(run[:index]), list(run[index + 1 :])
        if isinstance(element, Straight) and element.run.value > 0:
            for part in range(1, PARTS):
                one, two = _part(element, part / PARTS), _part(element, 1 - part / PARTS)
                found.append(([*before, one], [two, *behind]))
        if behind:
            found.append(([*before, element], behind))
    return found


def _part(element: Straight, share: float) -> Straight:
    length = work("part of the straight", "ft", "k * L", k=share, L=element.run)
    rise = quantity(element.rise, "ft")
    climb = work("climb of the part", "ft", "k * h", k=share, h=rise) if rise.value else rise
    return replace(element, length=length, rise=climb)
