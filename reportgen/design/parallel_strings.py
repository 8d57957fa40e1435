"""Which strings are in parallel: those that share an input, or whose legs links and closed poles join on the way.

Where a landing leaves open whether a combiner box joins them, that is told as a doubt.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from reportgen.design.graph import Graph
from reportgen.design.joined import joined_wires
from reportgen.design.missing import Missing
from reportgen.design.results import StringDesign
from reportgen.diagnostics.model import Span


class ParallelStrings:
    """Which strings are in parallel, and whether that can be told."""

    def __init__(self, graph: Graph, strings: Mapping[str, StringDesign]) -> None:
        self._leader = {key: key for key in strings}
        self._boxes: dict[str, set[str]] = defaultdict(set)
        self.doubts: dict[str, Missing] = {}
        first: dict[str, str] = {}
        for key, string in strings.items():
            if string.input:
                self._join(key, first.setdefault(string.input, key))
        string_of = {
            wire.id: str(graph.project.circuits[wire.circuit].string)
            for wire in graph.conductors
            if wire.leg and graph.project.circuits[wire.circuit].string is not None
        }
        for unit, sets in joined_wires(graph).items():
            for nodes in sets:
                joined = list(dict.fromkeys(string_of[wire] for wire in nodes.wires if wire in string_of))
                for other in joined[1:]:
                    self._join(joined[0], other)
                if len(joined) > 1:
                    for key in joined:
                        self._boxes[key].add(unit)
        self._combiners(graph, strings)
        self._members: dict[str, list[str]] = defaultdict(list)
        for key in strings:
            self._members[self._find(key)].append(key)

    def beside(self, string: str) -> tuple[str, ...]:
        """The other strings of its group."""
        return tuple(key for key in self._members[self._find(string)] if key != string)

    def boxes(self, string: str) -> tuple[str, ...]:
        """Units before the input in which it is joined with others."""
        return tuple(sorted(self._boxes[string])) if string in self._boxes else ()

    def _combiners(self, graph: Graph, strings: Mapping[str, StringDesign]) -> None:
        """Combiner boxes: strings that share an input are joined there; of others the landing has to tell."""
        passing: dict[str, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
        places: dict[str, Span] = {}
        for wire in graph.conductors:
            circuit = graph.project.circuits[wire.circuit]
            if not wire.leg or circuit.string is None:
                continue
            for unit in graph.passing.enclosures[wire.circuit]:
                box = graph.project.box_of(unit)
                if box is not None and box[1].kind == "combiner box":
                    passing[unit][str(circuit.string)].add(wire.id)
                    places.setdefault(unit, circuit.where("enclosures" if circuit.enclosures else "path"))
        for unit, found in passing.items():
            landed = {str(wire) for wire in graph.project.landing.get(unit, {}).values()}
            leaders = {self._find(key) for key in found}
            for key, wires in found.items():
                alike = [other for other in found if other != key and self._find(other) == self._find(key)]
                if alike:
                    self._boxes[key].add(unit)
                if len(leaders) > 1 and not wires <= landed:
                    names = ", ".join(sorted(wires - landed))
                    place = places[unit]
                    what = f"landing of {names} on {unit}, which says whether strings are joined there"
                    self.doubts[key] = Missing(what, place)

    def _find(self, key: str) -> str:
        while self._leader[key] != key:
            self._leader[key] = self._leader[self._leader[key]]
            key = self._leader[key]
        return key

    def _join(self, one: str, other: str) -> None:
        self._leader[self._find(other)] = self._find(one)
