"""Tension of conductors pulled through a raceway, element by element, and what they press on in its bends.

Friction adds tension along a straight and multiplies it around a bend (the law of the capstan), so the same run pulls
easier from one end than from the other. Tensions are in pounds of force, lengths in feet; quantities in other units
are converted. What the tensions may be is :mod:`reportgen.engineering.pull_limits`, from which end to pull
:mod:`reportgen.engineering.pull_advice`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.engineering.pull_runs import Bend, Element, Straight, Turn
from reportgen.rulebook import standards
from reportgen.rulebook.rulebook import quantity_of
from reportgen.working.quantity import Number, Quantity, quantity, work


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
