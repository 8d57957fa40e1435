"""Ring-out after the pull: which wires are proved against which, in groups that one person keeps in view.

The far end of one wire at a time is joined to the ground wire there; at the near end that wire alone may beep to
ground. So every pair is told apart with as many joins as there are wires.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.design.commissioning import InsulationTest
from reportgen.design.graph import Conductor, Graph
from reportgen.design.missing import Known, Missing
from reportgen.design.results import CircuitDesign

#: Wires of one matrix, so that it fits an upright sheet.
MOST = 12
BEEP, OPEN = "beep", "open"


@dataclass(frozen=True, slots=True)
class RingGroup:
    """Wires that are rung out together; ``name`` is the inverter they go to, with a number where it has several."""

    name: str
    wires: tuple[Conductor, ...]

    def expected(self, joined: Conductor, probed: Conductor) -> str:
        """What the meter does at the near end of one wire with the far end of another joined to ground."""
        return BEEP if joined.id == probed.id else OPEN


@dataclass(frozen=True, slots=True)
class WireTest:
    """Insulation test of the two legs of a circuit before they are landed: test voltage [V], least resistance [MΩ]."""

    circuit: str
    legs: tuple[str, ...]
    basis: Known
    test: Known
    least: Known
    marked: Known


@dataclass(frozen=True, slots=True)
class RingOut:
    """Groups of wires, the ground wires that serve as return, and the insulation tests."""

    groups: tuple[RingGroup, ...]
    grounds: tuple[Conductor, ...]
    tests: tuple[WireTest, ...]

    @property
    def wires(self) -> tuple[Conductor, ...]:
        """Every wire that is rung out, grounds left out."""
        return tuple(wire for group in self.groups for wire in group.wires)


def design_ring_out(
    graph: Graph, circuits: Sequence[CircuitDesign], tests: Sequence[InsulationTest]
) -> RingOut:
    """Every wire that is in use or spare; abandoned ones have no other end to prove."""
    grounds: list[Conductor] = []
    by_end: dict[str, dict[str, list[Conductor]]] = defaultdict(dict)
    for wire in graph.conductors:
        kind = str(graph.project.circuits[wire.circuit].kind)
        if kind == "ground":
            grounds.append(wire)
        elif kind != "abandoned":
            end = wire.end.partition("/")[0] or "other wires"
            by_end[end].setdefault(wire.circuit, []).append(wire)
    groups = tuple(group for end, found in by_end.items() for group in _groups(end, list(found.values())))
    of_string = {test.string: test for test in tests}
    made = tuple(
        WireTest(
            circuit.id,
            graph.legs_of.get(circuit.id, ()),
            *_values(of_string.get(circuit.string.id)),
            circuit.insulation_voltage,
        )
        for circuit in circuits
    )
    return RingOut(groups, tuple(grounds), made)


def _values(test: InsulationTest | None) -> tuple[Known, Known, Known]:
    if test is None:
        absent = Missing("open-circuit voltage of the string")
        return absent, absent, absent
    return test.basis, test.test, test.least


def _groups(end: str, circuits: Sequence[Sequence[Conductor]]) -> list[RingGroup]:
    """Circuits of one end in groups of so many wires, the wires of a circuit together."""
    parts: list[list[Conductor]] = [[]]
    total, widest = sum(map(len, circuits)), max(map(len, circuits))
    # As even as whole circuits allow.
    most = min(MOST, widest * math.ceil(total / math.ceil(total / MOST) / widest))
    for wires in circuits:
        if parts[-1] and len(parts[-1]) + len(wires) > most:
            parts.append([])
        parts[-1] += wires
    many = len(parts) > 1
    return [
        RingGroup(f"{end}, group {number}" if many else end, tuple(part))
        for number, part in enumerate(parts, start=1)
    ]
