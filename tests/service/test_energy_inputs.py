"""What the folder states about tables behind each other, rear light and weather, down to the year."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.service.build import check, with_energy
from reportgen.service.snapshot import Snapshot

FOLDER = Path(__file__).parents[2] / "sample_project"


@pytest.fixture(scope="module")
def sample() -> dict[str, bytes]:
    return {str(path.relative_to(FOLDER)): path.read_bytes() for path in FOLDER.rglob("*.yaml")}


def energy_of(sample, **edits: tuple[str, str]):
    """Energy of the sample with one text exchanged in each named file."""
    files = dict(sample)
    for name, (old, new) in edits.items():
        text = files[f"{name}.yaml"].decode()
        assert old in text
        files[f"{name}.yaml"] = text.replace(old, new).encode()
    snapshot = Snapshot.of(files)
    return with_energy(check(snapshot), snapshot, cached=False, sun=False)[0].energy


def chain_of(energy) -> dict[str, float]:
    return {step.key: step.kwh for step in energy.year.chain}


def west(text: str) -> tuple[str, str]:
    return "WEST: {", f"WEST: {{{text}, "


@pytest.mark.parametrize(
    ("given", "missing"),
    [
        ("row_pitch: 6 m", "slope_length of array WEST"),
        ("slope_length: 3.4 m", "row_pitch of array WEST"),
        ("row_pitch: 2 m, slope_length: 3.4 m", "at its tilt they take 2.94 m"),
    ],
)
def test_half_told_or_impossible_rows_leave_the_year_unknown(sample, given, missing):
    """Half of the geometry is no reason to leave the shade out and print the greater figure."""
    energy = energy_of(sample, arrays=west(given))
    assert energy.year is None
    assert any(missing in item.what for item in energy.missing)


def test_rows_of_the_folder_shade_the_array_and_no_other(sample):
    free, told = energy_of(sample), energy_of(sample, arrays=west("row_pitch: 18 ft, slope_length: 3.4 m"))
    assert chain_of(free)["row shading"] == 0.0
    assert chain_of(told)["row shading"] > 0.0
    light = [{plane.id: plane.irradiation_kwh_m2 for plane in one.year.planes} for one in (free, told)]
    assert light[1]["WEST"] < 0.99 * light[0]["WEST"]
    assert light[1]["EAST"] == light[0]["EAST"]
    assert any("3 up the slope" in item.reason for item in told.assumptions if item.key == "energy.rows.WEST")


def test_a_stated_rear_gain_reaches_the_year(sample):
    assert chain_of(energy_of(sample, arrays=west("rear_gain: 5 %")))["rear light"] < 0.0
