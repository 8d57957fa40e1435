"""`reportgen strings`: an owner without strings asks how to cut the modules."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

FAR = (Path(__file__).parents[1] / "far_pasture.yaml").read_text(encoding="utf-8")


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "far.yaml").write_text(FAR)
    return tmp_path


def run(folder, *options, columns="60"):
    environment = {**os.environ, "COLUMNS": columns}
    command = [sys.executable, "-m", "reportgen", "strings", str(folder), *options]
    return subprocess.run(command, capture_output=True, text=True, env=environment, check=False, timeout=60)


def test_a_narrow_window_gets_the_best_way_first(folder) -> None:
    done = run(folder)
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[0] == "way 1"
    assert lines[1].strip().startswith("P: 5 × 11 + 1 spare; longest 508.6 V cold")
    assert max(map(len, lines)) <= 60
    assert "no string stands in P yet" in done.stdout


def test_the_same_for_machines(folder) -> None:
    made = json.loads(run(folder, "--format", "json").stdout)
    best = made["ways"][0]["arrays"]["P"]
    assert best["strings"] == [{"modules": 11, "count": 5}]
    assert best["spares"] == 1
    assert sum(item["strings"] for item in made["ways"][0]["inputs"]) == 5
    assert made["without_strings"] == ["P"]


def test_where_nothing_fits_it_says_so_and_ends_with_one(folder) -> None:
    (folder / "far.yaml").write_text(
        FAR.replace(
            "tracking_from: 150 V, start_voltage: 150 V", "tracking_from: 490 V, start_voltage: 490 V"
        )
    )
    done = run(folder)
    assert done.returncode == 1
    assert "no way places all arrays" in done.stdout


def test_refused_input_is_told_and_nothing_is_searched(folder) -> None:
    (folder / "far.yaml").write_text(FAR.replace("count: 56", "count: 0"))
    done = run(folder)
    assert done.returncode == 4
    assert "nothing was searched" in done.stderr
    assert done.stdout == ""
