"""A year without a weather file: made from the folder's monthly means, or of a clear sky."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from reportgen.design.missing import Missing
from reportgen.diagnostics.model import InputRefused
from reportgen.service.build import read
from reportgen.service.folder_reader import take
from reportgen.service.made_weather import made_weather
from reportgen.service.snapshot import Snapshot

LIGHT = [2.4, 3.2, 4.3, 5.4, 5.8, 6.1, 5.9, 5.3, 4.5, 3.7, 2.7, 2.2]
AIR = [4.0, 6.0, 10.0, 15.0, 19.0, 24.0, 26.0, 25.0, 21.0, 15.0, 10.0, 5.0]
SHIPPED = "    shipped: 723170TYA.CSV"


@pytest.fixture(scope="module")
def sample():
    folder = Path(__file__).parents[2] / "sample_project"
    return dict(take(folder).everything)


def weather_of(sample, light=(), air=(), without=""):
    """The year of the sample with its weather file taken away and these figures given."""
    site = sample["site.yaml"].decode()
    assert SHIPPED in site
    lines = [
        f"    monthly_{name}: [{', '.join(values)}]"
        for name, values in (("irradiation", light), ("temperature", air))
        if values
    ]
    kept = [line for line in site.splitlines() if not (without and line.startswith(f"  {without}:"))]
    text = "\n".join("\n".join(lines) if line.startswith(SHIPPED) else line for line in kept)
    if not lines:
        text = text.replace("  weather:\n", "")
    return made_weather(read(Snapshot.of({**sample, "site.yaml": text.encode() + b"\n"}))[0])


def daily(values, unit="kWh/m2"):
    return [f"{value} {unit}" for value in values]


def test_monthly_means_of_the_folder_are_met(sample):
    made = weather_of(sample, daily(LIGHT), daily(AIR, "degC"))
    month = made.mid.astype("datetime64[M]").astype(int) % 12
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    assert np.bincount(month, weights=made.ghi) / 1000 / days == pytest.approx(LIGHT, rel=1e-3)
    assert made.kind == "synthetic from monthly means"
    assert "3.2 and 7.2 % on wire loss" in dict(made.warnings)["weather-made-error"]


def test_other_units_make_the_same_year(sample):
    one = weather_of(sample, daily(LIGHT), daily(AIR, "degC"))
    other = weather_of(
        sample, daily([3.6 * v for v in LIGHT], "MJ/m2"), daily([1.8 * v + 32 for v in AIR], "degF")
    )
    assert np.allclose(one.ghi, other.ghi) and np.allclose(one.temp_air, other.temp_air)


def test_temperatures_alone_make_a_clear_sky(sample):
    assert weather_of(sample, air=daily(AIR, "degC")).kind == "clear sky"


@pytest.mark.parametrize(
    ("given", "without", "what"),
    [
        ({}, "", "weather of site"),
        ({"light": daily(LIGHT)}, "", "monthly_temperature"),
        ({"light": daily(LIGHT), "air": daily(AIR, "degC")}, "utc_offset", "utc_offset of site"),
    ],
)
def test_what_is_missing_is_told(sample, given, without, what):
    made = weather_of(sample, **given, without=without)
    assert isinstance(made, Missing)
    assert what in made.what


@pytest.mark.parametrize("light", [LIGHT[:11], [30 * value for value in LIGHT]])
def test_eleven_figures_and_monthly_totals_are_refused_at_their_line(sample, light):
    with pytest.raises(InputRefused) as refused:
        weather_of(sample, daily(light), daily(AIR, "degC"))
    (found,) = refused.value.diagnostics
    assert found.code == "weather-monthly"
    assert found.labels[0].span.file == "site.yaml"
