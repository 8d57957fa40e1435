"""Which legs of two strings were exchanged, from what the voltmeter shows at both of their inputs.

All twenty-four ways to land four legs on four poles are tried: each is followed over the terminals, and its two
predicted readings are held against the two found. One reading alone cannot tell a loose connector from two positives
on one input; two can.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import permutations

from reportgen.engineering.terminals import Pole, predicted_readings
from reportgen.working.quantity import Quantity


@dataclass(frozen=True, slots=True)
class Exchange:
    """Landings that explain both readings and cannot be told apart by them.

    Parameters
    ----------
    says : str
        What is exchanged, the landings joined by "or".
    predicted : mapping of str to Quantity
        What each string's input would show. [V]
    moved : int
        Legs that do not lie where they belong [-].
    """

    says: str
    predicted: Mapping[str, Quantity]
    moved: int


def exchanged_legs(
    readings: Mapping[str, Quantity], expected: Mapping[str, Quantity], near: Mapping[str, Quantity]
) -> Exchange | None:
    """The landing of two strings' legs that explains both readings with the fewest legs moved.

    Parameters
    ----------
    readings : mapping of str to Quantity
        At the inputs that the two strings are meant for, by string. [V]
    expected : mapping of str to Quantity
        Of the same strings, at the light and temperature of the readings. [V]
    near : mapping of str to Quantity
        How far a reading may lie from a prediction. [V]

    Returns
    -------
    Exchange or None
        None where the legs lie right, or no landing explains both readings.

    Raises
    ------
    ValueError
        If there are not two strings.

    Examples
    --------
    >>> volts = {"S1": Quantity(413.6, "V"), "S2": Quantity(338.4, "V")}
    >>> slack = dict.fromkeys(volts, Quantity(10.0, "V"))
    >>> exchanged_legs({"S1": Quantity(338.0, "V"), "S2": Quantity(413.0, "V")}, volts, slack).says
    'S1 and S2 are exchanged'
    """
    if len(readings) != 2:
        msg = f"{len(readings)} strings: two are compared"
        raise ValueError(msg)
    one, two = readings
    poles = (Pole(one, "+"), Pole(one, "-"), Pole(two, "+"), Pole(two, "-"))
    terminals = ("1", "2", "3", "4")
    best: list[tuple[str, Mapping[str, Quantity]]] = []
    fewest = len(poles) + 1
    for legs in permutations(poles):
        moved = sum(leg != pole for leg, pole in zip(legs, poles, strict=True))
        if moved > fewest:
            continue
        found = predicted_readings(
            [],
            [],
            dict(zip(terminals, legs, strict=True)),
            dict(zip(terminals, poles, strict=True)),
            expected,
            {one: (one,), two: (two,)},
        )
        predicted = {item.input: item.voltage for item in found if item.voltage is not None}
        if len(predicted) < 2 or any(
            abs(predicted[key].value - readings[key].to("V").value) > near[key].to("V").value
            for key in readings
        ):
            continue
        if moved == 0:
            return None
        if moved < fewest:
            fewest, best = moved, []
        best.append((_told(legs, poles), predicted))
    if not best:
        return None
    return Exchange(" or ".join(told for told, _ in best), best[0][1], fewest)


def _told(legs: tuple[Pole, ...], poles: tuple[Pole, ...]) -> str:
    """A landing in words."""
    one, two = poles[0].of, poles[2].of
    at = dict(zip(poles, legs, strict=True))
    if at[poles[0]] == poles[2] and at[poles[1]] == poles[3] and at[poles[2]] == poles[0]:
        return f"{one} and {two} are exchanged"
    turned = [
        key
        for key in (one, two)
        if at[Pole(key, "+")] == Pole(key, "-") and at[Pole(key, "-")] == Pole(key, "+")
    ]
    if len(turned) == 2:
        return f"{one} and {two} are both reversed"
    wrong = [pole for pole in poles if at[pole] != pole]
    if len(turned) == 1 and len(wrong) == 2:
        return f"{turned[0]} is reversed"
    if len(wrong) == 2:
        return f"{wrong[0]} and {wrong[1]} are exchanged"
    return ", ".join(f"{at[pole]} lies on {pole}" for pole in wrong)
