"""Which wire arrives where: every conductor followed over terminals, closed poles and links to an input.

With the switch closed, two terminals are one node where the maker joins them or a link does. The predicted
polarity at an input is therefore a question of connected sets, not of drawing.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from reportgen.design.graph import Conductor, Graph


@dataclass(frozen=True, slots=True)
class Arrival:
    """Where one leg of a string ends up from one device that it is landed on.

    Attributes
    ----------
    reaches : tuple of str
        Input poles and other wires reached with every switch closed, for instance ``INV-1/A+``.
    switch : str
        Unit passed, empty where the leg lands at the input directly.
    terminal : str
        Terminal it is landed on; all of them where it is landed on several of that device.
    poles : int
        Poles of the switch in series with this leg: the fewest on any way to where it leaves.
    passed : tuple of (str, int)
        Switches in series with this leg, the first one first, each with its own poles. One that another way goes around
        is none of them.
    between : tuple of str
        Terminals of devices, written ``SW-2/L1``, at the ends of wires that go on from one device to the next.
    linked : tuple of str
        Input poles among ``reaches`` that only a link at the inverter's own terminals joins to it.
    """

    conductor: str
    wanted: str
    reaches: tuple[str, ...]
    switch: str
    terminal: str
    poles: int
    linked: tuple[str, ...] = ()
    passed: tuple[tuple[str, int], ...] = ()
    between: tuple[str, ...] = ()


def arrivals(graph: Graph) -> tuple[Arrival, ...]:
    """Arrival of every leg from every device that the landing section names for it, in the order of the circuits."""
    return tuple(
        _arrival(graph, wire, unit, terminals)
        for wire in graph.conductors
        if wire.leg
        for unit, terminals in _by_unit(graph.places_of.get(wire.id, ())).items()
    )


def _by_unit(places: Iterable[tuple[str, str]]) -> Mapping[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    for unit, terminal in places:
        found[unit].append(terminal)
    return found


def by_conductor(found: Iterable[Arrival]) -> Mapping[str, tuple[Arrival, ...]]:
    """Arrivals of each leg: several where it is landed on several devices."""
    made: dict[str, list[Arrival]] = defaultdict(list)
    for arrival in found:
        made[arrival.conductor].append(arrival)
    return {conductor: tuple(items) for conductor, items in made.items()}


def crossing(found: Iterable[Arrival]) -> Mapping[str, tuple[str, ...]]:
    """Legs on each wire from device to device, by the terminal that stands for either end of it."""
    made: dict[str, dict[str, None]] = defaultdict(dict)
    for arrival in found:
        for end in arrival.between:
            made[end][arrival.conductor] = None
    return {end: tuple(legs) for end, legs in made.items()}


def at_its_pole(arrival: Arrival, others: Mapping[str, Arrival]) -> bool:
    """Whether a leg reaches the pole it is meant for, and beside it only legs that are meant for the same one.

    Parameters
    ----------
    others : mapping of str to Arrival
        The one arrival of each leg.
    """
    beside = [others.get(place) for place in arrival.reaches if place != arrival.wanted]
    return arrival.wanted in arrival.reaches and all(
        other is not None and other.wanted == arrival.wanted for other in beside
    )


def _arrival(graph: Graph, wire: Conductor, unit: str, terminals: Sequence[str]) -> Arrival:
    wanted, told = f"{wire.end}{wire.leg}", ", ".join(terminals)
    poles_to = _follow(graph, unit, terminals)
    if graph.project.switch_of(unit) is None:
        here = tuple(f"{unit}/{terminal}" for terminal in terminals)
        joined = tuple(sorted(f"{unit}/{node}" for node in poles_to if node not in terminals))
        return Arrival(wire.id, wanted, (*here, *joined), "", told, 0, joined)
    landed_here = graph.landed(unit)
    # Terminals where something else than this wire lands: the ways out of the device.
    out = [node for node in poles_to if landed_here.get(node, wire.id) != wire.id]
    ends = {landed_here[node] for node in out}
    poles = min((poles_to[node] for node in out), default=0)
    ends, further, between = _further(graph, wire.id, unit, set(poles_to), ends)
    linked = {place for end in ends for place in _linked(graph, end)} - ends
    return Arrival(
        wire.id,
        wanted,
        tuple(sorted(ends | linked)),
        unit,
        told,
        poles,
        tuple(sorted(linked)),
        ((unit, poles), *further),
        between,
    )


def _further(
    graph: Graph, wire: str, unit: str, reached: set[str], ends: set[str]
) -> tuple[set[str], list[tuple[str, int]], tuple[str, ...]]:
    """Ends with wires to further devices followed; devices in series behind the first one; ends of the wires between.

    A device is in series where all that leaves the ones before it goes through it; of any other no pole counts.
    """
    seen = {(unit, node) for node in reached}
    found: set[str] = set()
    series: list[tuple[str, int]] = []
    between: dict[str, None] = {}
    alone = True
    while ends:
        onward: dict[str, list[str]] = defaultdict(list)
        for end in sorted(ends):
            place = graph.onward(end)
            if place is None:
                found.add(end)
            elif place not in seen:
                onward[place[0]].append(place[1])
                between[end] = None
            # A wire that leads back to where the leg has been is the far end of one already followed.
        alone = alone and not found and len(onward) == 1
        ends = set()
        for further, terminals in onward.items():
            poles_to = _follow(graph, further, terminals)
            landed = graph.landed(further)
            back = {node for node in poles_to if graph.onward(landed.get(node, "")) in seen}
            seen |= {(further, node) for node in poles_to}
            out = [node for node in poles_to if node not in back and landed.get(node, wire) != wire]
            between |= {landed[node]: None for node in back}
            ends |= {landed[node] for node in out}
            if alone and graph.project.switch_of(further) is not None:
                series.append((further, min((poles_to[node] for node in out), default=0)))
    return found, series, tuple(between)


def _linked(graph: Graph, end: str) -> set[str]:
    """What links at an inverter's own terminals join to a lead such as ``INV-1/A+``."""
    unit, stroke, terminal = end.partition("/")
    if not stroke or unit not in graph.project.jumpers:
        return set()
    return {f"{unit}/{node}" for node in _follow(graph, unit, (terminal,))}


def _follow(graph: Graph, unit: str, starts: Sequence[str]) -> dict[str, int]:
    """Terminals connected to the ``starts`` with every pole closed, each with the fewest poles on any way to it.

    The fewest, because poles side by side open one gap and not two: only what every way has to pass is in series.
    """
    joins = graph.joins(unit)
    fewest: dict[str, int] = {}
    # Links cost no pole, so they go to the front of the queue: a terminal is first met by its easiest way.
    queue = deque((start, 0) for start in starts)
    while queue:
        node, passed = queue.popleft()
        if node in fewest:
            continue
        fewest[node] = passed
        for neighbour, kind in joins.get(node, ()):
            if kind == "link":
                queue.appendleft((neighbour, passed))
            else:
                queue.append((neighbour, passed + 1))
    return fewest
