"""A bend is an angle alone, or an angle with its place, radius and direction."""

from __future__ import annotations

import pytest

from reportgen.diagnostics.model import InputRefused
from reportgen.project.load import load_project
from reportgen.project.model import Project

HEAD = "project: {title: T}\nsite: {place: P}\nraceways:\n  R1:\n    segments:\n      a: {kind: PVC-40, size: 1, length: 20 m, place: outdoors, bends: ["


def project(bends: str) -> Project:
    return load_project({"a.yaml": f"{HEAD}{bends}]}}\n".encode()})


def test_both_forms_stand_side_by_side() -> None:
    short, long = (
        project("90 deg, {angle: 45 deg, at: 12 m, radius: 250 mm, turn: up}")
        .raceways["R1"]
        .segments["a"]
        .bends
    )
    assert (short.angle.value, short.at, short.radius, short.turn) == (90, None, None, None)
    assert (long.angle.value, long.at.value, long.radius.value, long.turn) == (45, 12, 0.25, "up")
    assert short.span.line == 6


@pytest.mark.parametrize(
    ("bends", "told"),
    [
        ("90", "angle `90` has no unit"),
        ("{at: 3 m}", "`angle` is missing"),
        ("{angle: 90 deg, turn: left}", "`left` is not possible here"),
        ("[90 deg]", "a list"),
    ],
)
def test_what_is_no_bend_is_refused_where_it_stands(bends: str, told: str) -> None:
    with pytest.raises(InputRefused) as refused:
        project(bends)
    assert any(told in item.message for item in refused.value.diagnostics), [
        item.message for item in refused.value.diagnostics
    ]
    assert all(item.labels[0].span.line == 6 for item in refused.value.diagnostics)
