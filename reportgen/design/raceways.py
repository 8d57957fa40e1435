"""Results of every stretch of raceway: what is in it, how full it is, and the bends between pull points.

What surrounds a stretch is :mod:`reportgen.design.surroundings`, what else would fit :mod:`reportgen.design.pipe_options`.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence

from reportgen.design.circuits import is_nipple, size_key
from reportgen.design.graph import Graph, SegmentId
from reportgen.design.missing import Known, Missing, derive
from reportgen.design.results import PullSection, StretchDesign
from reportgen.engineering import raceway as physics
from reportgen.engineering.fitting import FillShares, MostAlike, most_alike
from reportgen.rulebook.raceways import RacewaySize
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Cell, Quantity, work


def conductor_area(graph: Graph, rulebook: Rulebook, cable_id: str, size: str) -> Known:
    """Area of a conductor over its insulation: by the data sheet's diameter, else by the table [in²]."""
    sheet = _on_data_sheet(graph, rulebook, cable_id, size)
    if sheet is not None:
        return derive(physics.conductor_area, sheet)
    row = _in_table(graph, rulebook, cable_id, size)
    return row if isinstance(row, Missing) else quantity_of(row[1], f"area of {cable_id} {size}")


def conductor_diameter(graph: Graph, rulebook: Rulebook, cable_id: str, size: str) -> Known:
    """Outside diameter of a conductor: by the data sheet, else by the table [in]."""
    sheet = _on_data_sheet(graph, rulebook, cable_id, size)
    if sheet is not None:
        return sheet
    row = _in_table(graph, rulebook, cable_id, size)
    return row if isinstance(row, Missing) else quantity_of(row[0], f"diameter of {cable_id} {size}")


def metal_area(graph: Graph, rulebook: Rulebook, cable_id: str, size: str) -> Known:
    """Cross-section of a conductor's metal: by the data sheet, else by the table [mm²]."""
    cable = graph.project.cables[cable_id]
    row = cable.of_size(size)
    if row is not None and row.area is not None:
        return row.area.to("mm2").named(f"metal of {size}")
    try:
        return quantity_of(rulebook.circular_mils(size_key(size)), f"metal of {size}").to("mm2")
    except OutsideTable as outside:
        return Missing(f"a table value: {outside}", cable.span)


def _on_data_sheet(graph: Graph, rulebook: Rulebook, cable_id: str, size: str) -> Known | None:
    row = graph.project.cables[cable_id].of_size(size)
    if row is None or row.diameter is None:
        return None
    stated = row.diameter.to("in").named(f"diameter of {cable_id} {size}")
    metal = metal_area(graph, rulebook, cable_id, size)
    if isinstance(metal, Quantity) and physics.conductor_area(stated).value < metal.to("in2").value:
        what = f"outside diameter of cable {cable_id} in {size}: {row.diameter.show()} is less than its metal alone"
        return Missing(what, row.where("diameter"))
    return stated


def _in_table(graph: Graph, rulebook: Rulebook, cable_id: str, size: str) -> tuple[Cell, Cell] | Missing:
    """Diameter and area of the dimension table: of several markings the largest row.

    A row that only stands in for another marking proves nothing, and a wire that carries one marking without a row,
    as photovoltaic wire does, is thicker than the rows of its other markings: both need the data sheet.
    """
    cable = graph.project.cables[cable_id]
    absent = Missing(f"outside diameter of cable {cable_id} in {size}: no table has its marking", cable.span)
    markings = [str(item) for item in cable.markings]
    if [item.lower() for item in markings] == ["bare"]:
        return _bare(rulebook, size, stranded=cable.stranding != "solid") or absent
    rows = []
    for marking in markings:
        try:
            rulebook.insulation(marking)
        except OutsideTable:
            # Not a marking of building wire, for instance one for machine tools: it says nothing of the size.
            continue
        try:
            found = rulebook.conductor_size(marking, size_key(size))
        except OutsideTable:
            return absent
        if not found.proxy:
            rows.append(found)
    largest = max(rows, key=lambda row: row.area.number, default=None)
    return (largest.diameter, largest.area) if largest is not None else absent


def _bare(rulebook: Rulebook, size: str, *, stranded: bool) -> tuple[Cell, Cell] | None:
    try:
        row = rulebook.bare_conductor(size_key(size), stranded=stranded)
    except OutsideTable:
        return None
    return row.diameter, row.area


def fill_shares(graph: Graph, rulebook: Rulebook, key: SegmentId) -> FillShares:
    """Shares of the bore that one, two and more conductors may take in a stretch, a nipple's where it is one [-]."""
    nipple = is_nipple(graph, rulebook, key)
    one, two, more = (
        quantity_of(rulebook.fill_limit(count, nipple=nipple), "share allowed") for count in (1, 2, 3)
    )
    return FillShares(one, two, more)


def fill_with(graph: Graph, rulebook: Rulebook, key: SegmentId, circuit: str, size: str) -> Known:
    """Fill of a stretch if one of its circuits had another conductor size, all else as it is [%].

    The limit does not move with it: it goes by the number of conductors, see :attr:`StretchDesign.limit`.
    """
    _, segment = graph.segments[key]
    wires = graph.in_segment[key]
    groups = Counter((wire.cable, size if wire.circuit == circuit else wire.size) for wire in wires)
    try:
        bore = quantity_of(rulebook.bore(str(segment.kind), str(segment.size)).area, "bore")
    except OutsideTable as outside:
        return Missing(f"a table value: {outside}", segment.where("size"))
    return derive(physics.fill, _occupied(graph, rulebook, groups), bore)


