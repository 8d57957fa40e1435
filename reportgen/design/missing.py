"""What is not known: the place of a number that was not given, carried along until a check says so."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TypeVar

from reportgen.diagnostics.model import Span
from reportgen.working.quantity import Quantity

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Missing:
    """A value that nobody stated.

    Parameters
    ----------
    what : str
        What to state, for instance ``maximum_dc_voltage of inverter type H12``.
    span : Span, optional
        Where to write it.
    """

    what: str
    span: Span | None = None


Known = Quantity | Missing


def missing_of(*values: object) -> tuple[Missing, ...]:
    """Everything missing among the values, each once."""
    return tuple(dict.fromkeys(value for value in values if isinstance(value, Missing)))


def known(value: T | None, what: str, span: Span | None = None) -> T | Missing:
    """Return the value, or the note of what is missing where it is None."""
    return Missing(what, span) if value is None else value


def first_missing(*values: object) -> Missing | None:
    """First missing one among the values."""
    for value in values:
        if isinstance(value, Missing):
            return value
    return None


def derive(function: Callable[..., Quantity], *values: Known) -> Known:
    """Result of ``function`` on the values, or the first that is missing: unknown in, unknown out."""
    missing = first_missing(*values)
    return missing if missing is not None else function(*values)


def highest(values: Iterable[Known], what: str = "") -> Known:
    """Greatest of some quantities of one unit; missing as soon as one of them is, because it could be the greatest.

    Where there are none, ``what`` is missing.

    Raises
    ------
    ValueError
        If there are none, and nothing is named for that.
    """
    return _outermost(values, max, what)


def lowest(values: Iterable[Known]) -> Known:
    """Least of some quantities of one unit; missing as soon as one of them is, because it could be the least.

    Raises
    ------
    ValueError
        If there are none.
    """
    return _outermost(values, min)


def _outermost(values: Iterable[Known], choose: Callable[..., Quantity], what: str = "") -> Known:
    stated: list[Quantity] = []
    for value in values:
        if isinstance(value, Missing):
            return value
        stated.append(value)
    return choose(stated, key=lambda one: one.value) if stated or not what else Missing(what)
