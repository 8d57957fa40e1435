"""Rapid shutdown by where the circuits of each inverter stand and end, and the guarding of wiring that people reach.

The edition answers for each place; the places are read from the folder. One place where it applies is enough, and a place
that nobody states leaves open whatever the others say less than that.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reportgen.design.graph import Graph
from reportgen.design.missing import Known, Missing, highest
from reportgen.design.results import StringDesign
from reportgen.project.equipment import Installed
from reportgen.project.layout import Array
from reportgen.rulebook.rulebook import Rulebook, Ruling, quantity_of
from reportgen.working.quantity import Quantity
from reportgen.working.unit_system import both

APPLIES, UNKNOWN, ASK = "applies", "unknown", "ask"
EXCEPTED, NOT_APPLICABLE = "excepted", "not-applicable"
#: What decides among several places, first one first.
_ORDER = (APPLIES, UNKNOWN, ASK, EXCEPTED, NOT_APPLICABLE)


@dataclass(frozen=True, slots=True)
class Place:
    """A place on the way of an inverter's circuits; ``says`` is what the edition answers for it, or what is missing."""

    told: str
    says: Ruling | Missing

    @property
    def answer(self) -> str:
        """Answer for this place, in one word."""
        return UNKNOWN if isinstance(self.says, Missing) else self.says.answer


@dataclass(frozen=True, slots=True)
class ShutdownDesign:
    """One inverter with strings.

    Attributes
    ----------
    places : tuple of Place
        All that its circuits stand on, pass and end at.
    decision : str
        applies, unknown, ask, excepted or not-applicable.
    """

    unit: str
    strings: tuple[str, ...]
    places: tuple[Place, ...]
    decision: str

    @property
    def deciding(self) -> tuple[Place, ...]:
        """Places that the decision rests on."""
        return tuple(place for place in self.places if place.answer == self.decision)


@dataclass(frozen=True, slots=True)
class GuardingDesign:
    """Wiring of one array that people may reach; the highest voltage of its strings [V]."""

    array: str
    strings: tuple[str, ...]
    highest: Known
    ruling: Ruling | Missing


def design_shutdown(
    graph: Graph, rulebook: Rulebook, strings: Sequence[StringDesign]
) -> tuple[ShutdownDesign, ...]:
    """Decision for every inverter that strings end at, in the order of the folder."""
    by_unit: dict[str, list[StringDesign]] = {}
    for string in strings:
        by_unit.setdefault(string.input.partition("/")[0], []).append(string)
    circuits: dict[str, list[str]] = {}
    for key, circuit in graph.project.circuits.items():
        if circuit.string is not None and circuit.status != "removed":
            circuits.setdefault(str(circuit.string), []).append(str(key))
    found = []
    for kind in graph.project.inverters.values():
        for unit, installed in kind.units.items():
            ending = by_unit.get(str(unit), [])
            if not ending or installed.status == "removed":
                continue
            wired = [circuit for string in ending for circuit in circuits.get(string.id, [])]
            places = tuple(dict.fromkeys(_places(graph, rulebook, str(unit), ending, wired)))
            answers = {place.answer for place in places}
            decision = next((word for word in _ORDER if word in answers), UNKNOWN)
            found.append(ShutdownDesign(str(unit), tuple(string.id for string in ending), places, decision))
    return tuple(found)


def _places(
    graph: Graph, rulebook: Rulebook, unit: str, strings: list[StringDesign], circuits: list[str]
) -> Iterator[Place]:
    info = graph.project.project
    if info.building == "no building":
        if graph.inside:
            what = f"building, under project: it says no building, but {graph.inside}"
            yield Place("no building", Missing(what, info.where("building")))
        else:
            yield Place("no building", rulebook.ruling("rapid-shutdown-off-buildings"))
            return
    for key in dict.fromkeys(key for string in strings for key in string.arrays):
        yield from _array(rulebook, key, graph.project.arrays[key])
    stretches = dict.fromkeys(hop for key in circuits for hop in graph.through(graph.project.circuits[key]))
    for hop in stretches:
        place = graph.segments[hop][1].place
        if place == "roof":
            yield Place(f"{hop} runs on a roof", rulebook.ruling("rapid-shutdown-on-building"))
        elif place == "indoors":
            yield Place(f"{hop} runs inside", _inside(graph, rulebook))
    passed = dict.fromkeys(device for key in circuits for device in graph.passing.enclosures[key])
    alike: dict[tuple[str, Ruling | Missing], list[str]] = {}
    for device in (*passed, unit):
        installed = _installed(graph, device)
        if installed is not None:
            verb = "end" if device == unit else "pass"
            where, says = _device(graph, rulebook, device, installed)
            alike.setdefault((f"circuits {verb} {where}", says), []).append(device)
    for (told, says), devices in alike.items():
        yield Place(f"{told} at {', '.join(devices)}", says)


