"""The pull of every section between two pull points: both directions, three coefficients of friction, every limit.

What is not known is either taken at its worst, and then said so, or makes the whole plan unknown. A bend without
a place stands at whichever end of its stretch pulls harder, in each direction anew; the friction of a slope is
that of an even slope, which no other shape of the same length and climb exceeds.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal, cast

from reportgen.design.circuits import size_key
from reportgen.design.graph import Conductor, Graph, SegmentId
from reportgen.design.missing import Known, Missing, first_missing, known, missing_of
from reportgen.design.policies import Policies
from reportgen.design.raceways import conductor_diameter
from reportgen.design.results import PullSection
from reportgen.engineering.pull_limits import (
    FeedAdvice,
    Limits,
    PullPoint,
    advice_from,
    conductor_limit,
    device_limit,
    further_pull_point,
    stop_value,
)
from reportgen.engineering.pulling import (
    Bend,
    Element,
    Pull,
    Step,
    Straight,
    Turn,
    line_length,
    lubricant,
    pull,
    reverse,
    weight_correction,
    weight_of_bundle,
)
from reportgen.project.layout import Bend as StatedBend
from reportgen.project.layout import RacewaySegment
from reportgen.project.records import Stock
from reportgen.rulebook import standards
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Assumed, Quantity, work

#: Names of the three coefficients of friction, in the order in which pulls are kept.
FRICTIONS = ("lubricated", "middle", "dry")
LUBRICATED, MIDDLE, DRY = range(3)
#: Kinds whose wall a string cuts through when it runs round a bend under tension.
PLASTIC = frozenset({"PVC-40", "PVC-80", "ENT", "LFNC-A", "LFNC-B", "HDPE"})
#: Share of a stretch by which its parts may overlap, or its climb exceed its length: how well a pipe is measured. [-]
_MEASURING = 0.02
#: Straights shorter than this are left by converting units and are none. [ft]
_NOTHING = 1e-3
#: Coefficients of friction above this are no coefficients but slips of the pen. [-]
_MOST_FRICTION = 2.0

Variants = tuple[tuple[Element, ...], ...]
Feed = Literal["start", "end"]
BOTH_ENDS: tuple[Feed, Feed] = ("start", "end")


@dataclass(frozen=True)
class PullDesign:
    """The pull of one section, or what has to be stated before there is one.

    Attributes
    ----------
    wires, staying : tuple of Conductor
        Pulled together, and already in the pipe and staying there.
    weight : Quantity or Missing
        Of everything pulled together. [lbf/ft]
    frictions : tuple of Quantity or Missing
        Lubricated, middle and dry. [-]
    usual_friction : bool
        The usual coefficients stand in for one that is not stated: no verdict rests on them.
    tension_limits : tuple of Quantity or Missing
        Of the conductors, of the grip, and the user's own. [lbf]
    line, sidewall : Quantity or Missing
        Working load of the line [lbf], and the cable maker's pressure [lbf/ft].
    advice : FeedAdvice or Missing
        Pulls in both directions, one for each coefficient of friction.
    """

    section: PullSection
    wires: tuple[Conductor, ...]
    staying: tuple[Conductor, ...]
    weight: Known
    correction: Known
    frictions: tuple[Known, Known, Known]
    usual_friction: bool
    feed_tension: Quantity
    tension_limits: tuple[Known, ...]
    line: Known
    sidewall: Known
    missing: tuple[Missing, ...]
    advice: FeedAdvice | Missing
    length: Quantity
    line_length: Quantity
    lubricant: Known
    stop: Known
    plastic: bool

    @property
    def name(self) -> str:
        """The section in words."""
        return f"{self.section.raceway} {self.section.start} to {self.section.end}"

    @property
    def part(self) -> str:
        """Part of the finding ids."""
        return f"{self.section.start}-{self.section.end}"

    @property
    def feed(self) -> Feed | None:
        """Recommended feed end; the start where both are alike, None where nothing is known."""
        if isinstance(self.advice, Missing):
            return None
        return "end" if self.advice.feed == "end" else "start"

    def place(self, end: Feed) -> str:
        """Id of what stands at an end."""
        return self.section.start if end == "start" else self.section.end

    def pulls(self, feed: Feed) -> tuple[Pull, ...]:
        """Pulls fed from an end, in the order of :data:`FRICTIONS`; empty where nothing is known."""
        if isinstance(self.advice, Missing):
            return ()
        return self.advice.from_start if feed == "start" else self.advice.from_end

    @property
    def limits(self) -> Limits:
        """Limits that are known."""
        listed = (*self.tension_limits, self.line)
        return Limits(
            tuple(limit for limit in listed if isinstance(limit, Quantity)),
            self.sidewall if isinstance(self.sidewall, Quantity) else None,
        )

    @property
    def bends(self) -> bool:
        """Whether the section bends at all."""
        return any(step.pressure is not None for one in self.pulls("start")[:1] for step in one.steps)

    def further_pull_point(self) -> PullPoint | None:
        """Where one more pull point helps most, dry; None where nothing is known or nothing can be cut.

        Counted from the feed end, both parts being pulled in the direction of the whole: its bends stand where they
        are worst for that direction.
        """
        if self.feed is None:
            return None
        run = tuple(step.element for step in self.pulls(self.feed)[DRY].steps)
        dry, correction, weight = self.frictions[DRY], self.correction, self.weight
        assert isinstance(dry, Quantity) and isinstance(correction, Quantity) and isinstance(weight, Quantity)
        return further_pull_point(run, weight, dry, correction, self.limits, self.feed_tension, one_way=True)


def design_pulls(
    graph: Graph, rulebook: Rulebook, policies: Policies, sections: Sequence[PullSection]
) -> tuple[PullDesign, ...]:
    """Pull of every section that new wires are drawn into, in the order of the folder."""
    found = []
    for section in sections:
        inside = {wire.id: wire for key in section.segments for wire in graph.in_segment[key]}
        new = {key for key, wire in inside.items() if graph.project.circuits[wire.circuit].status == "new"}
        wires = tuple(wire for key, wire in inside.items() if key in new)
        staying = tuple(wire for key, wire in inside.items() if key not in new)
        if wires and graph.segments[section.segments[0]][0].status != "removed":
            found.append(_Planner(graph, rulebook, policies, section, wires, staying).design())
    return tuple(found)


class _Planner:
    """Works out one section; a class only because every step shares the same inputs."""

    def __init__(
        self,
        graph: Graph,
        rulebook: Rulebook,
        policies: Policies,
        section: PullSection,
        wires: tuple[Conductor, ...],
        staying: tuple[Conductor, ...],
    ) -> None:
        self.graph, self.rulebook, self.policies, self.section = graph, rulebook, policies, section
        self.wires, self.staying = wires, staying
        self.project = graph.project
        self.stock = self.project.stock or Stock()
        self.place = self.stock.span if self.project.stock else self.project.project.span
        self.name = f"{section.raceway} {section.start} to {section.end}"

    def design(self) -> PullDesign:
        weight, correction = self._weight(), self._correction()
        frictions, usual = self._frictions()
        feed_tension = self.stock.feed_tension or Quantity(
            0.0,
            "lbf",
            Assumed(
                "stock.feed_tension",
                "the wires are fed by hand, so that the reels hold nothing back",
                "common practice, no source",
            ),
            "tension at the feed end",
        )
        stretches = [self._stretch(key) for key in self.section.segments]
        missing = missing_of(*self._mismatches(), weight, correction, *frictions, *stretches)
        limits = (*self._tension_limits(), self._line())
        sidewall = known(
            self.stock.sidewall_limit, "sidewall_limit of stock, from the cable maker", self.place
        )
        advice: FeedAdvice | Missing = missing[0] if missing else Missing("")
        if not missing:
            bounds = Limits(
                tuple(limit.to("lbf") for limit in limits if isinstance(limit, Quantity)),
                sidewall if isinstance(sidewall, Quantity) else None,
            )
            advice = self._advice(
                cast("list[Variants]", stretches),
                weight,
                correction,
                frictions,
                feed_tension.to("lbf"),
                bounds,
            )
            missing = missing_of(advice)
        length = self.section.length.to("ft")
        return PullDesign(
            section=self.section,
            wires=self.wires,
            staying=self.staying,
            weight=weight,
            correction=correction,
            frictions=frictions,
            usual_friction=usual,
            feed_tension=feed_tension,
            tension_limits=limits[:-1],
            line=limits[-1],
            sidewall=sidewall,
            missing=missing,
            advice=advice,
            length=length,
            line_length=line_length(length, self._ends()),
            lubricant=self._lubricant(),
            stop=self._stop(advice, limits, sidewall),
            plastic=any(str(self.graph.segments[key][1].kind) in PLASTIC for key in self.section.segments),
        )

    # What is pulled

    def _mismatches(self) -> Iterator[Missing]:
        raceway = self.project.raceways[self.section.raceway]
        if end := self.graph.open_end(self.section.segments):
            yield Missing(f"{end} of raceway {self.section.raceway}", raceway.span)
        for circuit in dict.fromkeys(
            self.graph.uncounted[key] for key in self.section.segments if key in self.graph.uncounted
        ):
            yield Missing(f"conductors of circuit {circuit}", self.project.circuits[circuit].span)
        here = set(self.section.segments)
        pulled = {wire.circuit for key in here for wire in self.graph.in_segment[key]}
        for gap in (gap for gaps in self.graph.gaps.values() for gap in gaps):
            # It may be pulled through here with the others; of one that is, the stretches left out are told below.
            if gap.circuit not in pulled and (gap.may_pass is None or gap.may_pass & here):
                yield gap.missing
        segments = [self.graph.segments[key][1] for key in self.section.segments]
        for key, segment in zip(self.section.segments, segments, strict=True):
            if "bends" not in segment.model_fields_set:
                # A stretch that lists no bends is one whose bends nobody wrote down.
                yield Missing(
                    f"bends of {key}: measure each angle, or write `bends: []` where it is straight",
                    segment.span,
                )
        seen: set[str] = set()
        wanted = set(self.section.segments)
        for wire in (*self.wires, *self.staying):
            if wire.circuit not in seen and not wanted <= set(wire.through):
                seen.add(wire.circuit)
                left = next(key for key in self.section.segments if key not in wire.through)
                place = self.project.circuits[wire.circuit].where("path")
                yield Missing(f"path of circuit {wire.circuit} through all of {self.name}, {left} too", place)

    def _weight(self) -> Known:
        groups = []
        for (cable, size), count in Counter((wire.cable, wire.size) for wire in self.wires).items():
            row = self.project.cables[cable].of_size(size)
            if row is None or row.mass is None or not row.mass.value > 0:
                place = row.span if row else self.project.cables[cable].span
                return Missing(f"mass of cable {cable} in {size}, from its data sheet", place)
            groups.append((count, row.mass.named(f"mass of {cable} {size}")))
        return weight_of_bundle(groups)

    def _correction(self) -> Known:
        many = len(self.wires)
        given = self.stock.weight_correction
        if given is not None:
            if given.value < 1:
                return Missing(
                    "weight_correction of stock of 1 or more", self.stock.where("weight_correction")
                )
            return given.named("weight correction, stated")
        if many not in {2, 3}:
            return weight_correction(many)
        diameters = [
            conductor_diameter(self.graph, self.rulebook, wire.cable, wire.size) for wire in self.wires
        ]
        bores = [self._bore(key) for key in self.section.segments]
        if missing := first_missing(*diameters, *bores):
            return missing
        # The narrowest pipe and the thickest wire press hardest.
        wide = max(cast("list[Quantity]", diameters), key=lambda one: one.to("in").value)
        narrow = min(cast("list[Quantity]", bores), key=lambda one: one.value)
        ratio = work("pipe over wire", "", "D / d", D=narrow, d=wide.to("in"))
        if ratio.value <= 2:
            return Missing(f"a pipe in {self.name} that holds {many} of its wires side by side", self.place)
        return weight_correction(many, ratio)

    def _bore(self, key: SegmentId) -> Known:
        segment = self.graph.segments[key][1]
        try:
            cell = self.rulebook.bore(str(segment.kind), str(segment.size)).id_in
        except OutsideTable as outside:
            return Missing(f"a table value: {outside}", segment.where("size"))
        return quantity_of(cell, f"inside diameter of {segment.kind} {segment.size}")

    def _frictions(self) -> tuple[tuple[Known, Known, Known], bool]:
        both: list[Known] = []
        usual = False
        for word in ("lubricated", "dry"):
            stated: Quantity | None = getattr(self.stock, f"friction_{word}")
            if stated is not None and not 0 < stated.value <= _MOST_FRICTION:
                place = self.stock.where(f"friction_{word}")
                both.append(Missing(f"friction_{word} of stock between 0 and 1", place))
            elif stated is not None:
                both.append(stated.named(f"friction {word}"))
            else:
                usual = True
                both.append(
                    Quantity(
                        standards.number(f"pull-friction-{word}").number,
                        "",
                        Assumed(
                            f"stock.friction_{word}",
                            "usual coefficient of building wire in pipe; shown for orientation, no verdict rests on it",
                            "common practice, no source",
                        ),
                        f"friction {word}, usual",
                    )
                )
        low, high = both
        if isinstance(low, Missing) or isinstance(high, Missing):
            first = low if isinstance(low, Missing) else cast("Missing", high)
            return (low, first, high), usual
        if low.value > high.value:
            clash = Missing(
                "friction_lubricated of stock no higher than friction_dry",
                self.stock.where("friction_lubricated"),
            )
            return (clash, clash, clash), usual
        middle = work(
            "friction in the middle", "", "(μ_lubricated + μ_dry) / 2", μ_lubricated=low, μ_dry=high
        )
        return (low, middle, high), usual

    # The run

    def _stretch(self, key: SegmentId) -> Variants | Missing:
        """Ways in which a stretch may be made up, from its start to its end: one, or loose bends at either end."""
        segment = self.graph.segments[key][1]
        radii = [self._radius(segment, bend) for bend in segment.bends]
        if missing := first_missing(*radii):
            return missing
        try:
            bends = [
                Bend(
                    bend.angle,
                    cast("Quantity", radius).to("ft"),
                    Turn(str(bend.turn or "level")),
                    f"bend {number} of {key}" if len(radii) > 1 else f"bend of {key}",
                )
                for number, (bend, radius) in enumerate(zip(segment.bends, radii, strict=True), start=1)
            ]
            return _made_up(key, segment, bends)
        except ValueError as error:
            return Missing(f"bends and length of {key} that can be: {error}", segment.where("bends"))

    def _radius(self, segment: RacewaySegment, bend: StatedBend) -> Known:
        own = bend.radius or segment.bend_radius
        if own is not None:
            return own.named("radius of the bend")
        try:
            cell = self.rulebook.bend_radius(str(segment.size), one_shot=True)
        except OutsideTable as outside:
            return Missing(f"bend_radius: {outside}", segment.where("bends"))
        more = Quantity(
            0.0,
            "in",
            Assumed(
                "bend_radius in the pull plan",
                "a bend without a radius has the least radius of a field bend; a wider one presses less",
                "the code's table of field bends",
            ),
            "wider than the least radius by",
        )
        least = quantity_of(cell, "least radius of a field bend")
        return work("radius of the bend", "in", "r_least + Δr", r_least=least, Δr=more)

    def _advice(
        self,
        stretches: Sequence[Variants],
        weight: Known,
        correction: Known,
        frictions: Sequence[Known],
        start: Quantity,
        limits: Limits,
    ) -> FeedAdvice | Missing:
        assert isinstance(weight, Quantity) and isinstance(correction, Quantity)
        back = [tuple(reverse(variant) for variant in variants) for variants in reversed(stretches)]
        try:
            there, other = (
                [
                    _hardest_pull(way, weight, cast("Quantity", friction), correction, start)
                    for friction in frictions
                ]
                for way in (stretches, back)
            )
        except (ValueError, OverflowError):
            there = other = []
        finite = [one for one in (*there, *other) if math.isfinite(one.hardest.after.value)]
        if not finite or len(finite) != len(there) + len(other):
            return Missing(f"friction, bends and masses of {self.name} that can be pulled", self.place)
        return advice_from(there, other, limits)

    # Limits

    def _tension_limits(self) -> Iterator[Known]:
        yield self._conductor_limit()
        grip = self.stock.tension_limit
        if grip is not None:
            yield device_limit(grip.named("stated")).named("what grip or cable maker allows")
        else:
            yield quantity_of(standards.number("pull-grip"), "what a basket grip usually allows")
        if self.policies.pull_limit is not None:
            yield self.policies.pull_limit.to("lbf").named("the user's own limit")

    def _conductor_limit(self) -> Known:
        carrying = [wire for wire in self.wires if wire.carries] or list(self.wires)
        areas: list[Quantity] = []
        stresses = []
        for cable, size in dict.fromkeys((wire.cable, wire.size) for wire in carrying):
            sheet = self.project.cables[cable].of_size(size)
            if sheet is not None and sheet.area is not None and sheet.area.value > 0:
                areas.append(sheet.area.to("cmil").named(f"metal of {size}"))
            else:
                try:
                    cell = self.rulebook.circular_mils(size_key(size))
                except OutsideTable as outside:
                    return Missing(
                        f"area of cable {cable} in {size}: {outside}", self.project.cables[cable].span
                    )
                areas.append(quantity_of(cell, f"metal of {size}"))
            metal = self.project.cables[cable].material
            stresses.append(quantity_of(standards.number(f"pull-stress-{metal}"), f"stress of {metal}"))
        least = min(areas, key=lambda area: area.value)
        stress = min(stresses, key=lambda one: one.value)
        return conductor_limit(least, len(carrying), stress).named("what the conductors may carry")

    def _line(self) -> Known:
        return known(
            self.stock.line_rating, "line_rating of stock: working load of the pull line", self.place
        )

    def _stop(self, advice: FeedAdvice | Missing, limits: Sequence[Known], sidewall: Known) -> Known:
        if isinstance(advice, Missing):
            return advice
        elements = [step.element for step in advice.better[0].steps]
        bends = any(isinstance(element, Bend) for element in elements)
        if missing := first_missing(*limits, *((sidewall,) if bends else ())):
            return missing
        side = sidewall if isinstance(sidewall, Quantity) else None
        made = stop_value(elements, Limits(tuple(cast("Sequence[Quantity]", limits)), side))
        return made if made is not None else Missing("a limit of the pull", self.place)

    # Line and lubricant

    def _ends(self) -> Quantity:
        return self.stock.line_ends or Quantity(
            20.0,
            "ft",
            Assumed(
                "stock.line_ends",
                "10 ft (3 m) of line hang out at each end, to tie on and to take hold of",
                "common practice, no source",
            ),
            "line outside, both ends together",
        )

    def _lubricant(self) -> Known:
        amounts: dict[str, Quantity] = {}
        for number, key in enumerate(self.section.segments, start=1):
            bore = self._bore(key)
            if isinstance(bore, Missing):
                return bore
            amounts[f"V_{number}"] = lubricant(self.graph.segments[key][1].length, bore).named(
                f"lubricant in {key}"
            )
        return work("lubricant", "gal", " + ".join(amounts), **amounts)


def _hardest_pull(
    stretches: Sequence[Variants], weight: Quantity, friction: Quantity, correction: Quantity, start: Quantity
) -> Pull:
    """The pull in one direction with every loose bend where it pulls harder.

    Tension behind a stretch never falls when the tension before it rises, so the worst of each stretch in turn is
    the worst of the whole.
    """
    steps: list[Step] = []
    tension = start
    for variants in stretches:
        made = [pull(variant, weight, friction, correction, tension).steps for variant in variants if variant]
        if not made:
            continue
        worst = max(made, key=lambda one: (one[-1].after.value, _most_pressure(one)))
        steps += worst
        tension = worst[-1].after
    return Pull(tuple(steps), friction)


def _most_pressure(steps: Sequence[Step]) -> float:
    return max((step.pressure.value for step in steps if step.pressure is not None), default=0.0)


def _made_up(key: SegmentId, segment: RacewaySegment, bends: list[Bend]) -> Variants | Missing:
    """Straights and bends of a stretch, from its start to its end."""
    length = segment.length.to("ft").named(f"length of {key}")
    arcs = [bend.run.named(f"arc of {bend.name}") for bend in bends]
    straight = length.value - sum(arc.value for arc in arcs)
    slack = _MEASURING * length.value
    if straight < -slack:
        return Missing(
            f"length of {key} with its elbows: it is shorter than the arcs of its bends, so measure it, or state their radius",
            segment.where("length"),
        )
    fitted = _climbing(segment, bends, max(0.0, straight) + slack)
    if fitted is None:
        return Missing(f"rise of {key} that its length allows", segment.where("rise"))
    bends = fitted
    rise = _rise_left(key, segment, bends)
    placed = sorted(
        (
            (stated.at.to("ft"), bend, arc)
            for stated, bend, arc in zip(segment.bends, bends, arcs, strict=True)
            if stated.at is not None
        ),
        key=lambda item: item[0].value,
    )
    loose = [
        (bend, arc) for stated, bend, arc in zip(segment.bends, bends, arcs, strict=True) if stated.at is None
    ]
    ways = [False, True] if loose else [True]
    made = []
    for late in ways:
        gaps = _gaps(key, length, placed, [arc for _, arc in loose], late=late)
        if gaps is not None:
            between = _sloped(gaps, rise, key)
            row: list[Element] = [*between[:1]]
            for (_, bend, _), behind in zip(placed, between[1:], strict=True):
                row += [bend, behind]
            free = [bend for bend, _ in loose]
            row = [*row, *free] if late else [*free, *row]
            made.append(tuple(one for one in row if isinstance(one, Bend) or one.run.value > _NOTHING))
    if not made:
        return Missing(f"places of the bends of {key} that fit its length", segment.where("bends"))
    return tuple(made)


def _climbing(segment: RacewaySegment, bends: list[Bend], straight: float) -> list[Bend] | None:
    """Bends of a stretch, those without a stated turn climbing where its straights alone cannot make the rise [ft]."""
    if segment.rise is None:
        return bends
    rise = segment.rise.to("ft").value
    signs = {Turn.UP: 1.0, Turn.DOWN: -1.0, Turn.LEVEL: 0.0}
    fitted = list(bends)

    def left() -> float:
        return rise - sum(signs[bend.turn] * bend.climb.value for bend in fitted)

    for number, stated in enumerate(segment.bends):
        if abs(left()) > straight and stated.turn is None:
            fitted[number] = replace(fitted[number], turn=Turn.UP if left() > 0 else Turn.DOWN)
    return fitted if abs(left()) <= straight else None


def _rise_left(key: SegmentId, segment: RacewaySegment, bends: Sequence[Bend]) -> Quantity:
    """Climb that the straights of a stretch make: its whole climb but for that of its bends [ft]."""
    if segment.rise is None:
        return Quantity(
            0.0,
            "ft",
            Assumed(
                "rise of stretches",
                "a stretch without a rise of its own is taken as level",
                "our own default",
            ),
            f"rise of {key}",
        )
    rise = segment.rise.to("ft").named(f"rise of {key}")
    ups = {f"c_{n}": bend.climb for n, bend in enumerate(bends, start=1) if bend.turn is Turn.UP}
    downs = {f"d_{n}": bend.climb for n, bend in enumerate(bends, start=1) if bend.turn is Turn.DOWN}
    if not ups and not downs:
        return rise
    text = "h" + "".join(f" - {name}" for name in ups) + "".join(f" + {name}" for name in downs)
    return work(f"rise of the straights of {key}", "ft", text, h=rise, **ups, **downs)


def _gaps(
    key: SegmentId,
    length: Quantity,
    placed: Sequence[tuple[Quantity, Bend, Quantity]],
    loose: Sequence[Quantity],
    *,
    late: bool,
) -> list[Quantity] | None:
    """Straights before, between and behind the bends with a place; None where they do not fit [ft]."""
    off = {f"a_{number}": arc for number, arc in enumerate(loose, start=1)}
    less = "".join(f" - {name}" for name in off)
    name = f"straight of {key}"
    if not placed and not off:
        return [length.named(name)]
    found: list[Quantity] = []
    if not placed:
        found.append(work(name, "ft", f"L{less}", L=length, **off))
    else:
        early, behind = ("", less) if late else (less, "")
        (first, _, arc), (last, _, end) = placed[0], placed[-1]
        off_early, off_late = ({}, off) if late else (off, {})
        found.append(work(f"first {name}", "ft", f"x - b / 2{early}", x=first, b=arc, **off_early))
        for (one, _, arc), (two, _, other) in pairwise(placed):
            between = f"{name} behind {one.show(1)}"
            found.append(work(between, "ft", "y - x - b / 2 - c / 2", y=two, x=one, b=arc, c=other))
        found.append(
            work(f"last {name}", "ft", f"L - x - b / 2{behind}", L=length, x=last, b=end, **off_late)
        )
    if any(gap.value < -_MEASURING * length.value for gap in found):
        return None
    return [gap if gap.value >= 0 else work(gap.name, "ft", "max(0, l)", l=gap) for gap in found]


def _sloped(gaps: Sequence[Quantity], rise: Quantity, key: SegmentId) -> list[Straight]:
    """Straights that share the climb of their stretch by their length: an even slope."""
    room = sum(gap.value for gap in gaps)
    if abs(rise.value) > room:
        text = "min(h, l)" if rise.value > 0 else "max(h, -l)"
        rise = work(rise.name, "ft", text, h=rise, l=Quantity(room, "ft", None, f"straights of {key}"))
    if len(gaps) == 1 or rise.value == 0:
        return [Straight(gap, rise, gap.name) for gap in gaps]
    whole = work(
        f"straights of {key}",
        "ft",
        " + ".join(f"l_{n}" for n in range(len(gaps))),
        **{f"l_{n}": gap for n, gap in enumerate(gaps)},
    )
    return [
        Straight(
            gap, work(f"climb of {gap.name}", "ft", "h * l / l_all", h=rise, l=gap, l_all=whole), gap.name
        )
        for gap in gaps
    ]
