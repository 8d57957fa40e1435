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
from reportgen.design.material_lines import (
    DEVICES,
    KEPT,
    LABELS,
    PULL,
    TERMINALS,
    WIRE,
    MaterialLine,
    count_of,
    pieces_of,
    sum_of,
    total_of,
)
from reportgen.design.material_pipes import pipe_length, raceway_lines
from reportgen.design.missing import Known, Missing
from reportgen.design.pull_design import PullDesign
from reportgen.design.terminations import Termination
from reportgen.project.equipment import Box
from reportgen.project.layout import RacewaySegment
from reportgen.working.quantity import Quantity, work

#: Size of a wire within the name of its line.
_SIZE = re.compile(r"\b(?:\d+(?:/0)? AWG|\d+ kcmil)\b")


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
        *raceway_lines(graph),
        *_devices(graph),
        *_ends(graph, terminations),
        *_labels(labels),
        *_pull(graph, pulls),
        *_kept(graph),
    ]
    return _priced(graph, lines)


def _wire(cuts: Sequence[CutGroup]) -> Iterator[MaterialLine]:
    for group in cuts:
        yield MaterialLine(
            WIRE,
            f"wire {group.name}",
            _cut(group),
            tuple(dict.fromkeys(item.wire.id for item in group.wires)),
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
    return parts[0] if len(parts) == 1 else total_of(f"wire {group.name}", parts[0].unit, parts)


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
                yield MaterialLine(DEVICES, item, count_of(item, units), tuple(units), remark)
    yield from _string_fuses(graph)
    yield from _links(
        graph, "new", DEVICES, "as the landing draws them; fewer where they come with the device"
    )
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
            quantity = pieces_of(
                f"fuse {fuse}", {key: 2.0 if pole == "both" else 1.0 for key, pole in poles.items()}
            )
        yield MaterialLine(DEVICES, f"fuse {fuse}", quantity, tuple(strings), "none in reserve counted")


def _links(graph: Graph, status: str, group: str, remark: str) -> Iterator[MaterialLine]:
    """Links between the terminals of devices, by type, and wires from one device to another that no circuit has.

    A link is taken to have the status of its device; a wire is new where one of its two devices is.
    """
    installed: dict[str, tuple[str, str]] = {}
    for section in (
        graph.project.switches,
        graph.project.boxes,
        graph.project.inverters,
        graph.project.fuses,
    ):
        for key, kind in section.items():
            installed |= {str(unit): (str(key), str(one.status)) for unit, one in kind.units.items()}
    by_type: dict[str, list[str]] = defaultdict(list)
    for unit, pairs in graph.project.jumpers.items():
        key, own = installed[str(unit)]
        if own == status:
            by_type[key] += [f"{unit}/{'-'.join(map(str, pair))}" for pair in pairs]
    for key, ids in by_type.items():
        yield MaterialLine(group, f"links of {key}", count_of(f"links of {key}", ids), tuple(ids), remark)
    wires: dict[frozenset[str], str] = {}
    for unit in map(str, graph.project.landing):
        for terminal, end in graph.landed(unit).items():
            if graph.onward(end):
                wires.setdefault(frozenset((f"{unit}/{terminal}", end)), f"{unit}/{terminal} to {end}")
    ids = [
        told
        for ends, told in wires.items()
        if _worst_status(installed[end.partition("/")[0]][1] for end in ends) == status
    ]
    if ids:
        item = "wires from device to device"
        yield MaterialLine(
            group, item, count_of(item, ids), tuple(ids), f"{remark}; no length is stated for them"
        )


def _worst_status(states: Iterable[str]) -> str:
    """Status of what joins two devices: removed with one of them, else new with one of them."""
    found = set(states)
    return next((word for word in ("removed", "new") if word in found), "existing")


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
            yield MaterialLine(DEVICES, item, pieces_of(item, counts), tuple(counts))


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
        yield MaterialLine(TERMINALS, item, count_of(item, places), tuple(places), "none in reserve counted")
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
        remark = "a half on each new leg at the array, of the maker of those on the modules, which stay; those of the inverter come with it"
        yield MaterialLine(TERMINALS, item, count_of(item, circuits), tuple(circuits), remark)
    for kind, circuits in absent.items():
        missing = Missing(f"connector of module type {kind}", graph.project.modules[kind].span)
        yield MaterialLine(TERMINALS, f"connector pairs for {kind}", missing, tuple(circuits))


def _labels(labels: LabelsDesign) -> Iterator[MaterialLine]:
    circuits = tuple(one.circuit for one in labels.wires if one.labels)
    if circuits:
        needed = count_of("wire labels", [label.id for label in labels.labels])
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
            pieces_of(item, known) if len(known) == len(places) else Missing("building of the project")
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
    spare = total_of("spare line", unit, [item.line_length.to(unit).named(item.name) for item in new])
    names = tuple(item.name for item in new)
    yield MaterialLine(PULL, "spare line left in the pipes", spare, names)
    yield MaterialLine(
        PULL, "lubricant", sum_of("lubricant", liquid, [item.lubricant for item in new]), names
    )


def _kept(graph: Graph) -> Iterator[MaterialLine]:
    kept: dict[str, dict[SegmentId, RacewaySegment]] = defaultdict(dict)
    for key, (raceway, segment) in graph.segments.items():
        if raceway.status_of(segment) == "existing":
            kept[f"{segment.kind} {segment.size}"][key] = segment
    for name, found in kept.items():
        yield pipe_length(graph, KEPT, name, found, "existing")
    project = graph.project
    for section in (project.boxes, project.switches, project.inverters, project.fuses):
        for type_id, kind in section.items():
            units = [str(unit) for unit, installed in kind.units.items() if installed.status == "existing"]
            if units:
                yield MaterialLine(
                    KEPT, str(type_id), count_of(str(type_id), units), tuple(units), "existing"
                )
    yield from _links(
        graph, "existing", KEPT, "in devices that stand already; to be bought where they are not in place"
    )


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
        total = total_of("total", "", costs)
    known = {line.item for line in lines if line.group != KEPT}
    unused = tuple(item for item in given if item not in known and not _other_size(item, known))
    currency = str(prices.currency) if prices else ""
    return MaterialsDesign(tuple(made), total, tuple(lacking) if given else (), unused, currency)


def _other_size(item: str, known: set[str]) -> bool:
    """Whether a priced item is a wire of the list but for its size."""
    bare = _SIZE.sub("", item)
    return bare != item and any(line.startswith("wire ") and _SIZE.sub("", line) == bare for line in known)
