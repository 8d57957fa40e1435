"""Findings as a page tells them: in full, or close together in a list."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.binder.elements.anchors import finding_anchor
from reportgen.design.findings import Finding, Outcome
from reportgen.working.text import significant


@dataclass(frozen=True, slots=True)
class FindingView:
    """A finding told in full, with a link to its working."""

    id: str
    outcome: Outcome
    subject: str
    headline: str
    margin: str = ""
    break_even: str = ""
    cure: str = ""
    cure_place: str = ""
    places: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    question: str = ""
    clause: str = ""
    recalled: bool = False
    notes: tuple[str, ...] = ()
    needs_run: str = ""
    working: str = ""
    rule: str = ""


def margin_text(finding: Finding) -> str:
    """Room left or lacking in words, with enough digits never to print as nothing.

    Examples
    --------
    >>> margin_text(Finding("c", "S1", Outcome.THIN, "h", margin=0.0093))
    '0.93 % to spare'
    >>> margin_text(Finding("c", "S1", Outcome.FAILS, "h", margin=-0.031, at_most=False))
    '3.1 % short'
    """
    if finding.margin is None:
        return ""
    if finding.margin == 0:
        return "exactly at the limit"
    share = f"{significant(abs(finding.margin) * 100, 2)} %"
    if finding.margin > 0:
        return f"{share} to spare"
    return f"{share} over" if finding.at_most else f"{share} short"


def finding_view(finding: Finding, working: str = "", rule: str = "") -> FindingView:
    """A finding as it is printed; ``working`` and ``rule`` are the anchors of its working and of its clause."""
    # What is missing is not said twice.
    asked = len(finding.missing) == 1 and finding.cure == f"state {finding.missing[0]}"
    return FindingView(
        id=finding_anchor(finding),
        outcome=finding.outcome,
        subject=", ".join(part for part in (finding.subject, finding.part) if part),
        headline=finding.headline,
        margin=margin_text(finding),
        break_even=finding.break_even,
        cure=finding.cure,
        cure_place=finding.cure_span.short if finding.cure_span else "",
        places=tuple(dict.fromkeys(span.short for span in finding.sources)),
        missing=() if asked else finding.missing,
        question=finding.question,
        clause=finding.clause,
        recalled=finding.recalled,
        notes=finding.notes,
        needs_run=finding.needs_run,
        working=working,
        rule=rule,
    )


@dataclass(frozen=True, slots=True)
class ListedFinding:
    """A finding named in a list: its anchor, what tells it from the others, its margin, and its working."""

    anchor: str
    text: str
    margin: str = ""
    break_even: str = ""
    link: str = ""
    changed: bool = False


@dataclass(frozen=True, slots=True)
class ListedCheck:
    """A check with its findings of one outcome; ``common`` holds the words that they share.

    ``rule`` is the anchor of its rule among the references.
    """

    title: str
    clause: str
    common: str
    items: tuple[ListedFinding, ...]
    rule: str = ""


@dataclass(frozen=True, slots=True)
class FindingList:
    """Findings of one outcome set close: a row for each check, in it every finding with its anchor."""

    id: str
    caption: str
    outcome: Outcome
    groups: tuple[ListedCheck, ...]
    notes: tuple[str, ...] = ()
