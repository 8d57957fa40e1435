"""Real folders and real processes for the tests of the service."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

# the children of the watcher import the fake build by name, from the parent's path
sys.path.insert(0, str(Path(__file__).parent))

from service_fakes import Running

from reportgen.service.job import start_server


@pytest.fixture(scope="session", autouse=True)
def _warm_server() -> None:
    start_server(("reportgen.service.watch",))


@pytest.fixture(autouse=True)
def _private_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


@pytest.fixture
def project(tmp_path: Path) -> Path:
    root = tmp_path / "project"
    root.mkdir()
    (root / "a.yaml").write_text("say: one\n")
    return root


@pytest.fixture
def start(project: Path, tmp_path: Path) -> Iterator[Callable[..., Running]]:
    running: list[Running] = []

    def begin(**keywords: Any) -> Running:
        keywords.setdefault("root", project)
        keywords.setdefault("log", tmp_path / "builds.log")
        running.append(Running(**keywords))
        return running[-1]

    yield begin
    for one in running:
        one.end()
