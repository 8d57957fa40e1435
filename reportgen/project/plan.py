"""Plan of the site: where coordinates count from, which way they point, and a point on it."""

from __future__ import annotations

from pydantic import Field

from reportgen.project.values import Angle, RealLength, Section, SignedLength, Text


class Point(Section):
    """A point on the plan of the site."""

    x: SignedLength = Field(description="To the right of the origin, left of it negative")
    y: SignedLength = Field(description="Up the plan from the origin, below it negative")


class SitePlan(Section):
    """What the coordinates of a site count from."""

    origin: Text = Field(description="What stands at x = 0, y = 0, so that it is found again")
    up: Angle | None = Field(
        None, description="Compass direction in which y grows, north 0°, east 90°; turns the north arrow"
    )
    accuracy: RealLength | None = Field(None, description="How far a coordinate may be off")
