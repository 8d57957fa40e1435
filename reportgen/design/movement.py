"""Thermal movement of rigid plastic raceways: straight runs between fixed points, and the fittings that take it up.

A straight ends where a bend, a box, the ground or another kind of pipe begins. Stretches that follow one another
without such an end are one straight, however the folder divides them; a stretch whose bends have no stated place
counts with its whole length, which can only be too long.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from reportgen.design.graph import Graph, SegmentId
from reportgen.design.missing import Known, Missing, derive, highest, known
from reportgen.design.surroundings import standing_segments, stated_in
from reportgen.engineering import expansion as physics
from reportgen.project.layout import RacewaySegment
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Assumed, Quantity, quantity, work

#: Pipe temperatures for which the setting of a fitting is told [°C].
SETTINGS = (-10, 0, 10, 20, 30, 40)


@dataclass(frozen=True, slots=True)
class MovementDesign:
    """One straight of a raceway that moves with temperature.

    Attributes
    ----------
    sure : bool
        Its length is known and not only its greatest possible length.
    free : bool
        The folder says of every part that it is not fixed at both ends.
    length : Quantity
        Between the points that hold it. [ft]
    swing, change : Quantity or Missing
        Of the pipe's temperature, and of the length. [°F difference, in]
    trigger : Quantity
        Change from which a fitting is needed. [in]
    longest : Quantity or Missing
        Length at which a straight comes to need a fitting. [ft]
    travel : Quantity or None
        Of the fittings in it; None where nothing is stated. [in]
    settings : tuple of (int, Quantity)
        Opening of the fitting at temperatures of the pipe while it is put in. [°C, in]
    """

    raceway: str
    segments: tuple[SegmentId, ...]
    part: str
    sure: bool
    free: bool
    length: Quantity
    swing: Known
    change: Known
    trigger: Quantity
    longest: Known
    travel: Quantity | None
    settings: tuple[tuple[int, Quantity], ...]


@dataclass
class _Straight:
    segments: list[SegmentId] = field(default_factory=list)
    pieces: list[Quantity] = field(default_factory=list)
    sure: bool = True

    @property
    def length(self) -> float:
        return sum(piece.value for piece in self.pieces)


def design_movement(graph: Graph, rulebook: Rulebook) -> tuple[MovementDesign, ...]:
    """Every straight above ground whose kind the edition's table of movement covers, in the order of the folder."""
    straights = [straight for chain in _chains(graph, rulebook) for straight in _straights(graph, chain)]
    holder: dict[SegmentId, _Straight] = {}
    for straight in straights:
        for key in straight.segments:
            # Where a stretch is divided by bends, its fitting is taken to stand in the longest piece.
            if key not in holder or straight.length > holder[key].length:
                holder[key] = straight
    counts: dict[str, int] = {}
    made = []
    for straight in straights:
        name = straight.segments[0].raceway
        counts[name] = counts.get(name, 0) + 1
        made.append(_movement(graph, rulebook, straight, holder, counts[name]))
    return tuple(made)


def _chains(graph: Graph, rulebook: Rulebook) -> Iterator[list[SegmentId]]:
    chain: list[SegmentId] = []
    for key, segment in standing_segments(graph):
        moves = segment.place != "underground" and rulebook.raceway_use(str(segment.kind)).expansion_table
        if chain and (not moves or chain[-1].raceway != key.raceway):
            yield chain
            chain = []
        if moves:
            chain.append(key)
            if segment.ends_at is not None:
                yield chain
                chain = []
    if chain:
        yield chain


def _straights(graph: Graph, chain: list[SegmentId]) -> list[_Straight]:
    now = _Straight()
    found = [now]
    for key in chain:
        segment = graph.segments[key][1]
        places = [bend.at for bend in segment.bends]
        if any(place is None for place in places):
            now.segments.append(key)
            now.pieces.append(stated_in(segment.length, "ft", f"length of {key}"))
            now.sure = False
            continue
        ends = sorted((place for place in places if place is not None), key=lambda place: place.value)
        for start, end in zip([None, *ends], [*ends, segment.length], strict=True):
            if start is not None:
                now = _Straight()
                found.append(now)
            piece = end if start is None else work("piece between bends", "m", "b - a", b=end, a=start)
            now.segments.append(key)
            now.pieces.append(stated_in(piece, "ft", f"piece of {key}"))
    return [straight for straight in found if straight.length > 0]


