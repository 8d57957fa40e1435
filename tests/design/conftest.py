"""The sample as bytes, a way to change a line of it, and its design."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from reportgen.design.assemble import Design, assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

SAMPLE = Path(__file__).parents[2] / "sample_project"
Files = dict[str, bytes]


@pytest.fixture
def sample() -> Files:
    return {path.name: path.read_bytes() for path in sorted(SAMPLE.glob("*.yaml"))}


@pytest.fixture
def edit() -> Callable[..., Files]:
    """Replace a piece of text in a file; the piece has to be there."""

    def change(files: Mapping[str, bytes], file: str, old: str, new: str, count: int = -1) -> Files:
        text = files[file].decode()
        assert old in text, old
        return {**files, file: text.replace(old, new, count).encode()}

    return change


@pytest.fixture
def design() -> Callable[[Mapping[str, bytes]], Design]:
    def make(files: Mapping[str, bytes]) -> Design:
        project = load_project(files)
        return assemble(project, load(str(project.project.rulebook)), "test")

    return make
