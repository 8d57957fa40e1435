"""The drawing of a switch: physical order, poles where the maker joins them, texts apart."""

from __future__ import annotations

import re

import pytest

from reportgen.binder.drawings import switch as drawings
from reportgen.binder.drawings.svg import Drawing
from reportgen.binder.drawings.switch import switch_figure

LINE, LOAD = ["L1", "L2", "L3", "L4"], ["T2", "T1", "T4", "T3"]
JOINED = [("L1", "T1"), ("L2", "T2"), ("L3", "T3"), ("L4", "T4")]
LANDED = {"L1": "PV-ORCHARD-1+", "L2": "PV-ORCHARD-1-", "T1": "INV-1/A+", "T2": "INV-1/A-"}


@pytest.fixture
def drawn(monkeypatch):
    """Drawings made meanwhile, with the places of their texts."""
    made: list[Drawing] = []

    class Kept(Drawing):
        def __init__(self, *args: object, **kwargs: object) -> None:
            super().__init__(*args, **kwargs)
            made.append(self)

    monkeypatch.setattr(drawings, "Drawing", Kept)
    return made


def centres(figure) -> dict[str, tuple[float, float]]:
    """Place of each terminal, read from the circles and the texts in them, which follow each other."""
    found = re.findall(
        r'<circle[^>]*cx="([\d.]+)" cy="([\d.]+)"[^>]*/><text[^>]*>([^<]+)</text>', str(figure.svg)
    )
    return {name: (float(x), float(y)) for x, y, name in found}


def test_terminals_stand_in_physical_order() -> None:
    at = centres(switch_figure("SW", LINE, LOAD, JOINED, [], LANDED))
    assert sorted(LINE, key=lambda one: at[one][0]) == LINE
    assert sorted(LOAD, key=lambda one: at[one][0]) == LOAD
    assert at["L1"][0] == at["T2"][0]
    assert at["L1"][1] < at["T2"][1]


def test_poles_join_what_the_maker_joins() -> None:
    figure = switch_figure("SW", LINE, LOAD, JOINED, [], LANDED)
    at = centres(figure)
    lines = {
        ((float(a), float(b)), (float(c), float(d)))
        for a, b, c, d in re.findall(
            r'x1="([\d.]+)" y1="([\d.]+)" x2="([\d.]+)" y2="([\d.]+)"', str(figure.svg)
        )
    }
    assert {(at[one], at[other]) for one, other in JOINED} <= lines
    assert (at["L1"], at["T2"]) not in lines


@pytest.mark.parametrize("count", [2, 4, 6, 12])
def test_texts_never_overlap(drawn, count: int) -> None:
    line, load = [f"L{i}" for i in range(count)], [f"T{i}" for i in range(count)]
    landed = {name: f"PV-LONG-{name}+" for name in (*line, *load)}
    figure = switch_figure("SWITCH-1", line, load, list(zip(line, load, strict=True)), [("T0", "T1")], landed)
    (made,) = drawn
    texts = made.texts
    assert not [(a.text, b.text) for i, a in enumerate(texts) for b in texts[i + 1 :] if a.overlaps(b)]
    assert all(
        box.left >= 0 and box.right <= made.width and box.top >= 0 and box.bottom <= made.height
        for box in texts
    )
    assert (figure.third, figure.half) == (count <= 4, count == 6)


def test_links_are_told_and_dashed() -> None:
    figure = switch_figure("SW", LINE, LOAD, JOINED, [("T1", "T2")], LANDED)
    assert "links, dashed, T1–T2" in figure.description
    assert "pen-dashed" in str(figure.svg)
    assert "pen-dashed" not in str(switch_figure("SW", LINE, LOAD, JOINED, [], LANDED).svg)


def test_marks_that_turn_text_round_are_shown_and_not_obeyed(drawn) -> None:
    figure = switch_figure("SW\u202e1", LINE, LOAD, JOINED, [], {"L1": "PV\u202e-1+"})
    assert "\u202e" not in str(figure.svg)
    assert "PV□-1+" in {box.text for box in drawn[0].texts}
