"""What the folder states about tables behind each other, rear light and weather, down to the year."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.diagnostics.model import InputRefused
from reportgen.service.build import check, with_energy
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot

FOLDER = Path(__file__).parents[2] / "sample_project"


@pytest.fixture(scope="module")
def sample() -> dict[str, bytes]:
    return dict(take(FOLDER).everything)


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


ALBEDO = "albedo: 0.2"
SOILING = "soiling: [2 %, 2 %, "


@pytest.mark.parametrize(
    ("edits", "words"),
    [
        ({"site": (SOILING, "soiling: [2 %, ")}, "`soiling` has 11 figures"),
        ({"site": (SOILING, "soiling: [2 %, 120 %, ")}, "not between 0 % and 100 %"),
        ({"site": (ALBEDO, "albedo: 20")}, "albedo `20` cannot be"),
        ({"site": (ALBEDO, "albedo: -0.2")}, "albedo"),
        ({"site": ("latitude: 36.1", "latitude: 95")}, "latitude"),
        ({"site": ("utc_offset: -5", "utc_offset: -300")}, "utc offset"),
        ({"arrays": ("tilt: 30 deg, azimuth: 225", "tilt: 100 deg, azimuth: 225")}, "tilt"),
        ({"arrays": west("rear_gain: 150 %")}, "rear gain `150 %` cannot be"),
        ({"equipment": ("cells_in_series: 66", "cells_in_series: 66\n    bifaciality: 130 %")}, "bifaciality"),
        ({"site": (ALBEDO, "horizon: [{azimuth: 90 deg, elevation: 95 deg}]")}, "elevation"),
        (
            {"site": (ALBEDO, "horizon: [{azimuth: 0 deg, elevation: 5 deg}, {azimuth: 360 deg, elevation: 9 deg}]")},
            "two heights in direction `360°`",
        ),
    ],
)  # fmt: skip
def test_what_no_sky_or_array_can_be_is_refused_at_its_line(sample, edits, words):
    """An albedo in percent gave half as much energy again, eleven months a traceback."""
    with pytest.raises(InputRefused) as refused:
        energy_of(sample, **edits)
    (found,) = refused.value.diagnostics
    assert found.code == "impossible-value"
    assert words in found.message
    assert found.labels[0].span.file == f"{next(iter(edits))}.yaml"
    assert found.labels[0].span.line > 1


def test_the_other_sky_model_can_be_chosen_and_is_printed(sample):
    usual, other = energy_of(sample), energy_of(sample, site=(ALBEDO, f"{ALBEDO}\n  sky_model: hay-davies"))
    assert 0.97 < other.year.ac_kwh / usual.year.ac_kwh < 0.999
    told = {item.key: item.reason for item in other.assumptions}
    assert "Hay and Davies" in told["energy.sky"]


def test_what_is_left_out_is_said(sample):
    told = {item.key: item.reason for item in energy_of(sample).assumptions}
    assert told["energy.spectrum"].startswith("spectral effects")
    for array in ("EAST", "WEST", "ROOF"):
        assert "no table stands before it" in told[f"energy.rows.{array}"]


def test_a_skyline_takes_light_in_a_step_of_its_own(sample):
    hill = "horizon: [{azimuth: 200 deg, elevation: 0 deg}, {azimuth: 270 deg, elevation: 25 deg}, {azimuth: 340 deg, elevation: 0 deg}]"
    free, hidden = energy_of(sample), energy_of(sample, site=(ALBEDO, f"{ALBEDO}\n  {hill}"))
    assert chain_of(free)["horizon"] == 0.0
    assert chain_of(hidden)["horizon"] > 0.0
    assert hidden.year.ac_kwh < free.year.ac_kwh


def test_soiling_and_snow_take_their_months(sample):
    snow = "snow: [40 %, 30 %, 10 %, 0 %, 0 %, 0 %, 0 %, 0 %, 0 %, 0 %, 0 %, 20 %]"
    plain, snowed = energy_of(sample), energy_of(sample, site=(ALBEDO, f"{ALBEDO}\n  {snow}"))
    ratio = [b / a for a, b in zip(plain.year.dc, snowed.year.dc, strict=True)]
    assert ratio[0] == pytest.approx(0.6, abs=0.03)
    assert ratio[3:11] == pytest.approx([1.0] * 8)
    assert chain_of(snowed)["snow"] > 0.0 == chain_of(plain)["snow"]
