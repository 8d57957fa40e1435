"""What each circuit passes on its way, in order, and whether its end is stated: what a one-line diagram may show.

Nothing is joined here that the folder does not join. A unit stands where a raceway ends at it, or where the list of
enclosures puts it; a string ends at its input only where the landing of all its legs says so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from reportgen.design.graph import Graph, SegmentId
from reportgen.design.landing import Arrival, at_its_pole
from reportgen.project.layout import Circuit

#: ``landed``: every leg is landed and arrives at its pole; ``meant``: the landing is silent; ``apart``: it says otherwise.
Joined = Literal["landed", "meant", "apart"]


@dataclass(frozen=True, slots=True)
class Stretches:
    """Conductors between two units: the stretches of raceway passed in order, none where no raceway is stated."""

    segments: tuple[SegmentId, ...]


@dataclass(frozen=True, slots=True)
class Passed:
    """A unit that a circuit passes.

    Attributes
    ----------
    placed : bool
        A raceway ends at it, or a leg is landed on it; else only the order of the enclosures is stated.
    poles : tuple of int
        Poles in series of each leg that is landed on it, the same number once.
    beside : tuple of str
        Other wires that its legs are joined with in it.
    only : bool
        A switch on which nothing of the circuit is landed: its wires go through uncut.
    """

    unit: str
    placed: bool
    poles: tuple[int, ...] = ()
    beside: tuple[str, ...] = ()
    only: bool = False


@dataclass(frozen=True, slots=True)
class CircuitWay:
    """One circuit from its start to what is stated of its end.

    Attributes
    ----------
    end : str
        Input address of a string, unit at the end of the last raceway of another circuit; empty where none is stated.
    why : str
        What keeps the end from being drawn, or what is not stated of it.
    """

    circuit: str
    steps: tuple[Stretches | Passed, ...]
    end: str
    joined: Joined
    why: str = ""


def way_of(graph: Graph, key: str, arrivals: Mapping[str, tuple[Arrival, ...]]) -> CircuitWay:
    """Way of one circuit.

    Parameters
    ----------
    key : str
        Its id.
    arrivals : mapping of str to tuple of Arrival
        By conductor, from :func:`reportgen.design.landing.by_conductor`.
    """
    circuit = graph.project.circuits[key]
    legs = graph.legs_of.get(key, ())
    landed = [item for leg in legs for item in arrivals.get(leg, ())]
    steps = _steps(graph, circuit, landed, graph.passing.only.get(key, ()))
    if circuit.kind != "string":
        through = graph.through(circuit)
        return CircuitWay(key, steps, graph.enclosure_after(through[-1]) if through else "", "meant")
    string = graph.project.strings.get(str(circuit.string)) if circuit.string else None
    end = str(string.input or "") if string is not None else ""
    joined, why = _end(end, legs, arrivals)
    return CircuitWay(key, steps, end, joined, why)


def _end(end: str, legs: tuple[str, ...], arrivals: Mapping[str, tuple[Arrival, ...]]) -> tuple[Joined, str]:
    if not end:
        return "apart", "no input is stated"
    if not any(leg in arrivals for leg in legs):
        return "meant", "its landing is not stated"
    # One arrival a leg is all that can be followed; a leg on several devices is told in words.
    alone = {leg: items[0] for leg, items in arrivals.items() if len(items) == 1}
    for leg in legs:
        items = arrivals.get(leg, ())
        if not items:
            return "apart", f"the landing of {leg} is not stated"
        if len(items) > 1:
            units = " and ".join(item.switch or item.reaches[0] for item in items)
            return "apart", f"{leg} is landed on {units}"
        if not items[0].reaches:
            return "apart", f"{leg} goes no further than {(items[0].through or (items[0].switch,))[-1]}"
        if not at_its_pole(items[0], alone):
            return "apart", f"{leg} reaches {' and '.join(items[0].reaches)}"
        if aside := items[0].aside:
            return "apart", f"the way of {leg} parts over {' and '.join(aside)}"
    return "landed", ""


def _steps(
    graph: Graph, circuit: Circuit, landed: list[Arrival], through_only: Sequence[str]
) -> tuple[Stretches | Passed, ...]:
    """Units and the stretches between them; where only an order is stated, units stand as late as it allows."""
    through = graph.through(circuit)
    # Units by the number of stretches before them.
    at: dict[int, list[str]] = {}
    known: dict[str, int] = {}
    for place in range(len(through) + 1):
        beside = [graph.enclosure_after(through[place - 1])] if place else []
        beside += [graph.enclosure_before(through[place])] if place < len(through) else []
        for unit in beside:
            if unit and unit not in known and _passable(graph, unit):
                known[unit] = place
                at.setdefault(place, []).append(unit)
    landing = dict.fromkeys(unit for item in landed for unit in item.through)
    order = [str(unit) for unit in circuit.enclosures]
    # Where legs are landed their way says the order; what is stated alone goes before the next unit of its list.
    loose = [unit for unit in landing if unit not in known]
    for unit in reversed(order):
        if unit not in known and unit not in loose and _passable(graph, unit):
            later = order[order.index(unit) + 1 :]
            loose.insert(min((loose.index(one) for one in later if one in loose), default=len(loose)), unit)
    for unit in loose:
        later = order[order.index(unit) + 1 :] if unit in order else []
        place = min((known[other] for other in later if other in known), default=len(through))
        here = at.setdefault(place, [])
        here.insert(next((number for number, other in enumerate(here) if other in later), len(here)), unit)
    steps: list[Stretches | Passed] = []
    run: list[SegmentId] = []
    for place in range(len(through) + 1):
        for unit in at.get(place, ()):
            only = unit in through_only
            steps += [
                Stretches(tuple(run)),
                _passed(graph, unit, unit in known or unit in landing, landed, only=only),
            ]
            run = []
        if place < len(through):
            run.append(through[place])
    if run or not steps:
        steps.append(Stretches(tuple(run)))
    return tuple(steps)


def _passed(graph: Graph, unit: str, placed: bool, landed: list[Arrival], *, only: bool) -> Passed:
    here = [item for item in landed if unit in item.through]
    poles = tuple(dict.fromkeys(count for item in here for one, count in item.passed if one == unit))
    own = {item.conductor for item in landed}
    legs = {place for item in here for place in item.reaches} - own
    return Passed(
        unit, placed, poles, tuple(sorted(place for place in legs if place in graph.circuit_of)), only
    )


def _passable(graph: Graph, unit: str) -> bool:
    """Whether a unit is passed: arrays and inverters are ends."""
    return unit not in graph.project.arrays and graph.project.inverter_of(unit) is None
