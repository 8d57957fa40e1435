"""How full a raceway is, and what still goes in.

Areas are over the insulation; equipment grounding conductors take space like any other.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from reportgen.working.quantity import Number, Quantity, quantity, work


def conductor_area(diameter_in: Number) -> Quantity:
    """Area of a round conductor over its insulation, from a data sheet's diameter [in²].

    Examples
    --------
    >>> conductor_area(0.236).value
    0.0437
    """
    return work("area over the insulation", "in2", "π / 4 * d ** 2", π=math.pi, d=diameter_in)


def occupied_area(groups: Sequence[tuple[int, Quantity]]) -> Quantity:
    """Area of all conductors in a raceway [in²].

    Parameters
    ----------
    groups : sequence of (int, Quantity)
        Number of like conductors and area of one [in²].

    Raises
    ------
    ValueError
        If there is no group.

    Examples
    --------
    >>> occupied_area([(6, Quantity(0.0211, "in2")), (1, Quantity(0.0211, "in2"))]).value
    0.1477
    """
    if not groups:
        msg = "no conductor in the raceway"
        raise ValueError(msg)
    terms: dict[str, Number] = {}
    parts = []
    for index, (count, area) in enumerate(groups, start=1):
        terms |= {f"n_{index}": count, f"a_{index}": area}
        parts.append(f"n_{index} * a_{index}")
    return work("area of the conductors", "in2", " + ".join(parts), **terms)


def fill(occupied: Number, bore: Number) -> Quantity:
    """Share of the bore taken up by conductors [%].

    Examples
    --------
    >>> fill(0.1477, 1.986).value
    7.4
    """
    return work("fill", "%", "100 * A_conductors / A_bore", A_conductors=occupied, A_bore=bore)


def total_bend(angles: Sequence[Quantity]) -> Quantity:
    """Sum of the bends between two pull points [°]."""
    terms = {f"a_{index}": angle for index, angle in enumerate(angles, start=1)}
    return work("bends together", "deg", " + ".join(terms), **terms) if terms else quantity(0, "deg")
