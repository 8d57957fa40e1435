"""Profiles of raceways, sections of trenches, sketch of the site: texts apart and on the sheet, places and sizes by the data."""

from __future__ import annotations

import re
import sys
from itertools import pairwise
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "design"))

from pull_folders import RIDGE, folder
from test_charts import boxes, check_texts, root_of

from reportgen.binder.chapters import pull_plan, raceways
from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.profiles import profiles
from reportgen.binder.chapters.sketch import sketch
from reportgen.binder.chapters.trenches import trenches
from reportgen.binder.drawings.profile import ProfileSection, ProfileStretch, profile
from reportgen.binder.drawings.site_sketch import Place, Way, columns_of, site_sketch
from reportgen.binder.drawings.trench import Depth, TrenchPipe, trench_section
from reportgen.binder.elements import Figure, Paragraph
from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"
LONG = "the-very-long-name-of-a-place-behind-the-barn"
HOSTILE = "<script>&\u202e \"'{{ 7*7 }}"


def desk_of(files: dict[str, bytes]) -> Desk:
    return Desk(assemble(load_project(files), load("nec2023"), "d" * 64), files)


def sample(change=lambda text: text) -> Desk:
    return desk_of(
        {
            name: change(data.decode()).encode() if name.endswith(".yaml") else data
            for name, data in take(SAMPLE).everything.items()
        }
    )


def legible(figure: Figure, highest: float = 900.0) -> list[str]:
    """Words of a drawing whose texts are apart, on the sheet, and at least 6.6 pt high, where 96 px are 72 pt."""
    check_texts(figure)
    assert min(float(one) for one in re.findall(r'font-size="([\d.]+)"', str(figure.svg))) * 0.75 >= 6.6
    assert float(root_of(figure).get("height", "")) <= highest
    assert "<script" not in str(figure.svg)
    assert "\u202e" not in str(figure.svg)
    return [box.text for box in boxes(figure)]


