"""What changed since an earlier revision: findings, the input lines behind them, results."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.comparison import finding_words, percent
from reportgen.binder.elements import (
    Chapter,
    Element,
    Heading,
    Listing,
    Paragraph,
    finding_anchor,
    line_anchor,
)
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.compare import Comparison
from reportgen.diagnostics.model import Span

_MOST_RESULTS = 120  # a page of every figure helps nobody; the command lists all of them


def chapter(desk: Desk) -> Chapter | None:
    """The comparison that the build was asked for; None where it was asked for none."""
    if desk.since is None:
        return None
    name, comparison = desk.since
    elements: list[Element] = []
    if comparison.rules:
        elements.append(Paragraph("The rules differ: {} before, {} now.".format(*comparison.rules)))
    if comparison.findings:
        elements += [Heading("Findings"), desk.keep(_findings(comparison)).table()]
    if comparison.inputs:
        elements += [Heading("Inputs"), desk.keep(_inputs(comparison)).table()]
    if comparison.renamed:
        words = tuple(f"{section}: {old} is now perhaps {new}" for section, old, new in comparison.renamed)
        elements += [Heading("Alike but for the id"), Listing(words)]
    if comparison.results:
        elements += [Heading("Results"), desk.keep(_results(comparison)).table()]
        left = len(comparison.results) - _MOST_RESULTS
        if left > 0:
            elements.append(Paragraph(f"And {left} more: reportgen diff lists all of them."))
    if not elements:
        elements.append(Paragraph("Nothing that the design consists of differs."))
    summary = f"Both states were worked out by this version of the tool; what differs comes from the inputs. Compared with {name}."
    return Chapter("changes", "Changed since an earlier revision", summary, tuple(elements))


def _findings(comparison: Comparison) -> Schedule:
    lines = []
    for item in comparison.findings:
        shown = item.after or item.before
        assert shown is not None
        link = finding_anchor(item.after) if item.after is not None else ""
        lines.append(
            Line(
                {
                    "turn": item.turn.value,
                    "finding": Marked(shown.headline, item.after.outcome if item.after else None, link),
                    "outcome": finding_words(item),
                    "before": percent(item.before) if item.before else "",
                    "after": percent(item.after) if item.after else "",
                }
            )
        )
    fields = (
        Field("turn", "What became of it"),
        Field("finding", "Finding"),
        Field("outcome", "Outcome"),
        Field("before", "Margin before", align="right"),
        Field("after", "Margin now", align="right"),
    )
    return Schedule("changed-findings", "Findings that are not as they were", fields, tuple(lines))


def _inputs(comparison: Comparison) -> Schedule:
    lines = tuple(
        Line(
            {
                "path": item.path,
                "before": item.before or "–",
                "after": item.after or "–",
                "place": _place(item.span_before, item.span_after),
            }
        )
        for item in comparison.inputs
    )
    fields = (
        Field("path", "Input"),
        Field("before", "Before"),
        Field("after", "Now"),
        Field("place", "Where it stands"),
    )
    return Schedule("changed-inputs", "Inputs that differ", fields, lines)


def _place(before: Span | None, after: Span | None) -> Marked | str:
    """Where an input stands, or stood; the lines of now are printed in this binder."""
    span = after or before
    if span is None or not span.file:
        return ""
    return Marked(span.short, link=line_anchor(span.short) if after else "")


def _results(comparison: Comparison) -> Schedule:
    lines = tuple(
        Line(
            {
                "path": item.path,
                "before": item.before,
                "after": item.after,
                "change": f"{100 * item.change:+.2f} %" if item.change is not None else "",
            }
        )
        for item in comparison.results[:_MOST_RESULTS]
    )
    fields = (
        Field("path", "Result"),
        Field("before", "Before", align="right"),
        Field("after", "Now", align="right"),
        Field("change", "Change", align="right"),
    )
    return Schedule("changed-results", "Results that differ", fields, lines)