def _array(rulebook: Rulebook, key: str, array: Array) -> Iterator[Place]:
    roof = str(array.mounting).startswith("roof")
    if array.on_building or (roof and array.on_building is None):
        yield Place(f"array {key} stands on a building", rulebook.ruling("rapid-shutdown-on-building"))
    elif array.on_building is None and "mounting" not in array.model_fields_set:
        missing = Missing(f"on_building of array {key}", array.span)
        yield Place(f"array {key} stands on a building or not", missing)


def _device(
    graph: Graph, rulebook: Rulebook, unit: str, installed: Installed
) -> tuple[str, Ruling | Missing]:
    """Where a device stands, and what that means."""
    if installed.inside:
        return "inside,", _inside(graph, rulebook)
    if installed.inside is None:
        return "inside or not,", Missing(f"inside of {unit}", installed.span)
    if installed.on_building:
        return "on the outside of a building,", rulebook.ruling("rapid-shutdown-exterior-termination")
    if installed.on_building is None:
        what = f"on_building of {unit}: on the outside of a building, or not"
        return "outside,", Missing(what, installed.span)
    return "off buildings,", rulebook.ruling("rapid-shutdown-off-buildings")


def _inside(graph: Graph, rulebook: Rulebook) -> Ruling | Missing:
    use = graph.project.project.building_use
    if use is None:
        return Missing("building_use, under project", graph.project.project.span)
    alone = use == "PV equipment only"
    return rulebook.ruling(f"rapid-shutdown-{'sole-purpose' if alone else 'inside'}-building")


def _installed(graph: Graph, unit: str) -> Installed | None:
    project = graph.project
    for found in (project.inverter_of(unit), project.switch_of(unit), project.box_of(unit)):
        if found is not None:
            return next(data for key, data in found[1].units.items() if key == unit)
    return None


def design_guarding(
    graph: Graph, rulebook: Rulebook, strings: Sequence[StringDesign]
) -> tuple[GuardingDesign, ...]:
    """Wiring of every array with strings, with what the edition says of its guarding."""
    found = []
    for key, array in graph.project.arrays.items():
        on_it = [string for string in strings if key in string.arrays]
        if not on_it or array.status == "removed":
            continue
        most = highest(string.governing for string in on_it)
        ruling: Ruling | Missing = Missing(f"guarding of array {key}", array.span)
        if array.guarding is not None:
            ruling = rulebook.ruling(f"guarding-{str(array.guarding).replace(' ', '-')}")
        found.append(GuardingDesign(str(key), tuple(string.id for string in on_it), most, ruling))
    return tuple(found)


def guarded_above(rulebook: Rulebook) -> Quantity:
    """Voltage above which wiring that people reach is guarded or in a raceway [V]."""
    return quantity_of(rulebook.number("guarding-voltage"), "voltage above which reachable wiring is guarded")


def asked_of_it(rulebook: Rulebook) -> str:
    """What the edition asks of rapid shutdown, in one sentence."""
    outside, inside, time = (
        quantity_of(rulebook.number(f"rapid-shutdown-{key}")).show(0)
        for key in ("outside-voltage", "inside-voltage", "time")
    )
    boundary = both(quantity_of(rulebook.number("rapid-shutdown-boundary")), 0)
    return f"The edition asks for at most {outside} outside and {inside} inside a boundary {boundary} from the array, within {time}."
