"""What the tension of a pull may be, which limit governs, and at which reading of the gauge to stop.

No code limits a pull: the limits are the makers' of wire, grip and line, and the user's own. All tensions are in
pounds of force, sidewall pressures in pounds of force per foot of radius.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from reportgen.engineering.pull_runs import Bend, Element
from reportgen.engineering.pulling import Pull
from reportgen.rulebook import standards
from reportgen.rulebook.rulebook import quantity_of
from reportgen.working.quantity import Number, Quantity, quantity, work


def conductor_limit(area_cmil: Number, conductors: int, stress: Number) -> Quantity:
    """Tension that the metal of conductors pulled by their own strands may carry [lbf].

    Parameters
    ----------
    area_cmil : float or Quantity
        Cross-section of one; of unlike sizes the smallest. [cmil]
    conductors : int
        That the head holds and that carry the pull: grounds left out are on the safe side. [-]
    stress : float or Quantity
        Allowed for the metal [lbf/cmil].

    Raises
    ------
    ValueError
        If there is no conductor.

    Notes
    -----
    Above three conductors the load is not shared evenly and the maker's share applies. Source: Southwire, Wire and
    Cable Pulling Tensions.

    Examples
    --------
    >>> conductor_limit(10380, 3, 0.008).value, conductor_limit(10380, 7, 0.008).value
    (249.12, 465.02)
    """
    if conductors < 1:
        msg = f"{conductors} conductors in the head"
        raise ValueError(msg)
    terms: dict[str, Number] = {"S": stress, "n": conductors, "A": quantity(area_cmil, "cmil")}
    text = "S * n * A"
    if conductors > standards.number("pull-share-above").number:
        terms["k"] = quantity_of(standards.number("pull-share-many"), "share of many conductors")
        text = f"k * {text}"
    return work("tension that the conductors may carry", "lbf", text, **terms)


def device_limit(rating: Number | None = None) -> Quantity:
    """Tension that a pulling device may carry: its rating, never above the wire maker's cap [lbf].

    Notes
    -----
    Source: Southwire, Wire and Cable Pulling Tensions.

    Examples
    --------
    >>> device_limit(600).value, device_limit(12000).value
    (600.0, 10000.0)
    """
    cap = quantity_of(standards.number("pull-device-cap"), "cap of any device")
    if rating is None:
        return cap
    return work(
        "tension that the device may carry",
        "lbf",
        "min(T_device, cap)",
        T_device=quantity(rating, "lbf"),
        cap=cap,
    )


def tension_by_sidewall(limit: Number, radius_ft: Number) -> Quantity:
    """Tension at the exit of a bend at which its sidewall pressure reaches a limit [lbf].

    Examples
    --------
    >>> tension_by_sidewall(300, 2).value
    600.0
    """
    return work(
        "tension that the bend allows",
        "lbf",
        "P_limit * r",
        P_limit=quantity(limit, "lbf/ft"),
        r=quantity(radius_ft, "ft"),
    )


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of one pull.

    Parameters
    ----------
    tension : tuple of Quantity
        Each named after what it protects: conductors, grip, line, the user's own. [lbf]
    sidewall : Quantity or None
        The cable maker's, None where it is not stated. [lbf/ft]
    """

    tension: tuple[Quantity, ...]
    sidewall: Quantity | None = None

    @property
    def lowest(self) -> Quantity | None:
        """Lowest tension limit, None where none is stated [lbf]."""
        return min(self.tension, key=lambda limit: limit.value, default=None)


@dataclass(frozen=True, slots=True)
class Use:
    """How much of a limit a pull takes.

    Parameters
    ----------
    where : str
        Name of the element.
    value, limit : Quantity
        Both tensions [lbf] or both pressures [lbf/ft].
    share : Quantity
        Value over limit [%].
    """

    where: str
    value: Quantity
    limit: Quantity
    share: Quantity


def uses(one: Pull, limits: Limits) -> tuple[Use, ...]:
    """What a pull takes of each limit, the governing one first; empty where no limit is stated.

    The greatest tension along the run is held against every tension limit, for the line and the grip see it too
    or, where the run ends downhill, less.
    """
    step = one.hardest
    found = [_use(step.element.name, step.after, limit.to("lbf")) for limit in limits.tension]
    bend = one.worst_bend
    if limits.sidewall is not None and bend is not None and bend.pressure is not None:
        found.append(_use(bend.element.name, bend.pressure, limits.sidewall.to("lbf/ft")))
    return tuple(sorted(found, key=lambda use: -use.share.value))


def governing(one: Pull, limits: Limits) -> Use | None:
    """What a pull takes of the limit that governs, None where no limit is stated; the first of :func:`uses`."""
    # Where a pull point helps is sought among hundreds of pulls, of which only the tightest use is asked.
    kept = [limits.lowest] if limits.lowest is not None else []
    return next(iter(uses(one, replace(limits, tension=tuple(kept)))), None)


def _use(where: str, value: Quantity, limit: Quantity) -> Use:
    share = work("share of the limit", "%", "100 * x / x_limit", x=value, x_limit=limit)
    return Use(where, value, limit, share)


def stop_value(run: Sequence[Element], limits: Limits) -> Quantity | None:
    """Tension at the winch at which the pull is stopped, None where no limit is stated [lbf].

    A winch that shows as much as the sharpest bend allows may have that tension in the bend: the last straight in
    between is left out, on the safe side.

    Examples
    --------
    >>> from reportgen.engineering.pull_runs import Straight
    >>> run = [Straight(222), Bend(90, 0.604), Straight(4)]
    >>> stop_value(run, Limits((Quantity(1062.9, "lbf"),), Quantity(300.0, "lbf/ft"))).value
    181.2
    """
    terms: dict[str, Number] = {
        f"T_{index}": limit.to("lbf") for index, limit in enumerate(limits.tension, start=1)
    }
    radii = [quantity(element.radius, "ft") for element in run if isinstance(element, Bend)]
    if limits.sidewall is not None and radii:
        sharpest = min(radii, key=lambda radius: radius.value)
        terms["T_bend"] = tension_by_sidewall(limits.sidewall, sharpest)
    if not terms:
        return None
    return work("stop value at the winch", "lbf", f"min({', '.join(terms)})", **terms)
