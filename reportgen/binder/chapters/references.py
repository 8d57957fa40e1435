"""Code-reference appendix, built from the findings: each rule that was applied, with its clause."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import (
    CLAUSE_RECALLED,
    Chapter,
    Element,
    Entry,
    EntryRow,
    EntryTable,
    Paragraph,
    cell_anchor,
    finding_anchor,
    line_anchor,
    rule_anchor,
)
from reportgen.binder.schedules import Field, Line, Marked, Schedule, cell_text
from reportgen.design.findings import Finding, Outcome
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.working.quantity import Cell, Working

#: In place of a clause where physics, a maker or the user asks for a check.
NO_CLAUSE = "no clause"


def chapter(desk: Desk) -> Chapter:
    """Rules with their clauses, then the table cells that judged values rest on."""
    elements: list[Element] = [
        Paragraph(
            f"Edition in force: {desk.design.rulebook.in_force}. Clauses are named, not quoted. "
            "Local amendments and the adopted edition decide."
        ),
        *_by_clause(desk.keep(_rules(desk))),
        *_registered(desk),
    ]
    return Chapter(
        "references",
        "Code references",
        "Every rule applied, and the table cells that a judged value rests on. What was only tried looks up further cells that are not "
        "listed: sizes to choose from, other pipes, ratings that would fit, and how far a value would still meet.",
        tuple(elements),
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
        clauses = dict.fromkeys(finding.clause for finding in findings if finding.clause)
        clause = "; ".join(clauses) or (NO_CLAUSE if entry.rule is None else "no such rule in this edition")
        lines.append(
            Line(
                {
                    "check": Marked(entry.title, worst.outcome, finding_anchor(worst)),
                    "clause": clause,
                    "mark": "recalled" if any(finding.clause_recalled for finding in findings) else "",
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
    notes = (f"recalled: {CLAUSE_RECALLED}",)
    return Schedule("rules", "Rules applied", fields, tuple(lines), notes)


def _by_clause(schedule: Schedule) -> Iterator[Element]:
    """Rules with a clause, and close under them the checks that no clause asks for."""
    named = [k for k, line in enumerate(schedule.lines) if line.values["clause"] != NO_CLAUSE]
    lines = tuple(_marked_clause(schedule.lines[k]) for k in named)
    fields = tuple(field for field in schedule.fields if field.key != "mark")
    changed = frozenset(place for place, k in enumerate(named) if k in schedule.changed)
    yield replace(schedule, lines=lines, fields=fields, changed=changed).table()
    by_outcome: dict[Outcome, list[Entry]] = defaultdict(list)
    for k, line in enumerate(schedule.lines):
        check = line.values["check"]
        if line.values["clause"] == NO_CLAUSE and isinstance(check, Marked) and check.outcome is not None:
            told = f"{check.value} ({line.values['code']}, {line.values['count']})"
            by_outcome[check.outcome].append(Entry(schedule.marked(k, told), check.link))
    if by_outcome:
        rows = tuple(
            EntryRow(outcome.value, tuple(entries))
            for outcome, entries in sorted(by_outcome.items(), key=lambda pair: pair[0].rank)
        )
        yield EntryTable(
            "rules-without-clause",
            "Checks that no clause asks for: physics, a maker or the user does",
            ("Worst outcome", "Check (code, findings)"),
            rows,
            schedule.changed_notes,
        )


def _marked_clause(line: Line) -> Line:
    """A line whose clause says itself that it was recalled."""
    told = ", ".join(filter(None, (str(line.values["clause"]), str(line.values["mark"]))))
    return replace(line, values={**line.values, "clause": told})


def _first(rule: str, named: set[str]) -> str:
    """Anchor of a rule for the first row that names it, and for no other."""
    if not rule or rule in named:
        return ""
    named.add(rule)
    return rule_anchor(rule)


def _registered(desk: Desk) -> Iterator[EntryTable]:
    """Cells by table, those that nobody has read first; each leads to a working that uses it."""
    used: dict[Cell, str] = {}
    for value, place in desk.anchors.items():
        terms = value.origin.terms if isinstance(value.origin, Working) else ((("", value)),)
        for _, term in terms:
            if isinstance(term.origin, Cell):
                used.setdefault(term.origin, place)
    cells = _ordered(desk)
    schedule = desk.keep(_cells(cells))
    places: dict[str, Cell] = {}
    for cell in cells:
        # A cell and the local rule laid over it stand in one place of a table.
        places.setdefault(cell_anchor(cell), cell)
    for recalled, id, caption in (
        (True, "cells", "Table cells recalled and not read in a published copy: check each"),
        (False, "cells-read", "Table cells read"),
    ):
        by_table: dict[tuple[str, str], list[Entry]] = defaultdict(list)
        for k, cell in enumerate(cells):
            if cell.recalled is recalled:
                own = cell_anchor(cell) if places[cell_anchor(cell)] is cell else ""
                told = Entry(schedule.marked(k, _told(cell)), used.get(cell, ""), own)
                by_table[cell.table, cell.source].append(told)
        if by_table:
            rows = tuple(
                EntryRow(table, tuple(entries), source.removeprefix(table).strip())
                for (table, source), entries in by_table.items()
            )
            heads = ("Table, source", "Cells and their values")
            yield EntryTable(id, caption, heads, rows, schedule.changed_notes)


def _told(cell: Cell) -> str:
    """Row and column of a cell and its value; of a local rule's what it stands in place of."""
    place = cell.citation if cell.local is not None else ", ".join(filter(None, (cell.row, cell.column)))
    return f"{place}: {cell_text(cell)}" if place else cell_text(cell)


def _ordered(desk: Desk) -> list[Cell]:
    return sorted(desk.design.cells, key=lambda cell: not cell.recalled)


def _cells(cells: Sequence[Cell]) -> Schedule:
    lines = tuple(
        Line(
            {
                "cell": cell.citation,
                "value": cell_text(cell),
                "source": Marked(cell.source, link=line_anchor(cell.source) if cell.local else ""),
                "mark": "recalled" if cell.recalled else "read",
            }
        )
        for cell in cells
    )
    fields = (
        Field("cell", "Cell"),
        Field("value", "Value", align="right"),
        Field("source", "Source"),
        Field("mark", "Read or recalled"),
    )
    return Schedule("cells", "Table cells that judged values rest on", fields, lines)
