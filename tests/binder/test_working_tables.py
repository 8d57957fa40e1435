"""Workings in tables: nothing that one of them shows alone is lost, and each line can be keyed in."""

from __future__ import annotations

import re
from dataclasses import replace

import invented
import pytest
from page_readers import Page, words

from reportgen.binder.elements import Chapter, Heading, WorkingTable, WorkingView, finding_view
from reportgen.binder.html import faults, render
from reportgen.binder.working_tables import gathered
from reportgen.binder.workings import step_anchors, working_view
from reportgen.design.findings import Finding, Outcome
from reportgen.diagnostics.model import Span
from reportgen.working.formula import formula
from reportgen.working.quantity import Cell, Given, Quantity, work


def drop(subject: str, length: float, line: int, at: str = "circuits.yaml") -> Quantity:
    """A drop whose resistance is the same for all, and whose length is typed in a file."""
    run = Quantity(length, "ft", Given(f"{length} ft", Span(at, line)), "length")
    per = Quantity(
        1.24, "ohm/kft", Cell("Table 8", "10 AWG", "copper", "1.24", "ohm/kft", "NEC 2023"), "resistance"
    )
    both = work("resistance of both legs", "ohm", "2 * L / 1000 * r", L=run, r=per)
    return work("voltage drop", "V", "R * I", R=both, I=Quantity(12.2, "A", None, f"current of {subject}"))


def views(*values: Quantity) -> tuple[WorkingView, ...]:
    return tuple(
        working_view(value, id=f"working-{k}", subject=f"PV-{k}", purpose="drop")
        for k, value in enumerate(values, 1)
    )


def tables(*elements: object) -> list[WorkingTable]:
    (chapter,) = gathered([Chapter("c", "C", "", (Heading("Working"), *elements))])  # type: ignore[arg-type]
    return [element for element in chapter.elements if isinstance(element, WorkingTable)]


def number(text: str) -> float:
    return float(text.split()[0].replace("−", "-"))


def test_a_formula_stands_once_with_a_line_for_each() -> None:
    first, second = tables(*views(drop("a", 210.0, 4), drop("b", 330.0, 9)))
    assert (first.symbols, second.symbols) == ("2 × L / 1000 × r", "R × I")
    assert first.table is not None
    assert [row.cells[0].text for row in first.table.rows] == ["1.1 PV-1", "1.2 PV-2"]
    assert [(term.symbol, term.value, term.source) for term in first.given] == [
        ("r", "1.24", "Table 8 [10 AWG, copper]")
    ]
    assert [column.symbol for column in first.table.columns] == ["", "L", ""]
    assert first.table.columns[1].title == "length, circuits.yaml:…"
    assert [row.cells[1].text for row in first.table.rows] == ["210.0 :4", "330.0 :9"]


def test_a_line_names_the_line_that_its_number_comes_from() -> None:
    first, second = tables(*views(drop("a", 210.0, 4), drop("b", 330.0, 9)))
    assert first.table is not None
    assert second.table is not None
    for inner, outer in zip(first.table.rows, second.table.rows, strict=True):
        own = inner.cells[0].text.split()[0]
        cell = outer.cells[1]
        assert cell.text.endswith(f"[{own}]")
        assert cell.link == inner.anchor
        assert number(cell.text) == number(inner.cells[-1].text)


def test_every_line_of_the_tables_can_be_keyed_in() -> None:
    """Formula, what holds for every line, and the cells of the line give the result that the line prints."""
    for table in tables(*views(drop("a", 210.0, 4), drop("b", 330.0, 9), drop("c", 87.5, 2, "more.yaml"))):
        assert table.table is not None
        plain = table.symbols.replace("×", "*").replace("−", "-")
        held = {term.symbol: number(term.value) for term in table.given}
        for row in table.table.rows:
            own = {
                column.symbol: number(cell.text)
                for column, cell in zip(table.table.columns, row.cells, strict=True)
                if column.symbol
            }
            assert formula(plain).evaluate(held | own) == pytest.approx(number(row.cells[-1].text), rel=2e-5)


def test_no_anchor_of_a_working_is_lost() -> None:
    value = drop("a", 210.0, 4)
    chapter = Chapter("c", "C", "", views(value, drop("b", 330.0, 9)))
    page = Page(render(invented.FRAME, [chapter], ()))
    ids = {element.attributes.get("id") for element in page.elements}
    assert set(step_anchors(value, "working-1").values()) <= ids
    assert not faults([chapter])


def test_other_files_other_sources_and_other_units_are_told_apart() -> None:
    first, _ = tables(*views(drop("a", 210.0, 4), drop("b", 210.0, 4, "more.yaml")))
    assert first.table is not None
    assert [row.cells[1].text for row in first.table.rows] == ["210.0 circuits.yaml:4", "210.0 more.yaml:4"]
    other = work(
        "resistance of both legs",
        "ohm",
        "2 * L / 1000 * r",
        L=Quantity(64.0, "m"),
        r=Quantity(4.07, "ohm/km"),
    )
    assert len(tables(*views(drop("a", 210.0, 4), other))) == 3


