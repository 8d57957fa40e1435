"""What fits into a raceway: how many like conductors, how many more strings, how large a conductor or pipe.

The share of the bore that conductors may take depends on how many they are, so it comes in as
:class:`FillShares`. For the greatest number of conductors of one size the code rounds a large decimal up; both
counts are given, because a mix of sizes never rounds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.engineering.candidates import BINARY_ROUNDING, Candidate, reaches, smallest_reaching
from reportgen.engineering.raceway import occupied_area
from reportgen.working.quantity import Number, Quantity, quantity, work

Groups = Sequence[tuple[int, Quantity]]


@dataclass(frozen=True, slots=True)
class FillShares:
    """Share of a bore that one, two and more than two conductors may take [-].

    All three are alike for a nipple. Source: NFPA 70 (2023), Chapter 9, Table 1 and Note 4.
    """

    one: Quantity
    two: Quantity
    more: Quantity

    def of(self, count: int) -> Quantity:
        """Share for a number of conductors [-].

        Raises
        ------
        ValueError
            If there is no conductor.
        """
        if count < 1:
            msg = f"{count} conductors"
            raise ValueError(msg)
        return {1: self.one, 2: self.two}.get(count, self.more)


def fits(groups: Groups, bore: Number, shares: FillShares) -> bool:
    """Whether a mix of conductors stays within the share of the bore that their number may take.

    Parameters
    ----------
    groups : sequence of (int, Quantity)
        Number of like conductors and area of one, grounds included. [in²]
    bore : float or Quantity
        Inside area of the raceway. [in²]
    shares : FillShares
        Of the edition, or of a nipple.

    Raises
    ------
    ValueError
        If there is no conductor.

    Examples
    --------
    >>> shares = FillShares(Quantity(0.53), Quantity(0.31), Quantity(0.40))
    >>> fits([(2, Quantity(0.1, "in2"))], 0.6, shares), fits([(3, Quantity(0.1, "in2"))], 0.75, shares)
    (False, True)
    """
    share = shares.of(sum(count for count, _ in groups))
    return reaches(allowed_area(bore, share), occupied_area(groups))


def allowed_area(bore: Number, share: Number) -> Quantity:
    """Area that conductors may take in a raceway [in²].

    Examples
    --------
    >>> allowed_area(0.304, 0.4).value
    0.1216
    """
    return work("area that conductors may take", "in2", "f * A_bore", f=share, A_bore=quantity(bore, "in2"))


@dataclass(frozen=True, slots=True)
class MostAlike:
    """Greatest number of conductors of one size in a raceway, both ways of rounding.

    Parameters
    ----------
    whole : int
        Fraction dropped. [-]
    rounded : int
        Fraction rounded up where the edition's note allows it. [-]
    quotient : Quantity
        Allowed area over the area of one conductor. [-]
    """

    whole: int
    rounded: int
    quotient: Quantity


def most_alike(bore: Number, area: Number, shares: FillShares, decimal: Number) -> MostAlike:
    """Greatest number of conductors of one size that a raceway may hold.

    Parameters
    ----------
    bore : float or Quantity
        Inside area of the raceway. [in²]
    area : float or Quantity
        Of one conductor over its insulation. [in²]
    shares : FillShares
        Of the edition, or of a nipple.
    decimal : float or Quantity
        Fraction from which on the next whole number may be used [-].

    Notes
    -----
    Rounding up is for conductors all of one size only, grounds included. Source: NFPA 70 (2023), Chapter 9,
    Table 1 and Note 7.

    Examples
    --------
    >>> shares = FillShares(Quantity(0.53), Quantity(0.31), Quantity(0.40))
    >>> found = most_alike(0.304, 0.0097, shares, 0.8)
    >>> found.whole, found.rounded, found.quotient.value
    (12, 12, 12.54)
    """
    cases = ((shares.more, 3, math.inf), (shares.two, 2, 2), (shares.one, 1, 1))
    found = [(_quotient(bore, area, share), least, most) for share, least, most in cases]
    whole = next((min(_floor(q), most) for q, least, most in found if _floor(q) >= least), 0)
    up = quantity(decimal).value
    rounded = next((min(_floor(q, up), most) for q, least, most in found if _floor(q, up) >= least), 0)
    # The quotient shown is that of the case which the whole number falls into; below one, the single conductor's.
    shown = next((q for q, least, most in found if least <= whole <= most), found[-1][0])
    return MostAlike(int(whole), int(rounded), shown)


def _quotient(bore: Number, area: Number, share: Quantity) -> Quantity:
    return work(
        "conductors by area",
        "",
        "f * A_bore / a",
        f=share,
        A_bore=quantity(bore, "in2"),
        a=quantity(area, "in2"),
    )


def _floor(quotient: Quantity, up_from: float = 1.0) -> int:
    """Whole number below a quotient, or above it where its fraction reaches ``up_from``."""
    value = quotient.value * (1 + BINARY_ROUNDING)
    whole = math.floor(value)
    return whole + 1 if value - whole >= up_from else whole


def most_strings(bore: Number, shares: FillShares, string: Groups, already: Groups = ()) -> int:
    """Greatest number of strings that go into a raceway beside what it already holds [-].

    Parameters
    ----------
    bore : float or Quantity
        Inside area of the raceway. [in²]
    shares : FillShares
        Of the edition, or of a nipple.
    string : sequence of (int, Quantity)
        Conductors of one string and area of one. [in²]
    already : sequence of (int, Quantity)
        What stays in the raceway or goes in besides, such as the shared ground. [in²]

    Returns
    -------
    int
        Zero where not even one fits.

    Examples
    --------
    >>> shares = FillShares(Quantity(0.53), Quantity(0.31), Quantity(0.40))
    >>> most_strings(1.453, shares, [(2, Quantity(0.0366, "in2"))], [(1, Quantity(0.0366, "in2"))])
    7
    """
    one = occupied_area(string).value
    widest = max(share.value for share in (shares.one, shares.two, shares.more))
    bound = math.floor(widest * quantity(bore, "in2").value / one)
    for number in range(bound, 0, -1):
        if fits([*already, *((number * count, area) for count, area in string)], bore, shares):
            return number
    return 0


def largest_conductor(
    sizes: Sequence[Candidate], count: int, bore: Number, shares: FillShares, others: Groups = ()
) -> Candidate | None:
    """Largest conductor of which a number still fits into a raceway; None where none does.

    Parameters
    ----------
    sizes : sequence of Candidate
        Sizes on offer with the area of one conductor. [in²]
    count : int
        How many of that size are wanted. [-]
    bore : float or Quantity
        Inside area of the raceway. [in²]
    shares : FillShares
        Of the edition, or of a nipple.
    others : sequence of (int, Quantity)
        Conductors whose size stays as it is. [in²]

    Examples
    --------
    >>> shares = FillShares(Quantity(0.53), Quantity(0.31), Quantity(0.40))
    >>> rows = [Candidate("10", Quantity(0.0211, "in2")), Candidate("8", Quantity(0.0366, "in2"))]
    >>> largest_conductor(rows, 16, 1.237, shares).name
    '10'
    """
    fitting = [size for size in sizes if fits([(count, size.value), *others], bore, shares)]
    return max(fitting, key=lambda size: size.value.value, default=None)


def smallest_raceway(bores: Sequence[Candidate], groups: Groups, shares: FillShares) -> Candidate | None:
    """Smallest raceway that a mix of conductors may go into; None where no size on offer is large enough.

    Parameters
    ----------
    bores : sequence of Candidate
        Trade sizes on offer with their inside area. [in²]
    groups : sequence of (int, Quantity)
        Number of like conductors and area of one, grounds included. [in²]
    shares : FillShares
        Of the edition, or of a nipple.

    Examples
    --------
    >>> shares = FillShares(Quantity(0.53), Quantity(0.31), Quantity(0.40))
    >>> rows = [Candidate("1", Quantity(0.864, "in2")), Candidate("1-1/4", Quantity(1.496, "in2"))]
    >>> smallest_raceway(rows, [(15, Quantity(0.0278, "in2"))], shares).name
    '1-1/4'
    """
    share = shares.of(sum(count for count, _ in groups))
    needed = work("bore that is needed", "in2", "A / f", A=occupied_area(groups), f=share)
    return smallest_reaching(bores, needed)
