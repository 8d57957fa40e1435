"""Terminals of every device and what joins them: what hangs together with a terminal while the switches are closed.

Two terminals are one node where a closed pole joins them, a link does, or a wire from device to device.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from reportgen.engineering.terminals import Pole

if TYPE_CHECKING:
    # The graph holds one of these; nothing but the annotations needs it.
    from reportgen.design.graph import Graph, Join

#: Unit and terminal.
Node = tuple[str, str]


@dataclass(slots=True)
class Spread:
    """Everything that hangs together with some terminals while all switches are closed.

    Attributes
    ----------
    edges : mapping
        Terminals next to each terminal, with the switch whose pole lies between, empty for a link or a wire.
    ends : mapping
        Wires and leads that are landed on its terminals, those from device to device left out.
    between : tuple of str
        Terminals, written ``SW-2/L1``, at the ends of wires from device to device.
    """

    edges: dict[Node, list[tuple[Node, str]]] = field(default_factory=dict)
    ends: dict[Node, str] = field(default_factory=dict)
    between: dict[str, None] = field(default_factory=dict)


class TerminalNet:
    """Terminals of all devices and what joins them, looked up once; read-only."""

    def __init__(self, graph: Graph) -> None:
        self._graph = graph
        self._joins: dict[str, Mapping[str, list[tuple[str, Join]]]] = {}
        self._landed: dict[str, dict[str, str]] = {}
        self._nodes: dict[Node, tuple[list[tuple[Node, str]], str, bool]] = {}
        self._behind: dict[Node, tuple[frozenset[str], frozenset[str]]] = {}

    @cached_property
    def addresses(self) -> Mapping[str, Pole]:
        """Poles of all inputs by the lead that the landing names, for instance ``INV-1/A+``."""
        return {
            f"{unit}/{letter}{sign}": Pole(f"{unit}/{letter}", sign)
            for kind in self._graph.project.inverters.values()
            for unit in kind.units
            for letter in kind.inputs
            for sign in "+-"
        }

    def joins(self, unit: str) -> Mapping[str, list[tuple[str, Join]]]:
        """Terminals next to each terminal of a unit."""
        if unit not in self._joins:
            self._joins[unit] = self._graph.joins(unit)
        return self._joins[unit]

    def landed(self, unit: str) -> Mapping[str, str]:
        """What is landed on each terminal of a unit."""
        if unit not in self._landed:
            self._landed[unit] = self._graph.landed(unit)
        return self._landed[unit]

    def behind(self, unit: str, terminal: str) -> tuple[frozenset[str], frozenset[str]]:
        """Legs, and other ends, that the wire landed on a terminal leads to without passing its unit again."""
        known = self._behind.get((unit, terminal))
        if known is None:
            end = self.landed(unit).get(terminal, "")
            place = self._graph.onward(end)
            ends = {end} if end and place is None else set()
            if place is not None:
                ends = set(self.spread([place], shut=unit).ends.values())
            legs = frozenset(one for one in ends if one in self._graph.circuit_of)
            known = self._behind[unit, terminal] = (legs, frozenset(ends) - legs)
        return known

    def live(self, unit: str) -> tuple[str, ...]:
        """Terminals of a switch that a leg reaches while this switch alone is open, in the order of the device."""
        found = self._graph.project.switch_of(unit)
        names = [*map(str, found[1].line), *map(str, found[1].load)] if found else []
        return tuple(
            name
            for name in dict.fromkeys([*names, *self.landed(unit)])
            if any(
                end in self._graph.circuit_of
                for end in self.spread([(unit, name)], opened=unit).ends.values()
            )
        )

    def spread(self, starts: Iterable[Node], *, wire: str = "", opened: str = "", shut: str = "") -> Spread:
        """What hangs together with some terminals.

        Parameters
        ----------
        wire : str
            Wire that is followed: its own ends are no others.
        opened : str
            Unit whose poles are open.
        shut : str
            Unit that is not entered at all.
        """
        found = Spread()
        queue = deque(starts)
        while queue:
            node = queue.popleft()
            if node in found.edges or node[0] == shut:
                continue
            beside, end, onward = self._beside(node)
            if node[0] == opened:
                beside = [item for item in beside if item[1] != opened]
            found.edges[node] = beside
            if onward:
                found.between[end] = None
            elif end and end != wire:
                found.ends[node] = end
            queue.extend(other for other, _ in beside)
        return found

    def _beside(self, node: Node) -> tuple[list[tuple[Node, str]], str, bool]:
        """Terminals next to one, what is landed on it, and whether that is a wire to another device."""
        known = self._nodes.get(node)
        if known is None:
            unit, terminal = node
            beside = [
                ((unit, other), unit if kind == "pole" else "")
                for other, kind in self.joins(unit).get(terminal, ())
            ]
            end = self.landed(unit).get(terminal, "")
            place = self._graph.onward(end) if end else None
            if place is not None:
                beside.append((place, ""))
            known = self._nodes[node] = (beside, end, place is not None)
        return known
