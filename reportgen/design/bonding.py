"""Results of bonding: frames of each array, its electrode, and legs that touch ground where they must not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from reportgen.design.graph import Conductor, Graph
from reportgen.design.ground_ways import GroundEnd, ground_ends
from reportgen.design.joined import joined_wires
from reportgen.project.layout import Array
from reportgen.rulebook.book import Ruling
from reportgen.rulebook.rulebook import Rulebook


@dataclass(frozen=True, slots=True)
class ArrayBond:
    """Bonding of one array.

    Attributes
    ----------
    ground : str
        Ground circuit that its frames are tied to; empty where none is stated.
    apart : tuple of str
        String circuits of the array whose first stretch does not hold that ground.
    pathless : tuple of str
        String circuits of the array without a path, of which nothing can be said.
    present : tuple of str
        Grounds that run in the first stretch of its circuits.
    begins : bool
        The ground that its frames are tied to begins at this array, or passes it.
    """

    id: str
    array: Array
    ground: str
    apart: tuple[str, ...]
    pathless: tuple[str, ...]
    present: tuple[str, ...]
    begins: bool = False


@dataclass(frozen=True, slots=True)
class BondedLeg:
    """A leg of a string, or a lead of an input, that is one with a ground in some device.

    Attributes
    ----------
    sign : str
        ``+`` or ``-``.
    string : str
        String of the leg; empty for a lead of an input.
    """

    name: str
    sign: str
    string: str
    unit: str
    ground: str
    inverter: str


@dataclass(frozen=True, slots=True)
class BondingDesign:
    """Frames, electrodes and legs.

    Attributes
    ----------
    landed : tuple of str
        Strings whose legs are both landed somewhere, so that a bond would be seen.
    electrode_rule, conductor_rule, upsizing_rule : Ruling
        What the edition says of an electrode at the array, of a conductor to it on the dc side, and of grounds beside
        conductors that are chosen larger for their voltage drop.
    ends : mapping of str to GroundEnd
        Where each ground in use goes.
    """

    arrays: tuple[ArrayBond, ...]
    legs: tuple[BondedLeg, ...]
    landed: tuple[str, ...]
    electrode_rule: Ruling
    conductor_rule: Ruling
    upsizing_rule: Ruling
    ends: Mapping[str, GroundEnd]

    @property
    def upsizing_waived(self) -> bool:
        """Whether grounds of PV circuits stay as they are where conductors grow for their voltage drop."""
        return self.upsizing_rule.answer == "waived"

    @property
    def no_conductor(self) -> bool:
        """Whether the edition asks for no conductor to an electrode on the dc side of floating poles."""
        return self.conductor_rule.answer == "not-required"


def design_bonding(graph: Graph, rulebook: Rulebook) -> BondingDesign:
    """Bonding of a project."""
    wires: dict[str, list[Conductor]] = defaultdict(list)
    for wire in graph.conductors:
        wires[wire.circuit].append(wire)
    landed = {str(wire) for places in graph.project.landing.values() for wire in places.values()}
    strings = {
        str(circuit.string)
        for key, circuit in graph.project.circuits.items()
        if circuit.kind == "string" and wires[key] and all(wire.id in landed for wire in wires[key])
    }
    return BondingDesign(
        _arrays(graph, wires),
        _legs(graph),
        tuple(key for key in graph.project.strings if key in strings),
        rulebook.ruling("array-electrode"),
        rulebook.ruling("gec-functionally-grounded"),
        rulebook.ruling("egc-voltage-drop-upsizing"),
        ground_ends(graph),
    )


def _arrays(graph: Graph, wires: Mapping[str, list[Conductor]]) -> tuple[ArrayBond, ...]:
    project = graph.project
    of_array: dict[str, list[str]] = defaultdict(list)
    for key, circuit in project.circuits.items():
        string = project.strings.get(str(circuit.string)) if circuit.string else None
        if circuit.kind != "string" or string is None or not wires[key]:
            continue
        for part in dict.fromkeys(str(part.array) for part in project.parts_of(string)):
            of_array[part].append(key)
    found = []
    for key, array in project.arrays.items():
        if array.status == "removed":
            continue
        ground = str(array.grounded_by or "")
        apart: list[str] = []
        pathless: list[str] = []
        present: list[str] = []
        for name in of_array[str(key)]:
            through = wires[name][0].through
            if not through:
                pathless.append(name)
                continue
            here = {wire.circuit for wire in graph.in_segment[through[0]] if wire.id in graph.ground_wires}
            present += sorted(here)
            if ground and ground not in here:
                apart.append(name)
        found.append(
            ArrayBond(
                str(key),
                array,
                ground,
                tuple(apart),
                tuple(pathless),
                tuple(dict.fromkeys(present)),
                any(str(key) in (wire.start, wire.end) for wire in wires[ground]),
            )
        )
    return tuple(found)


def _legs(graph: Graph) -> tuple[BondedLeg, ...]:
    project = graph.project
    string_of = {
        wire.id: (wire.leg, str(project.circuits[wire.circuit].string))
        for wire in graph.conductors
        if wire.leg and project.circuits[wire.circuit].string is not None
    }
    leads = {
        f"{unit}/{letter}{sign}": str(unit)
        for inverter in project.inverters.values()
        for unit in inverter.units
        for letter in inverter.inputs
        for sign in "+-"
    }
    found = []
    for unit, sets in joined_wires(graph).items():
        # On an inverter its own terminals are its leads, whether a wire is landed on them or not.
        own = {
            f"{letter}{sign}": f"{unit}/{letter}{sign}" for letter in _inputs(graph, unit) for sign in "+-"
        }
        for joined in sets:
            if not joined.grounds:
                continue
            names = [*joined.wires, *(own[name] for name in joined.terminals if name in own)]
            for name in names:
                if name in string_of:
                    sign, string = string_of[name]
                    inverter = str(project.strings[string].input or "").partition("/")[0]
                    found.append(BondedLeg(name, sign, string, unit, joined.grounds[0], inverter))
                elif name in leads:
                    found.append(BondedLeg(name, name[-1], "", unit, joined.grounds[0], leads[name]))
    return tuple(found)


def _inputs(graph: Graph, unit: str) -> tuple[str, ...]:
    found = graph.project.inverter_of(unit)
    return tuple(map(str, found[1].inputs)) if found else ()
