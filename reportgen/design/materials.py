"""Everything that has to be bought, and what stays: each line with the ids it is counted from.

Nothing is estimated by the square foot: a line is a sum over wires, stretches, terminals, labels or pulls, and says
which. What cannot be counted is missing and not zero, and no total is made over it.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from reportgen.design.cutting import CutGroup
from reportgen.design.graph import Graph, SegmentId
from reportgen.design.labels import LabelsDesign
from reportgen.design.missing import Known, Missing
from reportgen.design.pull_design import PullDesign
from reportgen.design.terminations import Termination
from reportgen.project.equipment import Box
from reportgen.project.layout import Raceway, RacewaySegment
from reportgen.working.quantity import Assumed, Quantity, work

#: Terms of one sum.
_TERMS = 40
#: Size of a wire within the name of its line.
_SIZE = re.compile(r"\b(?:\d+(?:/0)? AWG|\d+ kcmil)\b")
#: Kinds that come in straight lengths; the others come in coils.
STICKS = frozenset({"EMT", "IMC", "RMC", "PVC-40", "PVC-80"})
WIRE, RACEWAY, FITTINGS, DEVICES, TERMINALS, LABELS, PULL, KEPT = (
    "Wire",
    "Raceway",
    "Fittings",
    "Devices",
    "Ends of wires",
    "Labels",
    "Pull",
    "Kept, not bought",
)


@dataclass(frozen=True, slots=True)
class MaterialLine:
    """One line of the list.

    Attributes
    ----------
    group, item : str
        The item is also the name by which the folder gives its price.
    quantity : Quantity or Missing
        In the unit printed: m or ft, L or gal, or pieces.
    ids : tuple of str
        What it is counted from.
    price, cost : Quantity or None
        Of one unit, and of the line; None where the folder gives no price.
    """

    group: str
    item: str
    quantity: Known
    ids: tuple[str, ...]
    remark: str = ""
    price: Quantity | None = None
    cost: Known | None = None


@dataclass(frozen=True, slots=True)
class MaterialsDesign:
    """All lines; the total, or what it lacks.

    Attributes
    ----------
    total : Quantity or None
        Money for everything bought; None where no price is given or a line lacks its price or number.
    lacking : tuple of str
        Items without a price or a number, where any price is given.
    unused : tuple of str
        Items priced that no line has; not a wire that is on the list in another size, which what the next size buys is worked out from.
    """

    lines: tuple[MaterialLine, ...]
    total: Quantity | None
    lacking: tuple[str, ...]
    unused: tuple[str, ...]
    currency: str


def design_materials(
    graph: Graph,
    cuts: Sequence[CutGroup],
    pulls: Sequence[PullDesign],
    labels: LabelsDesign,
    terminations: Sequence[Termination],
) -> MaterialsDesign:
    """The list of a project, with prices where the folder gives them."""
    lines = [
        *_wire(cuts),
        *_raceways(graph),
        *_devices(graph),
        *_ends(graph, terminations),
        *_labels(labels),
        *_pull(graph, pulls),
        *_kept(graph),
    ]
    return _priced(graph, lines)


def _total(name: str, unit: str, values: Sequence[Quantity]) -> Quantity:
    """Sum of quantities, worked in steps where it is long: a formula of a thousand terms can be read by nobody."""
    if len(values) > _TERMS:
        parts = [
            _total(f"{name}, part {part}", unit, values[start : start + _TERMS])
            for part, start in enumerate(range(0, len(values), _TERMS), start=1)
        ]
        return _total(name, unit, parts)
    terms = {f"q_{i}": value for i, value in enumerate(values, start=1)}
    return work(name, unit, " + ".join(terms), **terms)


def _pieces(name: str, counts: Mapping[str, float]) -> Quantity:
    """Sum of whole numbers by id [pieces]."""
    return _total(name, "", [Quantity(count, "", None, id) for id, count in counts.items()])


def _count(name: str, ids: Sequence[str]) -> Quantity:
    """Number of ids [pieces]."""
    return Quantity(float(len(ids)), "", None, name)


def _wire(cuts: Sequence[CutGroup]) -> Iterator[MaterialLine]:
    for group in cuts:
        yield MaterialLine(
            WIRE,
            f"wire {group.name}",
            _cut(group),
            tuple(item.wire.id for item in group.wires),
            "cut lengths; the cut list says which spools",
        )


def _cut(group: CutGroup) -> Known:
    """All pieces of a group together; wires cut alike are counted and not listed."""
    if group.missing:
        return group.missing[0]
    alike: dict[float, list[Quantity]] = defaultdict(list)
    for item in group.wires:
        if isinstance(item.length, Quantity):
            alike[item.length.value].append(item.length)
    parts = [
        work(
            f"pieces of {lengths[0].show()}",
            lengths[0].unit,
            "n * L",
            n=Quantity(float(len(lengths)), "", None, "pieces"),
            L=lengths[0].named("length to cut"),
        )
        for lengths in alike.values()
    ]
    return parts[0] if len(parts) == 1 else _total(f"wire {group.name}", parts[0].unit, parts)


def _status(raceway: Raceway, segment: RacewaySegment) -> str:
    return str(segment.status or raceway.status)


def _feet(segment: RacewaySegment) -> Quantity:
    length = segment.length.to("ft")
    # A length of exactly so many sticks must not need one more for the last digit of a conversion.
    return replace(length, value=round(length.value, 9))


def _raceways(graph: Graph) -> Iterator[MaterialLine]:
    bought: dict[str, dict[SegmentId, RacewaySegment]] = defaultdict(dict)
    for key, (raceway, segment) in graph.segments.items():
        if _status(raceway, segment) == "new":
            bought[f"{segment.kind} {segment.size}"][key] = segment
    for name, found in bought.items():
        yield _length(graph, RACEWAY, name, found, "along the pipe, elbows included")
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


def _length(
    graph: Graph, group: str, name: str, found: Mapping[SegmentId, RacewaySegment], remark: str
) -> MaterialLine:
    unit = graph.units.length
    lengths = [segment.length.to(unit).named(str(key)) for key, segment in found.items()]
    total = _total(f"length of {name}", unit, lengths)
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
        pieces = each_stretch[0] if len(each_stretch) == 1 else _total(f"sticks of {name}", "", each_stretch)
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
        yield MaterialLine(FITTINGS, item, _pieces(item, counts), tuple(counts))
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
            FITTINGS, item, _count(item, [place]), (place,), "one set, its travel all together"
        )


def _joins(graph: Graph) -> Iterator[MaterialLine]:
    """Fittings at enclosures and open ends, and where one new stretch goes over into the next."""
    ends: dict[str, dict[str, float]] = defaultdict(dict)
    joins: dict[str, list[str]] = defaultdict(list)
    for run in graph.runs:
        new = [_status(*graph.segments[key]) == "new" for key in run]
        names = [f"{graph.segments[key][1].kind} {graph.segments[key][1].size}" for key in run]
        for place, at in ((0, graph.enclosure_before(run[0])), (-1, graph.enclosure_after(run[-1]))):
            if new[place]:
                ends[names[place]][f"{run[place]} at {at or 'its open end'}"] = 1.0
        for i in range(1, len(run)):
            if new[i - 1] or new[i]:
                pair = names[i] if names[i] == names[i - 1] else f"{names[i - 1]} to {names[i]}"
                joins[pair].append(f"{run[i - 1]} to {run[i]}")
    for name, counts in ends.items():
        item = f"end fittings {name}"
        yield MaterialLine(FITTINGS, item, _pieces(item, counts), tuple(counts), "connector or bushing")
    for name, ids in joins.items():
        item = f"joints {name}"
        yield MaterialLine(
            FITTINGS, item, _count(item, ids), tuple(ids), "between stretches, by kind and size"
        )


def _devices(graph: Graph) -> Iterator[MaterialLine]:
    project = graph.project
    sections: tuple[tuple[str, Mapping[str, object]], ...] = (
        ("box", project.boxes),
        ("switch", project.switches),
        ("inverter", project.inverters),
        ("fuse", project.fuses),
    )
    for word, section in sections:
        for key, kind in section.items():
            units = [
                str(unit)
                for unit, installed in getattr(kind, "units", {}).items()
                if installed.status == "new"
            ]
            if units:
                item = f"{word} {key}"
                told = [str(getattr(kind, name, None) or "") for name in ("maker", "model")]
                remark = " ".join(filter(None, told))
                yield MaterialLine(DEVICES, item, _count(item, units), tuple(units), remark)
    yield from _string_fuses(graph)
    yield from _glands(project.boxes)


def _string_fuses(graph: Graph) -> Iterator[MaterialLine]:
    """Fuses that strings name, of types whose units are not listed one by one."""
    by_fuse: dict[str, list[str]] = defaultdict(list)
    for key, string in graph.project.strings.items():
        if string.fuse is not None and not graph.project.fuses[str(string.fuse)].units:
            by_fuse[str(string.fuse)].append(str(key))
    for fuse, strings in by_fuse.items():
        quantity: Known
        poles = {key: graph.project.strings[key].fused_pole for key in strings}
        unsaid = [key for key, pole in poles.items() if pole is None]
        if unsaid:
            quantity = Missing(f"fused_pole of string {unsaid[0]}", graph.project.strings[unsaid[0]].span)
        else:
            quantity = _pieces(
                f"fuse {fuse}", {key: 2.0 if pole == "both" else 1.0 for key, pole in poles.items()}
            )
        yield MaterialLine(DEVICES, f"fuse {fuse}", quantity, tuple(strings), "none in reserve counted")


def _glands(boxes: Mapping[str, Box]) -> Iterator[MaterialLine]:
    for key, kind in boxes.items():
        units = [str(unit) for unit, installed in kind.units.items() if installed.status == "new"]
        if not units:
            continue
        if not kind.entries:
            absent = Missing(f"entries of box type {key}", kind.span)
            yield MaterialLine(DEVICES, f"glands of {key}", absent, tuple(units))
            continue
        counts: dict[str, float] = defaultdict(float)
        for entry in kind.entries:
            if entry.conductors:
                for unit in [str(entry.unit)] if entry.unit is not None else units:
                    if unit in units:
                        counts[unit] += 1
        if counts:
            item = f"glands of {key}"
            yield MaterialLine(DEVICES, item, _pieces(item, counts), tuple(counts))


def _ends(graph: Graph, terminations: Sequence[Termination]) -> Iterator[MaterialLine]:
    ferrules: dict[str, list[str]] = defaultdict(list)
    unknown: list[tuple[str, Missing]] = []
    for one in terminations:
        place = f"{one.unit}/{one.terminal}"
        if isinstance(one.ferrule, Missing):
            unknown.append((place, one.ferrule))
        elif isinstance(one.ferrule, Quantity):
            ferrules[one.ferrule.show()].append(place)
    for size, places in ferrules.items():
        item = f"ferrules {size}"
        yield MaterialLine(TERMINALS, item, _count(item, places), tuple(places), "none in reserve counted")
    if unknown:
        places = [place for place, _ in unknown]
        yield MaterialLine(TERMINALS, "further ferrules", unknown[0][1], tuple(places))
    yield from _connectors(graph)


def _connectors(graph: Graph) -> Iterator[MaterialLine]:
    """A pair of module connectors at the array end of each new home run; both halves of the make of the module."""
    by_make: dict[str, list[str]] = defaultdict(list)
    absent: dict[str, list[str]] = defaultdict(list)
    for key, circuit in graph.project.circuits.items():
        if circuit.kind != "string" or circuit.string is None or circuit.status != "new":
            continue
        parts = graph.project.parts_of(graph.project.strings[str(circuit.string)])
        for kind in dict.fromkeys(str(graph.project.arrays[str(part.array)].module) for part in parts[:1]):
            made = graph.project.modules[kind].connector
            (by_make[str(made)] if made else absent[kind]).append(str(key))
    for make, circuits in by_make.items():
        item = f"connector pairs {make}"
        remark = "array end, halves of the maker of the modules; those of the inverter come with it"
        yield MaterialLine(TERMINALS, item, _count(item, circuits), tuple(circuits), remark)
    for kind, circuits in absent.items():
        missing = Missing(f"connector of module type {kind}", graph.project.modules[kind].span)
        yield MaterialLine(TERMINALS, f"connector pairs for {kind}", missing, tuple(circuits))


def _labels(labels: LabelsDesign) -> Iterator[MaterialLine]:
    circuits = tuple(one.circuit for one in labels.wires if one.labels)
    if circuits:
        needed = _count("wire labels", [label.id for label in labels.labels])
        yield MaterialLine(LABELS, "wire labels", needed, circuits, "each printed once")
    if not labels.held:
        absent = Missing("placards that the edition in force asks for")
        yield MaterialLine(LABELS, "placards", absent, ())
        return
    by_key: dict[str, dict[str, int | None]] = defaultdict(dict)
    for placard in labels.placards:
        by_key[placard.key][placard.place] = placard.count
    for key, places in by_key.items():
        item = f"placards {key}"
        known = {place: float(count) for place, count in places.items() if count is not None}
        quantity: Known = (
            _pieces(item, known) if len(known) == len(places) else Missing("building of the project")
        )
        yield MaterialLine(LABELS, item, quantity, tuple(places))


def _pull(graph: Graph, pulls: Sequence[PullDesign]) -> Iterator[MaterialLine]:
    new = [item for item in pulls if item.wires]
    if not new:
        return
    unit, liquid = graph.units.length, graph.units.liquid
    longest = max(new, key=lambda item: item.line_length.to("m").value)
    line = longest.line_length.to(unit)
    yield MaterialLine(PULL, "pull line", line, (longest.name,), "longest pull; one line serves all")
    spare = _total("spare line", unit, [item.line_length.to(unit).named(item.name) for item in new])
    names = tuple(item.name for item in new)
    yield MaterialLine(PULL, "spare line left in the pipes", spare, names)
    yield MaterialLine(PULL, "lubricant", _sum("lubricant", liquid, [item.lubricant for item in new]), names)


def _sum(name: str, unit: str, values: Iterable[Known]) -> Known:
    known: list[Quantity] = []
    for value in values:
        if isinstance(value, Missing):
            return value
        known.append(value.to(unit))
    return _total(name, unit, known)


def _kept(graph: Graph) -> Iterator[MaterialLine]:
    kept: dict[str, dict[SegmentId, RacewaySegment]] = defaultdict(dict)
    for key, (raceway, segment) in graph.segments.items():
        if _status(raceway, segment) == "existing":
            kept[f"{segment.kind} {segment.size}"][key] = segment
    for name, found in kept.items():
        yield _length(graph, KEPT, name, found, "existing")
    for section in (graph.project.boxes, graph.project.switches, graph.project.inverters):
        for type_id, kind in section.items():
            units = [str(unit) for unit, installed in kind.units.items() if installed.status == "existing"]
            if units:
                yield MaterialLine(KEPT, str(type_id), _count(str(type_id), units), tuple(units), "existing")


def _priced(graph: Graph, lines: Sequence[MaterialLine]) -> MaterialsDesign:
    prices = graph.project.prices
    given = {str(one.item): one.price for one in prices.items} if prices else {}
    made: list[MaterialLine] = []
    lacking: list[str] = []
    costs: list[Quantity] = []
    for line in lines:
        if line.group == KEPT:
            made.append(line)
            continue
        price = given.get(line.item)
        cost: Known | None = None
        if price is not None:
            cost = line.quantity
            if isinstance(line.quantity, Quantity):
                bare = replace(line.quantity, unit="")
                cost = work(f"cost of {line.item}", "", "q * p", q=bare, p=price.named("price of one"))
        if isinstance(cost, Quantity):
            costs.append(cost)
        else:
            lacking.append(line.item)
        made.append(replace(line, price=price, cost=cost))
    total = None
    if costs and not lacking:
        total = _total("total", "", costs)
    known = {line.item for line in lines if line.group != KEPT}
    unused = tuple(item for item in given if item not in known and not _other_size(item, known))
    currency = str(prices.currency) if prices else ""
    return MaterialsDesign(tuple(made), total, tuple(lacking) if given else (), unused, currency)


def _other_size(item: str, known: set[str]) -> bool:
    """Whether a priced item is a wire of the list but for its size."""
    bare = _SIZE.sub("", item)
    return bare != item and any(line.startswith("wire ") and _SIZE.sub("", line) == bare for line in known)
