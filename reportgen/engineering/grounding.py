"""Size of equipment grounding conductors beyond what their table says: shared, upsized, bounded.

The table itself is looked up by the rating of the overcurrent device; where there is none, by
:func:`reportgen.engineering.overcurrent.least_rating`. Sizes are compared by area of the metal.
"""

from __future__ import annotations

from collections.abc import Sequence

from reportgen.engineering.candidates import Candidate, smallest_reaching
from reportgen.working.quantity import Number, Quantity, quantity, work


def deciding_rating(ratings: Sequence[Quantity]) -> Quantity:
    """Rating that sizes one grounding conductor shared by several circuits: the largest device [A].

    Raises
    ------
    ValueError
        If there is no rating.

    Notes
    -----
    Source: NFPA 70 (2023), 250.122(C).

    Examples
    --------
    >>> deciding_rating([Quantity(200.0, "A"), Quantity(600.0, "A"), Quantity(400.0, "A")]).value
    600.0
    """
    if not ratings:
        msg = "no circuit whose device sizes the ground"
        raise ValueError(msg)
    terms = {f"I_{index}": rating for index, rating in enumerate(ratings, start=1)}
    text = f"max({', '.join(terms)})" if len(terms) > 1 else "I_1"
    return work("largest device of the circuits that share the ground", "A", text, **terms)


def proportional_area(base: Number, installed: Number, minimum: Number) -> Quantity:
    """Area of a ground that grows with circuit conductors larger than they had to be [cmil].

    Parameters
    ----------
    base : float or Quantity
        Ground by the table. [cmil]
    installed : float or Quantity
        Circuit conductor as installed. [cmil]
    minimum : float or Quantity
        Smallest circuit conductor whose ampacity would have done [cmil].

    Raises
    ------
    ValueError
        If the installed conductor is smaller than the minimum.

    Notes
    -----
    Asked for only where the edition does not waive it. Source: NFPA 70 (2023), 250.122(B) and 690.45.

    Examples
    --------
    >>> proportional_area(41740, 350000, 250000).value
    58436.0
    """
    if quantity(installed).value < quantity(minimum).value:
        msg = "the circuit conductor is smaller than it has to be"
        raise ValueError(msg)
    return work(
        "area of the ground, grown in proportion",
        "cmil",
        "A_table * A_installed / A_minimum",
        A_table=base,
        A_installed=installed,
        A_minimum=minimum,
    )


def bounded_area(required: Number, circuit: Number) -> Quantity:
    """Area that a ground must have: never more than its circuit conductors [cmil].

    Parameters
    ----------
    required : float or Quantity
        By the table or in proportion. [cmil]
    circuit : float or Quantity
        Largest circuit conductor, per leg [cmil].

    Notes
    -----
    Source: NFPA 70 (2023), 250.122(A).

    Examples
    --------
    >>> bounded_area(26240, 10380).value
    10380.0
    """
    return work(
        "area that the ground must have",
        "cmil",
        "min(A_required, A_circuit)",
        A_required=required,
        A_circuit=circuit,
    )


def size_for(area: Number, sizes: Sequence[Candidate]) -> Candidate | None:
    """Smallest conductor whose metal is not below an area; None where no size of the table is so large.

    Parameters
    ----------
    area : float or Quantity
        Area that the ground must have. [cmil]
    sizes : sequence of Candidate
        Sizes with their areas. [cmil]

    Examples
    --------
    >>> rows = [Candidate("4", Quantity(41740.0, "cmil")), Candidate("2", Quantity(66360.0, "cmil"))]
    >>> size_for(58436, rows).name
    '2'
    """
    return smallest_reaching(sizes, area)
