"""Room in boxes for large conductors: straight, angle and U pulls, and the distance between two entries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace

from reportgen.design.boxes import BoxDesign, is_large
from reportgen.design.graph import Graph, SegmentId
from reportgen.design.missing import Known, Missing
from reportgen.design.surroundings import stated_in
from reportgen.engineering import boxes as physics
from reportgen.project.equipment import BoxEntry
from reportgen.rulebook.rulebook import Rulebook, quantity_of
from reportgen.rulebook.sizes import trade_size_number
from reportgen.working.quantity import Given, Quantity

_OPPOSITE = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
#: Inside measure of a box between a wall and the one opposite.
_ACROSS = {"left": "length", "right": "length", "top": "width", "bottom": "width", "back": "depth"}


@dataclass(frozen=True, slots=True)
class Need:
    """One distance that a pull asks for in a box.

    Attributes
    ----------
    what : str
        In words, for instance ``straight pull R1/a to R1/b``.
    part : str
        Key of the finding's part.
    needed, actual : Quantity or Missing
        [in]
    towards_cover : bool
        From the back wall to the cover, where another table may permit less.
    """

    unit: str
    what: str
    part: str
    needed: Known
    actual: Known
    towards_cover: bool = False


def design_pull_boxes(graph: Graph, rulebook: Rulebook, boxes: tuple[BoxDesign, ...]) -> tuple[Need, ...]:
    """Distances that large conductors ask for, in every box that they pass."""
    return tuple(need for box in boxes if box.large for need in _needs(graph, rulebook, box))


def needs_with(graph: Graph, rulebook: Rulebook, box: BoxDesign, circuit: str, size: str) -> tuple[Need, ...]:
    """Distances that the conductors of one circuit would ask for in a box, were they of another size."""
    passages = tuple(
        replace(passage, wire=replace(passage.wire, size=size))
        for passage in box.passages
        if passage.wire.circuit == circuit
    )
    return tuple(_needs(graph, rulebook, replace(box, passages=passages)))


def _needs(graph: Graph, rulebook: Rulebook, box: BoxDesign) -> Iterator[Need]:
    ways = dict.fromkeys(
        (passage.enters, passage.leaves) for passage in box.passages if is_large(rulebook, passage.wire.size)
    )
    by_segment = {str(entry.raceway): entry for entry in box.entries if entry.raceway is not None}
    walls: dict[str, None] = {}
    for enters, leaves in ways:
        ends = [key for key in (enters, leaves) if key is not None]
        entries = [by_segment.get(str(key)) for key in ends]
        known = [entry for entry in entries if entry is not None]
        name = " to ".join(map(str, ends)) or "a way that is not stated"
        if not ends or len(known) != len(entries):
            told = f"entries of box {box.unit} for {name}"
            missing = Missing(told, box.box.where("entries"))
            yield Need(box.unit, f"pull {name}", name, missing, missing)
            continue
        if (odd := next((key for key in ends if not _readable(graph, key)), None)) is not None:
            missing = Missing(f"a trade size of {odd} that can be read", graph.segments[odd][1].where("size"))
            yield Need(box.unit, f"pull {name}", name, missing, missing)
            continue
        cut = box.box.splices is not False or len(known) == 1
        first, last = known[0], known[-1]
        straight = len(known) == 2 and _OPPOSITE.get(str(first.wall)) == str(last.wall)
        if straight:
            factor = quantity_of(rulebook.number("pull-box-straight"), "multiple, straight pull")
            needed = physics.straight_pull(_larger(graph, ends), factor)
            actual = _measure(box, str(first.wall))
            yield Need(box.unit, f"straight pull {name}", f"straight {name}", needed, actual)
        if cut or not straight:
            walls |= dict.fromkeys(str(entry.wall) for entry in known)
        if not straight and len(known) == 2:
            factor = quantity_of(rulebook.number("pull-box-same-conductor"), "multiple, same conductor")
            needed = physics.entry_spacing(_larger(graph, ends), factor)
            yield Need(
                box.unit,
                f"distance between the entries {name}",
                f"spacing {name}",
                needed,
                _spacing(box, known, name),
            )
    for wall in walls:
        yield Need(
            box.unit,
            f"from the entries in the {wall} wall to the wall opposite",
            f"wall {wall}",
            _angle(graph, rulebook, box, wall),
            _measure(box, wall),
            towards_cover=wall == "back",
        )


def _readable(graph: Graph, key: SegmentId) -> bool:
    """Whether the trade size of a raceway is a number of inches."""
    try:
        trade_size_number(str(graph.segments[key][1].size))
    except ValueError:
        return False
    return True


def _trade_size(graph: Graph, key: SegmentId) -> Quantity:
    """Trade size of a raceway as the rule of pull boxes takes it [in]."""
    segment = graph.segments[key][1]
    text = str(segment.size)
    return Quantity(trade_size_number(text), "in", Given(text, segment.where("size")), f"trade size of {key}")


def _larger(graph: Graph, keys: list[SegmentId]) -> Quantity:
    return max((_trade_size(graph, key) for key in keys), key=lambda size: size.value)


def _measure(box: BoxDesign, wall: str) -> Known:
    name = _ACROSS[wall]
    value: Quantity | None = getattr(box.box, name)
    if value is None:
        return Missing(f"{name} of box {box.unit}", box.box.span)
    return stated_in(value, "in", f"inside {name} of {box.unit}")


def _spacing(box: BoxDesign, entries: list[BoxEntry], name: str) -> Known:
    stated = [entry.to_other_entry for entry in entries if entry.to_other_entry is not None]
    if not stated:
        return Missing(f"to_other_entry of box {box.unit} for {name}", box.box.where("entries"))
    return stated_in(min(stated, key=lambda item: item.value), "in", f"between the entries {name}")


def _angle(graph: Graph, rulebook: Rulebook, box: BoxDesign, wall: str) -> Known:
    rows: dict[int, list[Quantity]] = defaultdict(list)
    for entry in box.entries:
        if str(entry.wall) != wall:
            continue
        size = _entry_size(graph, entry)
        if size is None:
            return Missing(f"size of every entry in the {wall} wall of box {box.unit}", entry.span)
        rows[int(entry.row or 1)].append(size)
    factor = quantity_of(rulebook.number("pull-box-angle"), "multiple, angle pull")
    return physics.angle_pull([rows[row] for row in sorted(rows)], factor)


def _entry_size(graph: Graph, entry: BoxEntry) -> Quantity | None:
    if entry.raceway is not None:
        raceway, _, segment = entry.raceway.partition("/")
        return _trade_size(graph, SegmentId(raceway, segment))
    if entry.size is None:
        return None
    try:
        number = trade_size_number(str(entry.size))
    except ValueError:
        return None
    return Quantity(number, "in", Given(str(entry.size), entry.where("size")), "trade size of the entry")
