"""Assumptions, open questions, recalled values, and what this tool does not cover."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Chapter, Element, Heading, Listing, Paragraph, Pointers
from reportgen.binder.schedules import Field, Line, Schedule, cell_text
from reportgen.design.findings import Outcome


def chapter(desk: Desk) -> Chapter:
    """Everything that stands in for something unsaid."""
    design = desk.design
    questions = tuple(
        f"{finding.question} ({finding.subject})" for finding in design.of(Outcome.ASK) if finding.question
    )
    absent = tuple(dict.fromkeys(item for finding in design.of(Outcome.UNKNOWN) for item in finding.missing))
    elements: list[Element] = [
        Caution(
            "Figures rest on inputs",
            "Every figure rests on the inputs and on the edition named. A competent person has to check them; local law and "
            "the makers' instructions win.",
            "common practice, no source",
        ),
        desk.keep(_assumptions(desk)).table(),
        Heading("Questions for the authority and for makers"),
        Listing(questions) if questions else Paragraph("None."),
        Heading("Not stated, and therefore unknown"),
        Listing(absent) if absent else Paragraph("Nothing that a check needs is missing."),
        Heading("Values recalled from memory"),
        *_told(desk.keep(_recalled(desk))),
        Heading("Not covered"),
        Listing(design.not_covered),
        Paragraph(
            "Rounding: nothing is rounded before the end. Printed numbers are rounded for reading, limits to the side "
            "on which whoever keeps the printed figure keeps the real one, and the greatest values on labels, placards and work "
            "sheets up; workings carry six significant digits, and numbers typed by the user stand as typed."
        ),
    ]
    return Chapter(
        "assumptions",
        "Assumptions and open questions",
        "What stands in for something that was not said.",
        tuple(elements),
    )


def _told(recalled: Schedule) -> list[Element]:
    """How many values were recalled, and where each stands with its value and its source."""
    if not recalled.lines:
        return [Paragraph("None.")]
    return [
        Paragraph(
            f"{len(recalled.lines)} table cells were recalled and not read in a published copy. Each is marked where it "
            "is used: value recalled, check the adopted code. They stand first in the table of cells used."
        ),
        Pointers("All of them with their values", (("table cells used", "cells"),)),
    ]


def _assumptions(desk: Desk) -> Schedule:
    lines = tuple(
        Line(
            {
                "key": origin.key,
                "value": value.show() if value else "",
                "reason": origin.reason,
                "source": origin.source,
            }
        )
        for origin, value in desk.design.assumptions
    )
    fields = (
        Field("key", "What"),
        Field("value", "Value"),
        Field("reason", "Why it stands in"),
        Field("source", "Source"),
    )
    return Schedule("assumptions", "Assumptions", fields, lines)


def _recalled(desk: Desk) -> Schedule:
    lines = tuple(
        Line({"cell": cell.citation, "value": cell_text(cell), "source": cell.source})
        for cell in desk.design.recalled
    )
    return Schedule(
        "recalled",
        "Recalled values in use",
        (Field("cell", "Cell"), Field("value", "Value"), Field("source", "Source")),
        lines,
    )
