"""A comparison of two designs as plain text, as Markdown for a review, and as a document for machines."""

from __future__ import annotations

import json
from collections.abc import Iterator

from reportgen.design.compare import Comparison, FindingTurn, InputTurn, ResultTurn, Turn
from reportgen.design.findings import Finding

_TITLES = {
    Turn.GAINED: "Findings gained or worse",
    Turn.TURNED: "Findings that turned",
    Turn.CURED: "Findings cured",
    Turn.NEARER: "Nearer the limit",
    Turn.APPEARED: "New checks that meet",
    Turn.VANISHED: "Findings whose subject is gone",
    Turn.FARTHER: "Farther from the limit",
}
_EMPTY = "nothing that the design consists of differs"


def text(comparison: Comparison, before: str, after: str) -> str:
    """The comparison for a terminal; ``before`` and ``after`` name the two states."""
    lines = [f"from {before} to {after}"]
    for title, rows in _parts(comparison):
        lines += ["", f"{title} ({len(rows)})", *(f"  {row}" for row in rows)]
    if comparison.empty:
        lines += ["", _EMPTY]
    return "\n".join(lines) + "\n"


def markdown(comparison: Comparison, before: str, after: str) -> str:
    """The comparison for a review on a page that renders Markdown."""
    lines = [f"## Design from {_escaped(before)} to {_escaped(after)}"]
    for title, rows in _parts(comparison):
        lines += ["", f"### {title}", "", *(f"- {_escaped(row)}" for row in rows)]
    if comparison.empty:
        lines += ["", f"{_EMPTY.capitalize()}."]
    return "\n".join(lines) + "\n"


def document(comparison: Comparison, before: str, after: str, tool: str) -> str:
    """The comparison as JSON, keys sorted."""
    content = {
        "format": 1,
        "tool": tool,
        "before": before,
        "after": after,
        "rules": list(comparison.rules) if comparison.rules else None,
        "findings": [
            {"turn": str(item.turn), "id": item.id, "before": _side(item.before), "after": _side(item.after)}
            for item in comparison.findings
        ],
        "inputs": [_input(item) for item in comparison.inputs],
        "respelled": [_input(item) for item in comparison.respelled],
        "perhaps_renamed": [
            {"section": section, "before": old, "after": new} for section, old, new in comparison.renamed
        ],
        "results": [
            {"path": item.path, "before": item.before, "after": item.after, "change": item.change}
            for item in comparison.results
        ],
    }
    return json.dumps(content, sort_keys=True, indent=1, ensure_ascii=False) + "\n"


def _parts(comparison: Comparison) -> Iterator[tuple[str, list[str]]]:
    """Titled lists in the order of telling, empty ones left out."""
    if comparison.rules:
        yield "Rules", [f"{comparison.rules[0]} → {comparison.rules[1]}"]
    told_later = (Turn.APPEARED, Turn.VANISHED, Turn.FARTHER)
    for turn in Turn:
        if turn not in told_later and (found := comparison.turned(turn)):
            yield _TITLES[turn], [finding_row(item) for item in found]
    if comparison.inputs:
        yield "Inputs that differ", [input_row(item) for item in comparison.inputs]
    if comparison.renamed:
        words = [f"{section}: {old} → {new}" for section, old, new in comparison.renamed]
        yield "Perhaps renamed: alike but for the id", words
    if comparison.results:
        yield "Results that differ", [result_row(item) for item in comparison.results]
    for turn in told_later:
        if found := comparison.turned(turn):
            yield _TITLES[turn], [finding_row(item) for item in found]
    if comparison.respelled:
        yield "Written differently, the same value", [input_row(item) for item in comparison.respelled]


def finding_row(item: FindingTurn) -> str:
    """One finding: outcomes, margins where both sides have one, headline."""
    shown = item.after or item.before
    assert shown is not None
    if item.before is None or item.after is None:
        return f"{item.id}: {shown.outcome}; {shown.headline}"
    margins = f", margin {percent(item.before)} → {percent(item.after)}" if shown.margin is not None else ""
    return f"{item.id}: {finding_words(item)}{margins}; {shown.headline}"


def finding_words(item: FindingTurn) -> str:
    """Outcome before and now, or the one there is."""
    if item.before is None or item.after is None:
        return (
            f"{item.after.outcome}, new"
            if item.after
            else f"was {item.before.outcome}"
            if item.before
            else ""
        )
    same = item.before.outcome is item.after.outcome
    return str(item.after.outcome) if same else f"{item.before.outcome} → {item.after.outcome}"


def input_row(item: InputTurn) -> str:
    """One input value with its place."""
    span = item.span_after or item.span_before
    place = f" ({span.short})" if span is not None and span.file else ""
    if item.before is None:
        return f"{item.path}: new, {item.after}{place}"
    if item.after is None:
        return f"{item.path}: gone, was {item.before}{place}"
    return f"{item.path}: {item.before} → {item.after}{place}"


def result_row(item: ResultTurn) -> str:
    """One result with its relative change."""
    change = f" ({100 * item.change:+.2f} %)" if item.change is not None else ""
    return f"{item.path}: {item.before} → {item.after}{change}"


def percent(finding: Finding) -> str:
    """Margin of a finding in percent, three digits."""
    return "none" if finding.margin is None else f"{100 * finding.margin:.3g} %"


def _side(finding: Finding | None) -> dict[str, object] | None:
    if finding is None:
        return None
    return {"outcome": str(finding.outcome), "margin": finding.margin, "headline": finding.headline}


def _input(item: InputTurn) -> dict[str, object]:
    spans = [
        span.short if span is not None and span.file else None for span in (item.span_before, item.span_after)
    ]
    return {
        "path": item.path,
        "before": item.before,
        "after": item.after,
        "place_before": spans[0],
        "place_after": spans[1],
    }


def _escaped(line: str) -> str:
    """A line in which Markdown finds nothing to format and HTML nothing to show."""
    for letter in "\\`*_{}[]<>#|~":
        line = line.replace(letter, f"&#{ord(letter)};")
    return " ".join(line.split())
