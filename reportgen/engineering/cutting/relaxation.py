"""Relaxation of a cut plan: spools may be bought in fractions, which gives patterns, prices and a bound.

A pattern is what one spool is cut into. Patterns are generated where the relaxation asks for them (Gilmore and
Gomory, Operations Research 9 (1961) 849–859): the one most worth at the prices of the moment, until none is worth
more than its spool costs.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Pattern = tuple[int, tuple[int, ...]]
"""Index of the offer, and how many of each length are cut from it."""

TOLERANCE = 1e-7
"""Of costs and shares in the linear program [-]."""
_WHOLE = 1e-6
_ROUNDS = 400


@dataclass
class Task:
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
class Relaxed:
    """Prices of the lengths and of scarce spools, and the bound that they prove."""

    prices: Array
    scarcity: Array
    bound: float


@dataclass(frozen=True, slots=True)
class Mix:
    """Solution of the relaxation: how often each pattern of the task is used, and the best bound on the way."""

    share: Array
    best: Relaxed
    uncut: float


def first_patterns(task: Task) -> list[Pattern]:
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


def relax(task: Task) -> Mix:
    """Solve the linear relaxation, adding to ``task.patterns`` whatever pattern improves it."""
    from scipy.optimize import linprog  # noqa: PLC0415 - heavy, and only where wire is planned

    kinds = len(task.lengths)
    scarce = [offer for offer, many in enumerate(task.available) if many is not None]
    limits = [float(task.available[offer] or 0) for offer in scarce]
    known = set(task.patterns)
    # A piece may be left uncut at a price far above any spool: that keeps every step solvable.
    missing_price = 1000.0
    best = Relaxed(np.zeros(kinds), np.zeros(len(task.spools)), 0.0)
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
            if worth[spool] > task.cost(offer) + scarcity[offer] + TOLERANCE:
                pattern = (offer, _traced(task, taken, spool))
                added |= pattern not in known
                if pattern not in known:
                    known.add(pattern)
                    task.patterns.append(pattern)
        if not added:
            break
    return Mix(solved.x[:-kinds], best, float(solved.x[-kinds:].sum()))


def dive(task: Task, mix: Mix) -> list[Pattern] | None:
    """Plan found by taking the whole part of the relaxation, and solving it anew for what is left to cut."""
    rest, available = list(task.demand), list(task.available)
    chosen: list[Pattern] = []
    patterns, share = task.patterns, mix.share
    while any(rest):
        many = np.floor(share + _WHOLE).astype(int)
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
        mix = relax(inner)
        if mix.uncut > TOLERANCE or not mix.share.any():
            return None
        task.patterns += [pattern for pattern in inner.patterns if pattern not in clipped]
        patterns, share = inner.patterns, mix.share
    return chosen


def _split(task: Task) -> list[tuple[int, int]]:
    """Kind and count of bundles that add up to any number of each kind up to its demand."""
    found = []
    for kind, length in enumerate(task.lengths):
        rest, bundle = min(task.demand[kind], max(task.spools) // length), 1
        while rest > 0:
            found.append((kind, min(bundle, rest)))
            rest, bundle = rest - min(bundle, rest), bundle * 2
    return found


def _most_worth(task: Task, prices: Array) -> tuple[Array, NDArray[np.bool_]]:
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


def _traced(task: Task, taken: NDArray[np.bool_], spool: int) -> tuple[int, ...]:
    cut, room = [0] * len(task.lengths), spool
    for (kind, count), better in zip(reversed(_split(task)), taken[::-1], strict=True):
        if better[room]:
            cut[kind] += count
            room -= task.lengths[kind] * count
    return tuple(cut)


def _bound(task: Task, prices: Array, worth: Array) -> Relaxed:
    """Bound that prices prove: scaled until no spool of any number is worth more than it costs."""
    free = [offer for offer, many in enumerate(task.available) if many is None]
    scale = max([1.0, *(worth[task.spools[offer]] / task.cost(offer) for offer in free)])
    scarcity, spent = np.zeros(len(task.spools)), 0.0
    for offer, many in enumerate(task.available):
        if many is not None:
            scarcity[offer] = max(0.0, worth[task.spools[offer]] / scale - task.cost(offer))
            spent += many * scarcity[offer]
    return Relaxed(prices / scale, scarcity, float(prices @ np.array(task.demand)) / scale - spent)


def least_spools(task: Task, relaxed: Relaxed) -> list[int]:
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
