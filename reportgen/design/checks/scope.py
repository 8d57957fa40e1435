"""What this tool does not decide: each item it meets in the folder becomes a question, never a pass."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check
from reportgen.design.findings import Finding, Outcome

#: Listed on the assumptions page of every binder.
NOT_COVERED = (
    "ampacity of single conductors in free air by their own table, and conductors inside boxes and devices",
    "ampacity of the tails of circuits, outside the raceways of the folder at the array and at the switches",
    "current that a switch can make, carry for a moment, or break in a fault",
    "the AC side beyond conductors and voltage drop",
    "conductors and devices behind a combiner box, which carry several strings together",
    "battery circuits and their protection",
    "structure, footings, wind and snow loads",
    "module-level electronics (optimizers, microinverters)",
    "lightning protection, and surge protection beyond what an inverter declares",
    "interconnection with the public grid",
)


@check
def open_questions(facts: Facts) -> Iterator[Finding]:
    """Questions the user wrote down for the authority."""
    for number, text in enumerate(facts.project.project.questions, start=1):
        yield Finding(
            "open-question",
            f"question {number}",
            Outcome.ASK,
            str(text).rstrip("?") + ", asked by the designer",
            question=str(text),
        )
