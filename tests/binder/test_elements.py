"""The vocabulary of chapters: margins in words, findings as they are printed, anchors, tables."""

from __future__ import annotations

import re

import invented
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.binder.elements import (
    Chapter,
    Column,
    Table,
    TableCell,
    TaskCard,
    anchor,
    finding_view,
    margin_text,
    row,
)
from reportgen.binder.html import anchors, faults
from reportgen.design.findings import Finding, Outcome


@given(st.floats(1e-9, 5), st.booleans())
def test_a_margin_never_prints_as_nothing(size: float, fails: bool) -> None:
    text = margin_text(Finding("c", "s", Outcome.MEETS, "h", margin=-size if fails else size))
    share = re.match(r"([\d.e−]+) %", text)
    assert share
    assert float(share[1].replace("−", "-")) > 0
    assert text.endswith("over" if fails else "to spare")


def test_at_the_limit_is_said_so() -> None:
    assert margin_text(Finding("c", "s", Outcome.MEETS, "h", margin=0.0)) == "exactly at the limit"
    assert margin_text(Finding("c", "s", Outcome.UNKNOWN, "h")) == ""


def test_a_finding_tells_its_cure_and_places() -> None:
    view = finding_view(invented.findings()[0])
    assert view.cure_place == "strings.yaml:14"
    assert view.places[:2] == ("strings.yaml:14", "modules.yaml:8")
    assert view.recalled


@given(st.lists(st.text(), min_size=1, max_size=3), st.lists(st.text(), min_size=1, max_size=3))
def test_anchors_keep_names_apart(one: list[str], other: list[str]) -> None:
    assert (anchor(*one) == anchor(*other)) == (one == other)


def test_a_row_must_fill_the_columns() -> None:
    with pytest.raises(ValueError, match="1 cells in table 'x' of 2 columns"):
        Table("x", "", (Column("a"), Column("b")), (row("only"),))


def test_what_a_task_card_holds_can_be_linked_to() -> None:
    table = Table("inner", "Inner", (Column("A"),), (row("x", anchor="place"),))
    linked = Table("outer", "Outer", (Column("A"),), (row(TableCell("x", link="place")),))
    pages = Chapter("c", "C", "", (linked, TaskCard("card", "Card", (table,))))
    assert not faults([pages])
    assert {"card", "inner", "place"} <= set(anchors([pages]))
    assert faults([Chapter("c", "C", "", (TaskCard("card", "Card", (table, table)),))])
