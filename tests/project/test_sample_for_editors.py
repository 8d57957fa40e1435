"""Each file of the sample opens in an editor with its schema, and the schema accepts it."""

from __future__ import annotations

from pathlib import Path

import jsonschema
import pytest

from reportgen.authoring.schema import json_schema, modeline

from ..editor import as_editor

SAMPLE = Path(__file__).parents[2] / "sample_project"


@pytest.fixture(scope="module")
def judge() -> jsonschema.Draft7Validator:
    return jsonschema.Draft7Validator(json_schema())


@pytest.mark.parametrize("path", sorted(SAMPLE.glob("*.yaml")), ids=lambda path: path.name)
def test_it_accepts_the_sample(path: Path, judge: jsonschema.Draft7Validator) -> None:
    assert as_editor(path.read_bytes())
    assert [error.message for error in judge.iter_errors(as_editor(path.read_bytes()))] == []


@pytest.mark.parametrize("path", sorted(SAMPLE.glob("*.yaml")), ids=lambda path: path.name)
def test_each_sample_file_names_it_in_its_first_line(path: Path) -> None:
    assert path.read_text(encoding="utf-8").splitlines()[0] == modeline()
