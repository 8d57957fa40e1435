"""Boxes: which conductors pass them, what room those need, and by which openings they come in.

What passes a box follows from the ends of the raceway segments; nothing is listed twice. What the folder does not say
(splices, clamps, blocks of terminals) is counted both ways, and a check gives a verdict only where both agree.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from reportgen.design.circuits import size_key
from reportgen.design.graph import Conductor, Graph, SegmentId
from reportgen.design.missing import Known, Missing
from reportgen.engineering import boxes as physics
from reportgen.engineering.candidates import reaches
from reportgen.project.equipment import Box, BoxEntry
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.rulebook.sizes import compare_sizes
from reportgen.working.quantity import Quantity, work


@dataclass(frozen=True, slots=True)
class Passage:
    """One conductor in a box; None where it starts or ends there, or where its way is not known."""

    wire: Conductor
    ground: bool
    enters: SegmentId | None
    leaves: SegmentId | None


@dataclass(frozen=True, slots=True)
class BoxDesign:
    """One installed box with what is in it.

    Attributes
    ----------
    large : tuple of str
        Sizes for which the rule of pull boxes holds and the table of volumes has no row.
    least, most : Quantity or Missing
        Volume needed by what is known, and by everything that the folder leaves open as well. [in³]
    open : tuple of str
        Keys of the box that would close the gap between the two.
    loops_open : tuple of str
        Circuits whose `extra` would.
    volume : Quantity or Missing
        Volume of the box. [in³]
    """

    unit: str
    type: str
    box: Box
    passages: tuple[Passage, ...]
    entries: tuple[BoxEntry, ...]
    large: tuple[str, ...]
    least: Known
    most: Known
    open: tuple[str, ...]
    volume: Known
    loops_open: tuple[str, ...] = ()


def design_boxes(graph: Graph, rulebook: Rulebook) -> tuple[BoxDesign, ...]:
    """Every box that stands or will stand, in the order of the folder."""
    passing = passages(graph)
    return tuple(
        _box(graph, rulebook, str(unit), str(key), box, passing.get(str(unit), []))
        for key, box in graph.project.boxes.items()
        for unit, installed in box.units.items()
        if installed.status != "removed"
    )


def passages(graph: Graph) -> Mapping[str, list[Passage]]:
    """Conductors by box, each once for every time that it passes, starts or ends there."""
    boxes = {str(unit) for box in graph.project.boxes.values() for unit in box.units}
    if not boxes:
        return {}
    wires: dict[str, list[Conductor]] = defaultdict(list)
    for wire in graph.conductors:
        wires[wire.circuit].append(wire)
    ends = {key: (graph.enclosure_before(key), graph.enclosure_after(key)) for key in graph.segments}
    found: dict[str, list[Passage]] = defaultdict(list)
    for name, many in wires.items():
        circuit = graph.project.circuits[name]
        met = list(_met(many[0].through, ends))
        listed = {unit for unit, _, _ in met}
        met += [(unit, None, None) for unit in map(str, circuit.enclosures) if unit not in listed]
        for unit, enters, leaves in met:
            if unit not in boxes:
                continue
            ground = circuit.kind == "ground"
            found[unit] += [Passage(wire, ground, enters, leaves) for wire in many]
    return found


def _met(
    through: Sequence[SegmentId], ends: Mapping[SegmentId, tuple[str, str]]
) -> Iterator[tuple[str, SegmentId | None, SegmentId | None]]:
    """Enclosures along a way, with the segment before and behind each."""
    if not through:
        return
    if len(through) == 1:
        before, after = ends[through[0]]
        yield from ((unit, None, through[0]) for unit in (before,) if unit)
        yield from ((unit, through[0], None) for unit in (after,) if unit and unit != before)
        return
    shared = [
        {unit for unit in ends[one] if unit} & {unit for unit in ends[two] if unit}
        for one, two in pairwise(through)
    ]
    yield from (
        (unit, None, through[0]) for unit in dict.fromkeys(ends[through[0]]) if unit and unit not in shared[0]
    )
    for units, (one, two) in zip(shared, pairwise(through), strict=True):
        yield from ((unit, one, two) for unit in sorted(units))
    yield from (
        (unit, through[-1], None)
        for unit in dict.fromkeys(ends[through[-1]])
        if unit and unit not in shared[-1]
    )


def _box(
    graph: Graph, rulebook: Rulebook, unit: str, key: str, box: Box, passing: list[Passage]
) -> BoxDesign:
    entries = tuple(
        entry for entry in box.entries if entry.unit == unit or (entry.unit is None and len(box.units) == 1)
    )
    large = tuple(dict.fromkeys(p.wire.size for p in passing if is_large(rulebook, p.wire.size)))
    least: Known
    most: Known
    if not passing:
        least = most = Missing(f"a conductor in box {unit}", box.span)
        left_open: tuple[str, ...] = ()
        loops: tuple[str, ...] = ()
    else:
        counting = _Counting(graph, rulebook, box, passing)
        least, most, left_open = counting.needed(most=False), counting.needed(most=True), counting.left_open
        loops = counting.loops_open
    volume = _volume(rulebook, unit, box)
    return BoxDesign(unit, key, box, tuple(passing), entries, large, least, most, left_open, volume, loops)


def is_large(rulebook: Rulebook, size: str) -> bool:
    """Whether the rule of pull boxes holds for a conductor; a metric size is none of its sizes."""
    try:
        return compare_sizes(size_key(size), rulebook.number("pull-box-smallest-size").value) >= 0
    except ValueError:
        return False


class _Counting:
    """Counts what is in a box, with the least and the most that the folder leaves open."""

    def __init__(self, graph: Graph, rulebook: Rulebook, box: Box, passing: list[Passage]) -> None:
        self.graph, self.rulebook, self.box, self.passing = graph, rulebook, box, passing

    @property
    def left_open(self) -> tuple[str, ...]:
        """Keys of the box that would make the count certain."""
        box = self.box
        names = []
        if box.splices is None and not box.terminal_ids:
            names.append("splices")
        if box.internal_clamps is None:
            names.append("internal_clamps")
        if box.terminal_ids and box.terminal_blocks is None and self._allowance("terminal-block"):
            names.append("terminal_blocks")
        return tuple(names)

    @property
    def loops_open(self) -> tuple[str, ...]:
        """Circuits that do not say whether they lie in the box as a loop."""
        wires = (passage.wire for passage in self.passing if not passage.ground)
        return tuple(
            dict.fromkeys(
                wire.circuit for wire in wires if self.graph.project.circuits[wire.circuit].extra is None
            )
        )

    def needed(self, *, most: bool) -> Known:
        """Volume that the box must have [in³]."""
        volumes = self._volumes()
        if isinstance(volumes, Missing):
            return volumes
        largest = max(volumes.values(), key=lambda volume: volume.value)
        cut = bool(self.box.splices or self.box.terminal_ids) or (most and self.box.splices is None)
        items = [*self._conductors(volumes, cut=cut, most=most), *self._grounds(volumes, cut=cut)]
        clamps = self.box.internal_clamps or (most and self.box.internal_clamps is None)
        stated = self.box.terminal_blocks
        # One block holds all terminals, or each terminal is a block of its own.
        some = len(self.box.terminal_ids) if most else min(1, len(self.box.terminal_ids))
        blocks = some if stated is None else int(stated)
        for name, item, count in (
            ("internal clamps", "clamps", int(bool(clamps))),
            ("devices on yokes", "device", int(self.box.yokes or 0)),
            ("blocks of terminals", "terminal-block", blocks),
        ):
            allowance = self._allowance(item)
            if count and allowance is not None:
                items.append(physics.BoxItem(name, count, allowance, largest))
        return physics.box_fill(items)

    def _allowance(self, item: str) -> Quantity | None:
        """Conductor volumes of an item; None in editions that do not count it."""
        try:
            return quantity_of(self.rulebook.box_allowance(item).allowances, f"volumes for each {item}")
        except OutsideTable:
            return None

    def _volumes(self) -> dict[str, Quantity] | Missing:
        found: dict[str, Quantity] = {}
        for passage in self.passing:
            size = passage.wire.size
            if size in found:
                continue
            try:
                cell = self.rulebook.box_conductor_volume(size_key(size))
            except OutsideTable as outside:
                return Missing(f"a table value: {outside}", self.box.span)
            found[size] = quantity_of(cell, f"volume of {size}")
        return found

    def _conductors(
        self, volumes: Mapping[str, Quantity], *, cut: bool, most: bool
    ) -> Iterator[physics.BoxItem]:
        counts: Counter[tuple[str, str]] = Counter()
        loop = quantity_of(self.rulebook.number("box-loop-length"))
        for passage in self.passing:
            if passage.ground:
                continue
            extra = self.graph.project.circuits[passage.wire.circuit].extra
            # The length in boxes is not told box by box, so each one is taken to hold the loop.
            looped = not cut and (most if extra is None else reaches(extra.to(loop.unit), loop))
            item = "conductor" if cut else "looped-conductor" if looped else "passing-conductor"
            # A conductor that is cut in the box comes in as one and goes out as another.
            counts[passage.wire.size, item] += 2 if cut else 1
        for (size, item), count in counts.items():
            allowance = self._allowance(item)
            assert allowance is not None
            yield physics.BoxItem(f"{size}, {item.replace('-', ' ')}", count, allowance, volumes[size])

    def _grounds(self, volumes: Mapping[str, Quantity], *, cut: bool) -> Iterator[physics.BoxItem]:
        sizes = [passage.wire.size for passage in self.passing if passage.ground]
        if not sizes:
            return
        first, further = self._allowance("grounding-first-four"), self._allowance("grounding-each-further")
        assert first is not None and further is not None
        together = quantity_of(self.rulebook.number("box-grounds-together"), "grounds that count together")
        count = len(sizes) * (2 if cut else 1)
        allowances = physics.grounding_allowances(count, together, first, further)
        largest = max((volumes[size] for size in sizes), key=lambda volume: volume.value)
        yield physics.BoxItem("grounds", 1, allowances, largest)


def _volume(rulebook: Rulebook, unit: str, box: Box) -> Known:
    """Volume of a box: as marked or listed, never more than its inside measures give [in³]."""
    measures = [box.length, box.width, box.depth]
    inside: Known = Missing(f"volume of box {unit}, or its inside length, width and depth", box.span)
    if all(item is not None for item in measures):
        a, b, c = (item.to("in") for item in measures if item is not None)
        inside = work("volume inside", "in3", "a * b * c", a=a, b=b, c=c)
    marked: Known = inside
    if box.volume is not None:
        marked = box.volume.to("in3").named("volume marked")
    elif box.standard_box is not None:
        try:
            marked = quantity_of(rulebook.box_volume(str(box.standard_box)), f"volume of {box.standard_box}")
        except OutsideTable as outside:
            marked = Missing(f"a table value: {outside}", box.where("standard_box"))
    if isinstance(marked, Quantity) and isinstance(inside, Quantity) and inside.value < marked.value:
        return inside
    return marked


def wire_names(passages_in: Sequence[Passage]) -> str:
    """How many conductors of each size are in a box, in words."""
    counts = Counter((passage.wire.size, passage.ground) for passage in passages_in)
    return ", ".join(
        f"{count} × {size}{' ground' if ground else ''}" for (size, ground), count in counts.items()
    )
