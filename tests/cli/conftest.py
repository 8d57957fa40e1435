"""A copy of the sample to spoil, and the command run in this process."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from reportgen.cli import cli

SAMPLE = Path(__file__).parents[2] / "sample_project"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    target = tmp_path / "works"
    shutil.copytree(SAMPLE, target, ignore=shutil.ignore_patterns("binder", "status.json"))
    return target


@pytest.fixture
def run() -> Callable[..., Result]:
    def command(*arguments: object, **env: str) -> Result:
        return CliRunner().invoke(cli, [str(argument) for argument in arguments], env={"NO_COLOR": "", **env})

    return command


@pytest.fixture
def change(folder: Path) -> Callable[[str, str, str], None]:
    def edit(file: str, old: str, new: str) -> None:
        path = folder / file
        text = path.read_text()
        assert old in text, old
        path.write_text(text.replace(old, new, 1))

    return edit
