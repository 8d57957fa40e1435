"""Rules of the authority at hand: the list, each cell they set, and what rests on them."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Chapter, Paragraph
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.local import LocalDesign


def chapter(desk: Desk) -> Chapter | None:
    """List of local rules; no chapter where the project has none."""
    rules = desk.design.local
    if not rules:
        return None
    return Chapter(
        "local",
        "Local rules",
        "What the authority at hand sets otherwise or adds.",
        (
            Paragraph(
                "A stricter number stands in the calculation in place of the edition's. A looser one is used only where "
                "every finding that rests on it can be marked as thin; elsewhere the edition's number stays and the rule is a question."
            ),
            desk.keep(_rules(desk, rules)).table(),
            desk.keep(_cells(rules)).table(),
        ),
    )


def _rules(desk: Desk, rules: tuple[LocalDesign, ...]) -> Schedule:
    lines = []
    for rule in rules:
        resting = [
            finding.id
            for finding in desk.design.findings
            if any(cell.local is not None and cell.local.key == rule.id for cell in finding.cells)
        ]
        lines.append(
            Line(
                {
                    "id": Marked(rule.id, desk.worst("local-rule", subject=rule.id)),
                    "rule": str(rule.rule.rule),
                    "authority": str(rule.rule.authority or "not named"),
                    "text": str(rule.rule.text),
                    "value": str(rule.rule.value or "none"),
                    "findings": str(len(resting)),
                }
            )
        )
    fields = (
        Field("id", "Local rule"),
        Field("rule", "Sets the rule"),
        Field("authority", "Authority"),
        Field("text", "What it asks"),
        Field("value", "Value"),
        Field("findings", "Findings that compare with it", align="right"),
    )
    return Schedule("local-rules", "Rules of the authority at hand", fields, tuple(lines))


def _cells(rules: tuple[LocalDesign, ...]) -> Schedule:
    lines = tuple(
        Line(
            {
                "id": rule.id,
                "place": change.place,
                "before": change.shown(change.before),
                "after": change.shown(change.after),
                "side": "looser" if change.loosens else "stricter",
                "use": "used" if change.used else "not used, the edition's number stays",
            }
        )
        for rule in rules
        for change in rule.changes
    )
    fields = (
        Field("id", "Local rule"),
        Field("place", "Stands in for"),
        Field("before", "Without it", align="right"),
        Field("after", "By the local rule", align="right"),
        Field("side", "Against the edition"),
        Field("use", "In the calculation"),
    )
    return Schedule("local-cells", "Numbers that local rules name", fields, lines)
