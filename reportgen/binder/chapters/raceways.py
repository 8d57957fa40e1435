"""Raceways: every stretch with what is in it, how full it is and what would fit; bends, cover, supports, movement."""

from __future__ import annotations

from reportgen.binder.chapters import pipes
from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.figures import sections
from reportgen.binder.chapters.plan import complete, plan
from reportgen.binder.chapters.profiles import profiles
from reportgen.binder.chapters.sketch import sketch
from reportgen.binder.chapters.trenches import trenches
from reportgen.binder.elements import Caution, Chapter, Element, Heading, Paragraph
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.missing import Missing
from reportgen.design.raceways import fullest_stretches
from reportgen.working.quantity import quantity


def chapter(desk: Desk) -> Chapter:
    """Stretches, pull sections and the working of each fill."""
    workings: list[Element] = []
    for stretch in desk.design.facts.stretches:
        workings += desk.working(stretch.fill, "raceway", str(stretch.id), "fill", rule="fill")
    workings += _further_workings(desk)
    elements: list[Element] = [
        Caution(
            "Before digging",
            "Have buried services marked and wait the legal time before breaking ground; private lines are not marked by "
            "the public service. Slope or shore a trench of 1.5 m (5 ft) and more, earlier in poor soil.",
            "OSHA 1926.651 and 652; local law",
        ),
        Caution(
            "Pulling",
            "Stand clear of a line under tension. An old pipe is proven with a mandrel and a swab before wire is bought.",
            "common practice, no source",
        ),
        desk.keep(_stretches(desk)).table(),
        desk.keep(_sections(desk)).table(),
        *profiles(desk, pulled=False),
        *sections(desk),
        *_not_drawn(desk),
        Heading("What would fit"),
        *(desk.keep(schedule).table() for schedule in pipes.options(desk) if schedule.lines),
        *_around(desk),
        *trenches(desk),
        *plan(desk),
        *(() if complete(desk) else sketch(desk)),
        Heading("Working"),
        *workings,
    ]
    return Chapter(
        "raceways",
        "Raceways",
        "Whether the wires fit, stretch by stretch, and whether they can be pulled round the bends.",
        tuple(elements),
    )


def _further_workings(desk: Desk) -> list[Element]:
    """Cover that comes from a trench, and thermal movement."""
    facts = desk.design.facts
    made: list[Element] = []
    for item in facts.surroundings.covers:
        made += [
            *desk.working(item.actual, "cover", str(item.id), "actual", rule="cover"),
            *desk.working(item.trench, "cover", str(item.id), "trench", rule="cover"),
        ]
    for straight in facts.movement:
        made += [
            *desk.working(
                straight.change, "movement", straight.raceway, straight.part, "change", rule="expansion"
            ),
            *desk.working(straight.longest, "movement", straight.raceway, straight.part, "longest"),
            *desk.working(
                straight.swing, "movement", straight.raceway, straight.part, "swing", rule="expansion"
            ),
        ]
        for celsius, opening in straight.settings:
            at = quantity(celsius, "degC").to(desk.units.temperature).show(0)
            made += desk.working(
                opening.to(desk.units.small),
                "movement",
                straight.raceway,
                straight.part,
                f"opening with the pipe at {at}",
            )
    return made


def _not_drawn(desk: Desk) -> list[Element]:
    """Stretches without a cross-section, because a diameter is not known."""
    missing = [
        str(stretch.id)
        for stretch in desk.design.facts.stretches
        if stretch.conductors and (isinstance(stretch.occupied, Missing) or isinstance(stretch.bore, Missing))
    ]
    if not missing:
        return []
    return [Paragraph(f"Not drawn, because a diameter or the bore is not known: {', '.join(missing)}.")]


def _around(desk: Desk) -> list[Element]:
    """Bends, cover, supports and movement, where there are any."""
    found = (pipes.covers(desk), pipes.bends(desk), pipes.supports(desk), pipes.movement(desk))
    tables = [desk.keep(schedule).table() for schedule in found if schedule.lines]
    return [Heading("In the ground, on the wall, in the sun"), *tables] if tables else []


def _stretches(desk: Desk) -> Schedule:
    lines = []
    fullest = fullest_stretches(desk.design.facts.stretches)
    for stretch in desk.design.facts.stretches:
        segment = stretch.segment
        lines.append(
            Line(
                {
                    "stretch": str(stretch.id),
                    "status": stretch.raceway.status_of(segment),
                    "kind": f"{segment.kind} {segment.size}",
                    "place": str(segment.place),
                    "length": segment.length,
                    "cover": segment.cover or "",
                    "carry": str(stretch.carrying),
                    "space": str(len(stretch.conductors)),
                    "bore": stretch.bore,
                    "occupied": stretch.occupied,
                    "fill": desk.judged(stretch.fill, "raceway-fill", subject=str(stretch.id)),
                    "limit": stretch.limit,
                    "governs": "yes" if stretch.id in fullest else "",
                }
            )
        )
    units = desk.units
    fields = (
        Field("stretch", "Stretch"),
        Field("status", "Status"),
        Field("kind", "Pipe"),
        Field("place", "Place"),
        Field("length", "Length", units.length, 1),
        Field("cover", "Cover", units.small, units.fine),
        Field("carry", "carry current", group="Conductors that", align="right"),
        Field("space", "take space", group="Conductors that", align="right"),
        Field("bore", "bore", units.area, units.places(3, 1), "Area"),
        Field("occupied", "wires", units.area, units.places(4, 2), "Area"),
        Field("fill", "Fill", "%", 1),
        Field("limit", "Limit", "%", 0, at_most=True),
        Field("governs", "Governs"),
    )
    notes = (
        "Grounds take space and do not carry current. Cover is measured from the top of the pipe to grade. Workings keep the "
        "unit of the table that they rest on.",
    )
    return Schedule("raceways", "Raceways by stretch", fields, tuple(lines), notes, wide=True)


def _sections(desk: Desk) -> Schedule:
    worst = {f.part: f.outcome for f in desk.findings("raceway-bends")}
    lines = tuple(
        Line(
            {
                "raceway": section.raceway,
                "from": section.start,
                "to": section.end,
                "stretches": ", ".join(segment.segment for segment in section.segments),
                "length": section.length,
                "bends": Marked(section.bends, worst.get(f"{section.start}-{section.end}")),
            }
        )
        for section in desk.design.facts.sections
    )
    fields = (
        Field("raceway", "Raceway"),
        Field("from", "From"),
        Field("to", "To"),
        Field("stretches", "Stretches"),
        Field("length", "Length", desk.units.length, 1),
        Field("bends", "Bends together", "deg", 0),
    )
    return Schedule("pull-sections", "Sections between pull points", fields, lines)
