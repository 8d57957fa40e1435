"""Plan of the site: to scale by the data, north by its direction, texts apart, and nothing said to be known that is not."""

from __future__ import annotations

import math
import re
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import itertools

from test_charts import boxes, check_texts, root_of

from reportgen.binder.chapters import raceways
from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.plan import plan
from reportgen.binder.drawings.site_plan import Bar, Course, Outline, Spot, scale_of, site_plan
from reportgen.binder.elements import Figure
from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"
LONG = "the-very-long-name-of-a-place-behind-the-barn"
HOSTILE = "<script>&\u202e \"'{{ 7*7 }}"
#: CSS px in a metre of paper.
PX = 96 / 0.0254


def desk_of(change=lambda text: text) -> Desk:
    files = {
        name: change(data.decode()).encode() if name.endswith(".yaml") else data
        for name, data in take(SAMPLE).everything.items()
    }
    return Desk(assemble(load_project(files), load("nec2023"), "d" * 64), files)


def legible(figure: Figure) -> list[str]:
    check_texts(figure)
    assert min(float(one) for one in re.findall(r'font-size="([\d.]+)"', str(figure.svg))) * 0.75 >= 6.6
    assert float(root_of(figure).get("height", "")) <= 900
    assert "<script" not in str(figure.svg)
    assert "\u202e" not in str(figure.svg)
    return [box.text for box in boxes(figure)]


def points(figure: Figure, kind: str) -> list[list[tuple[float, float]]]:
    found = re.findall(rf'<{kind} class="[^"]*" points="([^"]+)"', str(figure.svg))
    return [[tuple(map(float, pair.split(","))) for pair in one.split(" ")] for one in found]


def test_the_plan_of_the_sample_is_to_its_scale() -> None:
    (figure,) = plan(desk_of())
    told = " ".join(legible(figure))
    ratio = int(re.search(r"1 : (\d+)", told)[1])
    # Longest course: the trench of R1, 46.02 m by its three pieces.
    lines = points(figure, "polyline")
    drawn = [sum(math.dist(a, b) for a, b in itertools.pairwise(line)) / PX * ratio for line in lines]
    assert any(length == pytest.approx(46.0, abs=0.05) for length in drawn)
    # The bar is as long as its words say.
    bars = re.findall(
        r'<rect class="pen-(?:solid|outline)" x="[\d.]+" y="([\d.]+)" width="([\d.]+)" height="4"',
        str(figure.svg),
    )
    length = sum(float(wide) for _, wide in bars) / PX * ratio
    assert f"{length:.1f} m (" in told
    # EAST is 13.6 m long and 3.3 m deep, as its corners say.
    sides = [
        sorted(math.dist(a, b) / PX * ratio for a, b in zip(one, [*one[1:], one[0]], strict=True))
        for one in points(figure, "polygon")
        if len(one) == 4
    ]
    assert any(
        side[0] == pytest.approx(3.4, abs=0.1) and side[3] == pytest.approx(13.6, abs=0.1) for side in sides
    )


@pytest.mark.parametrize(("up", "way"), [(0.0, (0, -1)), (90.0, (-1, 0)), (180.0, (0, 1)), (270.0, (1, 0))])
def test_north_is_turned_against_the_direction_of_the_sheet(up, way) -> None:
    """Facing east, north lies at the left hand."""
    figure = site_plan(
        "k", "t", "d", [], [Spot("A", (0, 0)), Spot("B", (10, 5))], [], Bar(5.0, "5 m"), up, []
    )
    arrow = next(one for one in points(figure, "polygon"))
    tip, notch = arrow[0], arrow[2]
    length = math.dist(tip, notch)
    assert ((tip[0] - notch[0]) / length, (tip[1] - notch[1]) / length) == pytest.approx(way, abs=0.01)


def test_without_its_direction_no_arrow_is_drawn() -> None:
    (figure,) = plan(desk_of(lambda text: text.replace(", up: 8 deg", "")))
    assert "not stated" in legible(figure)
    assert "N" not in legible(figure)


def test_up_is_up_and_right_is_right() -> None:
    figure = site_plan(
        "k", "t", "d", [], [], [Course("R", ((0.0, 0.0), (10.0, 0.0), (10.0, 7.0)))], Bar(5.0, "5 m"), 0.0, []
    )
    (line,) = points(figure, "polyline")
    assert line[1][0] > line[0][0] and line[1][1] == line[0][1]
    assert line[2][1] < line[1][1] and line[2][0] == line[1][0]


def test_what_has_no_place_is_named_and_not_drawn() -> None:
    (figure,) = plan(desk_of(lambda text: text.replace(", at: {x: -25.4 m, y: 2.7 m}", "")))
    told = " ".join(legible(figure))
    assert "No place stated, not drawn: SW-E1, SW-E2, SW-R1, SW-W1, SW-W2, INV-2." in told


def test_a_sketch_stands_in_while_a_raceway_is_not_on_the_plan() -> None:
    def titles(change) -> list[str]:
        chapter = raceways.chapter(desk_of(change))
        return [
            one.title for one in chapter.elements if isinstance(one, Figure) and one.id.startswith("site")
        ]

    assert titles(lambda text: text) == ["Plan of the site"]
    half = lambda text: text.replace(", course: [{x: -23.6 m, y: -0.6 m}]", "")  # noqa: E731
    assert titles(half) == ["Plan of the site", "Sketch of the site"]
    without = lambda text: re.sub(r", (course|outline): \[[^\]]*\]|, at: \{[^}]*\}", "", text)  # noqa: E731
    assert titles(without) == ["Sketch of the site"]


@pytest.mark.parametrize("count", [3, 12, 24])
@pytest.mark.parametrize("name", ["", LONG, HOSTILE])
def test_a_plan_of_any_names_is_legible(count, name) -> None:
    outlines = [
        Outline(f"A{n}{name}", ((8.0 * n, 0.0), (8.0 * n + 6, 0.0), (8.0 * n + 6, 3.0), (8.0 * n, 3.0)))
        for n in range(count)
    ]
    spots = [Spot(f"B{n}{name}", (8.0 * n, 20.0 + n % 3), n % 2 == 0) for n in range(count)]
    courses = [Course(f"R{n}", ((8.0 * n, 3.0), (8.0 * n, 20.0)), n % 2 == 0) for n in range(count)]
    figure = site_plan(
        "k", "t", "d", outlines, spots, courses, Bar(20.0, "20 m (66 ft)"), 10.0, [f"legend {name}"]
    )
    legible(figure)


def test_a_site_of_one_spot_has_a_scale() -> None:
    assert scale_of([(3.0, 4.0), (3.0, 4.0)]) == 20
    assert scale_of([(0.0, 0.0), (1990.0, 1990.0)]) <= 40_000
