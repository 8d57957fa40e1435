"""Two figures of one thing that have to stand in an order, and how a field is told of in a message."""

from __future__ import annotations

from reportgen.diagnostics.model import Sink, Span
from reportgen.project.values import Section
from reportgen.working.quantity import Given, Quantity

_CODE = "impossible-value"


def below(
    section: Section, low: str, high: str, owner: str, usual: str, sink: Sink, *, or_equal: bool = False
) -> None:
    """Refuse a figure that is not below another one of the same thing; ``usual`` says what papers show."""
    one, other = getattr(section, low), getattr(section, high)
    if not (isinstance(one, Quantity) and isinstance(other, Quantity)):
        return
    if one.value < other.value or (or_equal and one.value == other.value):
        return
    relation = "above" if or_equal else "not below"
    sink.error(
        _CODE,
        f"{words_of(low)} `{text_of(one)}` of {owner} is {relation} its {words_of(high)} `{text_of(other)}`",
        place_of(section, low, one),
        help=f"{usual}; look whether the two are exchanged",
        related=[(place_of(section, high, other), f"{words_of(high)} stands here")],
    )


def words_of(field: str) -> str:
    """Name of a field in words."""
    return field.replace("_circuit_", "-circuit ").replace("_", " ")


def text_of(value: Quantity) -> str:
    """A value as it was written."""
    return value.origin.text if isinstance(value.origin, Given) else value.show(2)


def place_of(section: Section, field: str, value: Quantity) -> Span:
    """Where a value stands."""
    return value.origin.span if isinstance(value.origin, Given) else section.where(field)
