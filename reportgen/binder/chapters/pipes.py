"""Schedules of the raceway chapter: what would fit, cover, supports and bends, thermal movement."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.missing import Missing
from reportgen.design.movement import SETTINGS, MovementDesign
from reportgen.design.pipe_options import pipe_options, raceway_options
from reportgen.working.quantity import Quantity, quantity


def options(desk: Desk) -> tuple[Schedule, Schedule]:
    """What would fit into each stretch, and into each raceway as a whole."""
    facts = desk.design.facts
    found = pipe_options(facts.graph, facts.rulebook, facts.stretches)
    lines = tuple(
        Line(
            {
                "stretch": str(option.stretch.id),
                "status": option.stretch.raceway.status_of(option.stretch.segment),
                "pipe": f"{option.stretch.segment.kind} {option.stretch.segment.size}",
                "fill": option.stretch.fill,
                "limit": option.stretch.limit,
                "smallest": _or_none(option.smallest),
                "smallest_fill": option.smallest_fill,
                "largest": _or_none(option.largest) if option.pair else "",
                "further": _or_none(option.further) if option.pair else "",
                "pair": option.pair,
            }
        )
        for option in found
    )
    fields = (
        Field("stretch", "Stretch"),
        Field("status", "Status"),
        Field("pipe", "Pipe"),
        Field("fill", "Fill", "%", 1),
        Field("limit", "Limit", "%", 0, at_most=True),
        Field("smallest", "trade size", group="Smallest pipe that does"),
        Field("smallest_fill", "its fill", "%", 1, "Smallest pipe that does"),
        Field("largest", "Largest string wire", align="right"),
        Field("further", "further strings", group="Room for", align="right"),
        Field("pair", "each a pair of", group="Room for"),
    )
    notes = (
        "The largest string wire is the size that all string conductors of the stretch could have in their own make, the "
        "others as they are. Rounding up for conductors of one size is left out.",
        "What fits is not what is permitted: more conductors lower the ampacity of all, and fill says nothing of the pull.",
    )
    per_stretch = Schedule(
        "pipe-options", "What would fit, stretch by stretch", fields, lines, notes, wide=True
    )
    whole = tuple(
        Line(
            {
                "raceway": option.raceway,
                "largest": _or_none(option.largest),
                "largest_in": option.largest_in or "no larger one to be had",
                "further": _or_none(option.further),
                "pair": option.pair,
                "further_in": option.further_in,
            }
        )
        for option in raceway_options(facts.graph, facts.rulebook, found)
    )
    whole_fields = (
        Field("raceway", "Raceway"),
        Field("largest", "Largest string wire", align="right"),
        Field("largest_in", "decided in"),
        Field("further", "Further strings", align="right"),
        Field("pair", "each a pair of"),
        Field("further_in", "decided in"),
    )
    return per_stretch, Schedule("raceway-options", "What would fit from end to end", whole_fields, whole)


def _or_none(value: object) -> object:
    if isinstance(value, Missing):
        return value
    return str(value) if value != "" else "none"


def covers(desk: Desk) -> Schedule:
    """Cover of buried stretches and the trench it takes."""
    lines = []
    for item in desk.design.facts.surroundings.covers:
        subject = str(item.id)
        surface = item.segment.surface or ("as below" if len(item.places) == 1 else "not stated")
        lines.append(
            Line(
                {
                    "stretch": subject,
                    "pipe": f"{item.segment.kind} {item.segment.size}",
                    "surface": str(surface),
                    "cover": desk.judged(item.actual, "raceway-cover", subject=subject),
                    "least": item.most,
                    "by": item.most_place,
                    "trench": item.trench,
                    "burial": {"permitted": "yes", "not": "no"}.get(item.use.burial, "ask"),
                }
            )
        )
    units = desk.units
    fields = (
        Field("stretch", "Stretch"),
        Field("pipe", "Pipe"),
        Field("surface", "Above it"),
        Field("cover", "Cover", units.small, units.fine, both=True),
        Field(
            "least",
            "Least",
            units.small,
            units.fine,
            "By the place that asks for most",
            both=True,
            at_most=False,
        ),
        Field("by", "place", group="By the place that asks for most"),
        Field("trench", "Least trench", units.small, units.fine, both=True, at_most=False),
        Field("burial", "May lie in earth"),
    )
    notes = (
        "Cover is counted from the top of the pipe to grade; the trench is deeper by the pipe and the bedding under it.",
    )
    return Schedule("cover", "Cover of buried stretches", fields, tuple(lines), notes)


def supports(desk: Desk) -> Schedule:
    """Supports of stretches above ground, a line for the installer where nothing is stated."""
    lines = tuple(
        Line(
            {
                "stretch": str(item.id),
                "pipe": f"{item.segment.kind} {item.segment.size}",
                "spacing": _stated(
                    desk, item.segment.support_spacing, str(item.id), "supports", "raceway-support"
                ),
                "most": item.spacing,
                "first": _stated(desk, item.segment.first_support, str(item.id), "first", "raceway-support"),
                "first_most": item.first,
            }
        )
        for item in desk.design.facts.surroundings.supports
    )
    length, places = desk.units.length, desk.units.places(1, 2)
    fields = (
        Field("stretch", "Stretch"),
        Field("pipe", "Pipe"),
        Field("spacing", "stated", length, places, "Spacing"),
        Field("most", "at most", length, places, "Spacing", both=True, at_most=True),
        Field("first", "stated", length, places, "First from a box or fitting"),
        Field(
            "first_most", "at most", length, places, "First from a box or fitting", both=True, at_most=True
        ),
    )
    notes = (
        "Where nothing is stated, put the supports no farther apart than this, and state it once they stand.",
    )
    return Schedule("supports", "Supports above ground", fields, lines, notes)


def _stated(desk: Desk, value: Quantity | None, subject: str, part: str, code: str) -> object:
    if value is None:
        return "not stated"
    worst = [f.outcome for f in desk.findings(code, subject=subject) if f.part == part]
    return Marked(value, worst[0] if worst else None)


def bends(desk: Desk) -> Schedule:
    """Every bend with its radius against the least one."""
    worst = {(f.subject, f.part): f.outcome for f in desk.findings("raceway-bend-radius")}
    lines = tuple(
        Line(
            {
                "stretch": str(item.id),
                "bend": str(item.number),
                "angle": item.segment.bends[item.number - 1].angle,
                "made": str(item.segment.bends_made or "not stated"),
                "radius": Marked(item.radius, worst.get((str(item.id), f"bend {item.number}"))),
                "one_shot": item.one_shot,
                "other": item.other,
                "inside": "" if isinstance(item.radius, Missing) else item.inside,
                "wire": item.wire_limit if item.wire_limit is not None else "not stated",
            }
        )
        for item in desk.design.facts.surroundings.radii
    )
    small, places = desk.units.small, desk.units.places(2, 1)
    fields = (
        Field("stretch", "Stretch"),
        Field("bend", "Bend", align="right"),
        Field("angle", "Angle", "deg", 0),
        Field("made", "Made by"),
        Field("radius", "Radius", small, places, both=True),
        Field("one_shot", "one-shot bender", small, places, "Least radius", both=True, at_most=False),
        Field("other", "other bender", small, places, "Least radius", both=True, at_most=False),
        Field("inside", "Inside radius", small, places),
        Field("wire", "Wire's maker asks", small, places, at_most=False),
    )
    notes = (
        "Least radii are those of field bends, to the centre line; a factory elbow is held to the first.",
    )
    return Schedule("bends", "Radius of bends", fields, lines, notes, wide=True)


def movement(desk: Desk) -> Schedule:
    """Thermal movement of straight plastic runs, with the setting of their fittings."""
    worst = {(f.subject, f.part): f.outcome for f in desk.findings("raceway-expansion")}
    lines = tuple(
        Line(
            {
                "straight": _where(item),
                "length": item.length,
                "swing": item.swing,
                "change": Marked(
                    item.change,
                    worst.get((item.raceway, item.part)),
                    desk.anchors.get(item.change, "") if isinstance(item.change, Quantity) else "",
                ),
                "longest": item.longest,
                "travel": item.travel if item.travel is not None else "not stated",
                **{f"at_{celsius}": opening for celsius, opening in item.settings},
            }
        )
        for item in desk.design.facts.movement
    )
    units = desk.units
    small, places = units.small, units.places(2, 1)
    fields = (
        Field("straight", "Straight run"),
        Field("length", "Length", units.length, 2),
        Field("swing", "Swing", units.swing, 1),
        Field("change", "Change", small, places, both=True),
        Field("longest", "No fitting below", units.length, 1, at_most=True),
        Field("travel", "Travel", small, units.fine),
        *(
            Field(
                f"at_{celsius}",
                quantity(celsius, "degC").to(units.temperature).show(0),
                small,
                places,
                "Open the fitting by, with the pipe at",
            )
            for celsius in SETTINGS
        ),
    )
    notes = (
        "Measure the temperature of the pipe and not of the air, and set the piston of the fitting while it is put in.",
        "Steel pipe moves about a fifth as much and is not judged here.",
    )
    return Schedule("expansion", "Thermal movement above ground", fields, lines, notes, wide=True)


def _where(item: MovementDesign) -> str:
    first, last = item.segments[0], item.segments[-1]
    name = str(first) if first == last else f"{first} to {last.segment}"
    return name if item.sure else f"{name}, at most"
