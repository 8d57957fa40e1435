"""Text renderer: excerpts, carets, colour, caps."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.diagnostics.model import Diagnostic, Label, Severity, Sink, Span
from reportgen.diagnostics.text import cells, excerpts, render, summary, use_color, visible


def shown(line: str, column: int, end: int, width: int = 60, text: str = "", end_line: int = 1) -> list[str]:
    span = Span("a.yaml", 1, column, end_line, end)
    diagnostic = Diagnostic("a-code", "fact", labels=(Label(span, text),))
    page = render([diagnostic], excerpts({"a.yaml": line.encode()}), width=width)
    return page.splitlines()[2:]


def wide(text: str) -> int:
    return sum(cells(character) for character in text)


def test_caret_stands_under_the_place() -> None:
    assert shown("    size: 3/4", 11, 14, text="inside area") == [
        "1 |     size: 3/4",
        "  |           ^^^ inside area",
    ]


def test_tabs_are_widened_alike_in_both_lines() -> None:
    excerpt, caret = shown("a:\t\tb: c", 5, 6)
    assert excerpt.index("b") == caret.index("^")
    assert "\t" not in excerpt + caret


def test_wide_characters_are_measured_in_columns() -> None:
    excerpt, caret = shown("名前: 漢字 x", 5, 7)
    assert wide(excerpt[: excerpt.index("漢")]) == wide(caret[: caret.index("^")])
    assert caret.count("^") == 4


def test_combining_marks_take_no_column() -> None:
    _, caret = shown("e\u0301 x", 4, 5)
    assert caret.index("^") == len("  | e ")


@pytest.mark.parametrize("break_", ["\n", "\r\n", "\r"])
def test_line_breaks_of_every_kind_count_the_same(break_: str) -> None:
    files = {"a.yaml": f"one{break_}two{break_}three".encode()}
    diagnostic = Diagnostic("a-code", "fact", labels=(Label(Span("a.yaml", 3, 1, 3, 6)),))
    assert render([diagnostic], excerpts(files)).splitlines()[2] == "3 | three"


def test_place_past_the_end_of_a_line_without_newline() -> None:
    assert shown("abc", 4, 5) == ["1 | abc", "  |    ^"]


def test_place_over_several_lines_is_marked_to_the_end_of_the_first() -> None:
    assert shown("a: >-  \n  b", 4, 4, end_line=2) == ["1 | a: >-", "  |    ^^"]


def test_long_line_is_cut_around_the_place() -> None:
    excerpt, caret = shown("x" * 500_000 + "ABC" + "y" * 500_000, 500_001, 500_004)
    assert wide(excerpt) <= 60
    assert excerpt[caret.index("^") : caret.rindex("^") + 1] == "ABC"
    assert excerpt.count("…") == 2


def test_file_that_is_not_text_or_not_there_shows_its_place_alone() -> None:
    label = Label(Span("photo.jpg", 3, 1, 3, 2), "too large")
    page = render([Diagnostic("a-code", "fact", labels=(label,))], excerpts({"photo.jpg": b"\xff\xd8\0\0"}))
    assert page.splitlines() == ["error[a-code]: fact", "  --> photo.jpg:3:1 (too large)"]


def test_line_that_the_file_has_not_is_named_without_excerpt() -> None:
    diagnostic = Diagnostic("a-code", "fact", labels=(Label(Span("a.yaml", 9, 2, 9, 3), "gone"),))
    page = render([diagnostic], excerpts({"a.yaml": b"x"}))
    assert page.splitlines() == ["error[a-code]: fact", "  --> a.yaml:9:2 (gone)"]


def test_end_of_the_file_after_its_last_line_break() -> None:
    diagnostic = Diagnostic("a-code", "fact", labels=(Label(Span("a.yaml", 2, 1, 2, 1)),))
    page = render([diagnostic], excerpts({"a.yaml": b"x\n"}))
    assert page.splitlines()[1:] == ["  --> a.yaml:2:1", "2 |", "  | ^"]


def test_whole_file_has_no_line_number() -> None:
    page = render([Diagnostic("a-code", "fact", labels=(Label(Span("a.yaml")),))], excerpts({"a.yaml": b"x"}))
    assert page.splitlines() == ["error[a-code]: fact", "  --> a.yaml"]


def test_control_characters_cannot_steer_the_terminal() -> None:
    diagnostic = Diagnostic("a-code", "\x1b[2J", labels=(Label(Span("a.yaml", 1, 1, 1, 2)),), help="\x9b\x07")
    page = render([diagnostic], excerpts({"a.yaml": "\x1b]0;x\x07\u202e".encode()}))
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", page)
    assert visible("\x1b") == "␛"


def test_colour_touches_severity_and_caret_only() -> None:
    diagnostic = Diagnostic(
        "a-code",
        "fact",
        Severity.WARNING,
        (
            Label(Span("a.yaml", 1, 1, 1, 3), "here"),
            Label(Span("a.yaml", 1, 4, 1, 5), "there", primary=False),
        ),
        "cure",
    )
    files = excerpts({"a.yaml": b"ab c"})
    coloured, plain = render([diagnostic], files, color=True), render([diagnostic], files)
    assert re.findall("\x1b\\[1;33m(.*?)\x1b\\[0m", coloured) == ["warning", "^^"]
    assert re.sub("\x1b\\[[0-9;]*m", "", coloured) == plain
    assert "\x1b" not in plain


def test_twenty_of_one_code_are_printed_and_the_rest_counted() -> None:
    many = [Diagnostic("a-code", f"fact {number}") for number in range(23)]
    page = render([*many, Diagnostic("b-code", "other")], excerpts({}), form="concise").splitlines()
    assert len(page) == 22
    assert page[-2:] == ["error[b-code]: other", "3 further messages `a-code` held back"]


def test_third_related_place_is_named_without_its_line() -> None:
    labels = (
        Label(Span("a.yaml", 1, 1, 1, 2)),
        *(Label(Span("b.yaml", n, 1, n, 2), "", False) for n in (1, 2, 3)),
    )
    page = render(
        [Diagnostic("a-code", "fact", labels=labels)], excerpts({"a.yaml": b"x", "b.yaml": b"1\n2\n3"})
    )
    assert page.splitlines()[-1] == "  ::: b.yaml:3:1"


@pytest.mark.parametrize(
    ("choice", "env", "tty", "wanted"),
    [
        ("auto", {}, True, True),
        ("auto", {}, False, False),
        ("auto", {"NO_COLOR": "1"}, True, False),
        ("auto", {"NO_COLOR": ""}, True, True),
        ("auto", {"FORCE_COLOR": "1"}, False, True),
        ("auto", {"NO_COLOR": "1", "FORCE_COLOR": "1"}, True, False),
        ("auto", {"TERM": "dumb"}, True, False),
        ("auto", {"TERM": "dumb", "FORCE_COLOR": "1"}, False, True),
        ("always", {"NO_COLOR": "1", "TERM": "dumb"}, False, True),
        ("never", {"FORCE_COLOR": "1"}, True, False),
    ],
)
def test_colour_is_decided_in_a_fixed_order(
    choice: str, env: dict[str, str], tty: bool, wanted: bool
) -> None:
    assert use_color(choice, env, tty) is wanted


def test_summary_has_singular_and_plural() -> None:
    one = [Diagnostic("a", "x")]
    assert summary(one, 1) == "1 error in 1 file"
    assert (
        summary([*one, *one, Diagnostic("a", "x", Severity.WARNING)], 5) == "2 errors, 1 warning in 5 files"
    )
    assert summary([]) == "no messages"


def test_sink_sorts_by_place_and_drops_repetitions() -> None:
    sink = Sink()
    for file, line in (("b", 1), ("a", 10), ("a", 9), ("a", 9)):
        sink.error("x-y", "m", Span(file, line, 1, line, 2))
    sink.error("x-y", "no place")
    assert [str(item.span) for item in sink.sorted()] == ["a:9:1", "a:10:1", "b:1:1", "None"]


_ANY = st.text(alphabet=st.characters(exclude_categories=["Cs"]), max_size=200)


@given(line=_ANY, column=st.integers(1, 250), length=st.integers(1, 80), width=st.integers(20, 120))
def test_any_line_is_shown_within_the_width_with_the_caret_below_it(
    line: str, column: int, length: int, width: int
) -> None:
    first = re.split(r"\r\n|\n|\r", line)[0]
    excerpt, caret = shown("-" + first, column, column + length, width)
    assert wide(excerpt) <= max(width, 40)
    assert wide(caret) <= max(width, 40) + 1
    assert "^" in caret
