"""Which wire arrives where: every conductor followed over terminals, closed poles and links to an input.

With the switch closed, two terminals are one node where the maker joins them or a link does. The predicted
polarity at an input is therefore a question of connected sets, not of drawing.
"""

from __future__ import annotations

from collections import defaultdict
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
        Poles of the switch in series with this leg.
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
        nodes, poles = _follow(graph, unit, switch[1], terminal)
        ends = {
            str(graph.project.landing[unit][node]) for node in nodes if node in graph.project.landing[unit]
        } - {wire.id}
        found.append(Arrival(wire.id, wanted, tuple(sorted(ends)), unit, terminal, poles))
    return tuple(found)


def _follow(graph: Graph, unit: str, switch: Switch, start: str) -> tuple[tuple[str, ...], int]:
    """Terminals connected to ``start`` with the switch closed, and the poles between."""
    edges: dict[str, list[tuple[str, bool]]] = defaultdict(list)
    for pair, is_pole in [(pair, True) for pair in switch.joined] + [
        (pair, False) for pair in graph.project.jumpers.get(unit, [])
    ]:
        first, second = map(str, pair)
        edges[first].append((second, is_pole))
        edges[second].append((first, is_pole))
    seen, poles, queue = [start], 0, [start]
    while queue:
        for neighbour, is_pole in edges[queue.pop()]:
            if neighbour not in seen:
                seen.append(neighbour)
                poles += is_pole
                queue.append(neighbour)
    return tuple(seen), poles
