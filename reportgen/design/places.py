"""Places along the way of a circuit as its path states them, held against its array, enclosures, landing and input.

The path says at which boxes, devices and arrays the raceways begin and end; the list of enclosures, the landing and the
input of the string say the same of other ends. Where two of them cannot both be, that is a contradiction. Wire outside
raceways, the tails, may lead from the array to where the path begins, and from where it ends to what lies behind.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from reportgen.design.graph import Graph, SegmentId
from reportgen.design.landing import Arrival
from reportgen.design.missing import Missing
from reportgen.design.path_ends import passed_ends
from reportgen.project.layout import Circuit
from reportgen.working.unit_system import both


@dataclass(frozen=True, slots=True)
class PathPlaces:
    """Places of a path from the array on.

    Attributes
    ----------
    places : tuple of str
        Those stated, each once.
    start, end : str
        First and last one; empty where the raceway does not say it.
    first, last : SegmentId
        Stretches at the two ends.
    """

    places: tuple[str, ...]
    start: str
    end: str
    first: SegmentId
    last: SegmentId


@dataclass(slots=True)
class Compared:
    """What the comparison of one circuit came to.

    Attributes
    ----------
    against : list of (str, str, str)
        Contradictions: what is stated, what to change, and the key of the circuit that it is changed by.
    absent : list of Missing
        What has to be stated before places can be compared.
    tails : list of str
        What the tails are taken to bridge.
    asked : list of str
        Questions that a way raises, though nothing contradicts it.
    """

    way: tuple[str, ...] = ()
    against: list[tuple[str, str, str]] = field(default_factory=list)
    absent: list[Missing] = field(default_factory=list)
    tails: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)


def path_places(graph: Graph, circuit: Circuit, home: Sequence[str] = ()) -> PathPlaces | None:
    """Places of a circuit's path, from the array to the inverter; None where it has no path.

    Parameters
    ----------
    home : sequence of str
        Arrays of its string: a path that ends at one of them was written from the inverter, and is turned round.
    """
    hops = graph.through(circuit)
    if not hops:
        return None
    places = [place for ends in passed_ends(graph, hops) for place in ends]
    start, end = places[0], places[-1]
    first, last = hops[0], hops[-1]
    backwards = end in home and start not in home
    if backwards or (graph.project.inverter_of(start) and not graph.project.inverter_of(end)):
        places.reverse()
        start, end, first, last = end, start, last, first
    return PathPlaces(tuple(dict.fromkeys(filter(None, places))), start, end, first, last)


def compared(graph: Graph, key: str, arrivals: Mapping[str, tuple[Arrival, ...]]) -> Compared | None:
    """Comparison of a circuit that carries a string; None where it has no path or no string.

    Parameters
    ----------
    arrivals : mapping of str to tuple of Arrival
        By conductor, from :func:`reportgen.design.landing.by_conductor`.
    """
    circuit = graph.project.circuits[key]
    string = graph.project.strings.get(str(circuit.string)) if circuit.string else None
    home = [str(part.array) for part in graph.project.parts_of(string)] if string is not None else []
    path = path_places(graph, circuit, home)
    if path is None or string is None:
        return None
    found = Compared(path.places)
    inverter = str(string.input or "").partition("/")[0]
    landed = _landed(graph, key, arrivals)
    # An inverter is an end: what is landed on it directly is held against the input by the landing.
    devices = list(dict.fromkeys(unit for way in landed for unit in way if unit in graph.passing.units))
    _start(graph, key, circuit, path, home, found)
    _end(graph, key, circuit, path, str(string.input or ""), found)
    named = [str(unit) for unit in circuit.enclosures]
    _orders(key, path, named, landed, found)
    if named:
        for unit in devices:
            if unit not in named and unit not in path.places:
                told = f"{key} is landed on {unit}, which neither its path ({_row(path.places)}) nor its enclosures ({_row(named)}) pass"
                cure = f"land it on a device that it passes, or lead its path and enclosures to {unit}"
                found.against.append((told, cure, "enclosures"))
    _beyond(graph, key, circuit, path, [*dict.fromkeys([*named, *devices])], inverter, found)
    for unit in path.places[1:-1]:
        if graph.project.inverter_of(unit) is not None:
            found.asked.append(f"May conductors of {key} pass through the housing of {unit} by its maker?")
    return found


def _landed(graph: Graph, key: str, arrivals: Mapping[str, tuple[Arrival, ...]]) -> list[tuple[str, ...]]:
    """Devices that every way of each leg goes through, in order, for each device that it is landed on."""
    return [
        item.through or (item.switch,) for leg in graph.legs_of.get(key, ()) for item in arrivals.get(leg, ())
    ]


def _start(
    graph: Graph, key: str, circuit: Circuit, path: PathPlaces, home: Sequence[str], found: Compared
) -> None:
    first = path.first.raceway
    if not path.start:
        found.absent.append(_open_end(graph, key, path.first, "starts_at", "begins"))
    elif graph.project.inverter_of(path.start) is not None:
        told = f"path of {key} begins at {path.start}, an inverter: {first} leads from there"
        found.against.append((told, "let the path begin at the array, or at the box by it", "path"))
    elif path.start not in home:
        # From the modules to where the path begins there is wire outside raceways, whatever stands there.
        _bridge(graph, key, circuit, "start", " and ".join(dict.fromkeys(home)), path.start, found)


def _end(graph: Graph, key: str, circuit: Circuit, path: PathPlaces, address: str, found: Compared) -> None:
    string, last, inverter = str(circuit.string), path.last.raceway, address.partition("/")[0]
    if not path.end:
        found.absent.append(_open_end(graph, key, path.last, "ends_at", "ends"))
    elif not inverter:
        found.absent.append(Missing(f"input of string {string}", graph.project.where("strings", string)))
    elif path.end in graph.project.arrays:
        told = f"its path ends at array {path.end}, where {last} leads, and string {string} at {address}"
        found.against.append((told, f"lead the path on to {inverter}, or to a box by it", "path"))
    elif graph.project.inverter_of(path.end) is not None and path.end != inverter:
        told = f"its path ends at {path.end}, where {last} leads, and string {string} at {address}"
        cure = f"lead the path on to {inverter}, let {last} end at a box before both, or give {string} an input of {path.end}"
        found.against.append((told, cure, "path"))


def _open_end(graph: Graph, key: str, hop: SegmentId, end: str, verb: str) -> Missing:
    if gaps := graph.gaps.get(key):
        return gaps[0].missing
    return Missing(
        f"{end} of raceway {hop.raceway}: the place where the path {verb}", graph.segments[hop][0].span
    )


def _orders(
    key: str, path: PathPlaces, named: Sequence[str], landed: Sequence[Sequence[str]], found: Compared
) -> None:
    """Two lists that name the same two places the other way round cannot both be."""
    order = {unit: place for place, unit in enumerate(path.places)}
    lists = [(named, "enclosures name", "enclosures")]
    lists += [(way, "landing leads over", "enclosures") for way in dict.fromkeys(map(tuple, landed))]
    for row, words, field_ in lists:
        met = list(dict.fromkeys(unit for unit in row if unit in order))
        for one, two in pairwise(met):
            if order[one] > order[two]:
                told = f"{words} {one} before {two}, and the path of {key} passes {two} first"
                what = "the enclosures" if row is named else "the landing"
                found.against.append(
                    (told, f"write {what} in the order of the path, or correct the path", field_)
                )
                break
    listed = {unit: place for place, unit in enumerate(named)}
    for way in dict.fromkeys(map(tuple, landed)):
        met = [unit for unit in way if unit in listed]
        for one, two in pairwise(met):
            if listed[one] > listed[two]:
                told = f"landing leads over {one} before {two}, and the enclosures of {key} name {two} first"
                found.against.append((told, "write the enclosures in the order of the landing", "enclosures"))
                break


def _beyond(
    graph: Graph,
    key: str,
    circuit: Circuit,
    path: PathPlaces,
    units: Sequence[str],
    inverter: str,
    found: Compared,
) -> None:
    """Units at no end of a stretch: before the path, behind it, or not placed."""
    on_path = [place for place, unit in enumerate(units) if unit in path.places]
    after = []
    for place, unit in enumerate(units):
        if unit in path.places:
            continue
        if on_path and place < on_path[0]:
            _bridge(graph, key, circuit, "start", unit, path.start or path.first.raceway, found)
        elif on_path and place < on_path[-1]:
            what = f"ends_at: {unit} of the stretch that leads to it: no stretch of the path of {key} begins or ends there"
            found.absent.append(Missing(what, circuit.where("path")))
        else:
            after.append(unit)
    if not path.end or path.end in graph.project.arrays:
        return
    if graph.project.inverter_of(path.end) is not None:
        if path.end == inverter:
            for unit in after:
                what = f"where {key} meets {unit}: its path ends at {path.end}, the last raceway ends at {unit} or at a box before it"
                found.absent.append(Missing(what, graph.segments[path.last][0].where("ends_at")))
        return
    behind = [*after, *([inverter] if inverter else [])]
    if behind:
        _bridge(graph, key, circuit, "end", path.end, " and ".join(behind), found)


def _bridge(graph: Graph, key: str, circuit: Circuit, side: str, one: str, two: str, found: Compared) -> None:
    """The tail at one side is taken to lead from one place to another; without a length that is unknown."""
    tails = circuit.tails
    length = None if tails is None else tails.start if side == "start" else tails.end
    if length is None or length.value <= 0:
        what = f"tails of circuit {key}: the wire from {one} to {two} at its {side} lies in no raceway of its path"
        found.absent.append(Missing(what, circuit.span if tails is None else circuit.where("tails")))
        return
    found.tails.append(f"{both(length, 1)} from {one} to {two}")


def _row(units: Sequence[str]) -> str:
    return ", ".join(units) or "none"
