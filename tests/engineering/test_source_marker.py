"""The rule that a number from outside names its source, tried on small test folders of their own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

CONFTEST = Path(__file__).parents[1] / "conftest.py"
SETTINGS = (
    "[pytest]\nmarkers = source(title, locator, read): number read outside\naddopts = --strict-markers\n"
)

MARKED = '@pytest.mark.source("Handbook, 3rd edition", locator="Example 3, p. 12"{more})\ndef test_{name}():\n    assert {body}\n'
BARE = "def test_{name}():\n    assert True\n"


def run(folder: Path, files: dict[str, str], *arguments: str) -> subprocess.CompletedProcess[str]:
    (folder / "pytest.ini").write_text(SETTINGS)
    (folder / "conftest.py").write_text(CONFTEST.read_text(encoding="utf-8"), encoding="utf-8")
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"import pytest\n\n\n{text}")
    # Plug-ins of the environment would print their own lines.
    environment = {**os.environ, "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1", "PYTEST_ADDOPTS": ""}
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *arguments]
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)


def test_a_test_outside_without_a_source_stops_the_run(tmp_path: Path) -> None:
    files = {
        "volts/outside/test_one.py": BARE.format(name="bare"),
        "volts/test_two.py": BARE.format(name="own"),
    }
    made = run(tmp_path, files)
    assert made.returncode == pytest.ExitCode.USAGE_ERROR
    assert "volts/outside/test_one.py::test_bare: a test under `outside` must say where" in made.stderr
    assert "test_own" not in made.stderr


def test_with_its_source_it_runs_and_elsewhere_none_is_needed(tmp_path: Path) -> None:
    files = {
        "volts/outside/test_one.py": MARKED.format(name="marked", more="", body="True"),
        "volts/test_two.py": BARE.format(name="own"),
    }
    made = run(tmp_path, files)
    assert made.returncode == pytest.ExitCode.OK, made.stdout + made.stderr
    assert "2 passed" in made.stdout


def test_one_mark_serves_a_whole_module(tmp_path: Path) -> None:
    mark = 'pytestmark = pytest.mark.source("Handbook", locator="p. 12")\n\n\n'
    made = run(tmp_path, {"outside/test_one.py": mark + BARE.format(name="bare")})
    assert made.returncode == pytest.ExitCode.OK, made.stdout + made.stderr


@pytest.mark.parametrize(
    ("mark", "said"),
    [
        ('pytest.mark.source("Handbook")', "needs a title and a `locator`"),
        ('pytest.mark.source("", locator="p. 1")', "needs a title and a `locator`"),
        ('pytest.mark.source("Handbook", locator=" ")', "needs a title and a `locator`"),
        ('pytest.mark.source("Handbook", "p. 1")', "takes a title, `locator` and `read`"),
        ('pytest.mark.source("Handbook", locator="p. 1", page=3)', "takes a title, `locator` and `read`"),
        ('pytest.mark.source("Handbook", locator="p. 1", read="maybe")', "is one of read, memory"),
    ],
)
def test_half_a_source_stops_the_run_anywhere(tmp_path: Path, mark: str, said: str) -> None:
    made = run(tmp_path, {"test_one.py": f"@{mark}\n" + BARE.format(name="half")})
    assert made.returncode == pytest.ExitCode.USAGE_ERROR
    assert f"test_one.py::test_half: source {said}" in made.stderr or said in made.stderr


def test_the_list_names_every_source_once_and_runs_nothing(tmp_path: Path) -> None:
    parametrized = '@pytest.mark.parametrize("n", [1, 2, 3])\n' + MARKED.format(
        name="many", more=', read="memory"', body="False"
    ).replace("test_many()", "test_many(n)")
    files = {
        "outside/test_one.py": MARKED.format(name="wrong", more="", body="False"),
        "outside/test_two.py": parametrized,
    }
    made = run(tmp_path, files, "--list-sources")
    assert made.returncode == pytest.ExitCode.OK, made.stdout + made.stderr
    lines = made.stdout.splitlines()
    where = "Handbook, 3rd edition\tExample 3, p. 12\t"
    assert lines[:3] == [
        f"{where}memory\toutside/test_two.py::test_many",
        f"{where}read\toutside/test_one.py::test_wrong",
        "2 sources of tests, 1 of them from memory",
    ]
