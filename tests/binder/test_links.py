"""From a finding to its working, on to the row of the appendix that holds the cell or the clause, and back."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from reportgen.binder.elements import (
    EntryTable,
    FindingList,
    FindingView,
    SourceText,
    Table,
    WorkingTable,
    cell_anchor,
    finding_anchor,
    line_anchor,
    rule_anchor,
)
from reportgen.binder.html import anchors, faults, render
from reportgen.binder.working_tables import gathered
from reportgen.binder.write import lay_out
from reportgen.design.findings import Outcome
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.service.build import check
from reportgen.service.folder_reader import take
from reportgen.working.quantity import Cell, Working

SAMPLE = Path(__file__).parents[2] / "sample_project"


@pytest.fixture(scope="module")
def design():
    return check(take(SAMPLE), whole=True)


@pytest.fixture(scope="module")
def pages(design):
    return lay_out(design, take(SAMPLE).everything)


@pytest.fixture(scope="module")
def chapters(design, pages):
    return {chapter.id: chapter for chapter in gathered(pages.chapters, design.findings)}


@pytest.fixture(scope="module")
def told(chapters) -> dict[str, tuple[str, str]]:
    """Anchors of working and rule by the anchor of the finding."""
    found: dict[str, tuple[str, str]] = {}
    for element in chapters["findings"].elements:
        if isinstance(element, FindingView):
            found[element.id] = element.working, element.rule
        elif isinstance(element, Table):
            for row in element.rows:
                found[row.anchor] = row.cells[0].link, row.cells[-1].link
        elif isinstance(element, FindingList):
            for group in element.groups:
                found |= {item.anchor: (item.link, group.rule) for item in group.items}
    return found


def test_every_link_leads_somewhere(design, pages) -> None:
    assert not faults(pages.chapters, design.findings)


def test_each_figure_that_was_worked_out_and_judged_has_its_working(design, pages, told) -> None:
    known = set(anchors(pages.chapters))
    worked = [
        finding
        for finding in design.findings
        if any(v is not None and isinstance(v.origin, Working) for v in (finding.value, finding.limit))
    ]
    assert len(worked) > 100
    for finding in worked:
        assert told[finding_anchor(finding)][0] in known, finding.id


def test_each_finding_with_a_clause_leads_to_its_row_and_that_row_back(design, pages, told, chapters) -> None:
    known = set(anchors(pages.chapters))
    clauses = [finding for finding in design.findings if finding.clause]
    assert len(clauses) > 100
    for finding in clauses:
        assert told[finding_anchor(finding)][1] in known, finding.id
        assert told[finding_anchor(finding)][1] == rule_anchor(CATALOGUE[finding.code].rule or "")
    rules = next(e for e in chapters["references"].elements if isinstance(e, Table) and e.id == "rules")
    places = {finding_anchor(finding) for finding in design.findings}
    assert all(row.cells[0].link in places for row in rules.rows)


def test_workings_lead_to_the_cells_they_use_and_cells_back(chapters, pages) -> None:
    known = set(anchors(pages.chapters))
    tables = [e for c in chapters.values() for e in c.elements if isinstance(e, WorkingTable)]
    used = {term.origin for e in tables for term in e.given if term.kind == "table"}
    used |= {
        cell.link
        for e in tables
        if e.table
        for row in e.table.rows
        for cell in row.cells
        if cell.link.startswith("cell-")
    }
    assert len(used) > 30
    assert used <= known
    by_anchor = {
        one.anchor: one.link
        for e in chapters["references"].elements
        if isinstance(e, EntryTable)
        for row in e.rows
        for one in row.entries
    }
    assert {by_anchor[place] for place in used} <= known
    assert all(by_anchor[place] for place in used)


def test_clauses_of_workings_lead_to_the_appendix(chapters, pages) -> None:
    known = set(anchors(pages.chapters))
    tables = [e for c in chapters.values() for e in c.elements if isinstance(e, WorkingTable) and e.clause]
    linked = [e.rule for e in tables if e.rule]
    assert len(linked) > 10
    assert set(linked) <= known


def test_a_working_leads_back_to_the_finding_that_judged_it(design, chapters) -> None:
    finding = next(f for f in design.findings if f.id == "raceway-fill:R2/trench-yard")
    back = [
        cell.link
        for e in chapters["raceways"].elements
        if isinstance(e, WorkingTable) and e.table
        for row in e.table.rows
        for cell in row.cells
    ]
    assert finding_anchor(finding) in back


def test_places_lead_to_the_printed_line_and_the_line_back(design, chapters, pages) -> None:
    printed = {e.title: e for e in chapters["inputs-printed"].elements if isinstance(e, SourceText)}
    known = set(anchors(pages.chapters))
    for finding in design.findings:
        if finding.outcome is Outcome.MEETS:
            continue
        for span in finding.sources:
            assert line_anchor(span.short) in known, span
            use = printed[span.file].uses[span.line]
            assert use.outcome is not None
            assert use.outcome.rank <= finding.outcome.rank
    typed = {
        cell.link
        for e in chapters["conductors"].elements
        if isinstance(e, WorkingTable) and e.table
        for row in e.table.rows
        for cell in row.cells[1:]
        if cell.link.startswith("line-")
    }
    assert len(typed) > 5
    assert typed <= known


def test_a_line_shows_what_the_place_names_and_leads_to_the_working_that_uses_it(chapters) -> None:
    """The number on the printed line is the one put into the formula."""
    printed = {e.title: e for e in chapters["inputs-printed"].elements if isinstance(e, SourceText)}
    checked = 0
    for chapter in chapters.values():
        for table in (e for e in chapter.elements if isinstance(e, WorkingTable)):
            for term in table.given:
                if term.kind != "input" or table.number == "":
                    continue
                file, _, line = term.source.partition(",")[0].rpartition(":")
                source = printed[file]
                number = float(term.value.replace("−", "-"))
                typed = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", source.lines[int(line) - 1])]
                converted = "written" in term.source
                assert converted or number in typed, (term, source.lines[int(line) - 1])
                use = source.uses[int(line)]
                named = dict(use.workings)
                assert table.number in named or use.more
                assert named.get(table.number, table.id) == table.id
                checked += 1
    assert checked > 20


def test_lines_are_counted_as_the_reader_counts_them() -> None:
    """Places name lines by line breaks alone; a form feed or a separator of paragraphs is none."""
    source = SourceText("a.yaml", "one\x0c\u2028\x85\r\ntwo\rthree\n\nfive\n")
    assert source.lines == ("one\x0c\u2028\x85", "two", "three", "", "five")


def test_lines_that_nothing_rests_on_carry_no_anchor(chapters, design, pages) -> None:
    html = render(pages.frame, pages.chapters, design.findings)
    anchored = html.count('<li id="line-')
    lines = sum(len(e.lines) for e in chapters["inputs-printed"].elements if isinstance(e, SourceText))
    uses = sum(len(e.uses) for e in chapters["inputs-printed"].elements if isinstance(e, SourceText))
    assert anchored == uses < lines * 0.7
    # Each place in the list on the cover is a link where it is a place in a file.
    cover = html.partition("<nav")[0]
    places = re.findall(r'<td class="place">(.*?)</td>', cover)
    assert len(places) > 5
    assert all(place == "" or place.startswith('<a href="#line-') for place in places)


def test_the_page_holds_the_links(design, pages) -> None:
    html = render(pages.frame, pages.chapters, design.findings)
    cell = next(
        term.origin
        for finding in design.findings
        if finding.code == "raceway-fill" and finding.outcome is Outcome.MEETS
        for _, term in finding.value.origin.terms
        if isinstance(term.origin, Cell)
    )
    place = cell_anchor(cell)
    assert f'href="#{place}"' in html
    assert html.count(f'id="{place}"') == 1
