"""A line of the list of materials, the groups that lines stand in, and the sums that lines are made of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from reportgen.design.missing import Known, Missing
from reportgen.working.quantity import Quantity, work

#: Terms of one sum.
_TERMS = 40
WIRE, RACEWAY, FITTINGS, DEVICES, TERMINALS, LABELS, PULL, KEPT = (
    "Wire",
    "Raceway",
    "Fittings",
    "Devices",
    "Ends of wires",
    "Labels",
    "Pull",
    "Kept, not bought",
)


@dataclass(frozen=True, slots=True)
class MaterialLine:
    """One line of the list.

    Attributes
    ----------
    group, item : str
        The item is also the name by which the folder gives its price.
    quantity : Quantity or Missing
        In the unit printed: m or ft, L or gal, or pieces.
    ids : tuple of str
        What it is counted from.
    price, cost : Quantity or None
        Of one unit, and of the line; None where the folder gives no price.
    """

    group: str
    item: str
    quantity: Known
    ids: tuple[str, ...]
    remark: str = ""
    price: Quantity | None = None
    cost: Known | None = None


def total_of(name: str, unit: str, values: Sequence[Quantity]) -> Quantity:
    """Sum of quantities, worked in steps where it is long: a formula of a thousand terms can be read by nobody."""
    if len(values) > _TERMS:
        parts = [
            total_of(f"{name}, part {part}", unit, values[start : start + _TERMS])
            for part, start in enumerate(range(0, len(values), _TERMS), start=1)
        ]
        return total_of(name, unit, parts)
    terms = {f"q_{i}": value for i, value in enumerate(values, start=1)}
    return work(name, unit, " + ".join(terms), **terms)


def pieces_of(name: str, counts: Mapping[str, float]) -> Quantity:
    """Sum of whole numbers by id [pieces]."""
    return total_of(name, "", [Quantity(count, "", None, id) for id, count in counts.items()])


def count_of(name: str, ids: Sequence[str]) -> Quantity:
    """Number of ids [pieces]."""
    return Quantity(float(len(ids)), "", None, name)


def sum_of(name: str, unit: str, values: Iterable[Known]) -> Known:
    """Sum of quantities in a unit; the first missing one where one is missing."""
    known: list[Quantity] = []
    for value in values:
        if isinstance(value, Missing):
            return value
        known.append(value.to(unit))
    return total_of(name, unit, known)
