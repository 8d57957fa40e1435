"""Courses on the plan of the site: their length against the one stated, their ends against each other, what is refused."""

from __future__ import annotations

import itertools
import math

import pytest

from reportgen.design.findings import Outcome
from reportgen.design.site_plan import joints
from reportgen.diagnostics.model import InputRefused


def found(made, code: str) -> dict[str, Outcome]:
    return {
        f"{item.subject} {item.part}".strip(): item.outcome for item in made.findings if item.code == code
    }


def test_the_sample_is_drawn_as_long_as_it_is_stated(sample, design) -> None:
    made = design(sample)
    lengths, ends = found(made, "course-length"), found(made, "course-ends")
    assert len(lengths) == 8
    assert len(ends) == 9
    assert set(lengths.values()) | set(ends.values()) == {Outcome.MEETS}


def test_a_course_has_the_length_of_its_pieces_and_its_climb(sample, design) -> None:
    """Own calculation: Pythagoras by hand for one trench of three pieces and one pipe down a wall."""
    drawn = {str(item.id): item for item in design(sample).facts.courses}
    points = [(45.7, -8.9), (29.3, -13.3), (12.9, -8.9), (4.4, -0.4)]
    assert drawn["R1/trench-orchard"].drawn.value == pytest.approx(
        sum(math.dist(a, b) for a, b in itertools.pairwise(points))
    )
    assert drawn["R2/drop"].drawn.value == pytest.approx(math.sqrt(0.2**2 + 3.8**2))
    # 46 m by 1 %, and twice 0.3 m.
    assert drawn["R1/trench-orchard"].allowed.value == pytest.approx(0.46 + 0.6)


@pytest.mark.parametrize(
    ("old", "new", "outcome"),
    [
        # 46.02 m are drawn, 1 % of the length and 0.6 m are allowed: exactly at it and a millimetre past it.
        ("length: 46 m", "length: 47 m", Outcome.MEETS),
        ("length: 46 m", "length: 47.2 m", Outcome.ASK),
        ("length: 46 m", "length: 44.9 m", Outcome.ASK),
        # the same length in another unit
        ("length: 46 m", "length: 151 ft", Outcome.MEETS),
        ("{x: 29.3 m, y: -13.3 m}", "{x: 96.13 ft, y: -524 in}", Outcome.MEETS),
        # feet typed for metres
        ("{x: 29.3 m, y: -13.3 m}", "{x: 29.3 ft, y: -13.3 ft}", Outcome.ASK),
        # a hill that nobody drew
        ("bends: [30 deg, 30 deg], course", "bends: [30 deg, 30 deg], rise: 12 m, course", Outcome.ASK),
    ],
)
def test_a_length_that_the_plan_contradicts_is_asked(sample, edit, design, old, new, outcome) -> None:
    made = design(edit(sample, "raceways.yaml", old, new, 1))
    assert found(made, "course-length")["R1/trench-orchard"] is outcome
    # A contradiction on one stretch is not made good by another one.
    others = {key: value for key, value in found(made, "course-length").items() if "orchard" not in key}
    assert set(others.values()) == {Outcome.MEETS}


def test_a_question_names_both_lengths(sample, edit, design) -> None:
    made = design(edit(sample, "raceways.yaml", "length: 46 m", "length: 51 m", 1))
    (asked,) = [f for f in made.findings if f.code == "course-length" and f.outcome is Outcome.ASK]
    assert "51.0 m (167 ft) stated, 46.0 m (151 ft) on the plan" in asked.headline
    assert "too much" not in asked.headline
    assert asked.question.startswith("Which holds for R1/trench-orchard")


def test_a_climb_that_is_not_stated_is_listed_as_level(sample, design) -> None:
    made = design(sample)
    listed = [origin.key for origin, _ in made.assumptions]
    assert "rise of R1/trench-orchard" in listed
    # The riser states its climb.
    assert "rise of R1/riser-orchard" not in listed


def test_an_accuracy_that_nobody_stated_is_listed(sample, edit, design) -> None:
    made = design(edit(sample, "site.yaml", ", accuracy: 0.3 m", "", 1))
    assert "accuracy of plan" in [origin.key for origin, _ in made.assumptions]
    assert {item.allowed.value for item in joints(made.facts.graph)} == {1.0}


