"""Overcurrent protection of strings in parallel: whether it is needed, and which rating does.

A fuse is needed where the other sources could drive more through a faulted string than its modules and its
conductors stand. Its rating has a floor, which rounds up, and ceilings, which do not, save for the conductor's
own next-standard-size rule. All factors, ratings and limits are the edition's and come in as arguments.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from reportgen.engineering.candidates import reaches
from reportgen.working.quantity import Number, Quantity, quantity, work


def feedback_current(strings: Number, maximum: Number, inverter: Number) -> Quantity:
    """Current that all other sources can drive into a fault of one of several like strings [A].

    Parameters
    ----------
    strings : float or Quantity
        Strings in parallel, the faulted one counted. [-]
    maximum : float or Quantity
        Maximum current of one string. [A]
    inverter : float or Quantity
        What the inverter and everything behind it can feed back: a data sheet's figure, never a guess. [A]

    Raises
    ------
    ValueError
        If there is less than one string.

    Notes
    -----
    Source: NFPA 70 (2023), 690.9(A).

    Examples
    --------
    >>> feedback_current(3, 17.24, 0).value
    34.5
    """
    if quantity(strings).value < 1:
        msg = f"{quantity(strings).value:g} strings in parallel"
        raise ValueError(msg)
    return work(
        "current fed back into one string",
        "A",
        "(n - 1) * I_max + I_back",
        n=strings,
        I_max=maximum,
        I_back=inverter,
    )


def feedback_of_unlike(others: Sequence[Number], inverter: Number) -> Quantity:
    """Current that unlike strings and the inverter can drive into a fault of one string [A].

    Parameters
    ----------
    others : sequence of float or Quantity
        Maximum currents of the other strings, empty where there is none. [A]
    inverter : float or Quantity
        What the inverter and everything behind it can feed back. [A]

    Examples
    --------
    >>> feedback_of_unlike([12.8, 17.2], 1.0).value
    31.0
    """
    terms = {f"I_{number}": current for number, current in enumerate(others, start=1)}
    text = " + ".join((*terms, "I_back"))
    return work("current fed back into one string", "A", text, **terms, I_back=inverter)


def unfused_limit(module_maximum: Number, ampacity: Number) -> Quantity:
    """Greatest fed-back current that a string stands without a fuse of its own [A].

    Parameters
    ----------
    module_maximum : float or Quantity
        Maximum series fuse rating on the module's label. [A]
    ampacity : float or Quantity
        Least ampacity of the string's conductors in their surroundings. [A]

    Notes
    -----
    Source: NFPA 70 (2023), 690.9(A): both bounds hold, so the lower one decides.

    Examples
    --------
    >>> unfused_limit(25, 30.7).value
    25.0
    """
    return work(
        "current that a string stands without a fuse",
        "A",
        "min(I_module, I_z)",
        I_module=module_maximum,
        I_z=ampacity,
    )


def least_rating(maximum: Number, factor: Number) -> Quantity:
    """Least rating of an overcurrent device; where none is fitted, the rating that grounds are sized for [A].

    Parameters
    ----------
    maximum : float or Quantity
        Maximum current of the circuit. [A]
    factor : float or Quantity
        Of the edition for devices [-].

    Notes
    -----
    Source: NFPA 70 (2023), 690.9(B) and 690.45.

    Examples
    --------
    >>> least_rating(17.24, 1.25).value
    21.55
    """
    return work("least rating of a device", "A", "k * I_max", k=factor, I_max=maximum)


def conductor_ceiling(
    ampacity: Number,
    standard: Sequence[Quantity],
    next_size_limit: Number | None,
    cap: Number | None = None,
) -> Quantity:
    """Greatest rating of a device that protects a conductor [A].

    Parameters
    ----------
    ampacity : float or Quantity
        Of the conductor in its surroundings, the worst stretch. [A]
    standard : sequence of Quantity
        Standard ratings of that kind of device, in any order. [A]
    next_size_limit : float, Quantity or None
        Greatest rating that the next-standard-size rule may end at [A]; None where the rule is not allowed.
    cap : float, Quantity or None
        Cap for small conductors [A]; None where the size has none.

    Notes
    -----
    An ampacity that is itself a standard rating is never exceeded. Source: NFPA 70 (2023), 240.4, 240.4(B) and
    (D), 240.6(A).

    Examples
    --------
    >>> ratings = [Quantity(float(amperes), "A") for amperes in (15, 20, 25, 30)]
    >>> conductor_ceiling(17.4, ratings, 800).value
    20.0
    >>> conductor_ceiling(20, ratings, 800).value
    20.0
    >>> conductor_ceiling(30.7, ratings, 800, cap=30).value
    30.0
    """
    name = "greatest rating that protects the conductor"
    terms: dict[str, Number] = {"I_z": ampacity}
    text = "I_z"
    following = _next_standard(ampacity, standard, next_size_limit)
    if following is not None:
        text, terms = "max(I_z, I_next)", {**terms, "I_next": following}
    if cap is not None:
        text, terms = f"min({text}, I_cap)", {**terms, "I_cap": cap}
    return work(name, "A", text, **terms)


def _next_standard(
    ampacity: Number, standard: Sequence[Quantity], next_size_limit: Number | None
) -> Quantity | None:
    """Rating that the next-standard-size rule allows; None where it allows nothing above the ampacity."""
    if next_size_limit is None:
        return None
    above = [rating for rating in standard if reaches(rating, ampacity)]
    if not above:
        return None
    following = min(above, key=lambda rating: rating.value)
    return following.named("next standard rating") if reaches(next_size_limit, following) else None


@dataclass(frozen=True, slots=True)
class RatingWindow:
    """Ratings of a device that are neither too small nor too large.

    Parameters
    ----------
    floor : Quantity
        Least rating. [A]
    ceilings : tuple of Quantity
        Greatest ratings, each named after what it protects, at least one: without any known ceiling no rating
        can be called right. [A]
    """

    floor: Quantity
    ceilings: tuple[Quantity, ...]

    def __post_init__(self) -> None:
        if not self.ceilings:
            msg = "no ceiling for the rating of a device"
            raise ValueError(msg)

    @property
    def ceiling(self) -> Quantity:
        """The lowest ceiling, which governs [A]."""
        return min(self.ceilings, key=lambda ceiling: ceiling.value)

    def holds(self, rating: Number) -> bool:
        """Whether a rating lies in the window, both ends included."""
        return reaches(rating, self.floor) and reaches(self.ceiling, rating)

    def fitting(self, available: Sequence[Quantity]) -> tuple[Quantity, ...]:
        """Ratings to be had that lie in the window, smallest first; empty where there is none [A].

        Any rating on sale counts, standard or not.

        Examples
        --------
        >>> window = RatingWindow(Quantity(16.02, "A"), (Quantity(20.0, "A"), Quantity(21.0, "A")))
        >>> [rating.value for rating in window.fitting([Quantity(float(a), "A") for a in (15, 16, 20, 25)])]
        [20.0]
        """
        inside = (rating for rating in available if self.holds(rating))
        return tuple(sorted(inside, key=lambda rating: rating.value))


class Poles(StrEnum):
    """How many poles of a string need an overcurrent device."""

    ONE = "one"
    TWO = "two"
    UNKNOWN = "unknown"
    ASK = "ask"


def fused_poles(rule: str, ground_fault_protection: bool | None) -> Poles:
    """Poles that need a device, by the edition's answer and the inverter's ground-fault protection.

    A device in one pole leaves the other one to ground-fault protection. Switches open both poles all the same.

    Parameters
    ----------
    rule : str
        ``permitted`` where the edition permits one pole, ``both`` where it does not, ``ask`` otherwise.
    ground_fault_protection : bool or None
        Stated for the inverter; None where the data sheet says nothing.

    Raises
    ------
    ValueError
        If the answer is another word.

    Notes
    -----
    Source: NFPA 70 (2023), 690.9(C) with 690.41(B).

    Examples
    --------
    >>> str(fused_poles("permitted", True)), str(fused_poles("permitted", None))
    ('one', 'unknown')
    """
    match rule, ground_fault_protection:
        case "both", _:
            return Poles.TWO
        case "ask", _:
            return Poles.ASK
        case "permitted", None:
            return Poles.UNKNOWN
        case "permitted", stated:
            return Poles.ONE if stated else Poles.TWO
    msg = f"answer {rule!r} on devices in one pole"
    raise ValueError(msg)
