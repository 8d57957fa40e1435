"""What this tool does not decide: each item it meets in the folder becomes a question, never a pass."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing

#: Listed on the assumptions page of every binder.
NOT_COVERED = (
    "whether a string needs a fuse, and which",
    "ampacity of single conductors in free air by their own table, and conductors inside boxes and devices",
    "cut lengths",
    "rated current and load breaking of switches, torque of terminals",
    "PV power limit of inverters",
    "the AC side beyond conductors and voltage drop",
    "battery circuits and their protection",
    "structure, footings, wind and snow loads",
    "module-level electronics (optimizers, microinverters)",
    "lightning protection beyond naming surge protection",
    "interconnection with the public grid",
)


@check
def backfeed(facts: Facts) -> Iterator[Finding]:
    """Current that an inverter can feed back, which decides whether strings need fuses."""
    for key, inverter in facts.project.inverters.items():
        if inverter.backfeed_current is None:
            missing = Missing(f"backfeed_current of inverter type {key}", inverter.span)
            yield unknown(
                "backfeed", key, f"current that inverter type {key} feeds back is not stated", [missing]
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
