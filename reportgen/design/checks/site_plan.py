"""The plan of the site against what the folder says of lengths: a course that is longer or shorter, ends that do not meet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from reportgen.design.checks.base import TOO_MUCH, Facts, Words, check, compare
from reportgen.design.findings import Finding, Outcome
from reportgen.design.site_plan import joints
from reportgen.working.unit_system import both


@check
def course_lengths(facts: Facts) -> Iterator[Finding]:
    """Length stated against length drawn; which of them is wrong, somebody has to measure."""
    for item in facts.courses:
        told = f"{both(item.stated, 1)} stated, {both(item.drawn, 1)} on the plan"
        made = compare(
            "course-length",
            str(item.id),
            item.off,
            item.allowed,
            Words(f"{item.id}: {told}, off by", "tolerance", 2),
            0.0,
            cure_span=item.span,
            notes=("no climb is stated, taken as level",) if item.level else (),
        )
        yield _asked(
            made,
            f"Which holds for {item.id}: {told}? Measure again; cut lengths and pulls rest on the length stated.",
            "correct `length`, `rise` or `course`",
        )


@check
def course_ends(facts: Facts) -> Iterator[Finding]:
    """Ends that are one place stand in one place of the plan."""
    for item in joints(facts.graph):
        made = compare(
            "course-ends",
            item.raceway,
            item.apart,
            item.allowed,
            Words(f"{item.one} and {item.other} drawn apart by", "tolerance", 2),
            0.0,
            part=f"{item.one} to {item.other}",
            cure_span=item.span,
        )
        yield _asked(
            made,
            f"Where do {item.one} and {item.other} meet? On the plan they lie apart.",
            "correct `course` or `at`",
        )


def _asked(made: Finding, question: str, cure: str) -> Finding:
    """A contradiction on the plan is no hazard by itself: who knows the site has to answer."""
    if made.outcome is not Outcome.FAILS:
        return made
    return replace(
        made, outcome=Outcome.ASK, headline=made.headline.removesuffix(TOO_MUCH), question=question, cure=cure
    )
