"""Published single results of the steps from sun to module; those of the diode, wires and inverter stand with their modules."""

from __future__ import annotations

import numpy as np
import pytest
from pvlib import irradiance, temperature

from reportgen.engineering.energy.plane import plane_of_array
from reportgen.engineering.energy.sun import Sun, cosine_of_zenith
from reportgen.engineering.energy.thermal import cell_temperature
from reportgen.engineering.energy.weather import WeatherYear

BECKMAN = "Duffie and Beckman, Solar Engineering of Thermal Processes, 3rd and 4th edition"


def cell(light: float, air: float, wind: float, **more: object) -> float:
    one = np.ones(1)
    return float(cell_temperature(light * one, air * one, wind * one, "open rack", **more)[0])


@pytest.mark.source("pvlib-python, tests/test_temperature.py at commit 6382338a7", locator="test_faiman_*")
@pytest.mark.parametrize(
    ("light", "air", "wind", "expected"), [(900, 20, 5, 35.203), (500, 10, 5, 18.446), (0, 5, 0, 5.0)]
)
def test_heat_balance_of_an_open_rack(light: float, air: float, wind: float, expected: float) -> None:
    assert cell(light, air, wind, open_rack_model="heat balance") == pytest.approx(expected, abs=5e-4)


@pytest.mark.source("pvlib-python, tests/test_temperature.py at commit 6382338a7", locator="test_ross")
@pytest.mark.parametrize(("light", "air", "expected"), [(1000, 30, 67.5), (800, 20, 50.0), (600, 40, 62.5)])
def test_nominal_temperature_scaled_by_light_alone(light: float, air: float, expected: float) -> None:
    """With no power drawn and 1 m/s at the module, half of that at the mast, ours is the plain nominal law."""
    assert cell(light, air, 1 / 0.51, noct_c=50.0, efficiency=0.0) == pytest.approx(expected, abs=1e-9)


@pytest.mark.source(
    "jiskha.com, homework thread 1415609183 (2014)", locator="NOCT 40 °C, 15 °C air, 1000 W/m²: 40 °C"
)
def test_nominal_temperature_of_the_homework() -> None:
    assert cell(1000, 15, 1 / 0.51, noct_c=40.0, efficiency=0.0) == pytest.approx(40.0, abs=1e-9)


@pytest.mark.source(
    "pvlib-python, tests/test_temperature.py at commit 6382338a7", locator="test_sapm_cell: 43.509 °C"
)
def test_the_law_used_for_roofs_gives_its_published_point() -> None:
    # Published for an open rack of glass on glass; a roof takes the same law with the report's other coefficients.
    rows = temperature.TEMPERATURE_MODEL_PARAMETERS["sapm"]
    assert temperature.sapm_cell(900, 20, 5, **rows["open_rack_glass_glass"]) == pytest.approx(
        43.509, abs=5e-4
    )
    one = np.ones(1)
    ours = cell_temperature(900 * one, 20 * one, 5 * one, "flush roof")[0]
    a, b, rise = (rows["close_mount_glass_glass"][key] for key in ("a", "b", "deltaT"))
    # by hand: back of the module by exp(a + b·wind), the cell above it in proportion to the light
    assert ours == pytest.approx(900 * np.exp(a + b * 5) + 20 + 0.9 * rise)


@pytest.mark.source(BECKMAN, locator="chapter 1, incidence on a plane: 35°, ratio 1.66", read="memory")
def test_incidence_on_a_tilted_plane() -> None:
    """Latitude 43°, declination −14°, tilt 45°, facing 15° west of south, at 10:30 solar time."""
    latitude, declination, hour = np.radians([43.0, -14.0, -22.5])
    up = np.sin(latitude) * np.sin(declination) + np.cos(latitude) * np.cos(declination) * np.cos(hour)
    north = np.cos(latitude) * np.sin(declination) - np.sin(latitude) * np.cos(declination) * np.cos(hour)
    east = -np.cos(declination) * np.sin(hour)
    one, none = np.ones(1), np.zeros(1)
    zenith, azimuth = np.degrees(np.arccos(up)), np.degrees(np.arctan2(east, north)) % 360
    sun = Sun(np.zeros(1, dtype=np.intp), zenith * one, azimuth * one, 1367 * one, none, none)
    when = np.array(["1990-02-13T10:30"], dtype="datetime64[s]")
    beam = WeatherYear(when, 1.0, none, 1000 * one, none, none, one, 43.0, 0.0, 0.0, 0.0, "beam alone")
    on_plane = plane_of_array(beam, sun, 45.0, 195.0).total[0] / 1000.0
    assert np.degrees(np.arccos(on_plane)) == pytest.approx(35.0, abs=0.5)
    assert on_plane / up == pytest.approx(1.66, abs=0.01)


@pytest.mark.source(BECKMAN, locator="chapter 1, daily extraterrestrial radiation: 33.8 MJ/m²", read="memory")
def test_daily_light_above_the_atmosphere() -> None:
    """Latitude 43°, April 15, the book's solar constant: its declination of 9.4° is short of the almanac's 9.8°, 1 % here."""
    utc = np.datetime64("2001-04-15") + np.arange(0, 86400, 300).astype("timedelta64[s]")
    facing = np.maximum(cosine_of_zenith(utc, 43.0, 0.0), 0.0)
    extra = irradiance.get_extra_radiation(105, solar_constant=1367.0)
    assert float(extra) * facing.sum() * 300 / 1e6 == pytest.approx(33.8, abs=0.4)
