"""Pieces to cut, spools to buy, and a plan that says which piece comes from which spool and what is left.

One plan is for wire of one make, size and colour: several of them are planned apart, because no piece of one can
come from a spool of another. :func:`plan_all` does so for a mixed list.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from reportgen.engineering.problem import Problem
from reportgen.working.quantity import Quantity, work


class Aim(StrEnum):
    """What a plan makes least, before the number of spools."""

    LENGTH = "least length bought"
    COST = "least cost"


@dataclass(frozen=True, slots=True)
class Piece:
    """One wire to cut.

    Parameters
    ----------
    id : str
        Of the conductor, for instance ``PV-E1+``.
    length : Quantity
        To cut.
    tolerance : Quantity or None
        By how much the wire may turn out to need more; None where it is not known.
    """

    id: str
    length: Quantity
    tolerance: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Offer:
    """A spool as the shop sells it.

    Parameters
    ----------
    id : str
        For the shopping list.
    length : Quantity
        Wire on it.
    price : float or None
        Of the spool, None where it is not known. [currency]
    available : int or None
        To be had, None where any number is. [-]
    """

    id: str
    length: Quantity
    price: float | None = None
    available: int | None = None


class StockProblem(Problem):
    """The pieces cannot be cut from what is on offer."""


@dataclass(frozen=True, slots=True)
class CutSpool:
    """One spool with its pieces in the order of cutting, the longest first.

    A piece that turns out too short can still become a shorter one, but never the other way round.
    """

    offer: Offer
    pieces: tuple[Piece, ...]

    @property
    def used(self) -> Quantity:
        """Wire cut from the spool."""
        unit = self.offer.length.unit
        terms = {f"L_{i}": piece.length.to(unit) for i, piece in enumerate(self.pieces, start=1)}
        return work("cut from the spool", unit, " + ".join(terms), **terms)

    @property
    def left(self) -> Quantity:
        """Wire that stays on the spool."""
        unit = self.offer.length.unit
        return work("left on the spool", unit, "L_spool - L_cut", L_spool=self.offer.length, L_cut=self.used)

    @property
    def needed(self) -> Quantity | None:
        """What has to stay in reserve: the tolerances of all its pieces; None where one is not known."""
        unit = self.offer.length.unit
        terms = {}
        for index, piece in enumerate(self.pieces, start=1):
            if piece.tolerance is None:
                return None
            terms[f"t_{index}"] = piece.tolerance.to(unit)
        return work("tolerance of the pieces", unit, " + ".join(terms), **terms)

    @property
    def enough(self) -> bool | None:
        """Whether what is left covers the tolerances; None where one is not known.

        Examples
        --------
        >>> piece = Piece("PV-1+", Quantity(498, "ft"), Quantity(4.8, "ft"))
        >>> spool = CutSpool(Offer("S500", Quantity(500, "ft")), (piece,))
        >>> spool.left.value, spool.needed.value, spool.enough
        (2.0, 4.8, False)
        """
        return None if self.needed is None else self.left.value >= self.needed.value

    @property
    def marks(self) -> tuple[Quantity, ...]:
        """Length counted from the free end of the spool at which each cut is made."""
        unit = self.offer.length.unit
        found: list[Quantity] = []
        for piece in self.pieces:
            length = piece.length.to(unit)
            found.append(
                work("place of the cut", unit, "m + L", m=found[-1], L=length)
                if found
                else length.named("place of the cut")
            )
        return tuple(found)


@dataclass(frozen=True, slots=True)
class CutPlan:
    """Spools to buy and what is cut from each.

    Parameters
    ----------
    spools : tuple of CutSpool
        Longest spools first.
    unit : str
        Of all lengths here.
    proved : bool
        True where no plan can do better by the aim and, at the same figure, with fewer spools.
    least : float
        Bound: no plan can buy less (or cost less, by the aim). [unit, or currency]
    """

    spools: tuple[CutSpool, ...]
    aim: Aim
    unit: str
    proved: bool
    least: float

    @property
    def bought(self) -> Quantity:
        """Wire bought."""
        terms = {f"L_{i}": spool.offer.length.to(self.unit) for i, spool in enumerate(self.spools, start=1)}
        return work("bought", self.unit, " + ".join(terms), **terms)

    @property
    def used(self) -> Quantity:
        """Wire cut."""
        terms = {f"L_{i}": spool.used.to(self.unit) for i, spool in enumerate(self.spools, start=1)}
        return work("cut", self.unit, " + ".join(terms), **terms)

    @property
    def scrap(self) -> Quantity:
        """Wire left on all spools together."""
        return work("left over", self.unit, "L_bought - L_cut", L_bought=self.bought, L_cut=self.used)

    @property
    def cost(self) -> float | None:
        """Price of all spools; None where one price is not known [currency]."""
        prices = [spool.offer.price for spool in self.spools]
        return None if any(price is None for price in prices) else sum(price or 0.0 for price in prices)

    @property
    def gap(self) -> float:
        """By how much a better plan might still do better, as a share of this one; zero where proved [-]."""
        reached = self.bought.value if self.aim is Aim.LENGTH else (self.cost or 0.0)
        return 0.0 if self.proved or reached <= 0 else max(0.0, (reached - self.least) / reached)

    @property
    def shopping(self) -> Mapping[str, int]:
        """Number of spools by offer id."""
        found: dict[str, int] = {}
        for spool in self.spools:
            found[spool.offer.id] = found.get(spool.offer.id, 0) + 1
        return found

    @property
    def thin(self) -> tuple[CutSpool, ...]:
        """Spools that are left with less than the tolerances of their pieces."""
        return tuple(spool for spool in self.spools if spool.enough is False)


def plan_all(
    groups: Mapping[str, tuple[Sequence[Piece], Sequence[Offer]]], aim: Aim = Aim.LENGTH, unit: str = "ft"
) -> dict[str, CutPlan]:
    """Best plan for every group of like wire: make, size and colour.

    Raises
    ------
    StockProblem
        For the first group that cannot be cut from its offers.
    """
    # Imported here: plans are made on demand, and a check must start without the solver.
    from reportgen.engineering.cutting.solver import plan  # noqa: PLC0415

    return {key: plan(pieces, offers, aim, unit) for key, (pieces, offers) in groups.items()}
