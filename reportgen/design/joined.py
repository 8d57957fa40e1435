"""What is joined inside each device: terminals that links and closed poles make one, with the wires on them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace

from reportgen.design.graph import Graph
from reportgen.engineering.terminals import connected_sets

#: Names that nobody gives to a terminal which is not tied to ground.
GROUND_NAMES = frozenset({"PE", "GND", "GROUND", "EARTH"})


@dataclass(frozen=True, slots=True)
class JoinedSet:
    """Terminals of a device that are one with every pole closed, the wires on them, and those tied to ground."""

    terminals: tuple[str, ...]
    wires: tuple[str, ...]
    grounds: tuple[str, ...]


def joined_wires(graph: Graph) -> Mapping[str, tuple[JoinedSet, ...]]:
    """Sets of joined terminals by unit, for every unit that the landing or a link names."""
    units = dict.fromkeys(map(str, (*graph.project.landing, *graph.project.jumpers)))
    return _over_wires(graph, {unit: _sets(graph, unit) for unit in units})


def _over_wires(
    graph: Graph, sets: Mapping[str, tuple[JoinedSet, ...]]
) -> Mapping[str, tuple[JoinedSet, ...]]:
    """Sets that a wire from device to device makes one share their wires and their ground."""
    pairs = [
        (f"{unit}/{one.terminals[0]}", end)
        for unit, found in sets.items()
        for one in found
        for end in one.wires
        if graph.onward(end)
    ]
    if not pairs:
        return sets
    pairs += [
        (f"{unit}/{one.terminals[0]}", f"{unit}/{terminal}")
        for unit, found in sets.items()
        for one in found
        for terminal in one.terminals
    ]
    whole = {node: number for number, nodes in enumerate(connected_sets(pairs)) for node in nodes}
    wires: dict[int, dict[str, None]] = defaultdict(dict)
    grounds: dict[int, dict[str, None]] = defaultdict(dict)
    for unit, found in sets.items():
        for one in found:
            number = whole[f"{unit}/{one.terminals[0]}"]
            wires[number] |= dict.fromkeys(end for end in one.wires if not graph.onward(end))
            grounds[number] |= dict.fromkeys(one.grounds)
    return {
        unit: tuple(
            replace(one, wires=tuple(wires[number]), grounds=tuple(grounds[number]))
            for one in found
            for number in (whole[f"{unit}/{one.terminals[0]}"],)
        )
        for unit, found in sets.items()
    }


def _sets(graph: Graph, unit: str) -> tuple[JoinedSet, ...]:
    project = graph.project
    landed = graph.landed(unit)
    switch, box = project.switch_of(unit), project.box_of(unit)
    kind = switch[1] if switch else box[1] if box else None
    tied = {str(name) for name in kind.ground_terminals} if kind is not None else set()
    pairs = [*graph.poles(unit), *graph.links(unit)]
    whole = {node: nodes for nodes in connected_sets(pairs) for node in nodes}
    names = dict.fromkeys((*landed, *(name for pair in pairs for name in pair)))
    sets = dict.fromkeys(whole.get(name, frozenset({name})) for name in names)
    return tuple(_set(graph, sorted(nodes), landed, tied) for nodes in sets)


def _set(graph: Graph, terminals: list[str], landed: Mapping[str, str], tied: set[str]) -> JoinedSet:
    wires = tuple(landed[name] for name in terminals if name in landed)
    grounds = [name for name in terminals if name in tied or name.upper() in GROUND_NAMES]
    grounds += [wire for wire in wires if wire in graph.ground_wires]
    return JoinedSet(tuple(terminals), wires, tuple(grounds))
