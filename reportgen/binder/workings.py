"""The working of a value as a reviewer follows it: formula, numbers put in, result, where each comes from."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from reportgen.binder.elements import (
    WorkingStep,
    WorkingTerm,
    WorkingView,
    anchor,
    cell_anchor,
    line_anchor,
)
from reportgen.working.quantity import Assumed, Cell, Given, Quantity, Working
from reportgen.working.units import DIMENSIONS, UNITS, convert


def working_view(
    value: Quantity,
    clause: str = "",
    *,
    id: str = "",
    clause_recalled: bool = False,
    elsewhere: Mapping[Quantity, str] | None = None,
    subject: str = "",
    purpose: str = "",
    rule: str = "",
) -> WorkingView:
    """A value with all its steps, each result that goes into it before it and once.

    Parameters
    ----------
    value : Quantity
        What is shown; where it was not worked out, its origin is the only line.
    clause : str
        Rule that asks for it.
    id : str
        Anchor; made from the value's name where empty.
    clause_recalled : bool
        The clause was recalled, not read.
    elsewhere : mapping of Quantity to str, optional
        Values whose working stands at another anchor: these are linked to and not repeated.
    subject, purpose : str
        What it is worked out for and what as, which tells its lines apart from others of the same formula.
    rule : str
        Anchor of the row of the appendix that names the clause.
    """
    name = id or anchor("working", value.name)
    known = _others(elsewhere or {}, value)
    numbers: dict[Working, int] = {}
    steps: list[WorkingStep] = []
    for item, origin in _in_order(value, known, numbers):
        terms = tuple(_term(symbol, term, name, numbers, known) for symbol, term in origin.terms)
        steps.append(
            WorkingStep(
                f"{name}-{numbers[origin]}",
                item.name,
                origin.symbols,
                origin.numbers,
                _results(item, origin),
                terms,
            )
        )
    if not steps:
        line = _term("", value, name, numbers, known)
        steps.append(WorkingStep(f"{name}-1", value.name, "", "", (value.show(),), (line,)))
    return WorkingView(name, value.name, clause, tuple(steps), clause_recalled, subject, purpose, rule)


def step_anchors(
    value: Quantity, id: str = "", elsewhere: Mapping[Quantity, str] | None = None
) -> dict[Quantity, str]:
    """Where each result inside a working stands, so that later workings link to it instead of repeating it.

    Called with what :func:`working_view` was called with; the value itself has the anchor of the whole.
    """
    name = id or anchor("working", value.name)
    known = _others(elsewhere or {}, value)
    numbers: dict[Working, int] = {}
    places = {item: f"{name}-{numbers[origin]}" for item, origin in _in_order(value, known, numbers)}
    return {**places, value: name}


def _others(elsewhere: Mapping[Quantity, str], value: Quantity) -> Mapping[Quantity, str]:
    """The other places; copied only where the value is among them, because hashing a deep working is slow."""
    if value not in elsewhere:
        return elsewhere
    return {key: place for key, place in elsewhere.items() if key != value}


def _in_order(
    value: Quantity, known: Mapping[Quantity, str], numbers: dict[Working, int]
) -> Iterator[tuple[Quantity, Working]]:
    """Worked quantities below ``value``, inner ones first; ``numbers`` counts them from 1."""
    origin = value.origin
    if not isinstance(origin, Working) or origin in numbers:
        return
    for _, term in origin.terms:
        if term not in known:
            yield from _in_order(term, known, numbers)
    # A result may be reached twice on the way down; the inner call has then counted it.
    if origin not in numbers:
        numbers[origin] = len(numbers) + 1
        yield value, origin


def _results(value: Quantity, origin: Working) -> tuple[str, ...]:
    """The result as the formula delivers it, and once more where the value was converted after."""
    delivered = origin.formula.evaluate({name: term.value for name, term in origin.terms})
    if math.isclose(delivered, value.value, rel_tol=1e-12, abs_tol=1e-300) or value.unit not in UNITS:
        return (value.show(),)
    for unit in DIMENSIONS[UNITS[value.unit].dimension]:
        if math.isclose(convert(delivered, unit.symbol, value.unit), value.value, rel_tol=1e-9):
            return (Quantity(float(delivered), unit.symbol).show(), value.show())
    return (value.show(),)


def _term(
    symbol: str, term: Quantity, id: str, numbers: Mapping[Working, int], known: Mapping[Quantity, str]
) -> WorkingTerm:
    value, unit = term.keyed, term.unit_printed
    match term.origin:
        case Given(text, span):
            written = (
                ""
                if text.strip() in {term.show(), f"{value} {term.unit}", value}
                else f", written {text.strip()}"
            )
            place = span.short
            return WorkingTerm(
                symbol, value, unit, term.name, f"{place}{written}", "input", origin=line_anchor(place)
            )
        case Cell() as cell:
            other = "" if cell.unit in {term.unit, ""} else f", {cell.value} {_printed(cell.unit)}"
            # What the table stands in is said once, in the row of the appendix that the link leads to.
            source = f"{cell.citation}{other}{'; recalled' if cell.recalled else ''}"
            return WorkingTerm(
                symbol,
                value,
                unit,
                term.name,
                source,
                "table",
                recalled=cell.recalled,
                origin=cell_anchor(cell),
            )
        case Assumed(_, reason, source):
            told = "; ".join(part for part in (f"assumed: {reason}", source) if part)
            return WorkingTerm(symbol, value, unit, term.name, told, "assumed")
        case Working() as origin:
            if link := known.get(term):
                return WorkingTerm(
                    symbol, value, unit, term.name, "worked above", "worked", link, elsewhere=True
                )
            number = numbers[origin]
            return WorkingTerm(symbol, value, unit, term.name, f"step {number}", "worked", f"{id}-{number}")
    return WorkingTerm(symbol, value, unit, term.name, "fixed number", "plain")


def _printed(unit: str) -> str:
    return UNITS[unit].printed if unit in UNITS else unit
