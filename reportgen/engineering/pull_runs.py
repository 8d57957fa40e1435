"""Runs between two pull points: ordered rows of straights and bends, and the same run from its other end.

Lengths are in feet; quantities in other units are converted.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from reportgen.engineering.raceway import arc_length
from reportgen.working.quantity import Number, Quantity, Working, quantity, work

#: Share of a length by which a rise may exceed it: what converting units costs.
_ROUNDING = 1e-9


class Turn(StrEnum):
    """Where a bend leads, in the direction of the pull."""

    LEVEL = "level"
    UP = "up"
    DOWN = "down"


_BACK = {Turn.LEVEL: Turn.LEVEL, Turn.UP: Turn.DOWN, Turn.DOWN: Turn.UP}


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight stretch, level or sloping.

    Parameters
    ----------
    length : float or Quantity
        Along the raceway. [ft]
    rise : float or Quantity
        Climb in the direction of the pull, downhill negative; the whole length in a riser. [ft]
    name : str
        For the working, for instance ``trench``.
    """

    length: Number
    rise: Number = 0.0
    name: str = "straight"

    def __post_init__(self) -> None:
        length, rise = quantity(self.length, "ft").value, quantity(self.rise, "ft").value
        if not length >= 0 or not math.isfinite(length):
            msg = f"length of {self.name} is {length:g} ft"
            raise ValueError(msg)
        if not abs(rise) <= length * (1 + _ROUNDING):
            msg = f"{self.name} rises {rise:g} ft over a length of {length:g} ft"
            raise ValueError(msg)

    @property
    def reversed(self) -> Straight:
        """The same straight in the other direction."""
        return replace(self, rise=_turned(self.rise))

    @property
    def run(self) -> Quantity:
        """Length along the raceway [ft]."""
        return quantity(self.length, "ft").named(f"length of {self.name}")


def _turned(rise: Number) -> Number:
    """A climb seen from the other end; turned back it is the one given, with its own origin."""
    if not isinstance(rise, Quantity) or not rise.value:
        return rise if isinstance(rise, Quantity) else -rise
    if isinstance(rise.origin, Working) and rise.origin.formula.text == "-h":
        return rise.origin.terms[0][1]
    return work(f"{rise.name or 'climb'}, the other way", rise.unit, "-h", h=rise)


@dataclass(frozen=True, slots=True)
class Bend:
    """A bend between straights.

    Parameters
    ----------
    angle : float or Quantity
        By which the direction changes. [°]
    radius : float or Quantity
        To the centre line. [ft]
    turn : Turn
        ``LEVEL`` in a level plane, ``UP`` and ``DOWN`` between level and a slope above or below it, in the
        direction of the pull.
    name : str
        For the working, for instance ``elbow at the riser``.
    """

    angle: Number
    radius: Number
    turn: Turn = Turn.LEVEL
    name: str = "bend"

    def __post_init__(self) -> None:
        angle, radius = quantity(self.angle, "deg").value, quantity(self.radius, "ft").value
        if not (angle >= 0 and radius > 0 and math.isfinite(angle) and math.isfinite(radius)):
            msg = f"{self.name} turns {angle:g} degrees on a radius of {radius:g} ft"
            raise ValueError(msg)

    @property
    def reversed(self) -> Bend:
        """The same bend in the other direction."""
        return replace(self, turn=_BACK[self.turn])

    @property
    def run(self) -> Quantity:
        """Length of the arc along its centre line [ft]."""
        return arc_length(quantity(self.radius, "ft").to("in"), self.angle).to("ft")

    @property
    def climb(self) -> Quantity:
        """Height between the two ends of the arc, where one of them is level [ft]."""
        return work(
            f"height of {self.name}",
            "ft",
            "r * (1 - cos(π / 180 * φ))",
            r=quantity(self.radius, "ft"),
            φ=quantity(self.angle, "deg"),
            π=math.pi,
        )


Element = Straight | Bend


def reverse(run: Sequence[Element]) -> tuple[Element, ...]:
    """The run as it is passed from its other end: order and climbs turned round.

    Examples
    --------
    >>> [element.name for element in reverse([Straight(8, 8, "riser"), Bend(90, 1, Turn.UP, "elbow")])]
    ['elbow', 'riser']
    """
    return tuple(element.reversed for element in reversed(run))


def run_length(run: Sequence[Element]) -> Quantity:
    """Length of a run along its centre line, arcs included [ft].

    Examples
    --------
    >>> run_length([Straight(180), Bend(90, 8.25 / 12)]).value
    181.08
    """
    terms = {f"L_{index}": element.run for index, element in enumerate(run, start=1)}
    return work("length of the run", "ft", " + ".join(terms), **terms)
