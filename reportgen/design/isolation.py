"""Isolation: how much voltage can be touched when a string is opened, and what stays live when one switch is open.

Switches are followed by their terminals, because the side that stays live is the one that the strings reach: with
links between poles that need not be the side marked line, and a second string can feed the far side from behind.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from reportgen.design.graph import Graph
from reportgen.design.missing import Known, Missing, derive
from reportgen.design.results import RECORD_LOW, StringDesign
from reportgen.engineering.terminals import connected_sets
from reportgen.rulebook.rulebook import quantity_of
from reportgen.rulebook.standards import number
from reportgen.working.quantity import Quantity, work

#: Nodes that are joined, two at a time.
Pairs = list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Opened:
    """One string and the highest voltage that can be touched on it.

    Attributes
    ----------
    whole : Quantity or Missing
        Cold open-circuit voltage between its ends. [V]
    piece : int
        Modules in the longer piece when it is opened at its middle connector; all of them where it has one module.
    halved : Quantity or Missing
        Voltage of that piece. [V]
    harmless : int or None
        Modules in series that stay at or below the limit of contact; None where unknown.
    """

    string: str
    count: int
    whole: Known
    piece: int
    halved: Known
    harmless: int | None


@dataclass(frozen=True, slots=True)
class OpenTerminal:
    """One terminal of a switch while that switch is open.

    Attributes
    ----------
    legs, behind : tuple of str
        Legs of strings that reach it with this switch alone open, and with every switch open.
    inputs : tuple of str
        Poles of inverter inputs that reach it with this switch alone open.
    """

    terminal: str
    landed: str
    legs: tuple[str, ...]
    behind: tuple[str, ...]
    inputs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OpenSwitch:
    """A switch while it is open: each terminal, the strings that keep it live, and the wires that only pass it."""

    unit: str
    terminals: tuple[OpenTerminal, ...]
    strings: tuple[str, ...]
    through: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class IsolationDesign:
    """Strings as they are opened, switches as they are open, wires without a landing, and the limit of contact [V].

    ``together`` are strings that meet by the landing with every switch open: one keeps the legs of the others live.
    """

    opened: tuple[Opened, ...]
    switches: tuple[OpenSwitch, ...]
    not_landed: tuple[str, ...]
    contact: Quantity
    together: tuple[tuple[str, ...], ...] = ()


def design_isolation(graph: Graph, strings: Mapping[str, StringDesign]) -> IsolationDesign:
    """Voltages to touch and what stays live, for the landing as drawn."""
    contact = quantity_of(number("voltage-class-b"), "limit of contact")
    landed = {str(end) for wires in graph.project.landing.values() for end in wires.values()}
    loose = tuple(wire.id for wire in graph.conductors if wire.leg and wire.id not in landed)
    opened = tuple(_opened(string, contact) for string in strings.values())
    fixed, poles = _pairs(graph)
    switches = tuple(_switches(graph, fixed, poles))
    return IsolationDesign(opened, switches, loose, contact, _together(graph, fixed))


def _together(graph: Graph, fixed: Pairs) -> tuple[tuple[str, ...], ...]:
    circuits = graph.project.circuits
    of = {wire.id: str(circuits[wire.circuit].string) for wire in graph.conductors if wire.leg}
    found = (tuple(sorted({of[node] for node in nodes if node in of})) for nodes in connected_sets(fixed))
    return tuple(sorted({strings for strings in found if len(strings) > 1}))


def _opened(string: StringDesign, contact: Quantity) -> Opened:
    count = int(string.count.value)
    piece = math.ceil(count / 2) if count > 1 else count

    def halved(whole: Quantity) -> Quantity:
        name = f"voltage of the longer piece of {string.id}"
        return work(name, "V", "V * n / N", V=whole, n=Quantity(float(piece)), N=string.count)

    whole = _coldest(string) if count >= 1 else Missing(f"a count of string {string.id}")
    one = whole.value / count if isinstance(whole, Quantity) else 0.0
    harmless = int(contact.value / one) if one > 0 else None
    return Opened(string.id, count, whole, piece, derive(halved, whole), harmless)


def _coldest(string: StringDesign) -> Known:
    """Voltage at the record low, whatever temperature the design is judged by: hands meet the coldest morning too."""
    low = next(case for case in string.cold if case.label == RECORD_LOW)
    found = low.by_coefficient
    if isinstance(found, Missing) and string.module is not None and string.module.voltage_coefficient is None:
        found = low.by_table
    governing = string.governing
    if isinstance(found, Quantity) and isinstance(governing, Quantity):
        return max(found, governing, key=lambda item: item.value)
    return found


def _switches(graph: Graph, fixed: Pairs, poles: Mapping[str, Pairs]) -> Iterable[OpenSwitch]:
    project = graph.project
    legs = {f"leg {wire.circuit}{wire.leg}": wire for wire in graph.conductors if wire.leg}
    owners = {key: str(project.circuits[wire.circuit].string) for key, wire in legs.items()}
    leads = {
        f"{unit}/{letter}{sign}"
        for kind in project.inverters.values()
        for unit in kind.units
        for letter in kind.inputs
        for sign in ("+", "-")
    }
    whole = connected_sets([*fixed, *(pair for pairs in poles.values() for pair in pairs)])
    home = {node: number for number, nodes in enumerate(whole) for node in nodes}
    by_home: dict[int, Pairs] = defaultdict(list)
    for pair in fixed:
        by_home[home[pair[0]]].append(pair)
    poles_at: dict[int, list[tuple[str, tuple[str, str]]]] = defaultdict(list)
    for unit, pairs in poles.items():
        for pair in pairs:
            poles_at[home[pair[0]]].append((unit, pair))
    behind = _reached(connected_sets(fixed))
    for unit in dict.fromkeys([*map(str, project.landing), *graph.passing.by_switch]):
        found = project.switch_of(unit)
        if found is None:
            continue
        names = [*map(str, found[1].line), *map(str, found[1].load)]
        # Only what hangs together with this switch can make it live, so the rest need not be followed again.
        near = {home[node] for name in names if (node := f"{unit}/{name}") in home}
        alone = _reached(
            connected_sets(
                [
                    *(pair for key in near for pair in by_home[key]),
                    *(pair for key in near for other, pair in poles_at[key] if other != unit),
                ]
            )
        )
        landing = graph.landed(unit)
        terminals = []
        for name in names:
            node = f"{unit}/{name}"
            reach = alone.get(node, frozenset())
            terminals.append(
                OpenTerminal(
                    name,
                    landing.get(name, ""),
                    _legs(reach, legs),
                    _legs(behind.get(node, frozenset()), legs),
                    tuple(sorted(reach & leads)),
                )
            )
        ids = dict.fromkeys(owners[f"leg {leg}"] for item in terminals for leg in item.legs)
        yield OpenSwitch(unit, tuple(terminals), tuple(ids), graph.passing.wires_through(unit))


def _legs(reach: frozenset[str], legs: Mapping[str, object]) -> tuple[str, ...]:
    return tuple(sorted(node.removeprefix("leg ") for node in reach if node in legs))


def _reached(sets: Iterable[frozenset[str]]) -> dict[str, frozenset[str]]:
    return {node: nodes for nodes in sets for node in nodes}


def _pairs(graph: Graph) -> tuple[Pairs, dict[str, Pairs]]:
    """What is joined for good, and the poles of each switch; a string's two legs are never joined."""
    project = graph.project
    fixed = [(f"leg {wire.circuit}{wire.leg}", wire.id) for wire in graph.conductors if wire.leg]
    # Legs of one string are one node, also where two circuits bring it.
    fixed += [
        (f"leg {wire.circuit}{wire.leg}", f"string {project.circuits[wire.circuit].string}{wire.leg}")
        for wire in graph.conductors
        if wire.leg
    ]
    poles: dict[str, Pairs] = {}
    for unit, wires in project.landing.items():
        name = str(unit)
        fixed += [(f"{name}/{terminal}", str(end)) for terminal, end in wires.items()]
        switch = project.switch_of(name)
        if switch is not None:
            poles[name] = [(f"{name}/{one}", f"{name}/{other}") for one, other in graph.poles(name)]
        if switch is not None or project.box_of(name) is not None:
            fixed += [(f"{name}/{one}", f"{name}/{other}") for one, other in graph.links(name)]
    return fixed, poles
