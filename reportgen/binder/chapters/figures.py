"""Drawings made from the design: the voltage window of each input, the cross-section of each stretch."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.charts import WindowLimit, WindowPoint, window_chart
from reportgen.binder.elements import Figure, anchor
from reportgen.binder.section_chart import SectionWire, raceway_section
from reportgen.design.missing import Known
from reportgen.design.raceways import conductor_diameter
from reportgen.design.results import StretchDesign, StringDesign
from reportgen.working.quantity import Quantity, work
from reportgen.working.unit_system import OTHER

#: Columns drawn on either side of the numbers that the design uses.
_BESIDE = 3


def windows(desk: Desk) -> Iterator[Figure]:
    """One window for each pair of module and inverter type, with the counts that the design uses."""
    groups: dict[tuple[str, str], list[StringDesign]] = defaultdict(list)
    for string in desk.design.facts.strings:
        found = desk.design.project.inverter_of(string.input.partition("/")[0])
        if found is not None and string.module is not None:
            groups[string.module_id, found[0]].append(string)
    for (module, inverter), strings in groups.items():
        made = _window(desk, module, inverter, strings)
        if made is not None:
            yield made


def _window(desk: Desk, module: str, inverter: str, strings: list[StringDesign]) -> Figure | None:
    counts = sorted({int(string.count.value) for string in strings})
    first = strings[0]
    each = [
        _per_module(value, first)
        for value in (*(case.by_coefficient for case in first.cold[:2]), first.hot_operating)
    ]
    if all(value is None for value in each) or not counts or counts[0] < 1:
        return None
    low, mean, hot = each
    data = desk.design.project.input_of(first.input)
    limits = []
    if data is not None:
        kinds = (
            ("never exceed", data[1].maximum_dc_voltage, "never"),
            ("tracking to", data[2].tracking_to, "window"),
            ("tracking from", data[2].tracking_from, "window"),
            ("start", data[2].start_voltage, "start"),
        )
        limits = [WindowLimit(label, value.value, kind) for label, value, kind in kinds if value is not None]  # type: ignore[arg-type]
    limits += _further(desk, strings)
    span = range(max(1, counts[0] - _BESIDE), counts[-1] + _BESIDE + 1)
    points = [WindowPoint(n, _times(low, n), _times(mean, n), _times(hot, n)) for n in span]
    title = f"Voltage window: module {module} at inverter {inverter}"
    names = ", ".join(string.id for string in strings)
    description = f"Cold and hot string voltage over the number of modules in series, at the tip of each triangle; the design uses {', '.join(map(str, counts))} ({names})."
    return window_chart(anchor("window", module, inverter), title, description, points, limits, counts)


def _further(desk: Desk, strings: list[StringDesign]) -> Iterator[WindowLimit]:
    """Lowest limit of module, place, wire and switch among some strings, as their findings judge them."""
    ids = {string.id for string in strings}
    circuits = [circuit.id for circuit in desk.design.facts.circuits if circuit.string.id in ids]
    for code, label, subjects in (
        ("cold-voltage-module", "module", sorted(ids)),
        ("cold-voltage-place", "place", sorted(ids)),
        ("cold-voltage-wire", "wire", circuits),
        ("cold-voltage-switch", "switch", circuits),
    ):
        found = [finding.limit for subject in subjects for finding in desk.findings(code, subject=subject)]
        values = [limit.to("V").value for limit in found if limit is not None]
        if values:
            yield WindowLimit(label, min(values), "never")


def _per_module(value: Known, string: StringDesign) -> float | None:
    return value.value / string.count.value if isinstance(value, Quantity) and string.count.value else None


def _times(value: float | None, count: int) -> float | None:
    return None if value is None else value * count


def sections(desk: Desk) -> Iterator[Figure]:
    """Cross-sections, one for each different filling of a bore, each naming every stretch that it holds for."""
    alike: dict[tuple[object, ...], list[tuple[StretchDesign, Quantity, list[SectionWire]]]] = defaultdict(
        list
    )
    unit = desk.units.small
    other = OTHER[unit]
    for stretch in desk.design.facts.stretches:
        wires = _wires(desk, stretch, unit)
        if not wires or not isinstance(stretch.bore, Quantity):
            continue
        filling = tuple((wire.label, wire.diameter) for wire in wires)
        alike[stretch.segment.kind, stretch.segment.size, filling].append((stretch, stretch.bore, wires))
    for (stretch, area, wires), *further in alike.values():
        title = f"Cross-section of {stretch.id}: {stretch.segment.kind} {stretch.segment.size}"
        fill = stretch.fill.show(1) if isinstance(stretch.fill, Quantity) else "unknown"
        description = (
            f"{len(wires)} conductors to scale in the bore, fill {fill}. True sizes, not measured positions."
        )
        if further:
            description += f" The same holds for {', '.join(str(item.id) for item, _, _ in further)}."
        bore = _across(area)
        yield raceway_section(
            anchor("section", str(stretch.id)),
            title,
            description,
            bore.to(unit).value,
            wires,
            unit,
            bore.to(other).show(1 if other == "mm" else 2),
        )


def _across(area: Quantity) -> Quantity:
    return work("inside diameter", "mm", "2 * sqrt(A / π)", A=area.to("mm2"), π=math.pi)


def _wires(desk: Desk, stretch: StretchDesign, unit: str) -> list[SectionWire]:
    facts = desk.design.facts
    found: list[SectionWire] = []
    for wire in stretch.conductors:
        diameter = conductor_diameter(facts.graph, facts.rulebook, wire.cable, wire.size)
        if not isinstance(diameter, Quantity):
            return []
        ground = facts.project.circuits[wire.circuit].kind == "ground"
        found.append(SectionWire(f"{wire.id}, {wire.size}", diameter.to(unit).value, ground))
    return found
