"""Tension of conductors pulled through a raceway, element by element, and what they press on in its bends.

A run between two pull points is an ordered row of straights and bends. Friction adds tension along a straight and
multiplies it around a bend (the law of the capstan), so the same run pulls easier from one end than from the other.
Tensions are in pounds of force, lengths in feet; quantities in other units are converted. What the tensions may be
is :mod:`reportgen.engineering.pull_limits`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from reportgen.engineering.groups import sum_of_groups
from reportgen.engineering.raceway import arc_length
from reportgen.rulebook import standards
from reportgen.rulebook.rulebook import quantity_of
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

    @classmethod
    def inclined(cls, length: Number, angle: Number, name: str = "straight") -> Straight:
        """Straight that climbs at an angle above level, downhill negative [°]."""
        slope = math.radians(quantity(angle, "deg").value)
        rise = work("climb", "ft", "L * sin_θ", L=quantity(length, "ft"), sin_θ=math.sin(slope))
        return cls(length, rise, name)

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


@dataclass(frozen=True, slots=True)
class Step:
    """What happens in one element of a run.

    Parameters
    ----------
    element : Straight or Bend
        As passed in this direction.
    before, after : Quantity
        Tension where the head enters and leaves it. [lbf]
    pressure : Quantity or None
        Sidewall pressure at the exit of a bend, None in a straight. [lbf/ft]
    """

    element: Element
    before: Quantity
    after: Quantity
    pressure: Quantity | None

    @property
    def runs_free(self) -> bool:
        """Whether the conductors slide by their own weight, so that the reel has to be held back."""
        return self.after.value == 0 < self.element.run.value and _falls(self.element)


@dataclass(frozen=True, slots=True)
class Pull:
    """A run pulled in one direction.

    Parameters
    ----------
    steps : tuple of Step
        In the order in which the head passes them.
    friction : Quantity
        Coefficient. [-]
    """

    steps: tuple[Step, ...]
    friction: Quantity

    @property
    def end(self) -> Quantity:
        """Tension at the winch when the head arrives [lbf]."""
        return self.steps[-1].after

    @property
    def hardest(self) -> Step:
        """Step with the greatest tension; a downhill end has its greatest before the winch."""
        return max(self.steps, key=lambda step: step.after.value)

    @property
    def worst_bend(self) -> Step | None:
        """Bend with the greatest sidewall pressure; None where nothing bends."""
        bends = [step for step in self.steps if step.pressure is not None]
        return max(bends, key=lambda step: step.pressure.value if step.pressure else 0.0, default=None)


def weight_of_bundle(groups: Sequence[tuple[int, Quantity]]) -> Quantity:
    """Weight per length of all conductors pulled together, grounds included [lbf/ft].

    A pound of mass weighs one pound of force, so the figure is that of the masses.

    Parameters
    ----------
    groups : sequence of (int, Quantity)
        Number of like conductors and mass per length of one, in any unit of mass per length.

    Raises
    ------
    ValueError
        If there is no group.

    Examples
    --------
    >>> weight_of_bundle([(16, Quantity(0.040, "lb/ft")), (1, Quantity(0.065, "lb/ft"))]).value
    0.705
    """
    in_pounds = [(count, mass.to("lb/ft")) for count, mass in groups]
    return sum_of_groups("weight of the bundle", "lbf/ft", "m", in_pounds, "no conductor to pull")


class Lie(StrEnum):
    """How three conductors of one size lie in a raceway."""

    CRADLED = "cradled"
    TRIANGULAR = "triangular"


def weight_correction(
    conductors: int, ratio: Number | None = None, given: Number | None = None, lie: Lie = Lie.CRADLED
) -> Quantity:
    """Factor by which conductors side by side press harder on a raceway than their weight alone [-].

    Parameters
    ----------
    conductors : int
        Pulled together, grounds included.
    ratio : float or Quantity, optional
        Inside diameter of the raceway over the diameter of one conductor, wanted for two and three of one
        size. [-]
    given : float or Quantity, optional
        From the cable maker's manual, which then holds. [-]
    lie : Lie
        For three conductors; cradled gives the greater factor.

    Raises
    ------
    ValueError
        If two or three conductors come without a ratio, or with one that they do not fit into.

    Notes
    -----
    Two lie as two of the triangle. Formulas recalled from IEEE Std 1185; above three conductors the makers'
    usual figure stands in, recalled as well.

    Examples
    --------
    >>> weight_correction(3, 3.0).value, weight_correction(3, 3.0, lie=Lie.TRIANGULAR).value
    (1.3333, 1.1547)
    """
    if given is not None:
        return quantity(given)
    if conductors < 1:
        msg = f"{conductors} conductors to pull"
        raise ValueError(msg)
    if conductors == 1:
        return Quantity(1.0, "", None, "weight correction of a single conductor")
    if conductors > 3:
        return quantity_of(standards.number("weight-correction-many"), "weight correction")
    if ratio is None or not quantity(ratio).value > 2:
        msg = "two or three conductors need a raceway of more than twice their diameter"
        raise ValueError(msg)
    cradled = conductors == 3 and lie is Lie.CRADLED
    text = "1 + 4 / 3 * (1 / (q - 1)) ** 2" if cradled else "1 / sqrt(1 - (1 / (q - 1)) ** 2)"
    return work("weight correction", "", text, q=ratio)


def pull(
    run: Sequence[Element], weight: Number, friction: Number, correction: Number, start: Number = 0.0
) -> Pull:
    """Tension after every element of a run and pressure in every bend, in one direction.

    Parameters
    ----------
    run : sequence of Straight or Bend
        From the feed end to the winch.
    weight : float or Quantity
        Of everything pulled. [lbf/ft]
    friction : float or Quantity
        Coefficient between jacket and raceway. [-]
    correction : float or Quantity
        Weight correction factor. [-]
    start : float or Quantity
        Tension where the conductors enter: what the reels hold back [lbf].

    Raises
    ------
    ValueError
        If the run is empty, or friction, weight or start is negative.

    Notes
    -----
    Straight: T + w · (rise + μ · w_c · level distance). Bend: T · exp(μ · w_c · θ), and its height times the weight
    where it climbs or falls; the friction of the weight inside a bend is left out, as in makers' manuals, because
    the tension presses much harder. Below zero the conductors run free and the tension is zero.

    Examples
    --------
    >>> run = [Straight(100), Bend(45, 10), Straight(80), Bend(90, 10)]
    >>> [round(step.after.value, 2) for step in pull(run, 0.144, 0.5, 1).steps]
    [7.2, 10.66, 16.42, 36.02]
    """
    if not run:
        msg = "a run without elements"
        raise ValueError(msg)
    weight, tension = quantity(weight, "lbf/ft"), quantity(start, "lbf")
    friction, correction = quantity(friction), quantity(correction)
    for what, number in (("weight", weight), ("friction", friction), ("tension at the feed end", tension)):
        if not number.value >= 0:
            msg = f"{what} is {number.value:g}"
            raise ValueError(msg)
    steps = []
    for element in run:
        if isinstance(element, Bend):
            after = _after_bend(element, tension, weight, friction, correction)
            pressure = work(
                f"sidewall pressure in {element.name}",
                "lbf/ft",
                "T / r",
                T=after,
                r=quantity(element.radius, "ft"),
            )
            steps.append(Step(element, tension, after, pressure))
        else:
            after = _after_straight(element, tension, weight, friction, correction)
            steps.append(Step(element, tension, after, None))
        tension = after
    return Pull(tuple(steps), friction)


def reverse(run: Sequence[Element]) -> tuple[Element, ...]:
    """The run as it is passed from its other end: order and climbs turned round.

    Examples
    --------
    >>> [element.name for element in reverse([Straight(8, 8, "riser"), Bend(90, 1, Turn.UP, "elbow")])]
    ['elbow', 'riser']
    """
    return tuple(element.reversed for element in reversed(run))


def _after_straight(
    element: Straight, tension: Quantity, weight: Quantity, friction: Quantity, correction: Quantity
) -> Quantity:
    rise = quantity(element.rise, "ft")
    name = f"tension after {element.name}"
    if rise.value == 0:
        return work(
            name, "lbf", "T + L * w * μ * w_c", T=tension, L=element.run, w=weight, μ=friction, w_c=correction
        )
    level = work(
        f"level distance of {element.name}", "ft", "sqrt(max(0, L ** 2 - h ** 2))", L=element.run, h=rise
    )
    text = "T + w * (h + μ * w_c * s)"
    if rise.value < 0:
        text = f"max(0, {text})"
    return work(name, "lbf", text, T=tension, w=weight, h=rise, μ=friction, w_c=correction, s=level)


def _after_bend(
    element: Bend, tension: Quantity, weight: Quantity, friction: Quantity, correction: Quantity
) -> Quantity:
    terms: dict[str, Number] = {
        "T": tension,
        "μ": friction,
        "w_c": correction,
        "π": math.pi,
        "φ": quantity(element.angle, "deg"),
    }
    text = "T * exp(μ * w_c * π / 180 * φ)"
    if element.turn is not Turn.LEVEL:
        terms |= {"w": weight, "h": element.climb}
        text = f"{text} + w * h" if element.turn is Turn.UP else f"max(0, {text} - w * h)"
    return work(f"tension after {element.name}", "lbf", text, **terms)


def _falls(element: Element) -> bool:
    if isinstance(element, Bend):
        return element.turn is Turn.DOWN
    return quantity(element.rise).value < 0


def run_length(run: Sequence[Element]) -> Quantity:
    """Length of a run along its centre line, arcs included [ft].

    Examples
    --------
    >>> run_length([Straight(180), Bend(90, 8.25 / 12)]).value
    181.08
    """
    terms = {f"L_{index}": element.run for index, element in enumerate(run, start=1)}
    return work("length of the run", "ft", " + ".join(terms), **terms)


def line_length(run_ft: Number, ends: Number) -> Quantity:
    """Length that a pull line needs: the run and what hangs out at both ends together [ft].

    Examples
    --------
    >>> line_length(198, 20).value
    218.0
    """
    return work("length of the pull line", "ft", "L + e", L=quantity(run_ft, "ft"), e=quantity(ends, "ft"))


def lubricant(length_ft: Number, bore_in: Number) -> Quantity:
    """Lubricant that coats the inside of a raceway once [gal].

    Parameters
    ----------
    length_ft : float or Quantity
        Of the run. [ft]
    bore_in : float or Quantity
        Inside diameter [in].

    Notes
    -----
    A film of about a hundredth of an inch; long runs with many bends take more. Source: American Polywater,
    Technical Talk XVII.

    Examples
    --------
    >>> lubricant(1000, 4).value
    6.0
    """
    return work(
        "lubricant",
        "gal",
        "K * L * D",
        K=quantity_of(standards.number("lubricant-film"), "film of lubricant"),
        L=quantity(length_ft, "ft"),
        D=quantity(bore_in, "in"),
    )
