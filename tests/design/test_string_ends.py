"""Modules at the ends of a string against its positions; what is not stated is no verdict."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome

STRING = """
  A:
    array: T
    count: 10
    positions: "row 1, columns 1-10"
    positive_at: "row 1, column 10"
    negative_at: "row 1, column 1"
"""
PARTS = """
  A:
    parts:
      - {array: T, count: 5, positions: "row 1, columns 1-5", positive_at: "row 1, column 5"}
      - {array: T, count: 5, positions: "row 2, columns 1-5", negative_at: "row 2, column 5"}
"""


@pytest.fixture
def found(barn, edit, design):
    def make(*edits: tuple[str, str], strings: str = STRING):
        files = edit(barn({}), "barn.yaml", "count: 60", "rows: 2, columns: 14")
        files = edit(files, "barn.yaml", "strings:\ncircuits:\n", "strings:" + strings)
        for old, new in edits:
            files = edit(files, "barn.yaml", old, new)
        return [f for f in design(files).findings if f.code == "string-ends"]

    return make


def test_two_ends_among_its_modules_meet(found) -> None:
    (one,) = found()
    assert one.outcome is Outcome.MEETS
    assert (
        one.headline
        == "positive end of string A at row 1, column 10 of T, negative at row 1, column 1 of T: modules of it"
    )
    assert [f.outcome for f in found(strings=PARTS)] == [Outcome.MEETS]


@pytest.mark.parametrize(
    ("edits", "words"),
    [
        ([("row 1, column 10", "row 1, column 11")], "positive end of string A, row 1, column 11 of T, is no module"),
        ([('t: "row 1, column 1"', 't: "row 2, column 1"')], "negative end of string A, row 2, column 1 of T, is no"),
        ([("row 1, column 10", "row 1, column 1")], "both ends of string A are at row 1, column 1 of T"),
    ],
)  # fmt: skip
def test_an_end_that_is_no_module_of_it_fails_at_its_line(found, edits, words) -> None:
    (one,) = found(*edits)
    assert one.outcome is Outcome.FAILS
    assert words in one.headline
    assert one.cure_span is not None
    assert one.cure


def test_the_same_place_in_two_arrays_is_no_single_module(found) -> None:
    """Row 1, column 5 of one part and row 2, column 5 of the other; two positive ends are one too many."""
    (one,) = found(("negative_at", "positive_at"), strings=PARTS)
    assert (one.outcome, one.headline) == (Outcome.FAILS, "string A has 2 positive ends")


@pytest.mark.parametrize(
    ("edits", "missing"),
    [
        ([('    negative_at: "row 1, column 1"\n', "")], "negative_at of string A"),
        ([("row 1, column 10", "the right end")], "positive_at of string A as one module"),
        ([("row 1, column 10", "row 1, columns 9-10")], "positive_at of string A as one module"),
        ([('    positions: "row 1, columns 1-10"\n', "")], "positions of string A in T"),
    ],
)  # fmt: skip
def test_what_is_not_stated_or_not_read_is_unknown(found, edits, missing) -> None:
    (one,) = found(*edits)
    assert one.outcome is Outcome.UNKNOWN
    assert missing in one.missing


def test_nothing_stated_is_no_finding(found) -> None:
    bare = STRING.replace('    positive_at: "row 1, column 10"\n    negative_at: "row 1, column 1"\n', "")
    assert found(strings=bare) == []
