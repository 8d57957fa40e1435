"""Outcome of a judged reading, and the bands that it is judged by."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from statistics import median_low

from reportgen.rulebook import standards
from reportgen.rulebook.rulebook import quantity_of
from reportgen.working.quantity import Quantity


class Verdict(StrEnum):
    """What to do after a reading."""

    ACCEPT = "accept"
    QUESTION = "question"
    STOP = "stop"
    NONE = "no verdict"


@dataclass(frozen=True, slots=True)
class Mistake:
    """A likely cause of a reading.

    Parameters
    ----------
    says : str
        The cause, for instance ``one module is missing``.
    predicted : Quantity
        What the meter would show if it were so.
    off : Quantity
        Distance of the reading from that, never negative.
    """

    says: str
    predicted: Quantity
    off: Quantity


@dataclass(frozen=True, slots=True)
class Judgement:
    """A judged reading.

    Parameters
    ----------
    verdict : Verdict
        ``NONE`` wherever a verdict would be a guess.
    reason : str
        The fact that decided, with its figures.
    numbers : tuple of Quantity
        What was computed on the way, each with its working.
    mistakes : tuple of Mistake
        At most three, the likeliest first.
    to_do : str
        The next step; empty where there is none.
    """

    verdict: Verdict
    reason: str
    numbers: tuple[Quantity, ...] = ()
    mistakes: tuple[Mistake, ...] = ()
    to_do: str = ""


@dataclass(frozen=True, slots=True)
class Bands:
    """Bands of the common practice, all of them settings of the user.

    Parameters
    ----------
    voltage_share : Quantity
        Good deviation of a voltage from expectation [%], where a share of a module is not less.
    voltage_good, voltage_stop : Quantity
        Good deviation, and the one that stops, in modules. [-]
    alike_share : Quantity
        Good deviation of like strings from each other. [%]
    ends_share : Quantity
        Good deviation of two ends of one wire. [%]
    leg_settled, leg_steady : Quantity
        Legs to ground together: up to here they are settled, from here on a fault holds them, both of the
        open-circuit voltage. [%]
    current_good, current_stop : Quantity
        Deviation of the currents of like strings. [%]
    insulation_good : Quantity
        Insulation resistance that needs no dry repeat. [MΩ]
    continuity_good, continuity_stop : Quantity
        Resistance of a bond. [Ω]
    irradiance_least : Quantity
        Light below which a voltage is not judged by expectation [W/m²].
    """

    voltage_share: Quantity
    voltage_good: Quantity
    voltage_stop: Quantity
    alike_share: Quantity
    ends_share: Quantity
    leg_settled: Quantity
    leg_steady: Quantity
    current_good: Quantity
    current_stop: Quantity
    insulation_good: Quantity
    continuity_good: Quantity
    continuity_stop: Quantity
    irradiance_least: Quantity


def common_bands() -> Bands:
    """Bands that stand in where the user gives none; every one is common practice without a source."""
    return Bands(
        **{
            name: quantity_of(standards.number(f"reading-{name.replace('_', '-')}"), name.replace("_", " "))
            for name in Bands.__dataclass_fields__
        }
    )


def no_verdict(reason: str, to_do: str, *numbers: Quantity) -> Judgement:
    """A reading that cannot be judged, with what to measure."""
    return Judgement(Verdict.NONE, reason, numbers, (), to_do)


def measure_among(key: str, values: Mapping[str, float]) -> str:
    """Which other string one is held against: the middle one of all, so that a single odd neighbour decides nothing.

    Parameters
    ----------
    key : str
        The string judged; where it is the middle itself, the other next to it.
    values : mapping of str to float
        What is compared, by string, two at least.

    Examples
    --------
    >>> measure_among("S2", {"S1": 7.6, "S2": 8.5, "S3": 8.6}), measure_among("S1", {"S1": 7.6, "S2": 8.5})
    ('S3', 'S2')
    """
    others = sorted((value, name) for name, value in values.items() if name != key)
    if len(others) > 1:
        middle = median_low(sorted([*others, (values[key], key)]))[1]
        if middle != key:
            return middle
    return min(others, key=lambda item: (abs(item[0] - values[key]), item))[1]


def not_a_number(*readings: Quantity) -> Judgement | None:
    """Judgement of readings of which one is no finite number; None where all are."""
    if all(math.isfinite(reading.value) for reading in readings):
        return None
    return no_verdict("the reading is not a number", "read once more and state the figure")
