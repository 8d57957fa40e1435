"""Best cut plan by an integer program over cutting patterns, with a proof or a stated gap.

A pattern is what one spool is cut into. Patterns are generated where the linear relaxation asks for them (Gilmore
and Gomory, Operations Research 9 (1961) 849–859), which also gives a bound that no plan can beat. The integer program
then chooses among them; where it stays above the bound, every pattern that could still improve on it is listed and
the program is solved once more, now exactly. Limits count steps and not seconds, so a plan never depends on the
machine that made it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from reportgen.engineering.cutting.spools import Aim, CutPlan, CutSpool, Offer, Piece, StockProblem

Array = NDArray[np.float64]
Pattern = tuple[int, tuple[int, ...]]
"""Index of the offer, and how many of each length are cut from it."""

RESOLUTION = 0.01
"""Lengths count in hundredths of their unit: a piece is rounded up, a spool down, so that no plan is ever short."""
_SLACK = 1e-6
"""Share of a hundredth that converting units may cost."""
_TOLERANCE = 1e-7
_ROUNDS = 400
_NODES = 50
_MOST_PATTERNS = 3_000
_MOST_VISITS = 60_000
#: Status words of scipy's solver.
_OPTIMAL, _INFEASIBLE = 0, 2


@dataclass
class _Task:
    """The problem in whole numbers; ``epsilon`` is one spool against one unit of the aim, all together less than one."""

    lengths: tuple[int, ...]
    demand: tuple[int, ...]
    spools: tuple[int, ...]
    weights: tuple[int, ...]
    available: tuple[int | None, ...]
    epsilon: float
    patterns: list[Pattern] = field(default_factory=list)

    def cost(self, offer: int) -> float:
        """Aim and number of spools in one figure, scaled to the dearest spool."""
        return (self.weights[offer] + self.epsilon) / max(self.weights)


@dataclass(frozen=True, slots=True)
class _Relaxed:
    """Prices of the lengths and of scarce spools, and the bound that they prove."""

    prices: Array
    scarcity: Array
    bound: float


@dataclass(frozen=True, slots=True)
class _Mix:
    """Solution of the relaxation: how often each pattern of the task is used, and the best bound on the way."""

    share: Array
    best: _Relaxed
    uncut: float


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
    task.patterns = _first_patterns(task)
    mix = _relax(task)
    if mix.uncut > _TOLERANCE:
        raise _too_few()
    relaxed = mix.best
    chosen = _dive(task, mix)
    fewest = _least_spools(task, relaxed)
    floor = sum(task.cost(offer) for offer in fewest)
    if chosen is None or _total(task, chosen) > floor + _TOLERANCE * task.epsilon:
        other, _ = _choose(task, task.patterns)
        if other is not None and (chosen is None or _total(task, other) < _total(task, chosen)):
            chosen = other
    proved = chosen is not None and _total(task, chosen) <= floor + _TOLERANCE * task.epsilon
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
) -> tuple[_Task, list[list[Piece]]]:
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
    task = _Task(
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


def _first_patterns(task: _Task) -> list[Pattern]:
    """Patterns of one length each, and those of packing the longest pieces first."""
    found: dict[Pattern, None] = {}
    for offer, spool in enumerate(task.spools):
        for kind, length in enumerate(task.lengths):
            if count := min(spool // length, task.demand[kind]):
                cut = [0] * len(task.lengths)
                cut[kind] = count
                found[(offer, tuple(cut))] = None
        rest = list(task.demand)
        if task.lengths[0] > spool:
            continue
        while any(rest):
            cut, room = [0] * len(rest), spool
            for kind, length in enumerate(task.lengths):
                cut[kind] = min(rest[kind], room // length)
                room -= cut[kind] * length
                rest[kind] -= cut[kind]
            found[(offer, tuple(cut))] = None
    return list(found)


def _relax(task: _Task) -> _Mix:
    """Solve the linear relaxation, adding to ``task.patterns`` whatever pattern improves it."""
    from scipy.optimize import linprog  # noqa: PLC0415 - heavy, and only where wire is planned

    kinds = len(task.lengths)
    scarce = [offer for offer, many in enumerate(task.available) if many is not None]
    limits = [float(task.available[offer] or 0) for offer in scarce]
    known = set(task.patterns)
    # A piece may be left uncut at a price far above any spool: that keeps every step solvable.
    missing_price = 1000.0
    best = _Relaxed(np.zeros(kinds), np.zeros(len(task.spools)), 0.0)
    for _ in range(_ROUNDS):
        cover = np.array([cut for _, cut in task.patterns], dtype=float).T
        rows = np.hstack([-cover, -np.eye(kinds)])
        bounds = [-float(count) for count in task.demand]
        if scarce:
            picks = [[float(offer == one) for offer, _ in task.patterns] + [0.0] * kinds for one in scarce]
            rows, bounds = np.vstack([rows, picks]), [*bounds, *limits]
        costs = [task.cost(offer) for offer, _ in task.patterns] + [missing_price] * kinds
        solved = linprog(costs, A_ub=rows, b_ub=bounds, method="highs")
        prices = np.maximum(-solved.ineqlin.marginals[:kinds], 0.0)
        scarcity = np.zeros(len(task.spools))
        scarcity[scarce] = np.maximum(-solved.ineqlin.marginals[kinds:], 0.0)
        worth, taken = _most_worth(task, prices)
        best = max(best, _bound(task, prices, worth), key=lambda one: one.bound)
        added = False
        for offer, spool in enumerate(task.spools):
            if worth[spool] > task.cost(offer) + scarcity[offer] + _TOLERANCE:
                pattern = (offer, _traced(task, taken, spool))
                added |= pattern not in known
                if pattern not in known:
                    known.add(pattern)
                    task.patterns.append(pattern)
        if not added:
            break
    return _Mix(solved.x[:-kinds], best, float(solved.x[-kinds:].sum()))


def _dive(task: _Task, mix: _Mix) -> list[Pattern] | None:
    """Plan found by taking the whole part of the relaxation, and solving it anew for what is left to cut."""
    rest, available = list(task.demand), list(task.available)
    chosen: list[Pattern] = []
    patterns, share = task.patterns, mix.share
    while any(rest):
        many = np.floor(share + _SLACK).astype(int)
        if not many.any():
            many[int(np.argmax(share))] = 1
        for (offer, cut), count in zip(patterns, many, strict=True):
            for _ in range(int(count)):
                kept = tuple(min(one, left) for one, left in zip(cut, rest, strict=True))
                if not any(kept) or available[offer] == 0:
                    break
                chosen.append((offer, kept))
                rest = [left - one for left, one in zip(rest, kept, strict=True)]
                if (left_of := available[offer]) is not None:
                    available[offer] = left_of - 1
        if not any(rest):
            break
        clipped = {
            (offer, tuple(min(one, left) for one, left in zip(cut, rest, strict=True))): None
            for offer, cut in task.patterns
        }
        inner = replace(
            task,
            demand=tuple(rest),
            available=tuple(available),
            patterns=[pattern for pattern in clipped if any(pattern[1])],
        )
        mix = _relax(inner)
        if mix.uncut > _TOLERANCE or not mix.share.any():
            return None
        task.patterns += [pattern for pattern in inner.patterns if pattern not in clipped]
        patterns, share = inner.patterns, mix.share
    return chosen


def _split(task: _Task) -> list[tuple[int, int]]:
    """Kind and count of bundles that add up to any number of each kind up to its demand."""
    found = []
    for kind, length in enumerate(task.lengths):
        rest, bundle = min(task.demand[kind], max(task.spools) // length), 1
        while rest > 0:
            found.append((kind, min(bundle, rest)))
            rest, bundle = rest - min(bundle, rest), bundle * 2
    return found


def _most_worth(task: _Task, prices: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Greatest worth of a pattern for every length of spool up to the longest, and the bundles that it takes."""
    worth = np.zeros(max(task.spools) + 1)
    bundles = _split(task)
    taken = np.zeros((len(bundles), worth.size), dtype=bool)
    for row, (kind, count) in enumerate(bundles):
        size, value = task.lengths[kind] * count, prices[kind] * count
        if value > 0:
            without, with_it = worth[size:], worth[: worth.size - size] + value
            np.greater(with_it, without, out=taken[row, size:])
            np.maximum(with_it, without, out=without)
    return worth, taken


