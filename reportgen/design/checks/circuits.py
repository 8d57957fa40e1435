"""Conductors: two ampacity tests, the marking for wet places, and the voltage drop."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from reportgen.design.checks.base import Facts, Words, check, compare, no_worse_than_thin, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing, missing_of
from reportgen.design.results import CircuitDesign
from reportgen.rulebook.rulebook import OutsideTable, Rulebook
from reportgen.working.quantity import Quantity
from reportgen.working.text import fixed


@check
def ampacity_at_terminals(facts: Facts) -> Iterator[Finding]:
    """Continuous-duty current against the column of the lowest terminal, without factors."""
    thin = facts.policies.share("current_margin")
    for circuit in facts.circuits:
        column = circuit.terminal_column
        words = (
            f"{column.show(0)} column of its terminals"
            if isinstance(column, Quantity)
            else "column of its terminals"
        )
        yield compare(
            "ampacity-terminal",
            circuit.id,
            circuit.string.continuous,
            circuit.terminal,
            Words(f"continuous current of {circuit.id}", words, 2),
            thin,
            cure="use a larger conductor",
            cure_span=circuit.circuit.where("size"),
        )


@check
def ampacity_in_use(facts: Facts) -> Iterator[Finding]:
    """Maximum current against the corrected ampacity of the worst stretch."""
    thin = facts.policies.share("current_margin")
    code = "ampacity-use"
    for circuit in facts.circuits:
        worst = circuit.governing
        if worst is None:
            absent = missing_of(*(stretch.ampacity for stretch in circuit.stretches)) or (
                Missing(f"path of circuit {circuit.id}", circuit.circuit.span),
            )
            yield unknown(code, circuit.id, f"ampacity of {circuit.id} is not known in every stretch", absent)
            continue
        yield compare(
            code,
            circuit.id,
            circuit.string.maximum,
            worst.ampacity,
            Words(f"maximum current of {circuit.id}", f"ampacity in {worst.segment}, the worst stretch,", 2),
            thin,
            part=str(worst.segment),
            break_even=_hottest(facts, circuit),
            cure="use a larger conductor, or fewer current-carrying conductors in that stretch",
            cure_span=circuit.circuit.where("size"),
        )


def _hottest(facts: Facts, circuit: CircuitDesign) -> str:
    """Hottest ambient of the governing stretch at which the circuit still meets, in whole degrees."""
    worst, current = circuit.governing, circuit.string.maximum
    if worst is None or not isinstance(current, Quantity):
        return ""
    parts = (worst.table, worst.count_factor, worst.ambient, worst.rating)
    known = [part for part in parts if isinstance(part, Quantity)]
    if len(known) < len(parts):
        return ""
    table, count, ambient, rating = known
    enough = current.value / (table.value * count.value)
    last = next(
        (
            degrees
            for degrees in range(int(rating.value), int(ambient.value) - 60, -1)
            if (_factor(facts.rulebook, int(rating.value), degrees) or 0.0) >= enough
        ),
        None,
    )
    return f"meets up to {fixed(last, 0)} °C in {worst.segment}" if last is not None else ""


@lru_cache(maxsize=1024)
def _factor(rulebook: Rulebook, rating: int, degrees: int) -> float | None:
    try:
        return rulebook.ambient_factor(rating, degrees).number
    except OutsideTable:
        return None


@check
def wet_marking(facts: Facts) -> Iterator[Finding]:
    """Raceways underground and outdoors are wet inside; the marking on the wire has to allow it."""
    for circuit in facts.circuits:
        if not circuit.wet_segments:
            continue
        where = ", ".join(map(str, circuit.wet_segments))
        cable = facts.project.cables[str(circuit.circuit.cable)]
        if isinstance(circuit.wet_marking, str):
            yield Finding(
                "wet-marking",
                circuit.id,
                Outcome.MEETS,
                f"{circuit.wet_marking} of {circuit.id} is rated for the wet stretches {where}",
            )
        else:
            yield Finding(
                "wet-marking",
                circuit.id,
                Outcome.FAILS if cable.markings else Outcome.UNKNOWN,
                f"{circuit.insulation or 'the marking'} of {circuit.id} is not rated for the wet stretches {where}",
                cure="use wire marked for wet locations, for instance THWN-2 or XHHW-2",
                cure_span=cable.where("markings"),
                missing=() if cable.markings else (f"markings of cable {circuit.circuit.cable}",),
            )


@check
def voltage_drop(facts: Facts) -> Iterator[Finding]:
    """Voltage drop against the user's target, and against the limit where the user or a maker states one."""
    for circuit in facts.circuits:
        target, limit = facts.policies.drop_target, circuit.circuit.drop_limit or facts.policies.drop_limit
        words = Words(f"voltage drop of {circuit.id}", "target", 2)
        made = compare("voltage-drop", circuit.id, circuit.drop_share, target, words, 0.0)
        if (
            limit is not None
            and isinstance(circuit.drop_share, Quantity)
            and circuit.drop_share.value > limit.value
        ):
            yield compare(
                "voltage-drop",
                circuit.id,
                circuit.drop_share,
                limit,
                Words(words.value, "stated limit", 2),
                0.0,
                cure="use a larger conductor",
                cure_span=circuit.circuit.where("size"),
            )
            continue
        even = (
            f"reaches the target at {circuit.longest.to('m').show(1)} one way"
            if isinstance(circuit.longest, Quantity)
            else ""
        )
        yield no_worse_than_thin(
            made,
            "above the target, no code limit",
            "see the energy chapter for what it loses in a year, or use a larger conductor",
            circuit.circuit.where("size"),
            even,
        )
