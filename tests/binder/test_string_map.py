"""Map of strings to inputs: every leg once, texts apart and on the sheet, hostile names as text."""

from __future__ import annotations

import re

import pytest
from test_charts import boxes, check_texts, root_of

from reportgen.binder.drawings.string_map import LEGS, string_maps
from reportgen.design.string_map import LegWay

TERMINALS, STEPS = ("L1", "T1", "T2", "L2"), ("pole", "link", "pole")
#: Room on a portrait sheet: US letter less margins of 24 mm and 21 mm, and the caption. [CSS px]
HIGHEST = (279.4 - 24 - 21) * 96 / 25.4 - 60


def legs(count: int, name: str = "") -> list[LegWay]:
    return [
        LegWay(f"PV-ORCHARD-{n}{name}{leg}", f"ORCHARD-{n}{name}", leg, f"SW-ORCHARD-{n}{name}", TERMINALS, STEPS, f"INV-{n}/A{leg}", f"INV-{n}/A{leg}")
        for n in range(count) for leg in "+-"
    ]  # fmt: skip


@pytest.mark.parametrize("count", [3, 8, 12, 24])
@pytest.mark.parametrize(
    "name", ["", "-upper-terrace-behind-the-barn", "W" * 10_000, "<script>&\u202e \"'{{ 7*7 }}"]
)
def test_every_leg_once_and_texts_apart(count: int, name: str) -> None:
    ways = legs(count, name)
    sheets = string_maps(ways)
    assert len(sheets) == -(-len(ways) // LEGS)
    for sheet in sheets:
        check_texts(sheet)
        assert float(root_of(sheet).get("height", "")) <= HIGHEST
        # 6.5 pt, where 96 px are 72 pt.
        sizes = [float(one) for one in re.findall(r'font-size="([\d.]+)"', str(sheet.svg))]
        assert min(sizes) * 72 / 96 >= 6.5
        assert "\u202e" not in str(sheet.svg)
        assert "<script" not in str(sheet.svg)
    texts = [box.text for sheet in sheets for box in boxes(sheet)]
    assert texts.count("+") == texts.count("−") == count
    assert texts.count("as meant") == 2 * count
    if not name:
        assert [text for text in texts if text.startswith("PV-")] == [way.wire for way in ways]
        assert [text for text in texts if text.startswith("INV-")] == [way.meets for way in ways]
    if len(name) > 1000:
        assert sum(text.endswith("…") for text in texts) == 3 * 2 * count


def test_poles_and_links_are_drawn_apart() -> None:
    (sheet,) = string_maps(legs(1))
    svg = str(sheet.svg)
    assert svg.count('class="pen-dashed"') == 2
    slanted = re.findall(r'y1="([\d.]+)" x2="[\d.]+" y2="([\d.]+)"', svg)
    assert sum(one != other for one, other in slanted) == 4


def test_what_is_wrong_or_not_clear_is_told_in_words() -> None:
    wrong = LegWay("PV-1+", "S1", "+", "SW", TERMINALS, STEPS, "INV/A-", "INV/A+", wrong=True)
    unclear = LegWay("PV-1-", "S1", "-", "SW", (), (), "", "INV/A-", unclear="landing not stated")
    other = LegWay("PV-2-", "S2", "-", "SW", TERMINALS, STEPS, "PV-3-", "")
    (sheet,) = string_maps([wrong, unclear, other])
    texts = " ".join(box.text for box in boxes(sheet))
    assert "NOT as meant: for INV/A+" in texts
    assert "Not drawn: landing not stated." in texts
    assert "no input stated" in texts
    assert "as meant" not in texts.replace("NOT as meant", "")
    check_texts(sheet)


def test_a_name_too_long_for_its_place_is_told_in_words() -> None:
    way = LegWay("PV-1+", "S1", "+", "SW", ("LINE-TERMINAL-ONE", "T1", "T2", "L2"), STEPS, "INV/A+", "INV/A+")
    (sheet,) = string_maps([way])
    assert "LINE-TERMINAL-ONE pole T1 link T2 pole" in " ".join(box.text for box in boxes(sheet))
    check_texts(sheet)
