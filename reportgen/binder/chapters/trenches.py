"""Sections of the trenches: which stretches lie in one, how deep, and what nobody stated about it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence

from reportgen.binder.chapters.base import Desk
from reportgen.binder.drawings.trench import MOST, Depth, TrenchPipe, trench_section
from reportgen.binder.elements import Figure, anchor
from reportgen.design.graph import SegmentId
from reportgen.design.surroundings import CoverDesign
from reportgen.working.quantity import Quantity


def trenches(desk: Desk) -> Iterator[Figure]:
    """A section of every trench: of stretches that name the same one together, of every other one alone."""
    groups: dict[tuple[str, str], list[CoverDesign]] = defaultdict(list)
    for item in desk.design.facts.surroundings.covers:
        name = str(item.segment.trench or "")
        groups["trench" if name else "stretch", name or str(item.id)].append(item)
    for (kind, name), items in groups.items():
        for start in range(0, len(items), MOST):
            yield _section(desk, kind, name, items[start : start + MOST], start)


def _section(desk: Desk, kind: str, name: str, items: Sequence[CoverDesign], start: int) -> Figure:
    bores = {stretch.id: stretch for stretch in desk.design.facts.stretches}
    pipes: list[TrenchPipe] = []
    depths: list[Depth] = []
    silent: list[str] = []
    for item in items:
        across, outside = _diameter(item, bores[item.id].bore)
        cover = item.actual if isinstance(item.actual, Quantity) else None
        gap = item.segment.spacing if len(pipes) else None
        told = f"{item.id}, {item.segment.kind} {item.segment.size}, {_wires(desk, item.id)}"
        if across is not None:
            told += f", {'outside' if outside else 'bore'} {desk.units.both(across, 'small', desk.units.places(2, 1))}"
        if not outside:
            silent.append(
                f"outside diameter of {item.id}, drawn dotted at its bore" if across else f"size of {item.id}"
            )
        if cover is None:
            silent.append(f"cover of {item.id}, drawn dotted at no depth of its own")
        if pipes and gap is None:
            silent.append(f"spacing of {item.id} from the one before it")
        pipes.append(TrenchPipe(told, _mm(across), outside, _mm(cover), _mm(gap)))
    depths += _covers(desk, items)
    for word, pen in (("warning_tape", "dashed"), ("trench_depth", "line")):
        stated = {_mm(value): value for item in items if (value := getattr(item.segment, word)) is not None}
        what = "warning tape" if word == "warning_tape" else "bottom of the trench"
        for value in stated.values():
            depths.append(Depth(_mm(value) or 0.0, f"{what} {_told(desk, value)}", pen))
        if not stated:
            silent.append("warning tape" if word == "warning_tape" else "depth of the trench")
    bedding = _bedding(items)
    if bedding is None and not any(item.segment.bedding is not None for item in items):
        silent.append("bedding")
    elif bedding is not None:
        thick = next(item.segment.bedding for item in items if item.segment.bedding is not None)
        depths.append(Depth(sum(bedding) / 2, f"bedding {_told(desk, thick)}"))
    silent.append("width of the trench")
    title = f"Section of {kind} {name}" + (f", from raceway {start + 1} on" if start else "")
    bar = (101.6, "4 in") if desk.units.imperial else (100.0, "100 mm")
    return trench_section(
        anchor("trench", kind, name, str(start)),
        title,
        "To scale, as far as it is stated; cover is counted to the top of the pipe.",
        pipes,
        depths,
        bedding,
        bar,
        (f"Not stated: {'; '.join(dict.fromkeys(silent))}.",),
    )


def _mm(value: Quantity | None) -> float | None:
    return None if value is None else value.to("mm").value


def _told(desk: Desk, value: Quantity, at_most: bool | None = None) -> str:
    return desk.units.both(value, "small", desk.units.fine, at_most)


def _wires(desk: Desk, key: SegmentId) -> str:
    count = len(desk.design.facts.graph.in_segment[key])
    return f"{count} {'wire' if count == 1 else 'wires'}"


def _diameter(item: CoverDesign, bore: object) -> tuple[Quantity | None, bool]:
    """Outside diameter, or the bore where only that is known."""
    if item.segment.outside_diameter is not None and item.segment.outside_diameter.value > 0:
        return item.segment.outside_diameter, True
    if isinstance(bore, Quantity):
        return Quantity(2 * math.sqrt(bore.to("mm2").value / math.pi), "mm"), False
    return None, False


def _covers(desk: Desk, items: Sequence[CoverDesign]) -> Iterator[Depth]:
    """Cover of each raceway against the least one, as its finding judges it; like ones told once."""
    actual: dict[str, tuple[float, list[int]]] = {}
    least: dict[str, tuple[float, list[int]]] = {}
    for number, item in enumerate(items, start=1):
        outcome = desk.worst("raceway-cover", subject=str(item.id))
        needed = f"least cover {_told(desk, item.most, at_most=False)}, {item.most_place}: {outcome or 'not judged'}"
        least.setdefault(needed, (item.most.to("mm").value, []))[1].append(number)
        if isinstance(item.actual, Quantity):
            told = f"cover {_told(desk, item.actual)}"
            actual.setdefault(told, (item.actual.to("mm").value, []))[1].append(number)
    for found, pen in ((actual, ""), (least, "dotted")):
        for told, (depth, numbers) in found.items():
            of = "" if len(numbers) == len(items) else f" of {', '.join(map(str, numbers))}"
            yield Depth(depth, f"{told}{of}", pen)


def _bedding(items: Sequence[CoverDesign]) -> tuple[float, float] | None:
    """Depths between which the bedding lies: under the deepest raceway that states all it takes [mm]."""
    found = []
    for item in items:
        thick, across = item.segment.bedding, item.segment.outside_diameter
        if thick is not None and across is not None and isinstance(item.actual, Quantity):
            low = item.actual.to("mm").value + across.to("mm").value
            found.append((low, low + thick.to("mm").value))
    return max(found, default=None)
