"""Which wire arrives where: every conductor followed over terminals, closed poles and links to an input.

With the switch closed, two terminals are one node where the maker joins them or a link does. The predicted
polarity at an input is therefore a question of connected sets, not of drawing.
"""

from __future__ import annotations

from collections import defaultdict, deque
from dataclasses import dataclass

from reportgen.design.graph import Graph
from reportgen.project.equipment import Switch


@dataclass(frozen=True, slots=True)
class Arrival:
    """Where one leg of a string ends up.

    Attributes
    ----------
    reaches : tuple of str
        Input poles reached with every switch closed, for instance ``INV-1/A+``.
    switch : str
        Unit passed, empty where the leg lands at the input directly.
    poles : int
        Poles of the switch in series with this leg: the fewest on any way to where it leaves.
    """

    conductor: str
    wanted: str
    reaches: tuple[str, ...]
    switch: str
    terminal: str
    poles: int


def arrivals(graph: Graph) -> tuple[Arrival, ...]:
    """Arrival of every leg that the landing section names, in the order of the circuits."""
    landed = {
        wire: (str(unit), str(terminal))
        for unit, wires in graph.project.landing.items()
        for terminal, wire in wires.items()
    }
    found = []
    for wire in graph.conductors:
        if not wire.leg or wire.id not in landed:
            continue
        unit, terminal = landed[wire.id]
        wanted = f"{wire.end}{wire.leg}"
        switch = graph.project.switch_of(unit)
        if switch is None:
            found.append(Arrival(wire.id, wanted, (f"{unit}/{terminal}",), "", terminal, 0))
            continue
        landed_here = {str(node): str(end) for node, end in graph.project.landing[unit].items()}
        poles_to = _follow(graph, unit, switch[1], terminal)
        # Terminals where something else than this wire lands: the ways out of the device.
        out = [node for node in poles_to if landed_here.get(node, wire.id) != wire.id]
        ends = tuple(sorted({landed_here[node] for node in out}))
        poles = min((poles_to[node] for node in out), default=0)
        found.append(Arrival(wire.id, wanted, ends, unit, terminal, poles))
    return tuple(found)


def _follow(graph: Graph, unit: str, switch: Switch, start: str) -> dict[str, int]:
    """Terminals connected to ``start`` with the switch closed, each with the fewest poles on any way to it.

    The fewest, because poles side by side open one gap and not two: only what every way has to pass is in series.
    """
    edges: dict[str, list[tuple[str, int]]] = defaultdict(list)
    for pairs, poles in ((switch.joined, 1), (graph.project.jumpers.get(unit, []), 0)):
        for pair in pairs:
            first, second = map(str, pair)
            edges[first].append((second, poles))
            edges[second].append((first, poles))
    fewest: dict[str, int] = {}
    # Links cost no pole, so they go to the front of the queue: a terminal is first met by its easiest way.
    queue = deque([(start, 0)])
    while queue:
        node, passed = queue.popleft()
        if node in fewest:
            continue
        fewest[node] = passed
        for neighbour, poles in edges[node]:
            (queue.append if poles else queue.appendleft)((neighbour, passed + poles))
    return fewest
