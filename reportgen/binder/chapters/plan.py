"""Plan of the site to scale: what the folder gives places for, with the lengths of courses beside those stated."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.drawings.site_plan import NAMES, Bar, Course, Outline, Spot, scale_of, site_plan
from reportgen.binder.elements import Figure, anchor
from reportgen.design.site_plan import metres
from reportgen.project.equipment import Installed
from reportgen.working.quantity import Quantity

#: Metres of a foot; steps of the scale bar.
_FOOT = 0.3048
_STEPS = (1.0, 2.0, 5.0)
#: Longest scale bar on the sheet. [CSS px]
_BAR = 150.0
#: Devices nearer to each other than this on the sheet share a mark. [CSS px]
_NEAR = 9.0
_PX = 96 / 25.4 * 1000


def plan(desk: Desk) -> Iterator[Figure]:
    """One sheet where places are stated; nothing where none is, or where they are more than a sheet holds."""
    project = desk.design.project
    outlines = [
        Outline(str(key), metres(array.outline))
        for key, array in project.arrays.items()
        if array.outline and array.status != "removed"
    ]
    units = {unit: kind for unit, kind in _units(desk).items() if kind.at is not None}
    courses = _courses(desk)
    points = [at for outline in outlines for at in outline.corners] + [at for c in courses for at in c.points]
    points += [metres([unit.at])[0] for unit in units.values() if unit.at is not None]
    if len(points) < 2 or len(outlines) + len(units) + len({course.name for course in courses}) > NAMES:
        return
    ratio = scale_of(points)
    stated = project.site.plan
    up = stated.up.value % 360.0 if stated is not None and stated.up is not None else None
    yield site_plan(
        anchor("site-plan"),
        "Plan of the site",
        "To scale, by the places that the folder states; courses of raceways with sharp corners.",
        outlines,
        _spots(units, ratio),
        courses,
        _bar(desk, ratio),
        up,
        [*_basis(desk, ratio, up), *_lengths(desk), *_left_out(desk)],
    )


def complete(desk: Desk) -> bool:
    """Whether every raceway is on the plan, so that a sketch would add nothing."""
    segments = desk.design.facts.graph.segments.values()
    return all(segment.course for raceway, segment in segments if raceway.status != "removed")


def _units(desk: Desk) -> dict[str, Installed]:
    return {unit: data for unit, data in desk.design.project.installed() if data.status != "removed"}


def _courses(desk: Desk) -> list[Course]:
    return [
        Course(key.raceway, metres(segment.course), segment.place == "underground")
        for key, (raceway, segment) in desk.design.facts.graph.segments.items()
        if segment.course and raceway.status_of(segment) != "removed"
    ]


def _spots(units: dict[str, Installed], ratio: int) -> list[Spot]:
    """Marks; devices that would share one are named together."""
    groups: list[tuple[tuple[float, float], list[str], list[bool]]] = []
    for name, unit in units.items():
        if unit.at is None:
            continue
        (at,) = metres([unit.at])
        for place, names, inside in groups:
            if math.dist(place, at) * _PX / ratio < _NEAR:
                names.append(name)
                inside.append(bool(unit.inside))
                break
        else:
            groups.append((at, [name], [bool(unit.inside)]))
    return [Spot(", ".join(names), at, all(inside)) for at, names, inside in groups]


def _bar(desk: Desk, ratio: int) -> Bar:
    imperial = desk.units.imperial
    one = _FOOT if imperial else 1.0
    longest = _BAR * ratio / _PX / one
    decade = 10.0 ** math.floor(math.log10(longest))
    number = max(step * decade for step in _STEPS if step * decade <= longest)
    length = Quantity(number * one, "m")
    return Bar(length.value, desk.units.both(length, "length", desk.units.places(0, 1)))


def _basis(desk: Desk, ratio: int, up: float | None) -> Iterator[str]:
    stated = desk.design.project.site.plan
    told = f"1 : {ratio} where the sheet is printed in full size; else measure by the bar."
    origin = f"Origin: {stated.origin}." if stated is not None else "What stands at the origin is not stated."
    north = "" if up is None else f" Up on the sheet is {up:.0f}° from north, clockwise."
    yield f"{told} {origin}{north} Dashed: in earth. Grey: in a building."


def _lengths(desk: Desk) -> Iterator[str]:
    """Each raceway with its stretches, the length stated and that of the course."""
    units = desk.units
    drawn = {item.id: item for item in desk.design.facts.courses}
    told: dict[str, list[str]] = defaultdict(list)
    for key, (raceway, segment) in desk.design.facts.graph.segments.items():
        if raceway.status == "removed":
            continue
        words = f"{key.segment} {units.both(segment.length, 'length', units.places(0, 1))} {segment.place}"
        item = drawn.get(key)
        if item is not None:
            words += f", drawn {units.both(item.drawn, 'length', units.places(0, 1))}"
        else:
            words += ", not drawn"
        told[key.raceway].append(words)
    for name, stretches in told.items():
        yield f"{name}: {'; '.join(stretches)}."


def _left_out(desk: Desk) -> Iterator[str]:
    project = desk.design.project
    silent = [
        str(key) for key, array in project.arrays.items() if not array.outline and array.status != "removed"
    ]
    silent += [name for name, unit in _units(desk).items() if unit.at is None]
    if silent:
        yield f"No place stated, not drawn: {', '.join(silent)}."
