"""Circuits on and in buildings: arc-fault protection, and the raceways they may run in inside."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.buildings import arc_fault_answer
from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing, first_missing
from reportgen.design.results import StretchDesign, StringDesign
from reportgen.project.equipment import Inverter
from reportgen.rulebook.rulebook import Rulebook
from reportgen.working.quantity import Quantity

#: Raceways of metal; all others are not.
_METAL = frozenset({"EMT", "IMC", "RMC", "FMC", "LFMC"})


@check
def arc_fault(facts: Facts) -> Iterator[Finding]:
    """Whether each inverter declares an arc-fault function; not declared is unknown, never not applicable."""
    for key, inverter in facts.project.inverters.items():
        if inverter.arc_fault_protection is None:
            yield unknown(
                "arc-fault",
                key,
                f"arc-fault function of inverter type {key} is not declared",
                [Missing(f"arc_fault_protection of inverter type {key}", inverter.span)],
            )
        elif inverter.arc_fault_protection:
            yield Finding(
                "arc-fault", key, Outcome.MEETS, f"inverter type {key} declares a DC arc-fault function"
            )
        else:
            yield _without_arc_fault(facts, key, inverter)


def _without_arc_fault(facts: Facts, key: str, inverter: Inverter) -> Finding:
    """No arc-fault function: fails where the edition asks for one, else a question."""
    off = facts.project.project.building == "no building" and not facts.graph.inside
    ruling = arc_fault_answer(facts.rulebook, off_buildings=off)
    needed = ruling.answer == "applies" and facts.project.project.building is not None
    return Finding(
        "arc-fault",
        key,
        Outcome.FAILS if needed else Outcome.ASK,
        f"inverter type {key} has no DC arc-fault function",
        question=""
        if needed
        else "Is arc-fault protection required for these circuits, and what provides it?",
        cure="use an inverter with an arc-fault function, or a listed device of its own" if needed else "",
        cure_span=inverter.where("arc_fault_protection"),
        notes=(f"{ruling.question}: {ruling.answer}",),
    )


@check
def inside_raceways(facts: Facts) -> Iterator[Finding]:
    """Inside a building direct current runs in metal; plastic raceway inside fails above the edition's voltage."""
    strings = {circuit.id: circuit.string for circuit in facts.circuits}
    for stretch in facts.stretches:
        if stretch.segment.place != "indoors":
            continue
        names = dict.fromkeys(wire.circuit for wire in stretch.conductors if wire.circuit in strings)
        if names:
            yield _inside(facts.rulebook, stretch, [strings[name] for name in names])


def _inside(rulebook: Rulebook, stretch: StretchDesign, strings: list[StringDesign]) -> Finding:
    code, where, kind = "indoor-raceway", str(stretch.id), str(stretch.segment.kind)
    if kind in _METAL:
        return Finding(code, where, Outcome.MEETS, f"{where} is {kind}, metal inside the building")
    voltages = [string.governing for string in strings]
    missing = first_missing(*voltages)
    if missing is not None:
        told = f"{where} is {kind} inside a building, at a voltage that is not known"
        return unknown(code, where, told, [missing])
    highest = max(one.value for one in voltages if isinstance(one, Quantity))
    volts, amperes = (rulebook.number(f"indoor-metal-{what}").number for what in ("voltage", "current"))
    small = all(isinstance(one.maximum, Quantity) and one.maximum.value <= amperes for one in strings)
    if highest <= volts and small:
        told = f"{where} is {kind} inside a building, below the voltage and current that ask for metal"
        return Finding(code, where, Outcome.MEETS, told)
    return Finding(
        code,
        where,
        Outcome.FAILS,
        f"{where} is {kind}, not metal, inside a building with strings of up to {highest:.0f} V",
        cure="use metal raceway inside, or end the circuits on the outside wall",
        cure_span=stretch.segment.where("kind"),
    )
