"""Answers of the edition on circuits that stand on or in buildings."""

from __future__ import annotations

from reportgen.rulebook.rulebook import Rulebook, Ruling


def arc_fault_answer(rulebook: Rulebook, *, off_buildings: bool) -> Ruling:
    """Whether the edition asks for arc-fault protection of string circuits on or off buildings."""
    return rulebook.ruling("arc-fault-ground-string" if off_buildings else "arc-fault-on-building")
