"""Plans of arrays: modules at their places, nothing drawn from words half understood, texts apart."""

from __future__ import annotations

import re

import pytest
from test_charts import check_texts
from test_html import contrast

from reportgen.binder.assets import template_dir
from reportgen.binder.drawings.array_plan import PlanString, array_plan, letter
from reportgen.binder.drawings.svg import HUES, INK
from reportgen.design.positions import places


@pytest.mark.parametrize("words", ["", "left half", "row 1", "row 0, columns 1-2", "row 1, columns 5-9", "row 1, columns 4-2", "row 1, columns 1-3; row 1, column 3", "row 1, columns 1-3; and the rest"])  # fmt: skip
def test_words_that_name_no_certain_modules_give_none(words: str) -> None:
    assert places(words, 2, 8) is None


def test_places_stand_in_the_order_of_the_words() -> None:
    assert places("row 2, columns 5-6; row 1, column 1", 2, 8) == ((2, 5), (2, 6), (1, 1))


@pytest.mark.parametrize("count", [3, 12, 24, 40])
@pytest.mark.parametrize("columns", [1, 11, 40])
def test_texts_stand_apart(count: int, columns: int) -> None:
    strings = [
        PlanString(letter(n), f"string S{n} " + "W" * 300 * (n == 1), tuple((n + 1, c + 1) for c in range(columns)))
        for n in range(count)
    ]  # fmt: skip
    check_texts(array_plan("A", count, columns, strings))


def test_a_module_of_two_strings_and_one_of_none_are_seen() -> None:
    figure = array_plan("A", 1, 4, [PlanString("A", "one", ((1, 1), (1, 2))), PlanString("B", "two", ((1, 2), (1, 3)))])  # fmt: skip
    texts = re.findall(r"<text[^>]*>([^<]+)</text>", str(figure.svg))
    assert (texts.count("!"), texts.count("A"), texts.count("B")) == (1, 2, 2)
    assert "1 in no string drawn; 1 in more than one string" in figure.description
    assert str(figure.svg).count('class="pen-dashed"') == 1


ENDS = [
    PlanString("A", "one", ((1, 1), (1, 2), (1, 3)), (1, 3), (1, 1)),
    PlanString("B", "two", ((2, 1), (2, 2), (2, 3)), (2, 3), (2, 1)),
]


@pytest.mark.parametrize(("leave", "side"), [("right", 26 + 3 * 46.0), ("left", 26.0)])
def test_ends_carry_their_sign_and_their_wires_run_to_the_side(leave: str, side: float) -> None:
    figure = array_plan("T", 2, 3, ENDS, leave, "PV-A, PV-B")
    texts = re.findall(r"<text[^>]*>([^<]+)</text>", str(figure.svg))
    assert [text for text in texts if text[0] in "AB"] == ["A−", "A", "A+", "A", "B−", "B", "B+", "B"]
    runs = re.findall(r'<polyline class="pen-(\w+)" points="([^"]+)"', str(figure.svg))
    assert [pen for pen, _ in runs] == ["line", "dotted"]  # both strings of a column lie together
    for _, points in runs:
        assert float(points.split()[-1].split(",")[0]) == side
    assert f"home runs PV-A, PV-B leave on the {leave}, dotted the negative" in texts[-1]
    check_texts(figure)


def test_a_side_that_nobody_stated_is_not_drawn() -> None:
    figure = array_plan("T", 2, 3, ENDS, "", "PV-A, PV-B")
    assert "<polyline" not in str(figure.svg)
    assert "side not stated" in str(figure.svg)


def test_an_end_outside_the_modules_of_its_string_is_not_drawn() -> None:
    figure = array_plan("T", 1, 3, [PlanString("A", "one", ((1, 1), (1, 2)), (1, 3), (1, 1))], "left")
    assert not re.search(">A\\+<", str(figure.svg))
    assert ">A−<" in str(figure.svg)


@pytest.mark.parametrize("columns", [1, 11, 40])
def test_texts_of_ends_stand_apart(columns: int) -> None:
    strings = [
        PlanString(letter(n), f"string S{n}", tuple((n + 1, c + 1) for c in range(columns)), (n + 1, 1), (n + 1, columns))
        for n in range(24)
    ]  # fmt: skip
    check_texts(array_plan("A", 24, columns, strings, "left", "W" * 300))


def test_letters_are_read_on_every_colour_by_day_and_by_night() -> None:
    """Grounds under the letters keep the contrast that WCAG 2.1 asks of text for level AAA, seven to one."""
    dark = dict(
        re.findall(
            r"\.pen-hue(\d) \{ fill: (#\w{6}) \}", (template_dir() / "style" / "screen.css").read_text()
        )
    )
    assert len(dark) == len(HUES)
    for light, night in zip(HUES, dark.values(), strict=True):
        assert contrast(INK, light) >= 7.0
        assert contrast("#e9e7e3", night) >= 7.0
