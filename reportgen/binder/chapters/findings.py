"""Every finding told in full, worst first; those that meet are a table."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import (
    Chapter,
    Element,
    Heading,
    Paragraph,
    WorkingView,
    finding_anchor,
    finding_view,
    margin_text,
)
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.findings import Finding, Outcome
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.working.quantity import Working

_TITLES = {
    Outcome.FAILS: "Fails",
    Outcome.UNKNOWN: "Unknown: an input is missing",
    Outcome.ASK: "Ask: somebody else decides",
    Outcome.THIN: "Thin: meets, with less margin than asked",
}


def chapter(desk: Desk) -> Chapter:
    """Findings by outcome; written after the other chapters, so that each links to its working.

    What was worked out and judged, and no chapter shows, is worked out here.
    """
    workings = list(_workings(desk))
    elements: list[Element] = []
    for outcome, title in _TITLES.items():
        found = desk.design.of(outcome)
        if found:
            elements.append(Heading(title))
            elements += [
                finding_view(finding, _working(desk, finding), desk.rule(finding)) for finding in found
            ]
    elements.append(Heading("Meets"))
    met = desk.design.of(Outcome.MEETS)
    elements.append(desk.keep(_met(desk, met)).table() if met else Paragraph("Nothing yet."))
    if workings:
        elements += [Heading("Working of what no other chapter works out"), *workings]
    summary = ", ".join(f"{len(desk.design.of(outcome))} {outcome}" for outcome in Outcome)
    return Chapter(
        "findings",
        "Findings",
        f"Every check and what it came to: {summary}.",
        tuple(elements),
        page_break=False,
    )


def _workings(desk: Desk) -> Iterator[WorkingView]:
    for finding in desk.design.findings:
        rule = CATALOGUE[finding.code].rule or ""
        for name, value in (("value", finding.value), ("limit", finding.limit)):
            if value is not None and isinstance(value.origin, Working) and value not in desk.anchors:
                subject = ", ".join(part for part in (finding.subject, finding.part) if part)
                yield from desk.working(value, "finding", finding.id, name, rule=rule, subject=subject)


def _working(desk: Desk, finding: Finding) -> str:
    for value in (finding.value, finding.limit):
        if value is not None and value in desk.anchors:
            return desk.anchors[value]
    return ""


def _met(desk: Desk, found: tuple[Finding, ...]) -> Schedule:
    lines = tuple(
        Line(
            {
                "finding": Marked(finding.headline, finding.outcome, _working(desk, finding)),
                "margin": margin_text(finding),
                "even": finding.break_even,
                "clause": Marked(finding.clause, link=desk.rule(finding)),
            },
            anchor=finding_anchor(finding),
        )
        for finding in found
    )
    fields = (
        Field("finding", "Finding"),
        Field("margin", "Margin"),
        Field("even", "Break-even"),
        Field("clause", "Clause"),
    )
    return Schedule("findings-met", "Checks that meet", fields, lines)
