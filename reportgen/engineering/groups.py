"""Sums over groups of like conductors: so many of this, so many of that."""

from __future__ import annotations

from collections.abc import Sequence

from reportgen.working.quantity import Number, Quantity, work


def sum_of_groups(
    name: str, unit: str, symbol: str, groups: Sequence[tuple[int, Quantity]], empty: str
) -> Quantity:
    """Sum of a property over groups of like things, ``n_1 * a_1 + n_2 * a_2``.

    Parameters
    ----------
    name, unit : str
        Of the result; each group's quantity comes in a unit that delivers it.
    symbol : str
        Letter of the property, ``a`` for an area.
    groups : sequence of (int, Quantity)
        Number of like things and the property of one.
    empty : str
        Message where there is no group.

    Raises
    ------
    ValueError
        If there is no group.

    Examples
    --------
    >>> sum_of_groups("area", "in2", "a", [(6, Quantity(0.0211, "in2")), (1, Quantity(0.0366, "in2"))], "none").value
    0.1632
    """
    if not groups:
        raise ValueError(empty)
    terms: dict[str, Number] = {}
    for index, (count, one) in enumerate(groups, start=1):
        terms |= {f"n_{index}": count, f"{symbol}_{index}": one}
    text = " + ".join(f"n_{index} * {symbol}_{index}" for index in range(1, len(groups) + 1))
    return work(name, unit, text, **terms)
