"""Room in boxes: volume for small conductors, lengths and spacings for the large ones.

Which volume a conductor takes, how many volumes an item counts for and the multiples of trade sizes are the
edition's and come in as arguments. Boxes whose conductors enter opposite a removable cover follow a table of
their own that is not covered here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.working.quantity import Number, Quantity, quantity, work


@dataclass(frozen=True, slots=True)
class BoxItem:
    """Like things in a box.

    Parameters
    ----------
    name : str
        For the working, for instance ``12 AWG conductors``.
    count : float or Quantity
        How many. [-]
    allowances : float or Quantity
        Conductor volumes that each counts for, by the edition. [-]
    volume : float or Quantity
        Volume of the conductor that the edition takes for this item [in³].
    """

    name: str
    count: Number
    allowances: Number
    volume: Number


def box_fill(items: Sequence[BoxItem]) -> Quantity:
    """Volume that a box must have for what is in it [in³].

    Raises
    ------
    ValueError
        If nothing is in the box.

    Notes
    -----
    Source: NFPA 70 (2023), 314.16(B).

    Examples
    --------
    >>> box_fill([BoxItem("conductors", 6, 1, 2.0), BoxItem("grounds", 1, 1, 2.0), BoxItem("device", 1, 2, 2.0)]).value
    18.0
    """
    if not items:
        msg = "nothing is in the box"
        raise ValueError(msg)
    terms: dict[str, Number] = {}
    parts = []
    for index, item in enumerate(items, start=1):
        terms |= {f"n_{index}": item.count, f"k_{index}": item.allowances, f"v_{index}": item.volume}
        parts.append(f"n_{index} * k_{index} * v_{index}")
    return work("volume that the box needs", "in3", " + ".join(parts), **terms)


def grounding_allowances(count: Number, together: Number, first: Number, each_further: Number) -> Quantity:
    """Conductor volumes that equipment grounding conductors count for, all of the largest of them [-].

    Parameters
    ----------
    count : float or Quantity
        Equipment grounding conductors in the box. [-]
    together : float or Quantity
        How many of them count together. [-]
    first : float or Quantity
        Allowance of those together. [-]
    each_further : float or Quantity
        Allowance of each beyond them; zero in editions that count all of them together [-].

    Notes
    -----
    Source: NFPA 70 (2023), 314.16(B)(5); until 2017 all count once.

    Examples
    --------
    >>> grounding_allowances(10, 4, 1, 0.25).value
    2.5
    >>> grounding_allowances(10, 4, 1, 0).value
    1.0
    """
    return work(
        "allowances of the grounds",
        "",
        "min(1, n) * k_first + max(0, n - n_together) * k_further",
        n=count,
        k_first=first,
        n_together=together,
        k_further=each_further,
    )


def straight_pull(trade_size: Number, factor: Number) -> Quantity:
    """Least length of a box with a straight pull [in].

    Parameters
    ----------
    trade_size : float or Quantity
        Largest raceway that enters. [in]
    factor : float or Quantity
        Multiple of the trade size [-].

    Notes
    -----
    Source: NFPA 70 (2023), 314.28(A)(1).

    Examples
    --------
    >>> straight_pull(3, 8).value
    24.0
    """
    return work("least length of the box, straight pull", "in", "k * d", k=factor, d=trade_size)


def angle_pull(rows: Sequence[Sequence[Number]], factor: Number) -> Quantity:
    """Least distance from a wall with entries to the opposite wall, for an angle or U pull [in].

    Parameters
    ----------
    rows : sequence of sequences of float or Quantity
        Trade sizes of the entries in that wall, row by row. [in]
    factor : float or Quantity
        Multiple of the largest of a row, to which the others of the same row are added [-].

    Raises
    ------
    ValueError
        If there is no row or a row is empty.

    Notes
    -----
    Each row by itself, the one that asks for most decides. Source: NFPA 70 (2023), 314.28(A)(2).

    Examples
    --------
    >>> angle_pull([[3, 2]], 6).value
    20.0
    """
    if not rows or not all(rows):
        msg = "a wall without entries"
        raise ValueError(msg)
    terms: dict[str, Number] = {"k": factor}
    parts = []
    for row, sizes in enumerate(rows, start=1):
        largest_first = sorted(sizes, key=lambda size: quantity(size).value, reverse=True)
        names = [f"d_{row}_{place}" for place, _ in enumerate(sizes, start=1)]
        terms |= dict(zip(names, largest_first, strict=True))
        parts.append(" + ".join((f"k * {names[0]}", *names[1:])))
    text = parts[0] if len(parts) == 1 else f"max({', '.join(parts)})"
    return work("least distance to the opposite wall", "in", text, **terms)


def entry_spacing(trade_size: Number, factor: Number) -> Quantity:
    """Least distance between two raceways that hold the same conductor [in].

    Parameters
    ----------
    trade_size : float or Quantity
        The larger of the two. [in]
    factor : float or Quantity
        Multiple of the trade size [-].

    Notes
    -----
    Source: NFPA 70 (2023), 314.28(A)(2).

    Examples
    --------
    >>> entry_spacing(6, 6).value
    36.0
    """
    return work("least distance between the two entries", "in", "k * d", k=factor, d=trade_size)
