"""Each format is recognised by its content and gives the hours it was made from; pvlib's readers agree."""

from __future__ import annotations

import io
import json
from dataclasses import replace

import numpy as np
import pytest
import weather_files
from pvlib import iotools

from reportgen.engineering.energy.weather import (
    SHIPPED,
    WeatherProblem,
    WeatherYear,
    parse_weather,
    shipped_weather,
)


def same_hours(found: WeatherYear, wanted: WeatherYear, tolerance: float = 0.01) -> None:
    assert len(found.mid) == 8760
    for name in ("ghi", "dni", "dhi", "temp_air", "wind"):
        np.testing.assert_allclose(getattr(found, name), getattr(wanted, name), atol=tolerance, err_msg=name)
    apart = np.abs((found.mid - wanted.mid).astype(np.int64))
    assert apart.max() <= 60


@pytest.mark.source("typical years in pvlib 0.16.1 (pvlib/data)", locator="sums over each file [kWh/m²]")
@pytest.mark.parametrize(
    ("name", "sums", "place"),
    [
        ("723170TYA.CSV", (1566.2, 1476.5, 682.2), (36.100, -79.950, 273.0, -5.0)),
        ("703165TY.csv", (829.2, 819.2, 460.9), (55.317, -160.517, 7.0, -9.0)),
        ("12839.tm2", (1792.6, 1504.9, 809.5), (25.8, -80.267, 2.0, -5.0)),
    ],
)
def test_shipped_years_have_their_sums_and_places(shipped, name, sums, place):
    year = shipped[name]
    assert year.label_offset_min == -30.0
    assert year.closure < 0.01
    assert year.warnings == ()
    found = [values.sum() / 1000 for values in (year.ghi, year.dni, year.dhi)]
    assert found == pytest.approx(sums, abs=0.05)
    assert (year.latitude, year.longitude, year.elevation, year.utc_offset_h) == pytest.approx(
        place, abs=5e-4
    )
    assert str(year.mid[0]) == "1990-01-01T00:30:00"
    assert str(year.mid[-1]) == "1990-12-31T23:30:00"


@pytest.mark.parametrize("name", SHIPPED[:2])
def test_tmy3_is_read_as_pvlib_reads_it(shipped, name, tmp_path):
    path = tmp_path / "any.name"
    path.write_bytes(shipped_weather(name))
    theirs, head = iotools.read_tmy3(path, coerce_year=1990)
    ours = shipped[name]
    for column, values in (
        ("ghi", ours.ghi),
        ("dni", ours.dni),
        ("temp_air", ours.temp_air),
        ("wind_speed", ours.wind),
    ):
        np.testing.assert_array_equal(theirs[column].to_numpy(), values)
    assert (head["latitude"], head["longitude"]) == (ours.latitude, ours.longitude)


def test_tmy2_is_read_as_pvlib_reads_it(shipped, tmp_path):
    path = tmp_path / "any.name"
    path.write_bytes(shipped_weather("12839.tm2"))
    theirs, head = iotools.read_tmy2(path)
    ours = shipped["12839.tm2"]
    for column, values in (("GHI", ours.ghi), ("DNI", ours.dni), ("DHI", ours.dhi)):
        np.testing.assert_array_equal(theirs[column].to_numpy(), values)
    np.testing.assert_allclose(theirs["DryBulb"].to_numpy() / 10, ours.temp_air)
    np.testing.assert_allclose(theirs["Wspd"].to_numpy() / 10, ours.wind)
    np.testing.assert_array_equal(theirs["SnowDepth"].to_numpy(), ours.snow_depth)
    assert (head["latitude"], head["longitude"]) == pytest.approx((ours.latitude, ours.longitude))


def test_a_city_of_two_words_is_read():
    text = shipped_weather("12839.tm2").decode().replace("MIAMI     ", "NEW MIAMI ", 1)
    assert "New Miami" in parse_weather("x", text.encode()).source


def test_epw_gives_its_hours_and_pvlib_agrees(greensboro):
    text = weather_files.epw(greensboro)
    ours = parse_weather("x", text.encode())
    same_hours(ours, greensboro)
    assert ours.snow_depth is None
    theirs, _ = iotools.read_epw(io.StringIO(text), coerce_year=1990)
    np.testing.assert_array_equal(theirs["ghi"].to_numpy(), ours.ghi)
    np.testing.assert_array_equal(theirs["wind_speed"].to_numpy(), ours.wind)


def test_epw_with_two_records_an_hour_has_half_hours(greensboro):
    year = parse_weather("x", weather_files.epw(greensboro, per_hour=2).encode())
    assert year.hours == 0.5
    assert len(year.mid) == 17520
    assert str(year.mid[1]) == "1990-01-01T00:45:00"
    assert year.monthly_ghi.sum() == pytest.approx(greensboro.monthly_ghi.sum(), rel=1e-6)


def test_national_database_csv_gives_its_hours_and_pvlib_agrees(greensboro):
    text = weather_files.nsrdb(greensboro)
    ours = parse_weather("x", text.encode())
    same_hours(ours, greensboro)
    assert ours.kind == "one year"
    theirs, _ = iotools.read_nsrdb_psm4(io.StringIO(text))
    np.testing.assert_array_equal(theirs["dni"].to_numpy(), ours.dni)


def test_a_zone_of_half_hours_is_read(greensboro):
    """The same light on a clock half an hour ahead: stamps on the hour."""
    moved = replace(
        greensboro, mid=greensboro.mid + np.timedelta64(1800, "s"), utc_offset_h=greensboro.utc_offset_h + 0.5
    )
    year = parse_weather("x", weather_files.nsrdb(moved, zone="-4.5").encode())
    assert year.utc_offset_h == -4.5
    assert year.closure < 0.01
    assert year.warnings == ()


def test_a_leap_day_is_left_out_and_said(greensboro):
    year = parse_weather("x", weather_files.nsrdb(greensboro, leap=True).encode())
    same_hours(year, greensboro)
    assert [code for code, _ in year.warnings] == ["weather-leap-day"]


@pytest.mark.parametrize("offset_h", [0.1761, 0.5])
def test_satellite_csv_comes_back_to_local_time(greensboro, offset_h):
    text = weather_files.satellite_csv(greensboro, offset_h)
    ours = parse_weather("x", text.encode())
    same_hours(ours, greensboro)
    assert ours.utc_offset_h == -5.0
    assert ours.warnings == ()
    theirs, _ = iotools.read_pvgis_tmy(io.BytesIO(text.encode()), pvgis_format="csv")
    assert theirs["ghi"].sum() == pytest.approx(ours.ghi.sum())


def test_satellite_json_comes_back_to_local_time(greensboro):
    text = weather_files.satellite_json(greensboro, 0.1761)
    ours = parse_weather("x", text.encode())
    same_hours(ours, greensboro)
    theirs, _ = iotools.read_pvgis_tmy(io.StringIO(text), pvgis_format="json")
    assert theirs["dni"].sum() == pytest.approx(ours.dni.sum())
    pretty = parse_weather("x", json.dumps(json.loads(text), indent=1).encode())
    np.testing.assert_array_equal(pretty.ghi, ours.ghi)


def test_the_name_of_a_file_decides_nothing():
    data = shipped_weather("12839.tm2")
    assert "TMY2" in parse_weather("weather.epw", data).source


def test_only_listed_files_are_fetched_from_the_library():
    with pytest.raises(WeatherProblem, match="is not a shipped typical year"):
        shipped_weather("../version.py")