def _traced(task: _Task, taken: NDArray[np.bool_], spool: int) -> tuple[int, ...]:
    cut, room = [0] * len(task.lengths), spool
    for (kind, count), better in zip(reversed(_split(task)), taken[::-1], strict=True):
        if better[room]:
            cut[kind] += count
            room -= task.lengths[kind] * count
    return tuple(cut)


def _bound(task: _Task, prices: Array, worth: Array) -> _Relaxed:
    """Bound that prices prove: scaled until no spool of any number is worth more than it costs."""
    free = [offer for offer, many in enumerate(task.available) if many is None]
    scale = max([1.0, *(worth[task.spools[offer]] / task.cost(offer) for offer in free)])
    scarcity, spent = np.zeros(len(task.spools)), 0.0
    for offer, many in enumerate(task.available):
        if many is not None:
            scarcity[offer] = max(0.0, worth[task.spools[offer]] / scale - task.cost(offer))
            spent += many * scarcity[offer]
    return _Relaxed(prices / scale, scarcity, float(prices @ np.array(task.demand)) / scale - spent)


def _choose(task: _Task, patterns: list[Pattern]) -> tuple[list[Pattern] | None, bool]:
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


def _trimmed(task: _Task, chosen: list[Pattern]) -> list[Pattern] | None:
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


def _total(task: _Task, chosen: list[Pattern]) -> float:
    return sum(task.cost(offer) for offer, _ in chosen)


def _least_spools(task: _Task, relaxed: _Relaxed) -> list[int]:
    """Offers of the cheapest spools that could hold all pieces, by length and by the prices of the relaxation.

    Whole spools only, so the bound is rounded up to a figure that spools can reach.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415

    costs = np.array([task.cost(offer) for offer in range(len(task.spools))])
    total = sum(length * count for length, count in zip(task.lengths, task.demand, strict=True))
    largest = max(task.spools)
    holds = np.array(
        [np.array(task.spools) / largest, costs + relaxed.scarcity],
    )
    spent = sum((many or 0) * one for many, one in zip(task.available, relaxed.scarcity, strict=True))
    most = [sum(task.demand) if many is None else many for many in task.available]
    solved = milp(
        costs,
        constraints=LinearConstraint(holds, lb=[total / largest, (relaxed.bound + spent) * (1 - 1e-9)]),
        integrality=np.ones(costs.size),
        bounds=Bounds(0, np.array(most, dtype=float)),
        options={"mip_rel_gap": 0.0},
    )
    if solved.x is None:
        return []
    return [offer for offer, many in enumerate(np.rint(solved.x).astype(int)) for _ in range(int(many))]


def _close_gap(
    task: _Task, relaxed: _Relaxed, chosen: list[Pattern] | None
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


def _patterns_below(task: _Task, relaxed: _Relaxed, room: float) -> list[Pattern] | None:
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
        wanted = task.cost(offer) + relaxed.scarcity[offer] - room - _TOLERANCE
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
