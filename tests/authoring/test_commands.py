"""The commands for whoever writes a folder, as typed."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner, Result

from reportgen.authoring.schema import PLACE, modeline
from reportgen.cli import cli


def run(*arguments: object, input: str | None = None) -> Result:
    return CliRunner().invoke(cli, [str(argument) for argument in arguments], input=input)


def test_schema_is_one_document_on_standard_output() -> None:
    result = run("schema")
    assert result.exit_code == 0
    assert result.stderr == ""
    assert "modules" in json.loads(result.stdout)["properties"]


def test_schema_goes_where_the_files_look_for_it(tmp_path: Path) -> None:
    result = run("schema", "--into", tmp_path)
    assert result.exit_code == 0
    assert modeline() in result.stderr
    assert json.loads((tmp_path / PLACE).read_text())["type"] == "object"


def test_units_are_printed() -> None:
    result = run("schema", "--units")
    assert "lb·in" in result.stdout
    assert "temperature difference" in result.stdout
