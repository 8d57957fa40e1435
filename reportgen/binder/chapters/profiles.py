"""Profiles of the raceways: what each strip of :mod:`reportgen.binder.drawings.profile` is made of."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from reportgen.binder.chapters.base import Desk
from reportgen.binder.drawings.profile import MOST, ProfileSection, ProfileStretch, profile
from reportgen.binder.elements import Figure, anchor
from reportgen.design.graph import SegmentId
from reportgen.design.missing import Known
from reportgen.design.pull_design import DRY, FRICTIONS, LUBRICATED, PullDesign
from reportgen.design.results import PullSection
from reportgen.engineering.pull_runs import Bend
from reportgen.engineering.pulling import Pull
from reportgen.working.quantity import Quantity, quantity

_PENS = {"new": "heavy", "existing": "line", "removed": "dotted"}


def profiles(desk: Desk, *, pulled: bool) -> Iterator[Figure]:
    """Strips of the raceways that something is pulled into, or of the others; several for one of many stretches."""
    facts = desk.design.facts
    planned = {item.section.segments: item for item in facts.pulls}
    covers = {item.id: item.actual for item in facts.surroundings.covers}
    for key in facts.project.raceways:
        sections = [one for one in facts.sections if one.raceway == key]
        if sections and pulled == any(one.segments in planned for one in sections):
            parts = _parts(sections)
            for number, part in enumerate(parts, start=1):
                yield _strip(desk, str(key), part, planned, covers, (number, len(parts)))


def _parts(sections: Sequence[PullSection]) -> list[list[tuple[PullSection, bool]]]:
    """Sections dealt out over strips; one with more stretches than a strip holds is cut, and then said not to be whole."""
    parts: list[list[tuple[PullSection, bool]]] = [[]]
    for section in sections:
        count = len(section.segments)
        for start in range(0, count, MOST):
            piece = replace(
                section,
                segments=section.segments[start : start + MOST],
                start=section.start if not start else "goes on",
                end=section.end if start + MOST >= count else "goes on",
            )
            if parts[-1] and sum(len(one.segments) for one, _ in (*parts[-1], (piece, True))) > MOST:
                parts.append([])
            parts[-1].append((piece, count <= MOST))
    return parts


def _strip(
    desk: Desk,
    raceway: str,
    sections: Sequence[tuple[PullSection, bool]],
    planned: Mapping[tuple[SegmentId, ...], PullDesign],
    covers: Mapping[SegmentId, Known],
    sheet: tuple[int, int],
) -> Figure:
    stretches: list[ProfileStretch] = []
    made: list[ProfileSection] = []
    for section, whole in sections:
        first = len(stretches)
        stretches += [_stretch(desk, key, covers) for key in section.segments]
        if whole:
            made.append(_section(desk, section, planned.get(section.segments), first))
        else:
            told = f"{section.start} to {section.end}: part of a longer section, whose pull stands in the tables."
            made.append(ProfileSection(first, len(stretches) - 1, section.start, section.end, told))
    title = f"Profile of {raceway}: {sections[0][0].start} to {sections[-1][0].end}"
    if sheet[1] > 1:
        title += f", part {sheet[0]} of {sheet[1]}"
    told = "Not to scale. Thick line: new pipe; thin: existing; a dot is a bend with a stated place."
    unit = quantity(0, desk.units.force).unit_printed
    return profile(anchor("profile", raceway, str(sheet[0])), title, told, stretches, made, FRICTIONS, unit)


def _stretch(desk: Desk, key: SegmentId, covers: Mapping[SegmentId, Known]) -> ProfileStretch:
    units = desk.units
    raceway, segment = desk.design.facts.graph.segments[key]
    length = segment.length
    lines = []
    if key in covers:
        cover = covers[key]
        lines.append(
            f"cover {units.both(cover, 'small', units.fine)}"
            if isinstance(cover, Quantity)
            else "cover not stated"
        )
    if segment.rise is not None:
        rise = units.both(Quantity(abs(segment.rise.value), segment.rise.unit), "length", units.places(1, 2))
        lines.append(f"{'climbs' if segment.rise.value >= 0 else 'falls'} {rise}")
    elif key not in covers:
        lines.append("climb not stated")
    whole = length.to("m").value
    return ProfileStretch(
        whole,
        str(segment.place),
        _PENS[raceway.status_of(segment)],
        (
            key.segment,
            str(segment.place),
            f"{segment.kind} {segment.size}",
            units.both(length, "length", units.places(0, 1)),
            _bends(
                [(bend.angle, bend.at is not None) for bend in segment.bends],
                "bends" in segment.model_fields_set,
            ),
            ", ".join(lines),
        ),
        tuple(
            min(max(bend.at.to("m").value / whole, 0.0), 1.0) for bend in segment.bends if bend.at is not None
        ),
    )


def _bends(bends: Sequence[tuple[Quantity, bool]], listed: bool) -> str:
    if not bends:
        return "none" if listed else "not stated"
    counted: dict[str, int] = {}
    for angle, _ in bends:
        counted[f"{angle.keyed}°"] = counted.get(f"{angle.keyed}°", 0) + 1
    told = ", ".join(f"{count} × {angle}" if count > 1 else angle for angle, count in counted.items())
    return told if all(placed for _, placed in bends) else f"{told}, no place stated"


def _section(desk: Desk, section: PullSection, plan: PullDesign | None, first: int) -> ProfileSection:
    units = desk.units
    part = f"{section.start}-{section.end}"
    limits = [f.limit for f in desk.findings("raceway-bends", subject=section.raceway) if f.part == part]
    bends = f"bends {section.bends.show(0)}"
    if limits and limits[0] is not None:
        bends += f" of at most {limits[0].show(0, at_most=True)}"
    told = f"{section.start} to {section.end}: {units.both(section.length, 'length', units.places(0, 1))}, {bends}"
    last = first + len(section.segments) - 1
    feed = plan.feed if plan is not None else None
    if plan is None or feed is None:
        state = (
            "nothing new is pulled" if plan is None else f"pull not worked out, state {plan.missing[0].what}"
        )
        return ProfileSection(first, last, section.start, section.end, f"{told}; {state}.")
    pulls = plan.pulls(feed)
    whole = sum(step.element.run.value for step in pulls[DRY].steps)
    known = [limit for limit in (*plan.tension_limits, plan.line) if isinstance(limit, Quantity)]
    lowest = min(known, key=lambda limit: limit.to("lbf").value, default=None)
    dry, wet = (units.both(pulls[index].hardest.after, "force", 0) for index in (DRY, LUBRICATED))
    told += f"; fed from {plan.place(feed)}: dry {dry}, lubricated {wet} at most"
    if lowest is not None:
        told += f"; lowest limit {units.both(lowest, 'force', 0, at_most=True)}, {lowest.name or 'line'}"
    if len(known) < len(plan.tension_limits) + 1:
        told += "; a limit is not stated"

    def place(distance_ft: float) -> float:
        return quantity(distance_ft if feed == "start" else whole - distance_ft, "ft").to("m").value

    return ProfileSection(
        first,
        last,
        section.start,
        section.end,
        f"{told}.",
        feed == "start",
        tuple(
            tuple((place(x), quantity(t, "lbf").to(units.force).value) for x, t in _track(one))
            for one in pulls
        ),
        tuple(tuple(sorted(map(place, band))) for band in _bands(pulls[DRY])),  # type: ignore[misc]
        lowest.to(units.force).value if lowest is not None else None,
    )


def _track(one: Pull) -> Iterator[tuple[float, float]]:
    """Distance from the feed end and tension, at every joint; a bend is drawn as a line between its ends [ft, lbf]."""
    at = 0.0
    yield at, one.steps[0].before.value
    for step in one.steps:
        at += step.element.run.value
        yield at, step.after.value


def _bands(one: Pull) -> Iterator[tuple[float, float]]:
    """Ends of every bend from the feed end [ft]."""
    at = 0.0
    for step in one.steps:
        if isinstance(step.element, Bend):
            yield at, at + step.element.run.value
        at += step.element.run.value