def test_long_sources_stand_under_the_table_and_keep_the_mark_of_a_recalled_value() -> None:
    def ampacity(size: str, amperes: float, recalled: bool) -> Quantity:
        cell = Cell("Table 310.16", f"copper, {size}", "90 °C", str(amperes), "A", "NEC 2023", recalled)
        return work("ampacity", "A", "I * F", I=Quantity(amperes, "A", cell, "table ampacity"), F=0.87)

    (table,) = tables(*views(ampacity("8 AWG", 55, False), ampacity("10 AWG", 40, True)))
    assert table.table is not None
    assert [row.cells[1].text for row in table.table.rows] == ["55 a", "40 b"]
    assert table.table.notes == (
        "a Table 310.16 [copper, 8 AWG, 90 °C]; b Table 310.16 [copper, 10 AWG, 90 °C]; recalled",
    )


def test_a_single_line_prints_the_numbers_put_in() -> None:
    inner, outer = tables(*views(drop("a", 210.0, 4)))
    assert (inner.table, inner.number, inner.id) == (None, "1.1", "working-1-1")
    assert (outer.numbers, outer.results, outer.label) == ("0.5208 × 12.2", ("6.35376 V",), "PV-1")
    assert outer.given[0].source == "line 1.1"


def test_who_shares_a_working_is_named_on_its_line() -> None:
    """The same design twice must not look as if the second string had no working."""
    shared = WorkingView("working-1", "voltage drop", "", (), subject="PV-9")
    _, outer = tables(*views(drop("a", 210.0, 4), drop("b", 330.0, 9)), shared)
    assert outer.table is not None
    assert [row.cells[0].text for row in outer.table.rows] == ["1.3 PV-1, PV-9", "1.4 PV-2"]


def test_a_chapter_whose_workings_all_stand_elsewhere_has_no_empty_heading() -> None:
    first = Chapter("a", "A", "", views(drop("a", 210.0, 4)))
    second = Chapter(
        "b", "B", "", (Heading("Working"), WorkingView("working-1", "voltage drop", "", (), subject="PV-9"))
    )
    assert gathered([first, second])[1].elements == ()


def test_a_judged_line_says_against_what_and_leads_back() -> None:
    value, limit = drop("a", 210.0, 4), Quantity(6.0, "V", None, "limit of the drop")
    fails = Finding("drop", "PV-1", Outcome.FAILS, "too much", value=value, limit=limit)
    other = replace(fails, code="other", outcome=Outcome.MEETS)
    found = [finding_view(finding, "working-1") for finding in (other, fails)]
    chapters = gathered(
        [Chapter("f", "F", "", tuple(found)), Chapter("c", "C", "", views(value, drop("b", 330.0, 9)))],
        [fails, other],
    )
    table = chapters[1].elements[-1]
    assert isinstance(table, WorkingTable)
    assert table.table is not None
    judged, free = (row.cells[-1] for row in table.table.rows)
    assert (judged.outcome, judged.text, judged.link) == (Outcome.FAILS, "against 6 V, 1 more", found[1].id)
    assert (free.outcome, free.text) == (None, "")


def test_of_limits_that_are_kept_the_tightest_is_named() -> None:
    value = drop("a", 210.0, 4)
    loose, tight = (
        Finding(code, "PV-1", Outcome.MEETS, "kept", value=value, limit=Quantity(volts, "V"), margin=margin)
        for code, volts, margin in (("loose", 2000.0, 0.99), ("tight", 8.0, 0.2))
    )
    found = [finding_view(finding, "working-1") for finding in (loose, tight)]
    chapters = gathered(
        [Chapter("f", "F", "", tuple(found)), Chapter("c", "C", "", views(value, drop("b", 330.0, 9)))],
        [loose, tight],
    )
    table = chapters[1].elements[-1]
    assert isinstance(table, WorkingTable)
    assert table.table is not None
    assert table.table.rows[0].cells[-1].text == "against 8 V, 1 more"


def test_the_table_has_heads_of_columns_and_of_lines() -> None:
    page = Page(
        render(invented.FRAME, [Chapter("c", "C", "", views(drop("a", 210.0, 4), drop("b", 330.0, 9)))], ())
    )
    heads = [element for element in page.all("th") if "main" in element.parents]
    assert {element.attributes["scope"] for element in heads} == {"col", "row"}
    assert [words(e) for e in heads if re.match(r"1\.", words(e))] == [
        "1.1 PV-1",
        "1.2 PV-2",
        "1.3 PV-1",
        "1.4 PV-2",
    ]
