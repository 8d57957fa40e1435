"""Pipes and their fittings to be bought, counted stretch by stretch."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import replace

from reportgen.design.graph import Graph, SegmentId
from reportgen.design.material_lines import FITTINGS, RACEWAY, MaterialLine, count_of, pieces_of, total_of
from reportgen.design.missing import Missing
from reportgen.project.layout import RacewaySegment
from reportgen.working.quantity import Assumed, Quantity, work

#: Kinds that come in straight lengths; the others come in coils.
STICKS = frozenset({"EMT", "IMC", "RMC", "PVC-40", "PVC-80"})


def _feet(segment: RacewaySegment) -> Quantity:
    length = segment.length.to("ft")
    # A length of exactly so many sticks must not need one more for the last digit of a conversion.
    return replace(length, value=round(length.value, 9))


def raceway_lines(graph: Graph) -> Iterator[MaterialLine]:
    """Lines of pipe, sticks, couplings, elbows, ends and joints of every new stretch."""
    bought: dict[str, dict[SegmentId, RacewaySegment]] = defaultdict(dict)
    for key, (raceway, segment) in graph.segments.items():
        if raceway.status_of(segment) == "new":
            bought[f"{segment.kind} {segment.size}"][key] = segment
    for name, found in bought.items():
        yield pipe_length(graph, RACEWAY, name, found, "along the pipe, elbows included")
    if not bought:
        return
    stick = Quantity(
        10.0,
        "ft",
        Assumed(
            "materials.stick",
            "straight pipe is sold in lengths of 10 ft (3.05 m); pieces are counted stretch by stretch, with no cut-off used again",
            "common practice, no source",
        ),
        "length of a stick",
    )
    for name, found in bought.items():
        yield from _fittings(name, found, stick)
    yield from _joins(graph)


def pipe_length(
    graph: Graph, group: str, name: str, found: Mapping[SegmentId, RacewaySegment], remark: str
) -> MaterialLine:
    """Line of all stretches of one kind and size together, in the length printed."""
    unit = graph.units.length
    lengths = [segment.length.to(unit).named(str(key)) for key, segment in found.items()]
    total = total_of(f"length of {name}", unit, lengths)
    return MaterialLine(group, f"pipe {name}", total, tuple(map(str, found)), remark)


def _fittings(
    name: str, found: Mapping[SegmentId, RacewaySegment], stick: Quantity
) -> Iterator[MaterialLine]:
    elbows: dict[str, dict[str, float]] = defaultdict(dict)
    unsaid: list[SegmentId] = []
    for key, segment in found.items():
        if segment.bends and segment.bends_made is None:
            unsaid.append(key)
        if segment.bends_made != "factory elbows":
            continue
        for bend in segment.bends:
            each = elbows[bend.angle.to("deg").show(0)]
            each[str(key)] = each.get(str(key), 0.0) + 1.0
    straight = str(next(iter(found.values())).kind) in STICKS
    if straight:
        each_stretch = [
            work(f"sticks in {key}", "", "ceil(L / s)", L=_feet(segment).named(str(key)), s=stick)
            for key, segment in found.items()
        ]
        pieces = (
            each_stretch[0] if len(each_stretch) == 1 else total_of(f"sticks of {name}", "", each_stretch)
        )
        yield MaterialLine(FITTINGS, f"sticks of {name}", pieces, tuple(map(str, found)), "of 10 ft (3.05 m)")
        made = Quantity(sum(sum(each.values()) for each in elbows.values()), "", None, "factory elbows")
        stretches = Quantity(float(len(found)), "", None, "stretches")
        couplings = work(
            f"couplings {name}", "", "n_sticks + n_elbows - n", n_sticks=pieces, n_elbows=made, n=stretches
        )
        if couplings.value > 0:
            remark = "one a joint within a stretch; a stick with a bell brings its own"
            yield MaterialLine(FITTINGS, f"couplings {name}", couplings, tuple(map(str, found)), remark)
    for angle, counts in elbows.items():
        item = f"elbows {name} {angle}"
        yield MaterialLine(FITTINGS, item, pieces_of(item, counts), tuple(counts))
    if unsaid:
        keys = ", ".join(map(str, unsaid))
        span = found[unsaid[0]].span
        yield MaterialLine(
            FITTINGS,
            f"further elbows {name}",
            Missing(f"bends_made of {keys}", span),
            tuple(map(str, unsaid)),
        )
    travels = {
        str(key): segment.expansion_travel
        for key, segment in found.items()
        if segment.expansion_travel is not None and segment.expansion_travel.value > 0
    }
    for place, travel in travels.items():
        item = f"expansion fittings {name}, travel {travel.show()}"
        yield MaterialLine(
            FITTINGS, item, count_of(item, [place]), (place,), "one set, its travel all together"
        )


def _joins(graph: Graph) -> Iterator[MaterialLine]:
    """Fittings at enclosures and open ends, and where one new stretch goes over into the next."""
    ends: dict[str, dict[str, float]] = defaultdict(dict)
    joins: dict[str, list[str]] = defaultdict(list)
    for run in graph.runs:
        stretches = [graph.segments[key] for key in run]
        new = [raceway.status_of(segment) == "new" for raceway, segment in stretches]
        names = [f"{segment.kind} {segment.size}" for _, segment in stretches]
        for place, at in ((0, graph.enclosure_before(run[0])), (-1, graph.enclosure_after(run[-1]))):
            if new[place]:
                ends[names[place]][f"{run[place]} at {at or 'its open end'}"] = 1.0
        for i in range(1, len(run)):
            if new[i - 1] or new[i]:
                pair = names[i] if names[i] == names[i - 1] else f"{names[i - 1]} to {names[i]}"
                joins[pair].append(f"{run[i - 1]} to {run[i]}")
    for name, counts in ends.items():
        item = f"end fittings {name}"
        yield MaterialLine(FITTINGS, item, pieces_of(item, counts), tuple(counts), "connector or bushing")
    for name, ids in joins.items():
        item = f"joints {name}"
        yield MaterialLine(
            FITTINGS, item, count_of(item, ids), tuple(ids), "between stretches, by kind and size"
        )
