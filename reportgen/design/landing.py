"""Which wire arrives where: every conductor followed over terminals, closed poles, links and further devices to an input.

With the switches closed, two terminals are one node where the maker joins them, a link does, or a wire from device to
device. The predicted polarity at an input is therefore a question of connected sets, not of drawing.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from reportgen.design.graph import Conductor, Graph
from reportgen.design.terminal_net import Node, Spread


@dataclass(frozen=True, slots=True)
class Arrival:
    """Where one leg of a string ends up from one device that it is landed on.

    Attributes
    ----------
    reaches : tuple of str
        Input poles and other wires reached with every switch closed, for instance ``INV-1/A+``.
    switch : str
        Unit it is landed on.
    terminal : str
        Terminal it is landed on; all of them where it is landed on several of that device.
    poles : int
        Poles of the switch in series with this leg: the fewest on any way to where it leaves.
    linked : tuple of str
        Input poles among ``reaches`` that only a link at the inverter's own terminals joins to it.
    passed : tuple of (str, int)
        Switches that every way goes through, the first one first, each with its own poles in series: none of one whose
        poles a link goes around.
    between : tuple of str
        Terminals of devices, written ``SW-2/L1``, at the ends of wires that go on from one device to the next.
    through : tuple of str
        Switches and boxes that every way goes through, the first one first.
    aside : tuple of str
        Switches and boxes that some way goes through while another goes around.
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
    through: tuple[str, ...] = ()
    aside: tuple[str, ...] = ()


def arrivals(graph: Graph) -> tuple[Arrival, ...]:
    """Arrival of every leg from every device that the landing section names for it, in the order of the circuits."""
    return tuple(
        _arrival(graph, wire, unit, terminals)
        for wire in graph.conductors
        if wire.leg
        for unit, terminals in _by_unit(graph.places_of.get(wire.id, ())).items()
    )


def _by_unit(places: Iterable[Node]) -> Mapping[str, list[str]]:
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
    return arrival.wanted in arrival.reaches and only_its_like(arrival, others)


def only_its_like(arrival: Arrival, others: Mapping[str, Arrival]) -> bool:
    """Whether a leg reaches nothing but the pole it is meant for and legs that are meant for the same one."""
    beside = [others.get(place) for place in arrival.reaches if place != arrival.wanted]
    return all(other is not None and other.wanted == arrival.wanted for other in beside)


def running_as_one(
    found: Mapping[str, Sequence[Arrival]], unit: str, circuits: Sequence[str]
) -> tuple[list[list[str]], list[str]]:
    """Circuits whose legs run as one over a switch, and those of which a leg does not pass it.

    Parameters
    ----------
    found : mapping of str to sequence of Arrival
        By conductor.
    circuits : sequence of str
        Those that may pass the switch.
    """
    owner = {f"{circuit}{leg}": circuit for circuit in circuits for leg in ("+", "-")}
    passing = {
        wire: arrival
        for wire in owner
        for arrival in found.get(wire, ())
        if unit in (*dict(arrival.passed), *arrival.aside)
    }
    loose = [key for key in circuits if not all(f"{key}{leg}" in passing for leg in ("+", "-"))]
    groups: dict[str, set[str]] = {
        key: {key} for key in circuits if any(f"{key}{leg}" in passing for leg in ("+", "-"))
    }
    # A leg arrives at a pole of an input, or at another leg that shares the way with it.
    at: dict[str, str] = {}
    for wire, circuit in owner.items():
        for place in (wire, *passing[wire].reaches) if wire in passing else ():
            one, other = groups[at.setdefault(place, circuit)], groups[circuit]
            if one is not other:
                one |= other
                groups.update(dict.fromkeys(other, one))
    unlike = {id(group): sorted(group) for group in groups.values()}
    return sorted(unlike.values()), loose


