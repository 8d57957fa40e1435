"""Ring-out after the pull: which pieces of wire are proved against which, in groups that one person keeps in view.

A piece goes from where a wire begins, or was cut, to where it is cut next, so no piece has a switch in it. One end of
one piece at a time is joined to the ground wire there; at its other end that piece alone may beep to ground.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.design.commissioning import InsulationTest
from reportgen.design.graph import Conductor, Graph
from reportgen.design.missing import Known, Missing
from reportgen.design.pieces import Piece, WirePieces
from reportgen.design.results import CircuitDesign

#: Wires of one group, so that its card fits a sheet.
MOST = 12
BEEP, OPEN = "beep", "open"


@dataclass(frozen=True, slots=True)
class RingGroup:
    """Pieces that are rung out together; ``name`` is the inverter they go to, with a number where it has several.

    Attributes
    ----------
    side : str
        ``array side`` of the devices that the wires land on, ``between devices``, ``inverter side``; empty where they
        go in one piece.
    backs : tuple of str
        Ground wire that runs beside each of them and serves as its return; empty where none does.
    missing : tuple of Missing
        What is not told of where its wires are cut.
    """

    name: str
    side: str
    pieces: tuple[Piece, ...]
    backs: tuple[str, ...]
    missing: tuple[Missing, ...] = ()

    def expected(self, joined: Piece, probed: Piece) -> str:
        """What the meter does at the end of one piece with the start of another joined to the return."""
        return BEEP if joined.id == probed.id else OPEN


@dataclass(frozen=True, slots=True)
class WireTest:
    """Insulation test of the two legs of a circuit before they are landed: test voltage [V], least resistance [MΩ].

    ``apart`` are the pieces that the wires are cut into, each of which is tested.
    """

    circuit: str
    legs: tuple[str, ...]
    basis: Known
    test: Known
    least: Known
    marked: Known
    apart: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RingOut:
    """Groups of pieces, the ground wires there are, and the insulation tests."""

    groups: tuple[RingGroup, ...]
    grounds: tuple[Conductor, ...]
    tests: tuple[WireTest, ...]

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Every piece that is rung out, grounds left out."""
        return tuple(piece for group in self.groups for piece in group.pieces)


def design_ring_out(
    graph: Graph,
    circuits: Sequence[CircuitDesign],
    tests: Sequence[InsulationTest],
    pieces: Sequence[WirePieces],
) -> RingOut:
    """Every piece of a wire that is in use or spare; abandoned ones have no other end to prove."""
    grounds: list[WirePieces] = []
    by_end: dict[tuple[str, str], dict[str, list[Piece]]] = defaultdict(dict)
    untold: dict[str, tuple[Missing, ...]] = {}
    for one in pieces:
        kind = str(graph.project.circuits[one.wire.circuit].kind)
        if kind == "ground":
            grounds.append(one)
        elif kind != "abandoned":
            end = one.wire.end.partition("/")[0] or "other wires"
            untold[one.wire.circuit] = one.missing
            for piece in one.pieces:
                by_end[end, _side(piece)].setdefault(one.wire.circuit, []).append(piece)
    groups = tuple(
        _with_return(group, grounds, untold)
        for (end, side), found in sorted(by_end.items(), key=lambda item: _SIDES.index(item[0][1]))
        for group in _groups(end, side, list(found.values()))
    )
    of_string = {test.string: test for test in tests}
    apart: dict[str, dict[str, None]] = defaultdict(dict)
    for piece in (piece for group in groups for piece in group.pieces):
        if not piece.whole:
            apart[piece.wire.circuit][f"{piece.start.place} to {piece.end.place.rstrip('+-')}"] = None
    made = tuple(
        WireTest(
            circuit.id,
            graph.legs_of.get(circuit.id, ()),
            *_values(of_string.get(circuit.string.id)),
            circuit.insulation_voltage,
            tuple(apart.get(circuit.id, ())),
        )
        for circuit in circuits
    )
    return RingOut(groups, tuple(one.wire for one in grounds), made)


_SIDES = ("", "array side", "between devices", "inverter side")


def _side(piece: Piece) -> str:
    if piece.whole:
        return ""
    return "array side" if piece.first else "inverter side" if piece.last else "between devices"


def _values(test: InsulationTest | None) -> tuple[Known, Known, Known]:
    if test is None:
        absent = Missing("open-circuit voltage of the string")
        return absent, absent, absent
    return test.basis, test.test, test.least


def _with_return(
    group: RingGroup, grounds: Sequence[WirePieces], untold: dict[str, tuple[Missing, ...]]
) -> RingGroup:
    """The group with the ground that runs beside each of its pieces, and with what is not told of its cuts."""
    backs = tuple(
        # Of a wire outside every raceway the folder cannot say what lies beside it.
        next((one.wire.id for one in grounds if _along(piece, one.wire)), "")
        for piece in group.pieces
    )
    missing = tuple(
        dict.fromkeys(item for piece in group.pieces for item in untold.get(piece.wire.circuit, ()))
    )
    return RingGroup(group.name, group.side, group.pieces, backs, missing)


def _along(piece: Piece, ground: Conductor) -> bool:
    return bool(piece.through) and set(piece.through) <= set(ground.through)


def _groups(end: str, side: str, circuits: Sequence[Sequence[Piece]]) -> list[RingGroup]:
    """Circuits of one end in groups of so many wires, the wires of a circuit together."""
    parts: list[list[Piece]] = [[]]
    total, widest = sum(map(len, circuits)), max(map(len, circuits))
    # As even as whole circuits allow.
    most = min(MOST, widest * math.ceil(total / math.ceil(total / MOST) / widest))
    for wires in circuits:
        if parts[-1] and len(parts[-1]) + len(wires) > most:
            parts.append([])
        parts[-1] += wires
    many = len(parts) > 1
    return [
        RingGroup(f"{end}, group {number}" if many else end, side, tuple(part), ())
        for number, part in enumerate(parts, start=1)
    ]
