"""What lies together: live circuits that a wire shares a raceway or box with, and the highest voltage among them.

Conductors of different circuits in one raceway or enclosure are all insulated for the highest voltage of any of them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from functools import cached_property

from reportgen.design.graph import Graph
from reportgen.design.missing import Known, Missing
from reportgen.design.results import StringDesign


class Beside:
    """Voltages of live circuits by what they pass; read-only."""

    def __init__(self, graph: Graph, strings: Mapping[str, StringDesign]) -> None:
        self._graph, self._strings = graph, strings

    @cached_property
    def voltages(self) -> Mapping[str, Known]:
        """Highest voltage of every live circuit: cold for a string, as stated for an output [V]."""
        found: dict[str, Known] = {}
        for key, circuit in self._graph.project.circuits.items():
            if circuit.status == "removed":
                continue
            if circuit.kind == "string":
                string = self._strings.get(str(circuit.string))
                found[str(key)] = (
                    string.governing if string else Missing(f"string of circuit {key}", circuit.span)
                )
            elif circuit.kind == "output":
                found[str(key)] = circuit.voltage or Missing(f"voltage of circuit {key}", circuit.span)
        return found

    @cached_property
    def _passing(self) -> Mapping[str, tuple[str, ...]]:
        """Live circuits by the stretches and boxes that they pass."""
        found: dict[str, list[str]] = defaultdict(list)
        for key in self.voltages:
            for place in self._places(key):
                found[place].append(key)
        return {place: tuple(keys) for place, keys in found.items()}

    def _places(self, key: str) -> tuple[str, ...]:
        graph = self._graph
        boxes = [unit for unit in graph.passing.enclosures[key] if graph.project.box_of(unit) is not None]
        stretches = graph.through(graph.project.circuits[key])
        return tuple(dict.fromkeys([*map(str, stretches), *boxes]))

    def circuits(self, key: str) -> Mapping[str, str]:
        """Other live circuits that lie with one, each with the first stretch or box that they share."""
        found: dict[str, str] = {}
        for place in self._places(key):
            for other in self._passing.get(place, ()):
                if other != key:
                    found.setdefault(other, place)
        return found

    def highest(self, key: str) -> tuple[str, Known] | None:
        """Circuit beside one that has the highest voltage, and that voltage; the first unknown one where one is [V]."""
        most: tuple[str, Known] | None = None
        for other in self.circuits(key):
            volts = self.voltages[other]
            if isinstance(volts, Missing):
                return other, volts
            if most is None or isinstance(most[1], Missing) or volts.value > most[1].value:
                most = (other, volts)
        return most
