"""What is pulled: the weight of all wires together, and how much harder they press on the pipe than one would."""

from __future__ import annotations

from collections.abc import Sequence

from reportgen.engineering.groups import sum_of_groups
from reportgen.rulebook import standards
from reportgen.rulebook.rulebook import quantity_of
from reportgen.working.quantity import Number, Quantity, quantity, work


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


def weight_correction(conductors: int, ratio: Number | None = None) -> Quantity:
    """Factor by which conductors side by side press harder on a raceway than their weight alone [-].

    Parameters
    ----------
    conductors : int
        Pulled together, grounds included.
    ratio : float or Quantity, optional
        Inside diameter of the raceway over the diameter of one conductor, wanted for two and three of one
        size. [-]

    Raises
    ------
    ValueError
        If two or three conductors come without a ratio, or with one that they do not fit into.

    Notes
    -----
    Three lie cradled, which gives the greater factor; two lie as two of a triangle. Formulas recalled from IEEE Std 1185; above three conductors the makers'
    usual figure stands in, recalled as well.

    Examples
    --------
    >>> weight_correction(3, 3.0).value, weight_correction(2, 3.0).value
    (1.3333, 1.1547)
    """
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
    text = "1 + 4 / 3 * (1 / (q - 1)) ** 2" if conductors == 3 else "1 / sqrt(1 - (1 / (q - 1)) ** 2)"
    return work("weight correction", "", text, q=ratio)
