"""Courses of raceways on the plan of the site: how long they are drawn, against the length stated, and whether they meet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from reportgen.design.graph import Graph, SegmentId
from reportgen.diagnostics.model import Span
from reportgen.project.layout import RacewaySegment
from reportgen.project.model import Project
from reportgen.project.plan import Point
from reportgen.working.quantity import Assumed, Quantity, work

_ACCURACY = Quantity(
    0.5,
    "m",
    Assumed(
        "accuracy of plan",
        "nobody stated how far a coordinate of the plan may be off; half a metre by tape and by eye",
        "common practice, no source",
    ),
    "accuracy of a coordinate",
)
_EXACT = Quantity(
    0.0,
    "%",
    Assumed(
        "length_tolerance of a raceway with a course on the plan",
        "not stated; its lengths are taken as measured exactly, which asks the sooner",
        "common practice, no source",
    ),
    "tolerance of the length",
)


@dataclass(frozen=True, slots=True)
class CourseDesign:
    """A stretch of raceway on the plan.

    Attributes
    ----------
    drawn : Quantity
        Length of its course with its climb, corners drawn sharp. [m]
    off : Quantity
        How far that is from the length stated. [m]
    allowed : Quantity
        How far it may be, by tolerance of the length and accuracy of the plan. [m]
    level : bool
        No climb is stated; it is taken as level.
    """

    id: SegmentId
    stated: Quantity
    drawn: Quantity
    off: Quantity
    allowed: Quantity
    level: bool
    span: Span


@dataclass(frozen=True, slots=True)
class Joint:
    """Two ends on the plan that are one place, and how far apart they are drawn, in metres."""

    raceway: str
    one: str
    other: str
    apart: Quantity
    allowed: Quantity
    span: Span


def design_courses(graph: Graph) -> tuple[CourseDesign, ...]:
    """Every stretch with a course, in the order of the folder; removed raceways left out."""
    found = []
    for key, (raceway, segment) in graph.segments.items():
        if not segment.course or raceway.status_of(segment) == "removed":
            continue
        rise = segment.rise
        climb = rise if rise is not None else Quantity(0.0, "m", _level(key), "climb")
        course = _course(segment, key)
        drawn = work(
            f"course of {key} with its climb", "m", "sqrt(P ** 2 + h ** 2)", P=course, h=climb.to("m")
        )
        stated = segment.length.to("m")
        found.append(
            CourseDesign(
                key,
                stated,
                drawn,
                work(f"length of {key} off its course", "m", "abs(L - D)", L=stated, D=drawn),
                work(
                    f"how far the length of {key} may be off its course",
                    "m",
                    "L * t / 100 + 2 * a",
                    L=stated,
                    t=raceway.length_tolerance or _EXACT,
                    a=_accuracy(graph.project),
                ),
                rise is None,
                segment.where("course"),
            )
        )
    return tuple(found)


def joints(graph: Graph) -> Iterator[Joint]:
    """Ends of courses against the next course, and against the box, switch or inverter that the raceway names there."""
    accuracy = _accuracy(graph.project)
    allowed = work("how far two ends of one place may be drawn apart", "m", "2 * a", a=accuracy)
    for name, raceway in graph.project.raceways.items():
        if raceway.status == "removed":
            continue
        ends: list[tuple[str, Point | None, Point | None]] = []
        for key, segment in raceway.segments.items():
            first, last = (segment.course[0], segment.course[-1]) if segment.course else (None, None)
            ends.append((f"{name}/{key}", first, last))
            if segment.ends_at:
                place = place_of(graph.project, str(segment.ends_at))
                ends.append((str(segment.ends_at), place, place))
        for end, at in ((raceway.ends_at, len(ends)), (raceway.starts_at, 0)):
            if end:
                place = place_of(graph.project, str(end))
                ends.insert(at, (str(end), place, place))
        for (one, _, before), (other, after, _) in pairwise(ends):
            if before is not None and after is not None and one != other:
                apart = _distance(before, after, f"{one} from {other} on the plan")
                yield Joint(name, one, other, apart, allowed, after.span)


def place_of(project: Project, unit: str) -> Point | None:
    """Where a device stands on the plan."""
    return next((data.at for name, data in project.installed() if name == unit), None)


def _accuracy(project: Project) -> Quantity:
    plan = project.site.plan
    return plan.accuracy.to("m") if plan is not None and plan.accuracy is not None else _ACCURACY


def _level(key: SegmentId) -> Assumed:
    return Assumed(
        f"rise of {key}",
        "not stated; taken as level where its course on the plan is held against its length",
        "common practice, no source",
    )


def _course(segment: RacewaySegment, key: SegmentId) -> Quantity:
    """Length of a course seen from above; nothing where it is one point."""
    pieces = [
        _distance(one, other, f"piece {number} of the course of {key}")
        for number, (one, other) in enumerate(pairwise(segment.course), start=1)
    ]
    if not pieces:
        return Quantity(0.0, "m", name=f"course of {key}, upright on the plan")
    if len(pieces) == 1:
        return pieces[0]
    names = [f"P_{number}" for number in range(1, len(pieces) + 1)]
    return work(
        f"course of {key} from above", "m", " + ".join(names), **dict(zip(names, pieces, strict=True))
    )


def _distance(one: Point, other: Point, name: str) -> Quantity:
    return work(
        name,
        "m",
        "sqrt((x_2 - x_1) ** 2 + (y_2 - y_1) ** 2)",
        x_1=one.x.to("m"),
        y_1=one.y.to("m"),
        x_2=other.x.to("m"),
        y_2=other.y.to("m"),
    )


def metres(points: Sequence[Point]) -> tuple[tuple[float, float], ...]:
    """Points as numbers, in metres."""
    return tuple((point.x.to("m").value, point.y.to("m").value) for point in points)
