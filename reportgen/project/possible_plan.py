"""What no plan of a site can be: coordinates of a map, directions off the compass, outlines without an area."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.diagnostics.model import Sink
from reportgen.project.model import Project
from reportgen.project.plan import Point

_CODE = "impossible-value"
#: Farthest point from the origin. [m]
_FAR = 2000.0


def check_plan(project: Project, sink: Sink) -> None:
    """Report places on the plan of the site that cannot be, each where it stands.

    Parameters
    ----------
    project : Project
        Typed, its references checked.
    sink : Sink
        Receives the diagnostics.
    """
    plan = project.site.plan
    if plan is not None and plan.up is not None and not -360.0 <= plan.up.value <= 360.0:
        help = "compass direction in which y grows, north 0 deg, east 90 deg"
        sink.error(_CODE, f"direction `{plan.up.show()}` cannot be", plan.where("up"), help=help)
    for array in project.arrays.values():
        if 0 < len(array.outline) < 3:
            help = "give its corners in order around it, three or more"
            sink.error(
                _CODE, f"an outline has {len(array.outline)} corners", array.where("outline"), help=help
            )
    for point in _points(project):
        for name, value in (("x", point.x), ("y", point.y)):
            if abs(value.to("m").value) > _FAR:
                help = "count from an origin on the site, not from that of a map"
                sink.error(
                    _CODE,
                    f"{name} `{value.show()}` is more than {_FAR:.0f} m from the origin of the plan",
                    point.where(name),
                    help=help,
                )


def _points(project: Project) -> Iterator[Point]:
    for array in project.arrays.values():
        yield from array.outline
    for raceway in project.raceways.values():
        for segment in raceway.segments.values():
            yield from segment.course
    yield from (data.at for _, data in project.installed() if data.at is not None)
