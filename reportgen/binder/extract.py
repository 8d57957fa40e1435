"""The reviewer's extract: what somebody who has to check the design wants on few sheets, with a column to tick.

Everything in it stands in the binder too; it is chosen and set close, never worked out anew. Findings are all there,
but for those that meet, which stand in the tables of limits and margins.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence

from reportgen.binder.cells import Marker
from reportgen.binder.elements import (
    CLAUSE_RECALLED,
    Blank,
    Caution,
    Chapter,
    Column,
    Element,
    Facts,
    Fields,
    FormTable,
    TableCell,
    margin_text,
)
from reportgen.binder.extract_limits import CHECKED, Cells, limit_tables
from reportgen.binder.frame import Frame
from reportgen.binder.html import Numbered, anchors, environment, numbered, style
from reportgen.design.assemble import Design
from reportgen.design.findings import Finding, Outcome
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.working.quantity import Quantity


def review_page(frame: Frame, design: Design) -> str:
    """The reviewer's extract as one HTML page that needs no other file."""
    found = tuple(numbered(i, chapter) for i, chapter in enumerate(review_chapters(design), 1))
    return _page(frame, design, found)


def _page(frame: Frame, design: Design, chapters: Sequence[Numbered]) -> str:
    env = environment()
    marker = Marker(frozenset(anchors([item.chapter for item in chapters])))
    counts = Counter(finding.outcome for finding in design.findings)
    return env.get_template("extract.html").render(
        frame=frame,
        style=style(),
        parts=env.get_template("elements.html").make_module({"marker": marker}),
        counts=tuple((outcome, counts[outcome]) for outcome in Outcome),
        chapters=chapters,
    )


def review_chapters(design: Design) -> tuple[Chapter, ...]:
    """Parts of the extract in the order in which a reviewer goes through them."""
    by_code: dict[str, list[Finding]] = defaultdict(list)
    for finding in design.findings:
        by_code[finding.code].append(finding)
    parts = (
        ("review-findings", "Findings that do not meet, worst first", _open(design)),
        ("review-limits", "Limits and margins", limit_tables(design, by_code)),
        ("review-ground", "Grounding and labels", _ground(design, by_code)),
        ("review-open", "Editions, open ends, signature", _rest(design)),
    )
    return tuple(
        Chapter(id, title, "", tuple(elements), page_break=False) for id, title, elements in parts if elements
    )


def _open(design: Design) -> list[Element]:
    """Every finding that does not meet, with what is missing or asked."""
    rows: list[Cells] = []
    ordered = sorted(
        (finding for finding in design.findings if finding.outcome is not Outcome.MEETS),
        key=lambda finding: (finding.outcome.rank, finding.margin or 0.0),
    )
    for finding in ordered:
        told = [finding.id, _rule(finding), *(f"missing: {item}" for item in finding.missing)]
        question = finding.question
        if question and question.rstrip("?").lower() not in finding.headline.lower():
            told.append(question)
        rows.append(
            (
                TableCell(finding.headline, finding.outcome, note=" · ".join(filter(None, told))),
                TableCell(margin_text(finding)),
                Blank(f"Checked: {finding.id}", tick=True),
            )
        )
    if not rows:
        return []
    notes = (
        "Under each finding stand its id and its rule. An exception is accepted by the id, with a reason, under `reviews` "
        "of the folder; it stays a finding.",
    )
    columns = (Column("Finding"), Column("Margin"), CHECKED)
    return [FormTable("review-findings-table", "Findings", columns, tuple(rows), notes)]


def _rule(finding: Finding) -> str:
    return f"{finding.clause}, recalled" if finding.clause and finding.clause_recalled else finding.clause


# Grounding, labels, the rest


