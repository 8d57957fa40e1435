"""Boxes and switches on the way of each circuit, and those that it only passes: neither landed nor cut there.

A circuit meets the boxes and switches that its raceways end at, those its list of enclosures names, and the devices that
its legs land on. It only passes a switch where the landing says so twice: what is on the terminals of that switch is
stated and is nothing of this circuit, and both legs come to the input they are meant for over other devices. Else a
switch on the way counts as one that the circuit lands on, and what is not stated of it stays unknown.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    # The graph holds one of these; nothing but the annotation needs it.
    from reportgen.design.graph import Graph


class Passing:
    """What each circuit passes, by its path, its enclosures and its landing; read-only."""

    def __init__(self, graph: Graph) -> None:
        self._graph = graph

    @cached_property
    def switches(self) -> frozenset[str]:
        """Every switch unit."""
        return frozenset(str(unit) for kind in self._graph.project.switches.values() for unit in kind.units)

    @cached_property
    def units(self) -> frozenset[str]:
        """Every unit that can be passed: boxes, switches and what holds fuses."""
        project = self._graph.project
        others = (project.boxes, project.fuses)
        return self.switches | {
            str(unit) for kinds in others for kind in kinds.values() for unit in kind.units
        }

    @cached_property
    def devices(self) -> Mapping[str, tuple[str, ...]]:
        """Boxes and switches that the legs of each circuit may go over by the landing, from where they land.

        Every way over closed poles and links counts, one to where another string comes in too: never too few.
        """
        return {circuit: units for circuit, (units, _) in self._landed.items()}

    @cached_property
    def enclosures(self) -> Mapping[str, tuple[str, ...]]:
        """Boxes and switches that each circuit meets: along its path, named, and landed on; each once."""
        graph = self._graph
        return {
            str(key): tuple(
                unit
                for unit in dict.fromkeys(
                    [*self.along(str(key)), *map(str, circuit.enclosures), *self.lands_on.get(str(key), ())]
                )
                if unit in self.units
            )
            for key, circuit in graph.project.circuits.items()
        }

    @cached_property
    def only(self) -> Mapping[str, tuple[str, ...]]:
        """Switches that each circuit of a string only passes, its legs being landed elsewhere."""
        found, told = {}, {str(unit) for unit in self._graph.project.landing}
        for circuit, (devices, arrives) in self._landed.items():
            units = tuple(
                unit
                for unit in self.enclosures[circuit]
                if unit in self.switches and unit in told and unit not in devices
            )
            if arrives and units:
                found[circuit] = units
        return found

    @cached_property
    def by_switch(self) -> Mapping[str, tuple[str, ...]]:
        """Circuits that only pass it, by switch."""
        found: dict[str, list[str]] = defaultdict(list)
        for circuit, units in self.only.items():
            for unit in units:
                found[unit].append(circuit)
        return {unit: tuple(circuits) for unit, circuits in found.items()}

    @cached_property
    def lands_on(self) -> Mapping[str, list[str]]:
        """Units that the landing names for the legs of each circuit; where its way goes on is for the arrivals to tell."""
        found: dict[str, list[str]] = defaultdict(list)
        for leg, circuit in self._graph.circuit_of.items():
            found[circuit] += [unit for unit, _ in self._graph.places_of.get(leg, ())]
        return found

    def wires_through(self, unit: str) -> tuple[str, ...]:
        """Legs that only pass a switch: live in light, whatever that switch is set to."""
        legs = self._graph.legs_of
        return tuple(leg for circuit in self.by_switch.get(unit, ()) for leg in legs.get(circuit, ()))

    def met(self, circuit: str) -> tuple[str, ...]:
        """Boxes and switches that a circuit meets, without the switches that it only passes."""
        passed = self.only.get(circuit, ())
        return tuple(unit for unit in self.enclosures[circuit] if unit not in passed)

    def along(self, circuit: str) -> Iterator[str]:
        """What stands at both ends of each stretch of a circuit's path; empty where nothing is stated."""
        graph = self._graph
        for hop in graph.through(graph.project.circuits[circuit]):
            yield graph.enclosure_before(hop)
            yield graph.enclosure_after(hop)

    @cached_property
    def _landed(self) -> Mapping[str, tuple[tuple[str, ...], bool]]:
        """Devices of each circuit that lands, and whether all its legs come to the input they are meant for."""
        graph = self._graph
        found: dict[str, dict[str, None]] = {}
        arrived: dict[str, bool] = {}
        for wire in graph.conductors:
            places = graph.places_of.get(wire.id, ())
            if not wire.leg:
                continue
            arrived.setdefault(wire.circuit, True)
            # What lands on an inverter itself has arrived; its links lead to no further device.
            spread = graph.net.spread(place for place in places if place[0] in self.units)
            found.setdefault(wire.circuit, {}).update(dict.fromkeys(unit for unit, _ in spread.edges))
            reached = {
                *spread.ends.values(),
                *(f"{unit}/{name}" for unit, name in places if unit not in self.units),
            }
            if not wire.end or f"{wire.end}{wire.leg}" not in reached:
                arrived[wire.circuit] = False
        return {circuit: (tuple(units), arrived[circuit]) for circuit, units in found.items()}
