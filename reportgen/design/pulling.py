"""The pull of every section between two pull points: both directions, three coefficients of friction, every limit.

What is not known is either taken at its worst, and then said so, or makes the whole plan unknown.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import cast

from reportgen.design.circuits import size_key
from reportgen.design.graph import Conductor, Graph, SegmentId
from reportgen.design.missing import Known, Missing, first_missing, known, missing_of
from reportgen.design.policies import Policies
from reportgen.design.pull_design import PullDesign
from reportgen.design.pull_stretches import Variants, hardest_pull, made_up
from reportgen.design.raceways import conductor_diameter, metal_area
from reportgen.design.results import PullSection
from reportgen.engineering.pull_advice import FeedAdvice, advice_from
from reportgen.engineering.pull_bundle import weight_correction, weight_of_bundle
from reportgen.engineering.pull_limits import Limits, conductor_limit, device_limit, stop_value
from reportgen.engineering.pull_runs import Bend, Turn, reverse
from reportgen.engineering.pulling import line_length, lubricant
from reportgen.project.layout import Bend as StatedBend
from reportgen.project.layout import RacewaySegment
from reportgen.project.records import Stock
from reportgen.rulebook import standards
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Assumed, Quantity, work

#: Kinds whose wall a string cuts through when it runs round a bend under tension.
PLASTIC = frozenset({"PVC-40", "PVC-80", "ENT", "LFNC-A", "LFNC-B", "HDPE"})
#: Coefficients of friction above this are no coefficients but slips of the pen. [-]
_MOST_FRICTION = 2.0


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
                "the wires are fed by hand, so that nothing holds them back",
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
            metal = self._metal(cable, size)
            if metal is not None and row.mass.to("kg/km").value < metal:
                what = f"mass of cable {cable} in {size}: {row.mass.show()} is less than its metal alone"
                return Missing(what, row.where("mass"))
            groups.append((count, row.mass.named(f"mass of {cable} {size}")))
        return weight_of_bundle(groups)

    def _metal(self, cable: str, size: str) -> float | None:
        """Mass of the metal of a conductor alone; None where its cross-section is not known [kg/km]."""
        area = metal_area(self.graph, self.rulebook, cable, size)
        if isinstance(area, Missing):
            return None
        density = standards.number(f"density-{self.project.cables[cable].material}").number
        # square millimetres times grams a cubic centimetre are kilograms a kilometre
        return area.value * density

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
            return made_up(key, segment, bends)
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
                    hardest_pull(way, weight, cast("Quantity", friction), correction, start)
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
