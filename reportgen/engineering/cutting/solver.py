"""Best cut plan by an integer program over cutting patterns, with a proof or a stated gap.

The relaxation gives patterns and a bound that no plan can beat. A plan is found by rounding it step by step and, where
that stays above the bound, by an integer program; if a gap is left, every pattern that could still improve on the plan
is listed and the program is solved once more, now exactly. Limits count steps and not seconds, so a plan never depends
on the machine that made it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from reportgen.engineering.cutting.relaxation import (
    TOLERANCE,
    Pattern,
    Relaxed,
    Task,
    dive,
    first_patterns,
    least_spools,
    relax,
)
from reportgen.engineering.cutting.spools import Aim, CutPlan, CutSpool, Offer, Piece, StockProblem

RESOLUTION = 0.01
"""Lengths count in hundredths of their unit: a piece is rounded up, a spool down, so that no plan is ever short."""
_SLACK = 1e-6
"""Share of a hundredth that converting units may cost."""
_NODES = 50
_MOST_PATTERNS = 3_000
_MOST_VISITS = 60_000
#: Status words of scipy's solver.
_OPTIMAL, _INFEASIBLE = 0, 2


def _too_few() -> StockProblem:
    return StockProblem(
        "the spools to be had do not hold all pieces", "raise `available` or offer another spool"
    )


def plan(
    pieces: Sequence[Piece], offers: Sequence[Offer], aim: Aim = Aim.LENGTH, unit: str = "ft"
) -> CutPlan:
    """Spools to buy for like pieces, and what is cut from each.

    Parameters
    ----------
    pieces : sequence of Piece
        Of one make, size and colour.
    offers : sequence of Offer
        Spools of that wire.
    aim : Aim
        Least length bought, or least cost; then, at the same figure, fewest spools. With all pieces cut, the least
        length bought is also the least left over.
    unit : str
        Lengths count in hundredths of it; prices count in hundredths of the currency.

    Raises
    ------
    StockProblem
        If nothing is to be cut, a piece is longer than every spool, too few spools are to be had, or the aim is
        cost and a price is not known.

    Examples
    --------
    >>> from reportgen.working.quantity import Quantity
    >>> pieces = [Piece(f"W{i}", Quantity(233, "ft")) for i in range(3)]
    >>> plan(pieces, [Offer("S500", Quantity(500, "ft")), Offer("S1000", Quantity(1000, "ft"))]).shopping
    {'S1000': 1}
    """
    task, kinds = _task(pieces, offers, aim, unit)
    task.patterns = first_patterns(task)
    mix = relax(task)
    if mix.uncut > TOLERANCE:
        raise _too_few()
    relaxed = mix.best
    chosen = dive(task, mix)
    fewest = least_spools(task, relaxed)
    floor = sum(task.cost(offer) for offer in fewest)
    if chosen is None or _total(task, chosen) > floor + TOLERANCE * task.epsilon:
        other, _ = _choose(task, task.patterns)
        if other is not None and (chosen is None or _total(task, other) < _total(task, chosen)):
            chosen = other
    proved = chosen is not None and _total(task, chosen) <= floor + TOLERANCE * task.epsilon
    if not proved:
        chosen, proved = _close_gap(task, relaxed, chosen)
    if chosen is None and proved:
        raise _too_few()
    if chosen is None:
        raise StockProblem("no plan was found within the limit of steps", "offer one more spool")
    bounded = [offer for offer, _ in chosen] if proved else fewest
    least = sum(task.weights[offer] for offer in bounded)
    return CutPlan(
        _hand_out(chosen, kinds, offers, unit), aim, unit, proved, least * _weight_unit(offers, aim, unit)
    )


def _task(
    pieces: Sequence[Piece], offers: Sequence[Offer], aim: Aim, unit: str
) -> tuple[Task, list[list[Piece]]]:
    if not pieces:
        raise StockProblem("there is nothing to cut", "state the circuits whose wire is to be bought")
    if not offers:
        raise StockProblem("no spool is on offer", "state in `stock` what the shop sells")
    of_length: dict[int, list[Piece]] = {}
    for piece in pieces:
        size = math.ceil(piece.length.to(unit).value / RESOLUTION - _SLACK)
        if size <= 0:
            raise StockProblem(f"piece `{piece.id}` has no length", "state its length")
        of_length.setdefault(size, []).append(piece)
    spools = [_whole(offer, unit) for offer in offers]
    longest, most = max(of_length), max(spools)
    if longest > most:
        name = of_length[longest][0]
        raise StockProblem(
            f"piece `{name.id}` of {name.length.to(unit).show()} is longer than the longest spool, "
            f"{max(offers, key=lambda offer: offer.length.to(unit).value).length.to(unit).show()}",
            "offer a longer spool",
        )
    weights = spools if aim is Aim.LENGTH else [_hundredths(offer) for offer in offers]
    step = math.gcd(*of_length, *spools)
    sizes = sorted(of_length, reverse=True)
    task = Task(
        lengths=tuple(size // step for size in sizes),
        demand=tuple(len(of_length[size]) for size in sizes),
        spools=tuple(size // step for size in spools),
        weights=tuple(weight // math.gcd(*weights) for weight in weights),
        available=tuple(offer.available for offer in offers),
        epsilon=1.0 / (len(pieces) + 1),
    )
    return task, [of_length[size] for size in sizes]


def _whole(offer: Offer, unit: str) -> int:
    return math.floor(offer.length.to(unit).value / RESOLUTION + _SLACK)


def _hundredths(offer: Offer) -> int:
    if offer.price is None or not offer.price > 0:
        raise StockProblem(f"spool `{offer.id}` has no price", "state its price, or ask for the least length")
    return max(1, round(offer.price * 100))


def _weight_unit(offers: Sequence[Offer], aim: Aim, unit: str) -> float:
    """Length or money of one unit of weight."""
    if aim is Aim.LENGTH:
        return math.gcd(*(_whole(offer, unit) for offer in offers)) * RESOLUTION
    return math.gcd(*(_hundredths(offer) for offer in offers)) / 100


def _choose(task: Task, patterns: list[Pattern]) -> tuple[list[Pattern] | None, bool]:
    """Best whole-number choice found among patterns, if any, and whether the limit of steps left it settled."""
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415

    cover = np.array([cut for _, cut in patterns], dtype=float).T
    rules = [LinearConstraint(cover, lb=np.array(task.demand, dtype=float))]
    for one, many in enumerate(task.available):
        if many is not None:
            picks = np.array([[float(offer == one) for offer, _ in patterns]])
            rules.append(LinearConstraint(picks, ub=float(many)))
    solved = milp(
        np.array([task.cost(offer) for offer, _ in patterns]),
        constraints=rules,
        integrality=np.ones(len(patterns)),
        bounds=Bounds(0, float(sum(task.demand))),
        options={"mip_rel_gap": 0.0, "node_limit": _NODES},
    )
    settled = solved.status in {_OPTIMAL, _INFEASIBLE}
    if solved.x is None:
        return None, settled
    chosen: list[Pattern] = []
    for pattern, many in zip(patterns, np.rint(solved.x).astype(int), strict=True):
        chosen += [pattern] * int(many)
    trimmed = _trimmed(task, chosen)
    return trimmed, settled and trimmed is not None


def _trimmed(task: Task, chosen: list[Pattern]) -> list[Pattern] | None:
    """The choice without pieces beyond the demand and without spools that are then not cut; None if one lacks."""
    rest, found = list(task.demand), []
    for offer, cut in sorted(
        chosen, key=lambda one: (-task.spools[one[0]], one[0], tuple(-n for n in one[1]))
    ):
        kept = tuple(min(many, left) for many, left in zip(cut, rest, strict=True))
        rest = [left - many for left, many in zip(rest, kept, strict=True)]
        if any(kept):
            found.append((offer, kept))
    return None if any(rest) else found


def _total(task: Task, chosen: list[Pattern]) -> float:
    return sum(task.cost(offer) for offer, _ in chosen)


def _close_gap(
    task: Task, relaxed: Relaxed, chosen: list[Pattern] | None
) -> tuple[list[Pattern] | None, bool]:
    """Solve again with every pattern that an improvement could hold; True where that settles the matter.

    Settled without a choice means that there is none.
    """
    ceiling = _total(task, chosen) if chosen is not None else math.inf
    listed = _patterns_below(task, relaxed, ceiling - relaxed.bound)
    if listed is None:
        return chosen, False
    if not listed:
        return chosen, True
    found, settled = _choose(task, listed)
    if found is not None and _total(task, found) < ceiling:
        chosen = found
    return chosen, settled


def _patterns_below(task: Task, relaxed: Relaxed, room: float) -> list[Pattern] | None:
    """Full patterns whose cost exceeds their worth by no more than ``room``; None where there are too many.

    A plan pays, above the bound, what each of its patterns costs beyond its worth; one that improves on the best
    known plan can therefore hold no other pattern. Full is one to which no piece can be added.
    """
    prices, lengths, demand = relaxed.prices, task.lengths, task.demand
    # Best worth per length among the kinds that are still to come bounds what the room left can bring.
    density = np.maximum.accumulate((prices / np.array(lengths))[::-1])[::-1]
    found: list[Pattern] = []
    visits = 0
    for offer, spool in enumerate(task.spools):
        wanted = task.cost(offer) + relaxed.scarcity[offer] - room - TOLERANCE
        stack: list[tuple[int, int, float, tuple[int, ...]]] = [(0, spool, 0.0, ())]
        while stack:
            kind, left, worth, cut = stack.pop()
            visits += 1
            if visits > _MOST_VISITS or len(found) > _MOST_PATTERNS:
                return None
            if kind == len(lengths):
                full = all(
                    left < length or many >= most
                    for length, many, most in zip(lengths, cut, demand, strict=True)
                )
                if full and worth >= wanted:
                    found.append((offer, cut))
                continue
            if worth + density[kind] * left < wanted:
                continue
            for many in range(min(left // lengths[kind], demand[kind]) + 1):
                stack.append(
                    (kind + 1, left - many * lengths[kind], worth + many * prices[kind], (*cut, many))
                )
    return found


def _hand_out(
    chosen: list[Pattern], kinds: list[list[Piece]], offers: Sequence[Offer], unit: str
) -> tuple[CutSpool, ...]:
    """Give every pattern its pieces, in the order of the list; longest spools and longest pieces first."""
    queues = [iter(pieces) for pieces in kinds]
    return tuple(
        CutSpool(
            offers[offer],
            tuple(next(queues[kind]) for kind, many in enumerate(cut) for _ in range(many)),
        )
        for offer, cut in chosen
    )