@pytest.mark.parametrize(
    ("file", "old", "new", "part"),
    [
        (
            "raceways.yaml",
            "[{x: 45.7 m, y: -8.9 m}]}",
            "[{x: 47.7 m, y: -8.9 m}]}",
            "R1/riser-orchard to R1/trench-orchard",
        ),
        ("equipment.yaml", "at: {x: 4.4 m, y: 0 m}", "at: {x: 4.4 m, y: 2 m}", "R2/drop to PB-1"),
        ("equipment.yaml", "at: {x: -23.6 m, y: 2.7 m}", "at: {x: -21.6 m, y: 2.7 m}", "R2/hall to TR-1"),
    ],
)
def test_ends_that_do_not_meet_are_asked(sample, edit, design, file, old, new, part) -> None:
    made = design(edit(sample, file, old, new, 1))
    asked = {key for key, outcome in found(made, "course-ends").items() if outcome is Outcome.ASK}
    assert f"{part.partition('/')[0]} {part}" in asked


def test_a_course_drawn_the_wrong_way_round_is_asked(sample, edit, design) -> None:
    old = "course: [{x: -23.6 m, y: -0.6 m}, {x: -23.6 m, y: 2.7 m}]"
    new = "course: [{x: -23.6 m, y: 2.7 m}, {x: -23.6 m, y: -0.6 m}]"
    made = design(edit(sample, "raceways.yaml", old, new, 1))
    asked = {key for key, outcome in found(made, "course-ends").items() if outcome is Outcome.ASK}
    assert asked == {"R2 R2/riser-yard to R2/hall", "R2 R2/hall to TR-1"}


def test_what_has_no_course_and_what_is_removed_is_not_judged(sample, edit, design) -> None:
    old = ", course: [{x: -23.6 m, y: -0.6 m}]}"
    made = design(edit(sample, "raceways.yaml", old, "}", 1))
    assert "R2/riser-yard" not in found(made, "course-length")
    assert not [key for key in found(made, "course-ends") if "riser-yard" in key]
    made = design(edit(sample, "raceways.yaml", "status: existing", "status: removed", 1))
    assert not [key for key in found(made, "course-length") if key.startswith("R1")]


@pytest.mark.parametrize(
    ("file", "old", "new", "words"),
    [
        ("raceways.yaml", "[{x: 45.7 m, y: -8.9 m}]}", "[{x: 45.7, y: -8.9 m}]}", "has no unit"),
        ("raceways.yaml", "[{x: 45.7 m, y: -8.9 m}]}", "[{x: 45.7 kg, y: -8.9 m}]}", "kg"),
        (
            "raceways.yaml",
            "[{x: 45.7 m, y: -8.9 m}]}",
            "[{x: 456700 m, y: -8.9 m}]}",
            "more than 2000 m from the origin",
        ),
        (
            "equipment.yaml",
            "at: {x: 4.4 m, y: 0 m}",
            "at: {x: 4.4 m, y: -7000 ft}",
            "more than 2000 m from the origin",
        ),
        ("site.yaml", "up: 8 deg", "up: 800 deg", "direction"),
        ("site.yaml", "accuracy: 0.3 m", "accuracy: 0 m", "is zero"),
        (
            "arrays.yaml",
            "outline: [{x: 58.2 m, y: -2.1 m}, {x: 49.1 m, y: -12.2 m}, {x: 46.6 m, y: -9.9 m}, {x: 55.7 m, y: 0.2 m}]",
            "outline: [{x: 58.2 m, y: -2.1 m}, {x: 49.1 m, y: -12.2 m}]",
            "2 corners",
        ),
    ],
)
def test_places_that_cannot_be_are_refused_where_they_stand(
    sample, edit, design, file, old, new, words
) -> None:
    with pytest.raises(InputRefused) as refused:
        design(edit(sample, file, old, new, 1))
    told = [item for item in refused.value.diagnostics if words in item.message]
    assert told and told[0].span is not None and told[0].span.file == file
