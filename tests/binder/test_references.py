"""Code references: which cells are listed, and clauses of a check that names several."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from reportgen.binder.chapters import references
from reportgen.binder.chapters.base import Desk
from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"


@pytest.fixture(scope="module")
def desk() -> Desk:
    files = dict(take(SAMPLE).everything)
    made = Desk(assemble(load_project(files), load("nec2023"), "test"), files)
    chapter = references.chapter(made)
    assert "a judged value rests on" in chapter.summary
    assert "every table cell" not in chapter.summary
    return made


def rows(desk: Desk, schedule: str) -> list[dict[str, str]]:
    return list(csv.DictReader(desk.schedules[schedule].csv("test").decode().splitlines()[1:]))


def test_the_table_that_sizes_every_ground_is_among_the_cells(desk) -> None:
    grounds = {ground.cell.citation for ground in desk.design.facts.grounds if ground.cell}
    assert grounds == {"Table 250.122 [not over 60 A, copper]"}
    assert grounds <= {row["cell"] for row in rows(desk, "cells")}


def test_a_check_of_several_kinds_of_pipe_names_each_clause(desk) -> None:
    (row,) = [one for one in rows(desk, "rules") if one["code"] == "raceway-support"]
    assert set(row["clause"].split("; ")) == {"352.30", "358.30"}
