"""What surrounds a stretch of raceway: earth above it, supports under it, the radius of its bends.

Where the folder leaves something open, every case that it leaves open is worked out; a check gives a verdict only
where all of them agree.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from reportgen.design.graph import Graph, SegmentId
from reportgen.design.missing import Known, Missing, derive, highest
from reportgen.design.results import StringDesign
from reportgen.engineering import cover as physics
from reportgen.project.layout import Raceway, RacewaySegment
from reportgen.rulebook.book import settled
from reportgen.rulebook.raceways import RacewayUse
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Quantity, work

#: Rules that each kind of raceway has of its own.
DAMAGE_RULE, USES_RULE, PLACE_RULE = "physical-damage", "raceway-uses", "raceway-place"
#: Row of the cover table for each word of the key `surface`.
_ROW_OF_SURFACE = {
    "open ground": "other",
    "concrete": "under-2in-concrete",
    "slab": "under-4in-slab",
    "building": "under-building",
    "road or parking": "roads-and-parking",
    "dwelling driveway": "dwelling-driveway",
    "airport": "airport-runway",
    "rock": "solid-rock",
}
#: Rows that traffic alone leaves open: nothing drives there, or nobody said whose driveway it is.
_DRIVEN_ON = ("roads-and-parking", "dwelling-driveway", "airport-runway")


@dataclass(frozen=True, slots=True)
class CoverDesign:
    """Earth above a buried stretch.

    Attributes
    ----------
    actual : Quantity or Missing
        Cover as stated, or from the trench; the lesser where both are known. [in]
    places : tuple of (str, Quantity)
        Least cover in every place that the folder leaves open. [in]
    use : RacewayUse
        Whether the kind may lie in earth.
    voltage : Quantity or Missing or None
        Highest voltage in the stretch; None where it holds no live conductor. [V]
    voltage_limit : Quantity
        Voltage up to which the table of cover holds. [V]
    trench : Quantity or Missing
        Least depth of the trench, by the place that asks for most. [in]
    """

    id: SegmentId
    segment: RacewaySegment
    actual: Known
    places: tuple[tuple[str, Quantity], ...]
    use: RacewayUse
    voltage: Known | None
    voltage_limit: Quantity
    trench: Known

    @property
    def most(self) -> Quantity:
        """Least cover where the place asks for most [in]."""
        return max((limit for _, limit in self.places), key=lambda limit: limit.value)

    @property
    def most_place(self) -> str:
        """Place that asks for most, in words."""
        return place_words(max(self.places, key=lambda place: place[1].value)[0])


@dataclass(frozen=True, slots=True)
class SupportDesign:
    """Supports of a stretch above ground: greatest spacing and distance of the first one [ft].

    Attributes
    ----------
    straight : Quantity or None
        Greatest spacing on straight runs with threaded couplings, where the edition has one. [ft]
    """

    id: SegmentId
    segment: RacewaySegment
    spacing: Known
    first: Known
    straight: Quantity | None


@dataclass(frozen=True, slots=True)
class RadiusDesign:
    """Radius of one bend.

    Attributes
    ----------
    radius : Quantity or Missing
        To the centre line. [in]
    one_shot, other : Quantity or Missing
        Least radius of a field bend, by the two ways of making it. [in]
    inside : Quantity or Missing
        To the inner wall. [in]
    wire : str
        Make and size of the conductor whose maker asks for most; empty where no maker states a radius.
    wire_limit : Quantity or None
        What that maker asks for. [in]
    """

    id: SegmentId
    segment: RacewaySegment
    number: int
    radius: Known
    one_shot: Known
    other: Known
    inside: Known
    wire: str
    wire_limit: Quantity | None


@dataclass(frozen=True, slots=True)
class Riser:
    """Stretch that leaves the ground, or stands near it where it may be knocked.

    Attributes
    ----------
    rises : bool
        It leaves the ground: it goes on from a buried stretch, or is itself the buried one that comes up into ``at``.
    at : str
        Array, box or device that a buried stretch comes up into; empty for stretches above ground.
    """

    id: SegmentId
    segment: RacewaySegment
    use: RacewayUse
    rises: bool
    at: str = ""

    @property
    def name(self) -> str:
        """What it is called: a riser, the end of a buried stretch, or the stretch alone."""
        if self.at:
            return f"{self.id} where it comes up to {self.at}"
        return f"riser {self.id}" if self.rises else str(self.id)


@dataclass(frozen=True, slots=True)
class Surroundings:
    """Cover, supports, bends and risers of every raceway that stands or will stand."""

    covers: tuple[CoverDesign, ...]
    supports: tuple[SupportDesign, ...]
    radii: tuple[RadiusDesign, ...]
    risers: tuple[Riser, ...]


def place_words(row: str) -> str:
    """Row of the cover table in words."""
    return "open ground" if row == "other" else row.replace("-", " ")


def stated_in(value: Quantity, unit: str, name: str) -> Quantity:
    """Length of the folder in the unit of a table, without the noise of the conversion: 18 in stays 18 in."""
    there = value.to(unit)
    return replace(there, value=settled(there.value), name=name)


def standing_segments(graph: Graph) -> list[tuple[SegmentId, RacewaySegment]]:
    """Stretches that are new or stay; removed ones left out."""
    return [
        (key, segment)
        for key, (raceway, segment) in graph.segments.items()
        if raceway.status_of(segment) != "removed"
    ]


def design_surroundings(
    graph: Graph, rulebook: Rulebook, strings: Mapping[str, StringDesign]
) -> Surroundings:
    """Surroundings of every stretch, in the order of the folder."""
    segments = standing_segments(graph)
    buried = {key for key, segment in segments if segment.place == "underground"}
    return Surroundings(
        tuple(_cover(graph, rulebook, key, segment, strings) for key, segment in segments if key in buried),
        tuple(_support(rulebook, key, segment) for key, segment in segments if key not in buried),
        tuple(
            _radius(graph, rulebook, key, segment, number)
            for key, segment in segments
            for number in range(1, len(segment.bends) + 1)
        ),
        tuple(riser for key, segment in segments for riser in _risers(graph, rulebook, key, segment, buried)),
    )


def _risers(
    graph: Graph, rulebook: Rulebook, key: SegmentId, segment: RacewaySegment, buried: set[SegmentId]
) -> Iterator[Riser]:
    """A stretch above ground as a riser or near the ground; a buried one once for each end where it comes up by itself."""
    use = rulebook.raceway_use(str(segment.kind))
    sides = _sides(graph, key)
    if key not in buried:
        joined = any(other in buried and not between for between, other in sides)
        near = any(other in buried for _, other in sides)
        if near or graph.project.raceways[key.raceway].physical_damage:
            yield Riser(key, segment, use, joined)
        return
    for between, other in sides:
        # Between two buried stretches a box may stand in the ground as well as above it.
        if between and other not in buried:
            yield Riser(key, segment, use, True, between)


def _sides(graph: Graph, key: SegmentId) -> tuple[tuple[str, SegmentId | None], tuple[str, SegmentId | None]]:
    """At both ends of a stretch what stands there, and the stretch of its raceway beyond; None at an end of the raceway."""
    names = list(graph.places[key.raceway])
    place = graph.places[key.raceway][key.segment]
    before = SegmentId(key.raceway, names[place - 1]) if place else None
    after = SegmentId(key.raceway, names[place + 1]) if place + 1 < len(names) else None
    return (graph.enclosure_before(key), before), (graph.enclosure_after(key), after)


def _rows(graph: Graph, rulebook: Rulebook, key: SegmentId) -> tuple[str, ...]:
    """Rows of the cover table that the folder leaves open for a stretch."""
    raceway, segment = graph.segments[key]
    driven = _driven_rows(graph, raceway)
    if segment.surface is not None:
        own = _ROW_OF_SURFACE[str(segment.surface)]
        # Traffic that no stretch of the raceway lies under may well drive over this one.
        told = {_ROW_OF_SURFACE.get(str(one.surface)) for one in raceway.segments.values()} & {*_DRIVEN_ON}
        return tuple(dict.fromkeys((own, *(() if told else driven))))
    if driven:
        return driven
    if raceway.traffic == "none":
        return tuple(row for row in rulebook.locations() if row not in _DRIVEN_ON)
    return rulebook.locations()


def _driven_rows(graph: Graph, raceway: Raceway) -> tuple[str, ...]:
    """Rows of the cover table for what is said to drive over a raceway; none where nothing does or nobody says."""
    if raceway.traffic == "driveway":
        dwelling = graph.project.project.building == "dwelling"
        return ("dwelling-driveway", "roads-and-parking") if dwelling else ("roads-and-parking",)
    return ("roads-and-parking",) if raceway.traffic == "road" else ()


def _cover(
    graph: Graph,
    rulebook: Rulebook,
    key: SegmentId,
    segment: RacewaySegment,
    strings: Mapping[str, StringDesign],
) -> CoverDesign:
    use = rulebook.raceway_use(str(segment.kind))
    places = tuple(
        (row, quantity_of(rulebook.cover(row, use.cover), "least cover"))
        for row in _rows(graph, rulebook, key)
    )
    by_trench = _from_trench(segment)
    stated = stated_in(segment.cover, "in", "cover as stated") if segment.cover is not None else None
    actual: Known = stated if stated is not None else by_trench
    if stated is not None and isinstance(by_trench, Quantity) and by_trench.value < stated.value:
        actual = by_trench
    most = max((limit for _, limit in places), key=lambda limit: limit.value)
    diameter = _stated(segment.outside_diameter, f"outside_diameter of {key}", segment)
    bedding = _stated(segment.bedding, f"bedding of {key}", segment)
    trench = derive(lambda d, b: physics.least_trench(most, d, b), diameter, bedding)
    if isinstance(actual, Missing):
        actual = Missing(f"cover of {key}", segment.span)
    voltage = _voltage(graph, key, strings)
    limit = quantity_of(rulebook.number("cover-voltage"), "voltage up to which the table holds")
    return CoverDesign(key, segment, actual, places, use, voltage, limit, trench)


def _stated(value: Quantity | None, what: str, segment: RacewaySegment) -> Known:
    return Missing(what, segment.span) if value is None else stated_in(value, "in", what)


def _from_trench(segment: RacewaySegment) -> Known:
    parts = [
        _stated(getattr(segment, name), name, segment)
        for name in ("trench_depth", "outside_diameter", "bedding")
    ]
    return derive(physics.cover, *parts)


def _voltage(graph: Graph, key: SegmentId, strings: Mapping[str, StringDesign]) -> Known | None:
    """Highest voltage in a stretch; the first that is not known where one is missing."""
    found: list[Known] = []
    for name in dict.fromkeys(wire.circuit for wire in graph.in_segment[key]):
        circuit = graph.project.circuits[name]
        if circuit.kind == "string":
            string = strings.get(str(circuit.string))
            found.append(string.governing if string else Missing(f"string of circuit {name}", circuit.span))
        elif circuit.kind == "output":
            found.append(circuit.voltage or Missing(f"voltage of circuit {name}", circuit.span))
    return highest(found) if found else None


def _support(rulebook: Rulebook, key: SegmentId, segment: RacewaySegment) -> SupportDesign:
    kind, size = str(segment.kind), str(segment.size)
    try:
        general = rulebook.support(kind, size)
    except OutsideTable as outside:
        missing = Missing(f"a table value: {outside}", segment.where("kind"))
        return SupportDesign(key, segment, missing, missing, None)
    try:
        straight = quantity_of(
            rulebook.support(kind, size, straight=True).spacing, "greatest spacing, straight run"
        )
    except OutsideTable:
        straight = None
    spacing = quantity_of(general.spacing, "greatest spacing of supports")
    return SupportDesign(key, segment, spacing, quantity_of(general.first, "first support"), straight)


def _radius(
    graph: Graph, rulebook: Rulebook, key: SegmentId, segment: RacewaySegment, number: int
) -> RadiusDesign:
    own = segment.bends[number - 1].radius or segment.bend_radius
    radius: Known = (
        Missing(f"bend_radius of {key}", segment.span)
        if own is None
        else stated_in(own, "in", f"radius of bend {number} in {key}")
    )
    one_shot = _least_radius(rulebook, segment, one_shot=True)
    other = _least_radius(rulebook, segment, one_shot=False)
    wire, wire_limit = _wire_radius(graph, key)
    inside = derive(_inside, radius, _bore(rulebook, segment))
    return RadiusDesign(key, segment, number, radius, one_shot, other, inside, wire, wire_limit)


def _bore(rulebook: Rulebook, segment: RacewaySegment) -> Known:
    try:
        return quantity_of(rulebook.bore(str(segment.kind), str(segment.size)).id_in, "inside diameter")
    except OutsideTable as outside:
        return Missing(f"a table value: {outside}", segment.where("size"))


def _inside(radius: Quantity, bore: Quantity) -> Quantity:
    return work("radius at the inner wall", "in", "r - D / 2", r=radius, D=bore)


def _least_radius(rulebook: Rulebook, segment: RacewaySegment, *, one_shot: bool) -> Known:
    if not rulebook.raceway_use(str(segment.kind)).bend_table:
        return Missing(f"least bend radius of {segment.kind}, from its maker", segment.where("kind"))
    try:
        cell = rulebook.bend_radius(str(segment.size), one_shot=one_shot)
    except OutsideTable as outside:
        return Missing(f"a table value: {outside}", segment.where("size"))
    return quantity_of(cell, "least radius of a field bend")


def _wire_radius(graph: Graph, key: SegmentId) -> tuple[str, Quantity | None]:
    """Conductor of a stretch whose maker asks for the widest bend, and what it asks for [in]."""
    most: tuple[str, Quantity | None] = ("", None)
    for cable, size in dict.fromkeys((wire.cable, wire.size) for wire in graph.in_segment[key]):
        row = graph.project.cables[cable].of_size(size)
        if row is not None and row.bend_radius is not None:
            limit = stated_in(row.bend_radius, "in", f"least bend of {cable} {size}")
            if most[1] is None or limit.value > most[1].value:
                most = (f"{cable} {size}", limit)
    return most
