"""Code-reference appendix, built from the findings: each rule that was applied, with its clause."""

from __future__ import annotations

from collections import defaultdict

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import (
    CLAUSE_RECALLED,
    Chapter,
    Element,
    Paragraph,
    cell_anchor,
    finding_anchor,
    line_anchor,
    rule_anchor,
)
from reportgen.binder.schedules import Field, Line, Marked, Schedule, cell_text
from reportgen.design.findings import Finding
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.working.quantity import Cell, Working


def chapter(desk: Desk) -> Chapter:
    """Rules with their clauses, then the table cells used."""
    elements: list[Element] = [
        Paragraph(
            f"Edition in force: {desk.design.rulebook.in_force}. Clauses are named, not quoted. "
            "Local amendments and the adopted edition decide."
        ),
        desk.keep(_rules(desk)).table(),
        desk.keep(_cells(desk)).table(),
    ]
    return Chapter(
        "references", "Code references", "Every rule applied and every table cell used.", tuple(elements)
    )


def _rules(desk: Desk) -> Schedule:
    by_code: dict[str, list[Finding]] = defaultdict(list)
    for finding in desk.design.findings:
        by_code[finding.code].append(finding)
    lines = []
    named: set[str] = set()
    for code, findings in sorted(by_code.items()):
        entry = CATALOGUE[code]
        worst = min(findings, key=lambda finding: finding.outcome.rank)
        clause = findings[0].clause or ("no clause" if entry.rule is None else "no such rule in this edition")
        lines.append(
            Line(
                {
                    "check": Marked(entry.title, worst.outcome, finding_anchor(worst)),
                    "clause": clause,
                    "mark": "recalled" if findings[0].clause_recalled else "",
                    "count": str(len(findings)),
                    "rule": entry.rule or "",
                    "code": code,
                },
                anchor=_first(entry.rule or "", named),
            )
        )
    fields = (
        Field("check", "Check"),
        Field("clause", "Clause"),
        Field("mark", "Mark"),
        Field("count", "Findings", align="right"),
        Field("rule", "Rule"),
        Field("code", "Code"),
    )
    notes = (f"recalled: {CLAUSE_RECALLED}; no clause: physics, a maker or the user asks for it",)
    return Schedule("rules", "Rules applied", fields, tuple(lines), notes)


def _first(rule: str, named: set[str]) -> str:
    """Anchor of a rule for the first row that names it, and for no other."""
    if not rule or rule in named:
        return ""
    named.add(rule)
    return rule_anchor(rule)


def _cells(desk: Desk) -> Schedule:
    cells = {item.origin for item in desk.design.quantities if isinstance(item.origin, Cell)}
    ordered = sorted(cells, key=lambda cell: (not cell.recalled, cell.table, cell.row, cell.column))
    used: dict[Cell, str] = {}
    for value, place in desk.anchors.items():
        terms = value.origin.terms if isinstance(value.origin, Working) else ((("", value)),)
        for _, term in terms:
            if isinstance(term.origin, Cell):
                used.setdefault(term.origin, place)
    places: dict[str, Cell] = {}
    for cell in ordered:
        # A cell and the local rule laid over it stand in one place of a table.
        places.setdefault(cell_anchor(cell), cell)
    lines = tuple(
        Line(
            {
                "cell": Marked(cell.citation, link=used.get(cell, "")),
                "value": cell_text(cell),
                "source": Marked(cell.source, link=line_anchor(cell.source) if cell.local else ""),
                "mark": "recalled" if cell.recalled else "read",
            },
            anchor=cell_anchor(cell) if places[cell_anchor(cell)] is cell else "",
            group="Recalled and not read in a published copy: check each" if cell.recalled else "Read",
        )
        for cell in ordered
    )
    fields = (
        Field("cell", "Cell"),
        Field("value", "Value", align="right"),
        Field("source", "Source"),
        Field("mark", "Read or recalled"),
    )
    return Schedule("cells", "Table cells used", fields, lines)
