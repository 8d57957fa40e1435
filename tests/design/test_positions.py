"""Positions of modules against array, count and the positions of other strings."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome

STRINGS = """
  A: {array: T, count: 10, positions: "row 1, columns 1-10"}
  B: {array: T, count: 9, positions: "row 1, columns 11-14; row 2, columns 10-14"}
  C: {array: T, count: 9, positions: "row 2, columns 1-9"}
"""


@pytest.fixture
def found(barn, edit, design):
    def make(*edits: tuple[str, str]):
        files = edit(barn({}), "barn.yaml", "count: 60", "rows: 2, columns: 14")
        files = edit(files, "barn.yaml", "strings:\ncircuits:\n", "strings:" + STRINGS)
        for old, new in edits:
            files = edit(files, "barn.yaml", old, new)
        return {
            f"{f.subject} {f.part}".strip(): f for f in design(files).findings if f.code == "string-positions"
        }

    return make


def test_every_module_once_meets(found) -> None:
    assert {key: f.outcome for key, f in found().items()} == dict.fromkeys("ABC", Outcome.MEETS)


@pytest.mark.parametrize(
    ("edit_", "failing", "words"),
    [
        (("row 2, columns 1-9", "row 7, columns 30-38"), "C", "outside T: rows 7, columns 30-38"),
        (("row 2, columns 1-9", "row 2, columns 0-8"), "C", "outside T"),
        (("row 2, columns 1-9", "row 2, columns 1-8"), "C", "are 8 places in T, its modules 9"),
        (("row 2, columns 1-9", "row 2, columns 2-10"), "BC", "both take row 2, column 10 of T"),
        (("row 2, columns 1-9", "row 2, columns 1-9; row 3, column 1"), "C", "are 10 places in T"),
        (("row 2, columns 1-9", "row 2, columns 1-8; row 2, column 1"), "C", "row 2, column 1 of T twice"),
    ],
)
def test_what_cannot_be_fails_at_the_string(found, edit_, failing, words) -> None:
    made = found(edit_)
    assert {key for key, f in made.items() if f.outcome is Outcome.FAILS} == set(failing)
    for key in failing:
        assert words in made[key].headline
        assert made[key].cure_span is not None
        assert made[key].cure


def test_the_first_of_two_strings_on_one_module_does_not_meet(found) -> None:
    """Read from the top, the first string looks right: only the second one shows that it is not."""
    made = found(("row 2, columns 1-9", "row 1, columns 1-9"))
    assert made["A"].outcome is Outcome.FAILS
    assert "strings A and C both take row 1, column 1 of T and 8 more" in made["A"].headline


@pytest.mark.parametrize(
    "edit_",
    [
        ("row 2, columns 1-9", "the lower half"),
        ("row 2, columns 1-9", "row 2, columns 9-1"),
        ("rows: 2, columns: 14", "count: 28"),
        ("count: 9, positions: \"row 2, columns 1-9\"", "count: 99980001, positions: \"rows 1-9999, columns 1-9999\""),
    ],
)  # fmt: skip
def test_what_cannot_be_read_or_compared_is_unknown(found, edit_) -> None:
    made = found(edit_)
    assert made["C"].outcome in {Outcome.UNKNOWN, Outcome.FAILS}
    if "99980001" not in edit_[1]:
        assert made["C"].outcome is Outcome.UNKNOWN


def test_no_positions_are_no_finding(found) -> None:
    assert "C" not in found((', positions: "row 2, columns 1-9"', ""))


def test_parts_are_judged_each_in_its_array(found) -> None:
    parts = 'parts: [{array: T, count: 4, positions: "row 2, columns 1-4"}, {array: U, count: 5, positions: "row 1, columns 1-5"}]'
    made = found(
        ('array: T, count: 9, positions: "row 2, columns 1-9"', parts),
        ("arrays: {", "arrays: {U: {module: A400, rows: 1, columns: 4}, "),
    )
    assert made["C T"].outcome is Outcome.MEETS
    assert made["C U"].outcome is Outcome.FAILS
