"""Answers of the edition on circuits that stand on or in buildings."""

from __future__ import annotations

from reportgen.rulebook.rulebook import Rulebook, Ruling


def shutdown_answers(rulebook: Rulebook) -> tuple[Ruling, ...]:
    """What the edition says of rapid shutdown inside a building, and where circuits end on its outside."""
    keys = ("rapid-shutdown-inside-building", "rapid-shutdown-exterior-termination")
    return tuple(rulebook.ruling(key) for key in keys)


def arc_fault_answer(rulebook: Rulebook, *, off_buildings: bool) -> Ruling:
    """Whether the edition asks for arc-fault protection of string circuits on or off buildings."""
    return rulebook.ruling("arc-fault-ground-string" if off_buildings else "arc-fault-on-building")