def _ground(design: Design, by_code: Mapping[str, list[Finding]]) -> list[Element]:
    rows: list[Cells] = []
    for code in _GROUND_CODES:
        title, found = CATALOGUE[code].title, by_code.get(code, ())
        met = [finding for finding in found if finding.outcome is Outcome.MEETS]
        told = [
            (TableCell(finding.headline, finding.outcome), _rule(finding), finding.id)
            for finding in found
            if finding not in met
        ]
        if met:
            names = ", ".join(finding.subject for finding in met)
            headline = met[0].headline if len(met) == 1 else names
            told.append((TableCell(headline, Outcome.MEETS), _rule(met[0]), f"{title}, {names}"))
        rows += [(title, cell, rule, Blank(f"Checked: {name}", tick=True)) for cell, rule, name in told]
    made: list[Element] = []
    if rows:
        columns = (Column("Check"), Column("Found"), Column("Rule"), CHECKED)
        made.append(FormTable("review-grounding", "Grounding", columns, tuple(rows)))
    placards = list(_placards(design))
    if placards:
        columns = (Column("Placard"), Column("Places, and values to print"), Column("Rule"), CHECKED)
        made.append(FormTable("review-labels", "Labels and placards", columns, tuple(placards)))
    return made


_GROUND_CODES = ("array-bonding", "array-electrode", "floating-poles", "ground-fault", "leg-bonded")


def _placards(design: Design) -> Iterator[Cells]:
    """Placards of one wording together: all their places, and the values of each."""
    together: dict[str, list[tuple[str, str, str]]] = defaultdict(list)
    wording: dict[str, str] = {}
    for item in design.facts.labels.placards:
        values = [
            f"{name} {value.show(1, at_most=False) if isinstance(value, Quantity) else 'unknown'}"
            for name, value in item.values
        ]
        if item.live:
            values.append(f"live when open: {', '.join(item.live)}")
        if item.through:
            values.append(f"live, only passing: {', '.join(item.through)}")
        clause = item.asked.clause.text
        rule = f"{clause}, recalled" if item.asked.recalled and clause else clause
        together[item.key].append((item.place, "; ".join(values), rule))
        wording[item.key] = item.asked.wording
    for key, found in together.items():
        places: dict[str, list[str]] = defaultdict(list)
        for place, told, _ in found:
            places[told].append(place)
        shown = "; ".join(
            f"{', '.join(dict.fromkeys(where))}{f': {told}' if told else ''}"
            for told, where in places.items()
        )
        yield (wording[key] or key, shown, found[0][2], Blank(f"Checked: placard {key}", tick=True))


def _rest(design: Design) -> list[Element]:
    return [
        Facts(tuple(_editions(design)), "Editions, and what was recalled"),
        Caution(
            "Figures rest on inputs",
            "Every figure rests on the inputs whose digest stands at the head, and on the edition named. What was recalled "
            "is to be read in the adopted code.",
            "common practice, no source",
        ),
        Facts((("Not covered", "; ".join(design.not_covered)),)),
        Fields(
            "review-signed",
            (
                Blank("Remarks", lines=5),
                Blank("Reviewed by"),
                Blank("Licence"),
                Blank("Date"),
                Blank("Signature"),
            ),
            "Reviewer",
        ),
    ]


def _editions(design: Design) -> Iterator[tuple[str, str]]:
    rulebook = design.rulebook
    yield "Edition in force", rulebook.in_force
    clauses: dict[str, bool] = {}
    for finding in design.findings:
        if finding.clause:
            clauses[finding.clause] = clauses.get(finding.clause, False) or finding.clause_recalled
    recalled = [clause for clause, doubtful in clauses.items() if doubtful]
    yield "Clauses applied", f"{len(clauses)}, of which {len(recalled)} recalled"
    if recalled:
        yield CLAUSE_RECALLED.capitalize(), "; ".join(sorted(recalled))
    tables = Counter(cell.table for cell in design.recalled)
    if tables:
        yield (
            "Cells recalled, by table",
            "; ".join(f"{table} ({count})" for table, count in sorted(tables.items())),
        )
    site = design.project.site
    low = design.facts.policies.cold_temperature
    yield (
        "Temperatures",
        "; ".join(
            f"{name} {value.show() if value is not None else 'not stated'}"
            for name, value in (
                ("record low", site.record_low),
                ("mean annual minimum", site.mean_annual_minimum),
                ("design high", site.design_high),
            )
        )
        + f"; governing cold: {low}; from {site.temperatures_from or 'not stated'}",
    )
    yield "Assumptions", f"{len(design.assumptions)}; each is listed in the binder with its reason"
