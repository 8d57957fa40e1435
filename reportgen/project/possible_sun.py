"""What no place, sky or array can be: shares beyond the whole, directions off the compass, eleven months in a year."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.diagnostics.model import Sink
from reportgen.project.layout import HorizonPoint, Site
from reportgen.project.model import Project
from reportgen.project.values import Section
from reportgen.working.months import MONTHS
from reportgen.working.quantity import Quantity

_CODE = "impossible-value"
#: Least and greatest value of each field in its own unit, and how it is written.
_RANGES: dict[str, tuple[tuple[str, float, float, str], ...]] = {
    "Site": (
        ("latitude", -90.0, 90.0, "north of the equator up to 90 deg, south of it down to -90 deg"),
        ("longitude", -180.0, 180.0, "east of Greenwich up to 180 deg, west of it down to -180 deg"),
        ("utc_offset", -14.0, 14.0, "hours ahead of UTC, west negative"),
        ("albedo", 0.0, 1.0, "a share of one, near 0.2 for grass"),
    ),
    "Array": (
        ("tilt", 0.0, 90.0, "0 deg lies flat, 90 deg stands upright"),
        ("azimuth", -360.0, 360.0, "north 0 deg, east 90 deg, south 180 deg"),
        ("rear_gain", 0.0, 99.0, "seldom more than 15 %"),
    ),
    "Module": (("bifaciality", 0.0, 100.0, "seldom more than 90 %"),),
    "HorizonPoint": (
        ("azimuth", -360.0, 360.0, "north 0 deg, east 90 deg"),
        ("elevation", -90.0, 90.0, "height of the skyline over the level"),
    ),
}


def check_sun(project: Project, sink: Sink) -> None:
    """Report values of the site, its sky and its arrays that cannot be, each with its place.

    Parameters
    ----------
    project : Project
        Typed, its references checked.
    sink : Sink
        Receives the diagnostics.
    """
    for section in _of_the_sun(project):
        for field, least, most, usual in _RANGES[type(section).__name__]:
            value = getattr(section, field)
            if isinstance(value, Quantity) and not least <= value.value <= most:
                words = field.replace("_", " ")
                sink.error(_CODE, f"{words} `{value.show()}` cannot be", section.where(field), help=usual)
    _months(project.site, sink)
    _skyline(project.site.horizon, sink)


def _of_the_sun(project: Project) -> Iterator[Section]:
    yield project.site
    yield from project.site.horizon
    yield from project.arrays.values()
    yield from project.modules.values()


def _months(site: Site, sink: Sink) -> None:
    for field in ("soiling", "snow"):
        shares: list[Quantity] = getattr(site, field)
        if shares and len(shares) != MONTHS:
            help = "give one for each month, or leave the list out"
            sink.error(_CODE, f"`{field}` has {len(shares)} figures", site.where(field), help=help)
        elif not all(0.0 <= share.value <= 100.0 for share in shares):
            help = "the share of light lost in each month, 0 % to 100 %"
            sink.error(
                _CODE, f"a share of `{field}` is not between 0 % and 100 %", site.where(field), help=help
            )


def _skyline(points: list[HorizonPoint], sink: Sink) -> None:
    seen: dict[float, HorizonPoint] = {}
    for point in points:
        direction = point.azimuth.value % 360.0
        if direction in seen:
            help = "give one height for each direction; a step needs two directions beside each other"
            first = [(seen[direction].where("azimuth"), "the first one is here")]
            sink.error(
                _CODE,
                f"the skyline has two heights in direction `{point.azimuth.show()}`",
                point.where("azimuth"),
                help=help,
                related=first,
            )
        seen.setdefault(direction, point)