def _arrival(graph: Graph, wire: Conductor, unit: str, terminals: Sequence[str]) -> Arrival:
    wanted, told = f"{wire.end}{wire.leg}", ", ".join(terminals)
    starts = [(unit, terminal) for terminal in terminals]
    found = graph.net.spread(starts, wire=wire.id)
    if graph.project.inverter_of(unit) is not None:
        here = tuple(f"{unit}/{terminal}" for terminal in terminals)
        joined = tuple(
            sorted(f"{unit}/{node}" for of, node in found.edges if of == unit and node not in terminals)
        )
        return Arrival(wire.id, wanted, (*here, *joined), unit, told, 0, joined)
    ends = set(found.ends.values())
    linked = {place for end in ends for place in _linked(graph, end)} - ends
    goals = {node for node, end in found.ends.items() if end not in graph.circuit_of} or set(found.ends)
    on_way = _on_the_way(found, starts, goals)
    through: list[str] = []
    passed: list[tuple[str, int]] = []
    aside: list[str] = []
    for device in on_way or [unit]:
        poles = _fewest(found, starts, goals, device) if goals else 0
        if device != unit and not poles and _reaches(found, starts, goals, without=device):
            aside.append(device)
            continue
        through.append(device)
        if graph.project.switch_of(device) is not None:
            passed.append((device, poles))
    return Arrival(
        wire.id,
        wanted,
        tuple(sorted(ends | linked)),
        unit,
        told,
        dict(passed).get(unit, 0),
        tuple(sorted(linked)),
        tuple(passed),
        tuple(found.between),
        tuple(through),
        tuple(aside),
    )


def _on_the_way(found: Spread, starts: Sequence[Node], goals: Collection[Node]) -> list[str]:
    """Units on a way from the starts to a goal, the nearest first: what leads nowhere else is none of them."""
    kept = {*starts, *goals}
    left = {node: {other for other, _ in beside} for node, beside in found.edges.items()}
    loose = [node for node, beside in left.items() if len(beside) < 2 and node not in kept]
    while loose:
        node = loose.pop()
        for other in left.pop(node, ()):
            if other in left:
                left[other].discard(node)
                if len(left[other]) == 1 and other not in kept:
                    loose.append(other)
    return list(dict.fromkeys(node[0] for node in found.edges if node in left)) if goals else []


def _fewest(found: Spread, starts: Iterable[Node], goals: Collection[Node], device: str) -> int:
    """Fewest poles of a device on any way from the starts to a goal.

    The fewest, because poles side by side open one gap and not two: only what every way has to pass is in series.
    """
    seen: set[Node] = set()
    # Links cost no pole, so they go to the front of the queue: a terminal is first met by its easiest way.
    queue = deque((start, 0) for start in starts)
    while queue:
        node, poles = queue.popleft()
        if node in seen:
            continue
        seen.add(node)
        if node in goals:
            return poles
        for other, pole_of in found.edges[node]:
            if pole_of == device:
                queue.append((other, poles + 1))
            else:
                queue.appendleft((other, poles))
    return 0


def _reaches(found: Spread, starts: Iterable[Node], goals: Collection[Node], without: str) -> bool:
    """Whether a way leads from the starts to a goal without any terminal of one unit."""
    return any(node in goals for node in _walk(found, starts, without))


def _walk(found: Spread, starts: Iterable[Node], without: str) -> Iterator[Node]:
    seen: set[Node] = set()
    queue = list(starts)
    while queue:
        node = queue.pop()
        if node in seen or node[0] == without:
            continue
        seen.add(node)
        yield node
        queue += [other for other, _ in found.edges[node]]


def _linked(graph: Graph, end: str) -> set[str]:
    """What links at an inverter's own terminals join to a lead such as ``INV-1/A+``."""
    unit, stroke, terminal = end.partition("/")
    if not stroke or unit not in graph.project.jumpers:
        return set()
    return {
        f"{unit}/{node}" for of, node in graph.net.spread([(unit, terminal)], wire=end).edges if of == unit
    }
