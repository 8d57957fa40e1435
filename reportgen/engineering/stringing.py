"""Ways to cut the modules of arrays into strings and to place them on inputs, by an integer program.

A cut is one way to divide an array; its place in the list of its array is what the program adds up and makes least, so
the order of that list is the user's wish and stands outside. Scipy's solver is loaded only where it is asked.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

_OPTIMAL = 0


@dataclass(frozen=True, slots=True)
class Cut:
    """One way to divide the modules of a group: (modules in series, strings), longest first, and what is left."""

    lengths: tuple[tuple[int, int], ...]
    spares: int

    @property
    def strings(self) -> int:
        """How many strings it makes [-]."""
        return sum(count for _, count in self.lengths)

    @property
    def alike(self) -> bool:
        """Whether all strings have one length."""
        return len(self.lengths) == 1

    @property
    def apart(self) -> int:
        """Modules by which its longest string is longer than its shortest [-]."""
        return self.lengths[0][0] - self.lengths[-1][0]


@dataclass(frozen=True, slots=True)
class Slot:
    """One input: per group the lengths it takes, and how many equal strings side by side."""

    id: str
    unit: str
    takes: Mapping[str, frozenset[int]]
    abreast: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Placing:
    """Chosen cut of each group by its place in the list, and what goes where: (group, modules, input, strings).

    ``proved`` is False where the search ended at its limit, so that a better one may exist.
    """

    chosen: Mapping[str, int]
    strings: tuple[tuple[str, int, str, int], ...]
    proved: bool


def cuts(modules: int, lengths: Collection[int], most_spares: int) -> tuple[Cut, ...]:
    """Ways to divide modules into strings of the lengths allowed: all alike, as even as can be, or with one or two shorter ones.

    As even as can be are strings of two lengths a module apart that leave none over, whatever their number.

    Parameters
    ----------
    modules : int
        In the group.
    lengths : collection of int
        Modules in series that an input takes.
    most_spares : int
        Modules that may be left over.

    Examples
    --------
    >>> [cut.lengths for cut in cuts(56, {7, 11, 12}, 2)]
    [((11, 5),), ((7, 8),), ((12, 1), (11, 4))]
    """
    found: dict[Cut, None] = {}
    allowed = sorted(set(lengths), reverse=True)
    for length in allowed:
        whole, left = divmod(modules, length)
        if whole and left <= most_spares:
            found[Cut(((length, whole),), left)] = None
        for fewer in (whole, whole - 1, whole - 2):
            rest = modules - fewer * length
            for parts in (1, 2):
                short, over = divmod(rest, parts)
                if fewer > 0 and not over and short in allowed and short < length:
                    found[Cut(((length, fewer), (short, parts)), 0)] = None
    for strings in range(1, modules // allowed[-1] + 1 if allowed else 1):
        short, longer = divmod(modules, strings)
        if longer and {short, short + 1} <= set(allowed):
            found[Cut(((short + 1, longer), (short, strings - longer)), 0)] = None
    return tuple(found)


def place(
    ranked: Mapping[str, Sequence[Cut]],
    slots: Sequence[Slot],
    module_w: Mapping[str, float],
    unit_w: Mapping[str, float],
    without: Collection[Mapping[str, int]] = (),
) -> Placing | None:
    """Cut of each group and place of each string with the least sum of ranks; None where nothing fits.

    Parameters
    ----------
    ranked : mapping of str to sequence of Cut
        Cuts of each group, best first.
    slots : sequence of Slot
        The inputs; each takes strings of one group and one length.
    module_w : mapping of str to float
        Power of one module of each group. [W]
    unit_w : mapping of str to float
        PV power limit of inverters that have one. [W]
    without : collection of mapping
        Choices that were found before and are not wanted again.
    """
    import numpy as np  # noqa: PLC0415 - with scipy, where a search is wanted
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415
    from scipy.sparse import coo_array  # noqa: PLC0415

    if not ranked or any(not found for found in ranked.values()):
        return None
    chosen = [(group, number) for group, found in ranked.items() for number in range(len(found))]
    kinds = sorted({(g, n) for g, found in ranked.items() for cut in found for n, _ in cut.lengths})
    put = [
        (kind, slot)
        for kind in kinds
        for slot in range(len(slots))
        if kind[1] in slots[slot].takes.get(kind[0], ()) and slots[slot].abreast.get(kind[0], 0) > 0
    ]
    z, y, n = len(chosen), len(chosen) + len(put), len(chosen) + 2 * len(put)
    rows: list[dict[int, float]] = []
    low: list[float] = []
    high: list[float] = []

    def hold(row: dict[int, float], least: float, most: float) -> None:
        rows.append(row)
        low.append(least)
        high.append(most)

    for group in ranked:
        hold({i: 1.0 for i, (g, _) in enumerate(chosen) if g == group}, 1, 1)
    for kind in kinds:
        row = {z + i: 1.0 for i, (k, _) in enumerate(put) if k == kind}
        for i, (group, number) in enumerate(chosen):
            made = dict(ranked[group][number].lengths).get(kind[1], 0) if group == kind[0] else 0
            if made:
                row[i] = -float(made)
        hold(row, 0, 0)
    at_slot: dict[int, dict[int, float]] = {}
    at_unit: dict[str, dict[int, float]] = {}
    for i, ((group, length), slot) in enumerate(put):
        hold({z + i: 1.0, y + i: -float(slots[slot].abreast[group])}, -np.inf, 0)
        at_slot.setdefault(slot, {})[y + i] = 1.0
        at_unit.setdefault(slots[slot].unit, {})[z + i] = length * module_w[group]
    for row in at_slot.values():
        hold(row, 0, 1)
    for unit, row in at_unit.items():
        if unit in unit_w:
            hold(row, 0, unit_w[unit] * (1 + 1e-9))
    for before in without:
        hold({i: 1.0 for i, pair in enumerate(chosen) if before.get(pair[0]) == pair[1]}, 0, len(ranked) - 1)
    entries = [(r, c, value) for r, row in enumerate(rows) for c, value in row.items()]
    matrix = coo_array(
        ([e[2] for e in entries], ([e[0] for e in entries], [e[1] for e in entries])), shape=(len(rows), n)
    )
    cost = np.zeros(n)
    cost[:z] = [number for _, number in chosen]
    most = np.ones(n)
    most[z:y] = [slots[slot].abreast[kind[0]] for kind, slot in put]
    answer = milp(
        cost,
        integrality=np.ones(n),
        bounds=Bounds(0, most),
        constraints=LinearConstraint(matrix.tocsr(), low, high),
        options={"node_limit": 2000},
    )
    if answer.x is None:
        return None
    taken = np.rint(answer.x)
    strings = tuple(
        (group, length, slots[slot].id, int(taken[z + i]))
        for i, ((group, length), slot) in enumerate(put)
        if taken[z + i] > 0
    )
    return Placing(
        {group: number for i, (group, number) in enumerate(chosen) if taken[i] > 0},
        strings,
        answer.status == _OPTIMAL,
    )


def balanced(
    found: Placing,
    slots: Sequence[Slot],
    module_w: Mapping[str, float],
    unit_w: Mapping[str, float],
    output_w: Mapping[str, float],
) -> Placing:
    """The same strings spread over the inverters by their output; as it was where they do not all fit so.

    The strongest strings go first, each to an input that is still free where there is one, and there to the inverter with
    the least power over its output.

    Parameters
    ----------
    unit_w, output_w : mapping of str to float
        PV power limit of inverters that have one, and rated output. An inverter without an output counts as one of 1 W,
        so that it is filled last. [W]
    """
    several = [
        (length * module_w[group], group, length)
        for group, length, _, count in found.strings
        for _ in range(count)
    ]
    load: dict[str, float] = {}
    held: dict[str, tuple[str, int, int]] = {}
    for power, group, length in sorted(several, reverse=True):
        fitting = [
            (held.get(slot.id, (group, length, 0))[2], (load.get(slot.unit, 0.0) + power) / output, slot.id)
            for slot in slots
            if length in slot.takes.get(group, ())
            and held.get(slot.id, (group, length, 0))[:2] == (group, length)
            and held.get(slot.id, (group, length, 0))[2] < slot.abreast.get(group, 0)
            and load.get(slot.unit, 0.0) + power <= unit_w.get(slot.unit, float("inf")) * (1 + 1e-9)
            for output in (output_w.get(slot.unit, 1.0),)
        ]
        if not fitting:
            return found
        side_by_side, _, chosen = min(fitting)
        held[chosen] = (group, length, side_by_side + 1)
        unit = next(slot.unit for slot in slots if slot.id == chosen)
        load[unit] = load.get(unit, 0.0) + power
    order = {slot.id: number for number, slot in enumerate(slots)}
    strings = tuple(
        (group, length, slot, count)
        for slot, (group, length, count) in sorted(held.items(), key=lambda item: order[item[0]])
    )
    return replace(found, strings=strings)
