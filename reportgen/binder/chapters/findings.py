"""Every finding told in full, worst first; those that meet are a table."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.alike import alike
from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import (
    Chapter,
    Element,
    FindingList,
    Heading,
    ListedCheck,
    ListedFinding,
    Paragraph,
    WorkingView,
    finding_anchor,
    finding_view,
    margin_text,
)
from reportgen.binder.schedules import CHANGED_NOTE, Field, Line, Marked, Schedule
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
    elements.append(_listed(desk, met) if met else Paragraph("Nothing yet."))
    if workings:
        elements += [Heading("Working of what no other chapter works out"), *workings]
    summary = ", ".join(f"{len(desk.design.of(outcome))} {outcome}" for outcome in Outcome)
    return Chapter(
        "findings",
        "Findings",
        f"Every check and what it came to: {summary}.",
        tuple(elements),
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


def _listed(desk: Desk, found: tuple[Finding, ...]) -> FindingList:
    """The checks that meet, a row each; the schedule in the file has a row for each finding."""
    changed = desk.keep(_met(desk, found)).changed
    by_check: dict[tuple[str, str], list[tuple[int, Finding]]] = {}
    for number, finding in enumerate(found):
        by_check.setdefault((finding.code, finding.clause), []).append((number, finding))
    groups = []
    for (code, clause), numbered in by_check.items():
        words = alike([finding.headline for _, finding in numbered])
        items = tuple(
            ListedFinding(
                finding_anchor(finding),
                rest or (finding.subject if len(numbered) > 1 else words.common),
                margin_text(finding).replace(" to spare", ""),
                finding.break_even,
                _working(desk, finding),
                number in changed,
            )
            for (number, finding), rest in zip(numbered, words.rests, strict=True)
        )
        groups.append(
            ListedCheck(
                CATALOGUE[code].title,
                clause,
                words.common if len(numbered) > 1 else "",
                items,
                desk.rule(numbered[0][1]),
            )
        )
    notes: tuple[str, ...] = (
        "A share in brackets is the room left to the limit. Words that all findings of a check share stand once.",
    )
    if changed:
        notes = (*notes, CHANGED_NOTE)
    return FindingList("findings-met", "Checks that meet", Outcome.MEETS, tuple(groups), notes)


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
