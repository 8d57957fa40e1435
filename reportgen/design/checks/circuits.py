"""Conductors: two ampacity tests and the voltage drop."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from reportgen.design.checks.base import (
    Facts,
    Words,
    check,
    compare,
    if_all_placed,
    if_alone,
    no_worse_than_thin,
    unknown,
)
from reportgen.design.circuits import is_nipple, worst_share
from reportgen.design.findings import Finding
from reportgen.design.missing import Missing, missing_of
from reportgen.design.results import WiredDesign
from reportgen.rulebook.rulebook import OutsideTable, Rulebook
from reportgen.working.quantity import Quantity
from reportgen.working.unit_system import both


@check
def ampacity_at_terminals(facts: Facts) -> Iterator[Finding]:
    """Continuous-duty current against the column of the lowest terminal, without factors."""
    thin = facts.policies.share("current_margin")
    for circuit in facts.wired:
        column = circuit.terminal_column
        words = (
            f"{column.show(0)} column at {circuit.terminal_at}"
            if isinstance(column, Quantity)
            else "column of its terminals"
        )
        made = compare(
            "ampacity-terminal",
            circuit.id,
            circuit.continuous,
            circuit.terminal,
            Words(f"continuous current of {circuit.id}", words, 2),
            thin,
            cure="use a larger conductor",
            cure_span=circuit.circuit.where("size"),
        )
        yield if_alone(facts, made, circuit.id)


@check
def ampacity_in_use(facts: Facts) -> Iterator[Finding]:
    """Maximum current against the corrected ampacity of the worst stretch."""
    thin = facts.policies.share("current_margin")
    code = "ampacity-use"
    for circuit in facts.wired:
        worst = circuit.governing
        if worst is None:
            absent = missing_of(*(stretch.ampacity for stretch in circuit.stretches)) or (
                Missing(f"path of circuit {circuit.id}", circuit.circuit.span),
            )
            yield unknown(code, circuit.id, f"ampacity of {circuit.id} is not known in every stretch", absent)
            continue
        made = compare(
            code,
            circuit.id,
            circuit.maximum,
            worst.ampacity,
            Words(f"maximum current of {circuit.id}", f"ampacity in {worst.segment}, the worst stretch,", 2),
            thin,
            part=str(worst.segment),
            break_even=_break_even(facts, circuit),
            notes=_set_aside(circuit),
            cure="use a larger conductor, or fewer current-carrying conductors in that stretch",
            cure_span=circuit.circuit.where("size"),
        )
        through = (stretch.segment for stretch in circuit.stretches)
        placed = if_all_placed(made, facts.pathless(*through, circuit=circuit.id, carrying=True))
        yield if_alone(facts, placed, circuit.id)


def _set_aside(circuit: WiredDesign) -> tuple[str, ...]:
    """What the claimed exception for short stretches leaves out."""
    if circuit.set_aside is None:
        return ()
    names = ", ".join(stretch.name for stretch in circuit.set_aside.set_aside)
    length, most = both(circuit.set_aside.length, 1), both(circuit.set_aside.allowance, 1, at_most=True)
    return (f"{names} set aside by the exception claimed for short stretches: {length} of at most {most}",)


def _break_even(facts: Facts, circuit: WiredDesign) -> str:
    """Hottest ambient and most conductors of the governing stretch at which the circuit still meets."""
    worst, current = circuit.governing, circuit.maximum
    if worst is None or not isinstance(current, Quantity):
        return ""
    parts = (worst.table, worst.ambient_factor, worst.count_factor, worst.ambient, worst.rating)
    known = [part for part in parts if isinstance(part, Quantity)]
    if len(known) < len(parts):
        return ""
    table, ambient_factor, count, ambient, rating = known
    whole = table.value * int(circuit.circuit.parallel or 1)
    enough = current.value / (whole * count.value)
    last = next(
        (
            degrees
            for degrees in range(int(rating.value), int(ambient.value) - 60, -1)
            if (_factor(facts.rulebook, int(rating.value), degrees) or 0.0) >= enough
        ),
        None,
    )
    if last is None:
        return ""
    told = f"meets up to {both(Quantity(last, 'degC'), 0, at_most=True)} in {worst.segment}"
    if is_nipple(facts.graph, facts.rulebook, worst.segment):
        return f"{told}; in a nipple their number does not count"
    most = _most_carrying(facts.rulebook, current.value / (whole * ambient_factor.value))
    return f"{told}, or up to {most} current-carrying conductors there" if most else told


@lru_cache(maxsize=1024)
def _most_carrying(rulebook: Rulebook, enough: float) -> int | None:
    """Most current-carrying conductors whose factor is enough; None where no number up to 60 is the last."""
    factors = [rulebook.count_factor(number).number for number in range(1, 61)]
    most = sum(factor >= enough for factor in factors)
    return most if 0 < most < len(factors) else None


@lru_cache(maxsize=1024)
def _factor(rulebook: Rulebook, rating: int, degrees: int) -> float | None:
    try:
        return rulebook.ambient_factor(rating, degrees).number
    except OutsideTable:
        return None


@check
def voltage_drop(facts: Facts) -> Iterator[Finding]:
    """Voltage drop against the user's target, and against the limit where the user or a maker states one.

    The limit is held against the hottest hour too, where it is known: what refuses a drop refuses it at any hour.
    """
    for circuit in facts.wired:
        target, limit = facts.policies.drop_target, circuit.circuit.drop_limit or facts.policies.drop_limit
        words = Words(f"voltage drop of {circuit.id}", "target", 2)
        made = compare("voltage-drop", circuit.id, circuit.drop_share, target, words, 0.0)
        share = worst_share(circuit)
        if limit is not None and isinstance(share, Quantity) and share.value > limit.value:
            hour = "" if share is circuit.drop_share else " in the hottest hour"
            yield compare(
                "voltage-drop",
                circuit.id,
                share,
                limit,
                Words(f"{words.value}{hour}", "stated limit", 2),
                0.0,
                cure="use a larger conductor",
                cure_span=circuit.circuit.where("size"),
            )
            continue
        longest = circuit.longest
        even = (
            f"reaches the target at {longest.to('m').show(1, at_most=True)} ({longest.to('ft').show(0, at_most=True)}) one way"
            if isinstance(longest, Quantity)
            else ""
        )
        beside: tuple[Quantity, ...] = ()
        notes = made.notes
        if limit is not None and isinstance(share, Quantity):
            beside, notes = (
                (limit,),
                (*notes, f"stated limit {limit.show(2, at_most=True)}: at most {share.show(2)} at any hour"),
            )
        told = replace(
            no_worse_than_thin(
                made,
                "above the target, no code limit",
                "see the energy chapter for what it loses in a year, or use a larger conductor",
                circuit.circuit.where("size"),
            ),
            break_even=even,
            beside=beside,
            notes=notes,
        )
        yield if_alone(facts, told, circuit.id)
