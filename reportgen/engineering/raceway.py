"""How full a raceway is, and how it bends.

Areas are over the insulation; equipment grounding conductors take space like any other. What else would fit is
:mod:`reportgen.engineering.fitting`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from reportgen.engineering.groups import sum_of_groups
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
    return sum_of_groups("area of the conductors", "in2", "a", groups, "no conductor in the raceway")


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


def arc_length(radius_in: Number, angle: Number) -> Quantity:
    """Length of a bend along its centre line [in].

    Parameters
    ----------
    radius_in : float or Quantity
        To the centre line. [in]
    angle : float or Quantity
        Of the bend [°].

    Examples
    --------
    >>> arc_length(8.25, 90).value
    12.96
    """
    return work(
        "length of the bend",
        "in",
        "π / 180 * φ * r",
        π=math.pi,
        φ=quantity(angle, "deg"),
        r=quantity(radius_in, "in"),
    )


def jam_ratio(bore_in: Number, conductor_in: Number) -> Quantity:
    """Inside diameter of a raceway over the diameter of one of three like conductors [-].

    Parameters
    ----------
    bore_in : float or Quantity
        Inside diameter. [in]
    conductor_in : float or Quantity
        Over the insulation [in].

    Notes
    -----
    Says something for three single conductors of one size alone: see :func:`can_jam`. Source: NFPA 70 (2023),
    Chapter 9, Table 1, Informational Note 2.

    Examples
    --------
    >>> jam_ratio(1.049, 0.352).value
    2.98
    """
    return work("jam ratio", "", "D / d", D=quantity(bore_in, "in"), d=quantity(conductor_in, "in"))


def can_jam(groups: Sequence[tuple[int, Quantity]], ratio: Number, low: Number, high: Number) -> bool:
    """Whether the note on jamming concerns a raceway: three conductors of one size, ratio in its range.

    With any other number or mix of conductors the note says nothing, and so does this.

    Parameters
    ----------
    groups : sequence of (int, Quantity)
        Number of like conductors and area of one, grounds included. [in²]
    ratio : float or Quantity
        Of :func:`jam_ratio`. [-]
    low, high : float or Quantity
        Range of the note, both ends included [-].

    Examples
    --------
    >>> can_jam([(3, Quantity(0.0973, "in2"))], 2.98, 2.8, 3.2)
    True
    >>> can_jam([(3, Quantity(0.0973, "in2")), (1, Quantity(0.0211, "in2"))], 2.98, 2.8, 3.2)
    False
    """
    alike = len({area.to("in2").value for _, area in groups}) == 1
    three = sum(count for count, _ in groups) == 3
    return alike and three and quantity(low).value <= quantity(ratio).value <= quantity(high).value
