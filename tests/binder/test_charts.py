"""Charts: texts that do not print over each other, marks at the right place, wires that fit inside the bore."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET

import invented
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.binder.assets import text_width
from reportgen.binder.charts import WindowLimit, WindowPoint, loss_bars, monthly_bars, ticks, window_chart
from reportgen.binder.drawings.packing import pack
from reportgen.binder.drawings.svg import Drawing, TextBox
from reportgen.binder.elements import Figure
from reportgen.binder.section_chart import SectionWire, raceway_section

SVG = "{http://www.w3.org/2000/svg}"


def root_of(figure: Figure) -> ET.Element:
    return ET.fromstring(str(figure.svg))


def boxes(figure: Figure) -> list[TextBox]:
    """Boxes of all texts of a drawing, read back from its markup."""
    found = []
    for text in root_of(figure).iter(f"{SVG}text"):
        size, words = float(text.get("font-size", "")), text.text or ""
        face = {"600": "semibold"}.get(
            text.get("font-weight", ""), "italic" if text.get("font-style") else "regular"
        )
        wide = text_width(words, size, face)
        share = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor", "start")]
        x, base, before = float(text.get("x", "")), float(text.get("y", "")), wide * share
        if "rotate(-90" in text.get("transform", ""):
            found.append(TextBox(words, x - 0.72 * size, base - wide + before, x + 0.2 * size, base + before))
        else:
            found.append(TextBox(words, x - before, base - 0.72 * size, x - before + wide, base + 0.2 * size))
    return found


def check_texts(figure: Figure) -> None:
    root, found = root_of(figure), boxes(figure)
    wide, high = float(root.get("width", "")), float(root.get("height", ""))
    for i, box in enumerate(found):
        assert box.left >= 0, box
        assert box.right <= wide + 0.5, box
        assert box.top >= 0, box
        assert box.bottom <= high, box
        for other in found[:i]:
            # An index stands close to its letter, on a lower line.
            if {box.text, other.text} & {"oc", "mp"}:
                continue
            assert not box.overlaps(other), (box, other)


@pytest.mark.parametrize("count", range(3, 25))
def test_window_charts_of_many_lengths(count: int) -> None:
    points = [WindowPoint(n, 47.0 * n, 45.0 * n, 31.0 * n) for n in range(3, 3 + count)]
    limits = [
        WindowLimit("never exceed", 1000, "never"),
        WindowLimit("window, upper edge", 985, "window"),
        WindowLimit("window, lower edge", 200, "window"),
        WindowLimit("start", 200, "start"),
    ]
    check_texts(window_chart("w", "t", "d", points, limits, {5}))


def test_a_window_chart_puts_values_where_the_axis_says() -> None:
    figure = window_chart(
        "w", "t", "d", [WindowPoint(10, 500, None, 300)], [WindowLimit("never", 600, "never")]
    )
    places = {b.text: (b.top + b.bottom) / 2 for b in boxes(figure)}
    rects = [
        r
        for r in root_of(figure).iter(f"{SVG}rect")
        if r.get("class") == "pen-outline" and r.get("width") == "8"
    ]
    (column,) = rects
    per_volt = (places["300"] - places["600"]) / 300
    height = float(column.get("height", ""))
    assert height == pytest.approx(200 * per_volt, rel=1e-3)


def test_a_window_chart_starts_where_the_voltages_are() -> None:
    figure = window_chart(
        "w", "t", "d", [WindowPoint(10, 500, 480, 410)], [WindowLimit("never", 600, "never")]
    )
    assert "0" not in {b.text for b in boxes(figure)}


def test_a_chart_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one voltage"):
        window_chart("w", "t", "d", [WindowPoint(3, None, None, None)], [])


@pytest.mark.parametrize("scale", [0.0, 0.01, 1.0, 1e4, 1e6])
def test_months_of_all_sizes(scale: float) -> None:
    values = [scale * v for v in (3, 5, 8, 11, 14, 16, 15, 12, 9, 6, 4, 2)]
    check_texts(monthly_bars(values, "Output", places=2))


def test_bars_grow_with_what_they_stand_for() -> None:
    figure = monthly_bars([1, 2, 4, 0, 0, 0, 0, 0, 0, 0, 0, 0], "Output")
    heights = [float(r.get("height", "")) for r in root_of(figure).iter(f"{SVG}rect")]
    assert heights[1] == pytest.approx(2 * heights[0], rel=1e-2)
    assert heights[2] == pytest.approx(4 * heights[0], rel=1e-2)
    assert heights[3] == 0
    assert figure.description == "Highest in Mar, 4 kWh, and lowest in Apr, 0 kWh"


def test_a_year_has_twelve_months() -> None:
    with pytest.raises(ValueError, match="zip"):
        monthly_bars([1.0] * 11, "Output")


def test_losses_and_gains() -> None:
    table = loss_bars("l", "Losses", [("light", 1000.0, 1.0), ("dirt", 20.0, 0.02), ("cold", -5.0, -0.005)])
    assert [(b.text, b.share, b.length, b.gain) for b in table.bars] == [
        ("1000", "100.00 %", 1.0, False),
        ("20", "2.00 %", 0.02, False),
        ("−5", "−0.50 %", 0.005, True),
    ]


@pytest.mark.parametrize("count", [1, 2, 6, 14, 15, 28, 40])
def test_sections_of_many_wires(count: int) -> None:
    wires = [SectionWire(f"a conductor with a long name {i}", 3.0 + i % 3, i % 7 == 0) for i in range(count)]
    check_texts(raceway_section("s", "t", "d", 52.0, wires))


def test_a_long_name_is_cut_and_its_diameter_is_not() -> None:
    figure = raceway_section("s", "t", "d", 52.0, [SectionWire("w" * 60, 4.166)])
    (told,) = [b.text for b in boxes(figure) if b.text.startswith("w")]
    assert told.endswith("…, 4.166 mm")


def test_a_section_says_what_found_no_room() -> None:
    figure = raceway_section("s", "t", "d", 10.0, [SectionWire("a", 6.0), SectionWire("b", 6.0)])
    check_texts(figure)
    assert "no room for 1 wire" in {b.text for b in boxes(figure)}


#: Sheets are 640 px wide where 96 px are an inch of 72 pt; nothing on a sheet is smaller than this.
LEAST_PX = 6.5 * 96 / 72


@pytest.mark.parametrize("strings", range(3, 25))
@pytest.mark.parametrize("bore", [35.0, 52.5, 102.3])
def test_the_section_of_many_strings_is_whole_and_legible(strings: int, bore: float) -> None:
    """Two wires a string and a ground: what finds room is drawn once, to scale, inside and apart; the rest is told."""
    wires = [SectionWire(f"PV-{i // 2 + 1} {'+-'[i % 2]}", 5.0) for i in range(2 * strings)]
    wires.append(SectionWire("ground", 4.2, True))
    figure = raceway_section("s", "t", "d", bore, wires, beside="9.99 in")
    check_texts(figure)
    root, texts = root_of(figure), boxes(figure)
    assert all(float(text.get("font-size", "")) >= LEAST_PX for text in root.iter(f"{SVG}text"))
    circles = [
        (*(float(c.get(key, "")) for key in ("cx", "cy", "r")), c.get("class"))
        for c in root.iter(f"{SVG}circle")
    ]
    (_, _, outer, _), (x0, y0, wall, _), *rest = circles
    assert outer > wall
    inside = [c for c in rest if math.hypot(c[0] - x0, c[1] - y0) < wall]
    told = [b.text for b in texts]
    (room,) = [int(t.split()[3]) for t in told if t.startswith("no room for")] or [0]
    assert len(inside) == len(wires) - room
    for i, (x, y, r, pen) in enumerate(inside):
        diameter = 4.2 if pen == "pen-hatch" else 5.0
        assert r / wall == pytest.approx(diameter / bore, abs=0.01 / wall)
        assert math.hypot(x - x0, y - y0) + r <= wall + 0.03
        for x2, y2, r2, _ in inside[:i]:
            assert math.hypot(x - x2, y - y2) >= r + r2 - 0.03
    (thin,) = [int(t.rpartition(" ")[2]) for t in told if t.startswith("too thin")] or [0]
    numbers = [b for b in texts if b.text.isdigit() and b.right < x0 + wall]
    live = sum(pen != "pen-hatch" for *_, pen in inside)
    assert len({b.text for b in numbers}) == len(numbers) == live - thin
    for i in range(1, 2 * strings + 1):
        assert sum(b.text == str(i) and b.left > x0 + wall for b in texts) == 1


@settings(max_examples=80, deadline=None)
@given(st.floats(5, 200), st.lists(st.floats(0.02, 0.6), max_size=25))
def test_wires_lie_inside_and_apart(bore: float, shares: list[float]) -> None:
    sizes = [bore * share for share in shares]
    laid = [(*place, size / 2) for place, size in zip(pack(bore, sizes), sizes, strict=True) if place]
    for i, (x, y, r) in enumerate(laid):
        assert math.hypot(x, y) <= bore / 2 - r + 1e-6 * bore
        for x2, y2, r2 in laid[:i]:
            assert math.hypot(x - x2, y - y2) >= r + r2 - 1e-6 * bore
    assert pack(bore, sizes) == pack(bore, sizes)


@pytest.mark.source(
    "Dense packings of congruent circles in a circle, Graham, Lubachevsky, Nurmela, Östergård 1998",
    locator="table of ratios, n = 2 and 3",
    read="memory",
)
@pytest.mark.parametrize(("count", "ratio"), [(2, 2.0), (3, 2.1547)])
def test_as_many_as_there_is_room_for(count: int, ratio: float) -> None:
    """Two circles need a bore of twice, three of 2.1547 times their diameter, and not less."""
    assert None not in pack(ratio * 1.0001, [1.0] * count)
    assert pack(ratio * 0.999, [1.0] * count).count(None) == 1


def test_nothing_has_no_width() -> None:
    with pytest.raises(ValueError, match="not all positive"):
        pack(30.0, [5.0, 0.0])


@given(st.floats(-1e6, 1e6), st.floats(0, 1e6))
def test_ticks_are_round_and_cover(low: float, span: float) -> None:
    marks = ticks(low, low + span)
    slack = 1e-6 * (abs(low) + span + 1)
    assert marks[0] <= low + slack
    assert marks[-1] >= low + span - slack
    assert 2 <= len(marks) <= 9


def test_a_drawing_speaks_and_escapes() -> None:
    drawing = Drawing("k", 100, 50, "a <b>", 'say "x" & y')
    drawing.text(5, 20, "<script>")
    root = ET.fromstring(str(drawing.markup()))
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "k-title k-description"
    assert [child.text for child in root] == ["a <b>", 'say "x" & y', "<script>"]


def test_the_invented_charts_are_sound() -> None:
    for figure in (invented.window(), invented.section()):
        check_texts(figure)
