"""Pull plan and cut list of the sample: numbers recomputed from what is printed, cards."""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path

import pytest

from reportgen.binder.elements import Caution, Pointers
from reportgen.binder.write import lay_out
from reportgen.design.assemble import assemble
from reportgen.service.build import read
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"


@pytest.fixture(scope="module")
def pages():
    snapshot = take(SAMPLE)
    project, rulebook = read(snapshot)
    return lay_out(assemble(project, rulebook, snapshot.digest, choose_spools=True), snapshot.files)


def rows(pages, name: str) -> list[dict[str, str]]:
    text = pages.schedules[f"schedules/{name}.csv"].decode().split("\n", 1)[1]
    return list(csv.DictReader(io.StringIO(text)))


def chapter(pages, name: str):
    return next(one for one in pages.chapters if one.id == name)


def test_the_places_that_a_further_pull_point_is_looked_for_at_are_told(pages) -> None:
    told = " ".join(str(getattr(item, "text", "")) for item in chapter(pages, "pull-plan").elements)
    assert "at each 5 % of a straight" in told


def test_each_printed_tension_follows_from_the_row_above(pages) -> None:
    by_section = {row["section"]: row for row in rows(pages, "pulls")}
    before: dict[tuple[str, str], float] = {}
    held = 0
    for row in rows(pages, "pull-steps"):
        key = row["section"], row["fed"]
        start, after = before.get(key, 0.0), float(row["dry [N]"])
        w, w_c = (float(by_section[row["section"]][name]) for name in ("weight [N/m]", "correction"))
        # The sample states 0.37 dry. Table rows carry six digits, so a chain of them is held to 1 in 10 000.
        if row["angle [°]"]:
            expected = start * math.exp(0.37 * w_c * math.radians(float(row["angle [°]"])))
            if "drop" in row["element"]:
                expected = None  # it turns down, and its own weight counts
        else:
            length, climb = float(row["length [m]"]), float(row["climb [m]"])
            level = math.sqrt(max(0.0, length**2 - climb**2))
            expected = max(0.0, start + w * (climb + 0.37 * w_c * level))
        if expected is not None:
            assert after == pytest.approx(expected, rel=1e-4, abs=0.02), row
            held += 1
        before[key] = after
    assert held > 15


def test_cut_lengths_add_up_as_printed(pages) -> None:
    for row in rows(pages, "cut-lengths"):
        parts = [float(row[name] or 0) for name in ("start [m]", "pipe [m]", "extra [m]", "end [m]")]
        assert sum(parts) == pytest.approx(float(row["installed [m]"]), abs=1e-3)
        # Head 1.2 m and trim 1 m for each pull.
        heads = 2.2 * int(row["pulls"])
        assert float(row["installed [m]"]) + heads == pytest.approx(float(row["own [m]"]), abs=1e-3)
        assert float(row["length [m]"]) >= float(row["own [m]"]) - 1e-9


def test_every_piece_is_cut_once(pages) -> None:
    cut = [row["conductor"] for row in rows(pages, "cuts")]
    assert sorted(cut) == sorted(row["conductor"] for row in rows(pages, "cut-lengths"))


@pytest.mark.parametrize(
    ("name", "kind", "cards"), [("pull-plan", "card-pull", 1), ("cut-list", "card-cuts", 2)]
)
def test_cautions_and_cards(pages, name, kind, cards) -> None:
    elements = chapter(pages, name).elements
    assert any(isinstance(one, Caution) for one in elements)
    found = [one for one in chapter(pages, "cards").elements if one.id.startswith(kind)]
    assert len(found) == cards
    (led,) = [one for one in elements if isinstance(one, Pointers)]
    # Cards are packed two to a sheet, in whatever order fills it.
    assert sorted(place for _, place in led.links) == sorted(one.id for one in found)
    assert all(one.stop and one.purpose for one in found)


def test_a_string_is_never_the_line_of_a_plastic_pipe(pages) -> None:
    text = str(chapter(pages, "pull-plan").elements)
    assert "flat woven tape: a string or thin rope saws through the wall of a plastic bend" in text
