"""Pages of codes: an example on each of the reader's and the service's, and the lines of a project in them are right."""

from __future__ import annotations

import tomllib
from pathlib import Path

import jsonschema
import pytest

from reportgen.authoring.schema import json_schema
from reportgen.authoring.shown import shown_in_example
from reportgen.diagnostics import catalogue_input, catalogue_service
from reportgen.diagnostics.catalogue import CATALOGUE, example_of, explain
from reportgen.project.model import Project

from ..editor import as_editor
from .test_commands import run

FILE = Path(explain.__code__.co_filename).parent / "examples.toml"


def kept() -> dict[str, str]:
    return tomllib.loads(FILE.read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    "entry", [*catalogue_input.ENTRIES, *catalogue_service.ENTRIES], ids=lambda entry: entry.code
)
def test_every_code_of_reader_and_service_has_an_example(entry) -> None:
    if entry.code != "since-refused":
        assert example_of(entry)
        assert "Example:\n    " in explain(entry.code)


def test_no_example_is_kept_for_a_code_that_does_not_exist() -> None:
    assert set(kept()) <= set(CATALOGUE)


def sections(text: str) -> bool:
    value = as_editor(text.encode()) if "<tab>" not in text else None
    return isinstance(value, dict) and set(value) <= set(Project.model_fields)


def test_lines_of_a_project_in_an_example_are_right() -> None:
    judge = jsonschema.Draft7Validator(json_schema())
    tried = 0
    for code, text in kept().items():
        if sections(text):
            tried += 1
            assert [error.message for error in judge.iter_errors(as_editor(text.encode()))] == [], code
    assert tried > 15


def test_a_finding_is_shown_as_it_reads_in_a_worked_example() -> None:
    shown = shown_in_example("raceway-fill")
    assert shown is not None
    assert "In the worked example `crowded-pipe` it reads:" in shown
    assert "error[raceway-fill]: fill of OLD/riser" in shown
    assert shown_in_example("unknown-key") is None
    assert "crowded-pipe" in run("explain", "raceway-fill").stdout
    assert "crowded-pipe" not in run("explain", "unknown-key").stdout