def _movement(
    graph: Graph, rulebook: Rulebook, straight: _Straight, holder: dict[SegmentId, _Straight], number: int
) -> MovementDesign:
    parts = [graph.segments[key][1] for key in straight.segments]
    terms = {f"L_{i}": piece for i, piece in enumerate(straight.pieces, start=1)}
    length = work("length between fixed points", "ft", " + ".join(terms), **terms)
    swing = highest([_swing(graph, rulebook, key) for key in straight.segments])
    trigger = quantity_of(rulebook.number("expansion-trigger"), "change that needs a fitting")
    per_hundred = _per_hundred(rulebook, swing, parts[0])
    change = derive(lambda e: physics.length_change_by_table(length, e), per_hundred)
    stated = [graph.segments[key][1].expansion_travel for key in straight.segments if holder[key] is straight]
    travels = [stated_in(item, "in", "travel") for item in stated if item is not None]
    travel = None
    if travels:
        names = {f"s_{i}": item for i, item in enumerate(travels, start=1)}
        travel = work("travel of the fittings", "in", " + ".join(names), **names)
    names_of = list(dict.fromkeys(key.segment for key in straight.segments))
    return MovementDesign(
        straight.segments[0].raceway,
        tuple(straight.segments),
        f"straight {number}, {' to '.join(dict.fromkeys((names_of[0], names_of[-1])))}",
        straight.sure,
        all(part.fixed_ends is False for part in parts),
        length,
        swing,
        change,
        trigger,
        derive(lambda e: _longest(trigger, e), per_hundred),
        travel,
        tuple(_settings(graph, rulebook, straight, swing, travel)),
    )


def _longest(trigger: Quantity, per_hundred: Quantity) -> Quantity:
    return work("length that comes to need a fitting", "ft", "100 * ΔL / e", ΔL=trigger, e=per_hundred)


def _per_hundred(rulebook: Rulebook, swing: Known, part: RacewaySegment) -> Known:
    """Row of the edition's table for a swing, the next larger one between rows [in/100 ft]."""
    if isinstance(swing, Missing):
        return swing
    try:
        cell = rulebook.pvc_expansion(swing.to("delta_degF").value)
    except OutsideTable as outside:
        return Missing(f"a table value: {outside}", part.span)
    return quantity_of(cell, f"change of 100 ft for {swing.to('delta_degF').show(1)}")


def _hottest(graph: Graph, key: SegmentId) -> Known:
    segment = graph.segments[key][1]
    hot = segment.ambient or graph.project.site.design_high
    return known(hot, "site design_high, or ambient of the segment", segment.span)


def _sun_rise(graph: Graph, rulebook: Rulebook, key: SegmentId) -> Quantity:
    """By how much the sun heats a pipe above the air: assumed where nothing says that it lies in the shade."""
    segment = graph.segments[key][1]
    if segment.sun is False or (segment.sun is None and segment.place == "indoors"):
        return quantity(0, "delta_degF")
    cell = rulebook.number("pvc-sun-rise")
    if segment.sun:
        return quantity_of(cell, "rise in the sun")
    reason = "plastic pipe outdoors whose place in the sun or shade is not stated is taken to lie in the sun"
    return Quantity(
        cell.number, cell.unit, Assumed("sun on plastic raceways", reason, cell.source), "rise in the sun"
    )


def _swing(graph: Graph, rulebook: Rulebook, key: SegmentId) -> Known:
    segment = graph.segments[key][1]
    if segment.temperature_swing is not None:
        stated = segment.temperature_swing
        air = _air_swing(graph, segment)
        if air is not None and stated.value < air.value:
            what = f"temperature_swing of {key} of at least the {air.show(0)} from the record low to the design high"
            return Missing(what, segment.where("temperature_swing"))
        return Quantity(stated.value, "K", stated.origin, "swing as stated").to("delta_degF")
    low = known(graph.project.site.record_low, "site record_low", graph.project.site.span)
    rise = _sun_rise(graph, rulebook, key)
    hot = _hottest(graph, key)
    if isinstance(low, Quantity) and isinstance(hot, Quantity) and hot.value < low.value:
        return Missing(f"temperatures of {key} whose hottest is above the coldest", segment.span)
    return derive(lambda a, b: physics.temperature_swing(a.to("degF"), b.to("degF"), rise), low, hot)


def _air_swing(graph: Graph, segment: RacewaySegment) -> Quantity | None:
    """Swing of the air from the record low to the design high, which no pipe outdoors undercuts; None indoors or unknown."""
    low, high = graph.project.site.record_low, graph.project.site.design_high
    if segment.place == "indoors" or low is None or high is None:
        return None
    return Quantity(high.value - low.value, "K", None, "swing of the air")


def _settings(
    graph: Graph, rulebook: Rulebook, straight: _Straight, swing: Known, travel: Quantity | None
) -> Iterator[tuple[int, Quantity]]:
    """Opening of the fitting by temperature, inside the swing alone."""
    if travel is None or travel.value <= 0 or isinstance(swing, Missing) or swing.value <= 0:
        return
    hots = [_hottest_pipe(graph, rulebook, key) for key in straight.segments]
    hottest = highest(hots)
    if isinstance(hottest, Missing):
        return
    for celsius in SETTINGS:
        try:
            now = Quantity(float(celsius), "degC", None, "pipe while it is put in").to("degF")
            opening = physics.opening(travel, hottest, swing, now)
        except ValueError:
            continue
        yield celsius, opening


def _hottest_pipe(graph: Graph, rulebook: Rulebook, key: SegmentId) -> Known:
    rise = _sun_rise(graph, rulebook, key)
    return derive(
        lambda air: work("hottest pipe", "degF", "T + ΔT", T=air.to("degF"), ΔT=rise), _hottest(graph, key)
    )
