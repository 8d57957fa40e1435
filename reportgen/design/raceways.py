"""Results of every stretch of raceway: what is in it, how full it is, and the bends between pull points."""

from __future__ import annotations

from collections import Counter

from reportgen.design.circuits import is_nipple, size_key
from reportgen.design.graph import Conductor, Graph, SegmentId
from reportgen.design.missing import Known, Missing, derive
from reportgen.design.results import PullSection, StretchDesign
from reportgen.engineering import raceway as physics
from reportgen.rulebook.conductors import ConductorSize
from reportgen.rulebook.raceways import RacewaySize
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Quantity, work


def conductor_area(graph: Graph, rulebook: Rulebook, cable_id: str, size: str) -> Known:
    """Area of a conductor over its insulation: by the data sheet's diameter, else by the table [in²]."""
    sheet = _on_data_sheet(graph, cable_id, size)
    if sheet is not None:
        return physics.conductor_area(sheet)
    row = _in_table(graph, rulebook, cable_id, size)
    return row if isinstance(row, Missing) else quantity_of(row.area, f"area of {row.marking} {size}")


def conductor_diameter(graph: Graph, rulebook: Rulebook, cable_id: str, size: str) -> Known:
    """Outside diameter of a conductor: by the data sheet, else by the table [in]."""
    sheet = _on_data_sheet(graph, cable_id, size)
    if sheet is not None:
        return sheet
    row = _in_table(graph, rulebook, cable_id, size)
    return row if isinstance(row, Missing) else quantity_of(row.diameter, f"diameter of {row.marking} {size}")


def _on_data_sheet(graph: Graph, cable_id: str, size: str) -> Quantity | None:
    row = graph.project.cables[cable_id].of_size(size)
    if row is None or row.diameter is None:
        return None
    return row.diameter.to("in").named(f"diameter of {cable_id} {size}")


def _in_table(graph: Graph, rulebook: Rulebook, cable_id: str, size: str) -> ConductorSize | Missing:
    """Row of the dimension table; a row that only stands in for another marking proves nothing."""
    cable = graph.project.cables[cable_id]
    for marking in map(str, cable.markings):
        try:
            found = rulebook.conductor_size(marking, size_key(size))
        except OutsideTable:
            continue
        if not found.proxy:
            return found
    return Missing(f"outside diameter of cable {cable_id} in {size}: no table has its marking", cable.span)


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
    occupied = _occupied(graph, rulebook, wires)
    fill = derive(physics.fill, occupied, bore)
    limit: Known = Missing("a conductor in the raceway")
    if wires:
        share = quantity_of(
            rulebook.fill_limit(len(wires), nipple=is_nipple(graph, rulebook, key)), "share allowed"
        )
        limit = work("fill limit", "%", "100 * f", f=share)
    carrying = sum(wire.carries for wire in wires)
    return StretchDesign(key, raceway, segment, wires, carrying, size, occupied, bore, fill, limit)


def _occupied(graph: Graph, rulebook: Rulebook, wires: tuple[Conductor, ...]) -> Known:
    if not wires:
        return Missing("a conductor in the raceway")
    groups = []
    for (cable, size), count in Counter((wire.cable, wire.size) for wire in wires).items():
        area = conductor_area(graph, rulebook, cable, size)
        if isinstance(area, Missing):
            return area
        groups.append((count, area))
    return physics.occupied_area(groups)


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