def strip(stretches: int, sections: int, name: str, limit: float | None = None) -> Figure:
    made = [
        ProfileStretch(
            1.0 + 40.0 * (number % 3 == 1),
            ("outdoors", "underground", "roof", "indoors")[number % 4],
            "heavy",
            (f"S{number}{name}", "underground", "PVC-80 1-1/2", "46.0 m (151 ft)", f"2 × 45°{name}", f"cover {number} mm{name}"),
            (0.1, 0.9),
        )
        for number in range(stretches)
    ]  # fmt: skip
    cuts = [stretches * number // sections for number in range(sections + 1)]
    parts = []
    for number, (first, behind) in enumerate(pairwise(cuts)):
        whole = sum(one.length for one in made[first:behind])
        pulls = tuple(((0.0, 0.0), (whole, 100.0 * slope)) for slope in (1, 2, 3))
        parts.append(
            ProfileSection(
                first, behind - 1, f"BOX-{number}{name}", f"BOX-{number + 1}{name}", f"told {name}", bool(number % 2), pulls, ((0.0, 0.5),), limit
            )
        )  # fmt: skip
    return profile("k", "t", "d", made, parts, ("lubricated", "middle", "dry"), "N")


@pytest.mark.parametrize("stretches", range(1, 9))
@pytest.mark.parametrize("name", ["", LONG, "W" * 300, HOSTILE])
def test_a_strip_of_any_names_is_legible(stretches, name) -> None:
    for sections in {1, (stretches + 1) // 2, stretches}:
        for limit in (None, 250.0, 9000.0):
            legible(strip(stretches, sections, name, limit))


def test_a_strip_without_stretches_or_with_too_many_is_refused() -> None:
    for many in (0, 9):
        with pytest.raises(ValueError, match="profile of"):
            profile("k", "t", "d", [ProfileStretch(1.0, "outdoors", "line", ("",) * 6)] * many, [], (), "N")


@pytest.mark.parametrize("strings", [1, 7, 24])
@pytest.mark.parametrize("stretches", [1, 4, 8])
@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_profiles_and_trenches_of_many_wires_are_legible(strings, stretches, units) -> None:
    segments = "\n".join(
        f"      stretch-{n}: {{kind: PVC-40, size: 4, length: {10 + 30 * (n % 2)} ft, place: {'underground' if n % 2 else 'outdoors'}, bends: [30 deg], bend_radius: 18 in{', cover: 24 in, trench: T' if n % 2 else ''}}}"
        for n in range(1, stretches + 1)
    )
    desk = desk_of(folder(segments, strings, units=units))
    (figure,) = profiles(desk, pulled=True)
    words = legible(figure)
    assert not list(profiles(desk, pulled=False))
    assert sum(word.startswith("stretch-") for word in words) == stretches
    (trench,) = trenches(desk)
    told = " ".join(legible(trench))
    assert told.count(f"{2 * strings + 1} wires") == (stretches + 1) // 2
    assert ("spacing" in told) == (stretches > 2)


def test_a_longer_section_goes_on_in_a_second_strip_and_its_pull_is_not_denied() -> None:
    segments = "\n".join(
        f"      s{n}: {{kind: PVC-40, size: 1-1/2, length: 20 ft, place: outdoors, bends: []}}"
        for n in range(11)
    )
    one, two = profiles(desk_of(folder(segments)), pulled=True)
    for figure in (one, two):
        told = " ".join(legible(figure))
        assert "part of a longer section" in told
        assert "nothing new is pulled" not in told
    assert [sum(bool(re.fullmatch(r"s\d+", word)) for word in legible(figure)) for figure in (one, two)] == [
        8,
        3,
    ]


def test_the_profile_repeats_what_plan_and_findings_say() -> None:
    desk = desk_of(folder(RIDGE, units="imperial"))
    (figure,) = profiles(desk, pulled=True)
    told = " ".join(legible(figure))
    (item,) = desk.design.facts.pulls
    dry = item.pulls(item.feed)[2].hardest.after
    assert f"fed from {item.place(item.feed)}: dry {dry.value:.0f} lb" in told
    assert "bends 180° of at most 360°" in told
    assert "lowest limit 600 lb" in told or "lowest limit" in told
    # RIDGE states the place of both bends, and no cover and no climb.
    assert str(figure.svg).count("<circle") == 2
    assert "cover not stated" in told
    assert "climb not stated" in told.replace("climb not  stated", "climb not stated")


def test_the_curve_ends_at_the_greatest_tension_over_the_end_it_is_pulled_to() -> None:
    desk = desk_of(folder(RIDGE, units="imperial"))
    (figure,) = profiles(desk, pulled=True)
    (item,) = desk.design.facts.pulls
    lines = [
        [tuple(map(float, point.split(","))) for point in line.get("points", "").split()]
        for line in root_of(figure).iter("{http://www.w3.org/2000/svg}polyline")
    ]
    assert len(lines) == 3
    marks = {
        box.text: (box.top + box.bottom) / 2 for box in boxes(figure) if box.text.isdigit() and box.right < 66
    }
    zero, high = marks["0"], max(marks, key=int)
    per_lb = (zero - marks[high]) / float(high)
    for line, pull in zip(lines, item.pulls(item.feed), strict=True):
        peak = min(y for _, y in line)
        bottom = max(y for _, y in line)
        assert (bottom - peak) / per_lb == pytest.approx(pull.hardest.after.value, rel=0.02)
        x = next(x for x, y in line if y == peak)
        assert x == (604.0 if item.feed == "start" else 66.0)


def test_every_raceway_has_one_profile_in_one_chapter() -> None:
    desk = sample()
    told = [
        figure.title
        for chapter in (raceways.chapter(desk), pull_plan.chapter(desk))
        for figure in chapter.elements
        if isinstance(figure, Figure) and figure.title.startswith("Profile")
    ]
    assert told == ["Profile of R1: EAST to PB-1", "Profile of R2: ROOF to TR-1"]


def test_a_raceway_that_nothing_is_pulled_into_is_told_so() -> None:
    desk = sample(lambda text: re.sub(r"(cable: THWN10\n)", r"\1    status: existing\n", text))
    found = list(profiles(desk, pulled=False))
    assert len(found) == 2
    for figure in found:
        words = legible(figure)
        assert "nothing new is pulled" in " ".join(words)
        assert "dry" not in words


# Trenches


def circles(figure: Figure) -> list[tuple[float, float, float]]:
    return [
        (float(one.get("cx", "")), float(one.get("cy", "")), float(one.get("r", "")))
        for one in root_of(figure).iter("{http://www.w3.org/2000/svg}circle")
    ]


def section(
    count: int, diameter: float | None, gap: float | None, cover: float | None, name: str = ""
) -> Figure:
    pipes = [
        TrenchPipe(f"R{n}/trench{name}, PVC-40 2, 24 wires", diameter, diameter is not None, cover, gap if n else None)
        for n in range(count)
    ]  # fmt: skip
    depths = [Depth(457.0, f"least cover 457 mm (18.0 in), open ground: meets{name}", "dotted")]
    depths += [
        Depth(cover + n % 2, f"cover {cover} mm of {n}{name}") for n in range(count) if cover is not None
    ]
    depths += [Depth(300.0, "warning tape 300 mm (11.8 in)", "dashed"), Depth(700.0, "bottom of the trench 700 mm", "line")]  # fmt: skip
    return trench_section(
        "k", "t", "d", pipes, depths, (650.0, 700.0), (100.0, "100 mm"), [f"Not stated: {name}."]
    )


@pytest.mark.parametrize("count", [1, 2, 3, 5, 8])
@pytest.mark.parametrize("diameter", [21.3, 168.0, None])
@pytest.mark.parametrize("gap", [None, 0.0, 900.0])
def test_a_trench_of_any_pipes_is_legible(count, diameter, gap) -> None:
    for cover, name in ((550.0, ""), (None, LONG), (12000.0, "W" * 300), (0.0, HOSTILE)):
        legible(section(count, diameter, gap, cover, name))


def test_pipes_lie_side_by_side_to_one_scale() -> None:
    figure = section(3, 60.0, 90.0, 550.0)
    (x, y, r), (x2, _, _), (x3, _, _) = circles(figure)
    scale = 2 * r / 60.0
    assert x2 - x == pytest.approx(x3 - x2, abs=0.02)
    assert (x2 - x) / scale == pytest.approx(150.0, rel=0.01)
    # Grade lies at 12.
    assert (y - r - 12.0) / scale == pytest.approx(550.0, rel=0.01)
    bar = re.search(r'class="pen-heavy" x1="([\d.]+)" [^>]*x2="([\d.]+)"', str(figure.svg))
    assert (float(bar[2]) - float(bar[1])) / scale == pytest.approx(100.0, rel=0.01)


def test_what_nobody_stated_is_named_and_not_drawn_as_known() -> None:
    orchard, yard = trenches(sample())
    told = " ".join(legible(orchard))
    for what in ("outside diameter of R1/trench-orchard", "warning tape", "depth of the trench", "bedding", "width of the trench"):  # fmt: skip
        assert what in told.partition("Not stated:")[2]
    assert 'class="pen-dotted"' in re.search(r"<circle[^>]*>", str(orchard.svg))[0]
    told = " ".join(legible(yard))
    assert "warning tape 300 mm (11.8 in)" in told
    assert told.partition("Not stated:")[2].strip() == "width of the trench."
    # 700 mm of trench less 50 mm of sand and 48.3 mm of pipe.
    assert "cover 602 mm (23.7 in)" in told
    # 18 in are 457.2 mm: a trench of 457 mm would be too shallow.
    assert "least cover 458 mm (18.0 in), open ground: meets" in " ".join(told.split())


def test_least_cover_is_told_with_the_verdict_of_its_finding() -> None:
    desk = sample(lambda text: text.replace("cover: 550 mm", "cover: 300 mm, surface: open ground"))
    (figure, _) = trenches(desk)
    assert "open ground: fails" in " ".join(legible(figure))


def test_stretches_of_one_trench_stand_in_one_section() -> None:
    desk = sample(
        lambda text: text.replace(
            "cover: 550 mm", "cover: 550 mm, trench: main, outside_diameter: 48.3 mm"
        ).replace("trench_depth: 700 mm", "trench: main, spacing: 75 mm, trench_depth: 700 mm")
    )
    (figure,) = trenches(desk)
    assert figure.title == "Section of trench main"
    (x, y, r), (x2, y2, r2) = circles(figure)
    assert r == r2
    assert (x2 - x) / (2 * r) == pytest.approx((48.3 + 75) / 48.3, rel=0.02)
    assert (y2 - y) / (2 * r) == pytest.approx((601.7 - 550) / 48.3, rel=0.03)
    told = " ".join(legible(figure))
    assert "cover 550 mm (21.7 in) of 1" in told
    assert "cover 602 mm (23.7 in) of 2" in told
    assert "spacing" not in told


# Sketch of the site


@pytest.mark.parametrize("columns", [1, 2, 5, 9])
@pytest.mark.parametrize("rows", [1, 4, 10])
@pytest.mark.parametrize("name", ["", LONG, "W" * 300, HOSTILE])
def test_a_sketch_of_any_names_is_legible(columns, rows, name) -> None:
    kinds = ("array", "box", "isolators", "inverter")
    places = [
        Place(f"{column}-{row}", f"P{column}{row}{name}", f"box{name}", kinds[row % 4], column, row % 2 == 0)
        for column in range(columns)
        for row in range(rows)
    ]
    ways = [
        Way(one.id, other.id, "dashed", f"R1: {name} 46.0 m (151 ft) underground")
        for one in places
        for other in places
        if (other.column - one.column == 1 and one.id[2:] == other.id[2:])
    ]
    ways += [Way("0-0", f"{columns - 1}-{row}", "heavy", "R2") for row in range(1, rows)]
    legible(site_sketch("k", "t", "d", places, ways[:24], [f"legend {name}"]))


def test_columns_follow_the_wires_and_a_ring_ends() -> None:
    ways = [Way(*pair, "heavy") for pair in ("AB", "BC", "CD", "XC", "DB", "YY")]
    assert columns_of("ABCDXY", ways) == {"A": 0, "B": 1, "C": 2, "D": 3, "X": 1, "Y": 0}
    long = [f"B{n}" for n in range(3000)]
    assert columns_of(long, [Way(one, other, "heavy") for one, other in pairwise(long)])["B2999"] == 2999


@pytest.mark.parametrize("strings", [1, 24])
@pytest.mark.parametrize("stretches", [1, 7, 8])
def test_a_site_with_a_box_behind_every_stretch_is_sketched_or_told(strings, stretches) -> None:
    segments = "\n".join(
        f"      stretch-{n}: {{kind: PVC-40, size: 4, length: {10 * n} ft, place: underground, bends: []{f', ends_at: B{n}' if n < stretches else ''}}}"
        for n in range(1, stretches + 1)
    )
    units = ", ".join(f"B{n}: {{}}" for n in range(1, stretches))
    boxes_told = f"boxes: {{K: {{kind: pull box, units: {{{units}}}}}}}" if units else ""
    (figure,) = sketch(desk_of(folder(segments, strings, extra=boxes_told)))
    words = legible(figure)
    assert [word for word in words if word.isdigit()] == [str(n) for n in range(1, stretches + 1)]
    for n in range(1, stretches + 1):
        assert f"{n} R1: stretch-{n} {10 * n} ft ({3.048 * n:.1f} m) underground" in words


def test_more_places_than_a_sheet_holds_are_told() -> None:
    segments = "\n".join(
        f"      s{n}: {{kind: PVC-40, size: 4, length: 10 ft, place: outdoors, bends: [], ends_at: B{n}}}"
        for n in range(1, 12)
    )
    units = ", ".join(f"B{n}: {{}}" for n in range(1, 12))
    (told,) = sketch(desk_of(folder(segments, extra=f"boxes: {{K: {{kind: pull box, units: {{{units}}}}}}}")))
    assert isinstance(told, Paragraph)
    assert "not sketched" in told.text


def test_the_sketch_claims_neither_scale_nor_north_and_names_every_isolator() -> None:
    desk = sample()
    (figure,) = sketch(desk)
    words = legible(figure)
    told = " ".join(words)
    assert figure.description.startswith("Not to scale, and north is not stated")
    for kind in desk.design.project.switches.values():
        for unit in kind.units:
            assert unit in told
    for place in (*desk.design.project.arrays, "PB-1", "INV-1", "INV-2"):
        assert place in words
    assert (
        "R2: trench-yard 38.0 m (125 ft) underground, riser-yard 1.2 m (4 ft) outdoors, hall 3.5 m (11 ft) indoors"
        in told
    )
    # Two of the three pipes run in earth.
    assert str(figure.svg).count('class="pen-dashed"') == 2
