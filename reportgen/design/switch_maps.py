"""Each switch as the installer sees it: what lands on which terminal, what lies straight across, which pairs beep.

What comes from the strings and what goes to the inputs is found by following the wires, so a switch between two others
has a map as well as one that the legs land on.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from reportgen.design.graph import Graph
from reportgen.engineering.terminals import (
    InputReading,
    Pole,
    connected_sets,
    correct_landing,
    predicted_readings,
    straight_across,
)
from reportgen.project.equipment import Switch
from reportgen.working.quantity import Quantity


@dataclass(frozen=True, slots=True)
class Opposite:
    """Two terminals that lie across from each other, and what lands on them.

    Attributes
    ----------
    belongs : str
        Lead that belongs on the far terminal, found by following its pole; empty where no single leg arrives.
    straight : str
        Lead that a straight-across landing would put there.
    """

    near: str
    wire: str
    far: str
    lead: str
    belongs: str
    straight: str


@dataclass(frozen=True, slots=True)
class SwitchMap:
    """One switch as the installer sees it.

    Attributes
    ----------
    side : str
        ``line`` or ``load``: where the legs of the strings land; empty where they lie on both sides.
    rows : tuple of Opposite
        In physical order; empty where the two sides cannot be set against each other.
    straight : tuple of InputReading
        What the inputs would read after a straight-across landing.
    beeps_open, beeps_closed : tuple
        Terminals that are one node, with the switch open and closed.
    """

    unit: str
    kind: str
    side: str
    rows: tuple[Opposite, ...]
    straight: tuple[InputReading, ...]
    beeps_open: tuple[tuple[str, ...], ...]
    beeps_closed: tuple[tuple[str, ...], ...]

    @property
    def is_trap(self) -> bool:
        """True where landing each lead straight across from its leg would be wrong."""
        return any(row.straight and row.straight != row.belongs for row in self.rows)


@dataclass(frozen=True, slots=True)
class _Sides:
    """Terminals where the strings come in, each with their legs, and where the wires to the inputs go out."""

    legs: Mapping[str, tuple[Pole, ...]]
    leads: Mapping[str, str]
    poles: Mapping[str, Pole | None]


def switch_maps(
    graph: Graph, pole_of: Mapping[str, Pole], known: Mapping[str, Quantity]
) -> tuple[SwitchMap, ...]:
    """Map of every switch that the landing names, in its order.

    Parameters
    ----------
    pole_of : mapping of str to Pole
        String and sign of each wire.
    known : mapping of str to Quantity
        Open-circuit voltage by string, where it is known. [V]
    """
    return tuple(
        _switch_map(graph, pole_of, str(unit), *found, known)
        for unit in graph.project.landing
        if (found := graph.project.switch_of(str(unit))) is not None
    )


def _sides(graph: Graph, unit: str, pole_of: Mapping[str, Pole]) -> _Sides | None:
    """Where the strings come in and where the inputs are; None where one wire leads to both."""
    legs: dict[str, tuple[Pole, ...]] = {}
    leads: dict[str, str] = {}
    poles: dict[str, Pole | None] = {}
    addresses = graph.net.addresses
    for terminal, end in graph.net.landed(unit).items():
        behind, ends = graph.net.behind(unit, terminal)
        found = tuple(sorted(pole_of[leg] for leg in behind if leg in pole_of))
        to = [pole for one in sorted(ends) if (pole := addresses.get(one)) is not None]
        if found and to:
            return None
        if found:
            legs[terminal] = found
        else:
            leads[terminal] = end
            poles[terminal] = to[0] if len(to) == 1 else None
    return _Sides(legs, leads, poles)


def _switch_map(
    graph: Graph,
    pole_of: Mapping[str, Pole],
    unit: str,
    kind: str,
    switch: Switch,
    known: Mapping[str, Quantity],
) -> SwitchMap:
    landed, joined, jumpers = graph.net.landed(unit), graph.poles(unit), graph.links(unit)
    sides = _sides(graph, unit, pole_of)
    side, rows, readings = "", tuple[Opposite, ...](), tuple[InputReading, ...]()
    if sides is not None:
        side = next(
            (
                name
                for name in ("line", "load")
                if sides.legs and set(sides.legs) <= set(getattr(switch, name))
            ),
            "",
        )
    near_row, far_row = [str(t) for t in switch.line], [str(t) for t in switch.load]
    if side == "load":
        near_row, far_row = far_row, near_row
    if sides is not None and side and set(sides.leads) <= set(far_row) and len(near_row) == len(far_row):
        wanted = {
            pole: Pole(str(address), pole.sign)
            for poles in sides.legs.values()
            for pole in poles
            if (address := graph.project.strings[pole.of].input) is not None
        }
        # Legs that come in together and are meant for different poles have no place straight across.
        if all(len({wanted.get(pole) for pole in poles}) == 1 for poles in sides.legs.values()):
            first = {terminal: poles[0] for terminal, poles in sides.legs.items()}
            across = straight_across(near_row, far_row, first, wanted)
            right = correct_landing(joined, jumpers, first, wanted, far_row)
            nodes = connected_sets(joined, jumpers)
            shared = {node: found for found in nodes for node in found}
            rows = tuple(
                Opposite(
                    near,
                    landed.get(near, ""),
                    there,
                    landed.get(there, ""),
                    # Where a link brings the wire of another terminal as well, none belongs there of its own.
                    *(
                        ("", "")
                        if there not in sides.leads
                        and right.get(there) == across.get(there)
                        and any(sides.poles.get(one) == right.get(there) for one in shared.get(there, ()))
                        else (
                            _lead(right.get(there), there, sides),
                            _lead(across.get(there), there, sides),
                        )
                    ),
                )
                for near, there in zip(near_row, far_row, strict=True)
            )
            readings = _across(joined, jumpers, sides, across, wanted, known)
    return SwitchMap(
        unit,
        kind,
        side,
        rows,
        readings,
        _beeps(connected_sets(joined, jumpers, closed=False), switch),
        _beeps(connected_sets(joined, jumpers), switch),
    )


def _lead(pole: Pole | None, terminal: str, sides: _Sides) -> str:
    """Wire that leads to a pole of an input: the one that is landed there where it does, else all that do."""
    if pole is None:
        return ""
    to = [sides.leads[one] for one, of in sides.poles.items() if of == pole]
    here = sides.leads.get(terminal)
    return here if here in to else " or ".join(dict.fromkeys(to)) or str(pole)


def _across(
    joined: Sequence[tuple[str, str]],
    jumpers: Sequence[tuple[str, str]],
    sides: _Sides,
    across: Mapping[str, Pole],
    wanted: Mapping[Pole, Pole],
    known: Mapping[str, Quantity],
) -> tuple[InputReading, ...]:
    """What the inputs would read after a straight-across landing."""
    own: dict[str, list[str]] = defaultdict(list)
    for leg, pole in wanted.items():
        if leg.of not in own[pole.of]:
            own[pole.of].append(leg.of)
    legs = [(f"leg {pole}", terminal, pole) for terminal, poles in sides.legs.items() for pole in poles]
    return predicted_readings(
        joined,
        [*jumpers, *((leg, terminal) for leg, terminal, _ in legs)],
        {leg: pole for leg, _, pole in legs},
        across,
        known,
        {key: tuple(ids) for key, ids in own.items()},
    )


def _beeps(sets: Iterable[frozenset[str]], switch: Switch) -> tuple[tuple[str, ...], ...]:
    """Sets of more than one terminal, each in the order of the device."""
    order = {
        str(terminal): place
        for place, terminal in enumerate([*switch.line, *switch.load, *switch.ground_terminals])
    }
    found = [tuple(sorted(one, key=lambda item: order[item])) for one in sets if len(one) > 1]
    return tuple(sorted(found, key=lambda one: order[one[0]]))
