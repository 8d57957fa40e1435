"""`reportgen strings`: an owner without strings asks how to cut the modules."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

#: An invented far pasture, its owner without strings yet.
FAR = """
project: {title: Far pasture, building: dwelling}
site: {record_low: -20 degC, mean_annual_minimum: -12 degC, design_high: 34 degC}
modules:
  B325: {power: 325 W, open_circuit_voltage: 40.9 V, operating_voltage: 33.9 V, short_circuit_current: 10.25 A,
         operating_current: 9.59 A, voltage_coefficient: -0.29 %/degC, operating_voltage_coefficient: -0.37 %/degC,
         maximum_system_voltage: 1000 V}
inverters:
  H12K:
    units: {INV-1: , INV-2: }
    maximum_dc_voltage: 600 V
    ac_power: 12 kW
    inputs: {A: &i {tracking_from: 150 V, start_voltage: 150 V, tracking_to: 500 V, short_circuit_limit: 22 A,
             short_circuit_basis: standard conditions}, B: *i, C: *i}
arrays: {P: {module: B325, count: 56, tilt: 30 deg, azimuth: 180 deg}}
"""


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
    (folder / "far.yaml").write_text(FAR.replace("maximum_dc_voltage: 600 V", "maximum_dc_voltage: 100 V"))
    done = run(folder)
    assert done.returncode == 1
    assert "no way places all arrays" in done.stdout


def test_refused_input_is_told_and_nothing_is_searched(folder) -> None:
    (folder / "far.yaml").write_text(FAR.replace("count: 56", "count: 0"))
    done = run(folder)
    assert done.returncode == 4
    assert "nothing was searched" in done.stderr
    assert done.stdout == ""
