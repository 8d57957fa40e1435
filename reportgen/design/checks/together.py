"""Wires that lie together: each stands the highest voltage of all, and the wet; grounds and spares like the others."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from reportgen.design.checks.base import Facts, Words, check, compare
from reportgen.design.checks.marks import is_bare, wet_marked
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Known, known
from reportgen.design.wiring import WET_PLACES, Wiring
from reportgen.project.equipment import Cable
from reportgen.project.layout import Circuit
from reportgen.working.quantity import Quantity

_VOLTAGE = "cold-voltage-wire"
#: Wires that carry nothing of their own, and lie with those that do.
_OTHERS = frozenset({"ground", "spare"})


def beside_others(facts: Facts, made: Finding, mark: Known) -> Finding:
    """Finding on the mark of a string's wire, held against the other circuits in its raceways and boxes as well."""
    most = facts.beside.highest(made.subject)
    if most is None or made.outcome not in (Outcome.MEETS, Outcome.THIN) or made.value is None:
        return made
    other, volts = most
    if isinstance(volts, Quantity) and volts.value <= made.value.value:
        return made
    held = _held(facts, made.subject, other, volts, mark)
    # A margin that is small already does not grow by what lies beside.
    return replace(held, outcome=made.outcome) if held.outcome is Outcome.MEETS else held


def _new_ones(facts: Facts) -> Iterator[tuple[str, Circuit, Cable]]:
    """Insulated grounds and spares that are new, with their circuit and make of wire."""
    for key, circuit in facts.project.circuits.items():
        cable = facts.project.cables[str(circuit.cable)]
        if circuit.kind in _OTHERS and circuit.status == "new" and not is_bare(cable):
            yield str(key), circuit, cable


@check
def grounds_and_spares(facts: Facts) -> Iterator[Finding]:
    """Voltage mark of new grounds and spares against the live circuits in their raceways; existing ones are judged for reuse."""
    for key, circuit, cable in _new_ones(facts):
        most = facts.beside.highest(key)
        if most is not None:
            mark = known(cable.voltage, f"voltage of cable {circuit.cable}", cable.span)
            yield _held(facts, key, *most, mark)


def _held(facts: Facts, key: str, other: str, volts: Known, mark: Known) -> Finding:
    place = facts.beside.circuits(key)[other]
    return compare(
        _VOLTAGE,
        key,
        volts,
        mark,
        Words(f"voltage of {other}, which lies with {key} in {place},", f"mark on the wire of {key}"),
        0.0 if _told_there(facts, other, mark) else facts.policies.share("voltage_margin"),
        cure="use wire marked for the highest voltage in its raceways and boxes",
        cure_span=facts.project.circuits[key].where("cable"),
    )


def _told_there(facts: Facts, other: str, mark: Known) -> bool:
    """Whether a small margin shows at the wire of the other circuit already, whose mark is no higher."""
    theirs = facts.project.cables[str(facts.project.circuits[other].cable)].voltage
    return theirs is not None and isinstance(mark, Quantity) and theirs.value <= mark.value


@check
def wet_grounds_and_spares(facts: Facts) -> Iterator[Finding]:
    """Marking of new grounds and spares for the wet stretches that they pass."""
    wiring = Wiring(facts.graph, facts.rulebook)
    for key, circuit, _ in _new_ones(facts):
        wet = tuple(name for name, segment in wiring.hops(circuit) if segment.place in WET_PLACES)
        if wet:
            marking, _ = wiring.insulation(circuit, wet=True)
            yield wet_marked(facts, key, circuit, wet, marking)