def rounded_count(graph: Graph, rulebook: Rulebook, stretch: StretchDesign) -> MostAlike | None:
    """Greatest number of conductors like those in a stretch, rounded both ways; None unless all are of one size."""
    areas = {
        area.value if isinstance(area, Quantity) else None: area
        for area in (
            conductor_area(graph, rulebook, cable, size)
            for cable, size in {(wire.cable, wire.size) for wire in stretch.conductors}
        )
    }
    only = next(iter(areas.values()), None) if len(areas) == 1 else None
    if not isinstance(only, Quantity) or not isinstance(stretch.bore, Quantity):
        return None
    decimal = quantity_of(rulebook.number("fill-rounding-decimal"), "decimal rounded up")
    return most_alike(stretch.bore, only, fill_shares(graph, rulebook, stretch.id), decimal)


def fullest_stretches(stretches: Sequence[StretchDesign]) -> frozenset[SegmentId]:
    """Stretch of each raceway that governs its fill: nearest to its limit; none where one of them is not known."""
    by_raceway: dict[str, list[StretchDesign]] = defaultdict(list)
    for stretch in stretches:
        if stretch.conductors:
            by_raceway[stretch.id.raceway].append(stretch)
    return frozenset(
        max(many, key=_used).id for many in by_raceway.values() if all(_used(item) >= 0 for item in many)
    )


def _used(stretch: StretchDesign) -> float:
    """Share of its limit that a fill takes up [-]; below zero where it is not known."""
    if isinstance(stretch.fill, Missing) or isinstance(stretch.limit, Missing):
        return -1.0
    return stretch.fill.value / stretch.limit.value


def jam(graph: Graph, rulebook: Rulebook, stretch: StretchDesign) -> Quantity | None:
    """Jam ratio of a stretch whose three conductors of one size may wedge at a bend; None where the note is silent [-]."""
    if len(stretch.conductors) != 3 or isinstance(stretch.size, Missing):
        return None
    kinds = {(wire.cable, wire.size) for wire in stretch.conductors}
    sizes = [conductor_diameter(graph, rulebook, cable, size) for cable, size in sorted(kinds)]
    known = [size for size in sizes if isinstance(size, Quantity)]
    if len(known) != len(sizes) or len({size.to("in").value for size in known}) != 1:
        return None
    ratio = physics.jam_ratio(quantity_of(stretch.size.id_in, "inside diameter"), known[0])
    low, high = (rulebook.number(f"jam-{end}").number for end in ("low", "high"))
    return ratio if physics.can_jam([(3, physics.conductor_area(known[0]))], ratio, low, high) else None


def design_stretches(graph: Graph, rulebook: Rulebook) -> tuple[StretchDesign, ...]:
    """Results of every stretch, in the order of the folder."""
    return tuple(_stretch(graph, rulebook, key) for key in graph.segments)


def _stretch(graph: Graph, rulebook: Rulebook, key: SegmentId) -> StretchDesign:
    raceway, segment = graph.segments[key]
    wires = graph.in_segment[key]
    size: RacewaySize | Missing
    bore: Known
    try:
        size = rulebook.bore(str(segment.kind), str(segment.size))
        bore = quantity_of(size.area, f"bore of {segment.kind} {segment.size}")
    except OutsideTable as outside:
        size = bore = Missing(f"a table value: {outside}", segment.where("size"))
    occupied = _occupied(graph, rulebook, Counter((wire.cable, wire.size) for wire in wires))
    fill = derive(physics.fill, occupied, bore)
    limit: Known = Missing("a conductor in the raceway")
    if wires:
        share = quantity_of(
            rulebook.fill_limit(len(wires), nipple=is_nipple(graph, rulebook, key)), "share allowed"
        )
        limit = work("fill limit", "%", "100 * f", f=share)
    carrying = sum(wire.carries for wire in wires)
    return StretchDesign(key, raceway, segment, wires, carrying, size, occupied, bore, fill, limit)


def _occupied(graph: Graph, rulebook: Rulebook, kinds: Counter[tuple[str, str]]) -> Known:
    groups = area_groups(graph, rulebook, kinds.items())
    if isinstance(groups, Missing):
        return groups
    return physics.occupied_area(groups) if groups else Missing("a conductor in the raceway")


def area_groups(
    graph: Graph, rulebook: Rulebook, kinds: Iterable[tuple[tuple[str, str], int]]
) -> list[tuple[int, Quantity]] | Missing:
    """Number of like conductors and area of one, by make and size, or the first area that is missing [in²]."""
    groups = []
    for (cable, size), count in kinds:
        area = conductor_area(graph, rulebook, cable, size)
        if isinstance(area, Missing):
            return area
        groups.append((count, area))
    return groups


def pull_sections(graph: Graph) -> tuple[PullSection, ...]:
    """Every raceway cut at its pull points, with the bends of each section summed."""
    return tuple(_section(graph, run) for run in graph.runs)


def _section(graph: Graph, run: tuple[SegmentId, ...]) -> PullSection:
    bends = [bend.angle.named(f"bend in {item}") for item in run for bend in graph.segments[item][1].bends]
    return PullSection(
        run[0].raceway,
        graph.enclosure_before(run[0]) or "start",
        graph.enclosure_after(run[-1]) or "end",
        run,
        physics.total_bend(bends),
        graph.between_enclosures(run[0]),
    )
