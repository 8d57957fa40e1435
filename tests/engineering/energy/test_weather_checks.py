"""Bad weather is refused at its line, doubtful weather is used and said."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
import weather_files

from reportgen.engineering.energy import weather
from reportgen.engineering.energy.weather import WeatherProblem, check_site, parse_weather, shipped_weather


@pytest.fixture(scope="module")
def lines() -> list[str]:
    """Greensboro's TMY3 file; line 1 and 2 are its head."""
    return shipped_weather("723170TYA.CSV").decode("latin-1").splitlines()


def with_field(line: str, column: int, value: str) -> str:
    fields = line.split(",")
    fields[column] = value
    return ",".join(fields)


def read(lines: list[str]):
    return parse_weather("file.csv", "\n".join(lines).encode())


def refused(lines: list[str]) -> WeatherProblem:
    with pytest.raises(WeatherProblem) as caught:
        read(lines)
    assert caught.value.help
    return caught.value


GHI, DNI, DHI, AIR = 4, 7, 10, 31
NOON_OF_1_JULY = 2 + 181 * 24 + 11


def test_a_file_one_row_short_is_refused(lines):
    problem = refused(lines[:-1])
    assert problem.reason == "the file ends after 8759 rows of 8760"
    assert problem.line == 8761


def test_a_row_missing_inside_is_refused_there(lines):
    problem = refused(lines[:4000] + lines[4001:])
    assert problem.reason == "1 rows are missing before this one"
    assert problem.line == 4001


def test_a_doubled_row_is_refused_there(lines):
    problem = refused([*lines[:5000], lines[4999], *lines[5000:]])
    assert problem.reason == "the time stamp stands twice"
    assert problem.line == 5001


def test_exchanged_rows_are_refused_there(lines):
    swapped = [*lines[:3000], lines[3001], lines[3000], *lines[3002:]]
    problem = refused(swapped)
    assert problem.line in (3001, 3002)


def test_two_years_are_refused(lines):
    assert refused(lines + lines[2:]).reason == "the file has 17520 rows, a year has 8760"


@pytest.mark.parametrize(("column", "name"), [(GHI, "ghi"), (DNI, "dni"), (DHI, "dhi")])
def test_light_below_zero_is_refused_at_its_line(lines, column, name):
    changed = list(lines)
    changed[NOON_OF_1_JULY] = with_field(lines[NOON_OF_1_JULY], column, "-55")
    problem = refused(changed)
    assert problem.reason == f"`{name}` is -55 W/m²"
    assert problem.line == NOON_OF_1_JULY + 1


@pytest.mark.parametrize("text", ["nan", ""])
def test_a_long_hole_is_refused_at_its_first_line(lines, text):
    changed = list(lines)
    for k in range(NOON_OF_1_JULY, NOON_OF_1_JULY + 5):
        changed[k] = with_field(changed[k], GHI, text)
    problem = refused(changed)
    assert problem.reason == "`ghi` is missing in 5 rows, the longest gap has 5 h"
    assert problem.line == NOON_OF_1_JULY + 1


def test_a_short_hole_is_filled_and_listed(lines, greensboro):
    changed = list(lines)
    changed[NOON_OF_1_JULY] = with_field(lines[NOON_OF_1_JULY], GHI, "nan")
    year = read(changed)
    row = NOON_OF_1_JULY - 2
    assert year.ghi[row] == pytest.approx((greensboro.ghi[row - 1] + greensboro.ghi[row + 1]) / 2)
    assert year.warnings == (
        ("weather-gap", f"`ghi`: 1 missing rows filled by a straight line (line {NOON_OF_1_JULY + 1})"),
    )


@pytest.mark.parametrize("factor", [1e-3, 3.6e-3, 3.6])
def test_another_unit_of_light_is_refused(lines, factor):
    changed = lines[:2]
    for line in lines[2:]:
        changed.append(with_field(line, GHI, f"{float(line.split(',')[GHI]) * factor:.5f}"))
    problem = refused(changed)
    assert {1e-3: "kWh/m²", 3.6e-3: "MJ/m²", 3.6: "kJ/m²"}[factor] in problem.reason


def test_another_unit_in_the_head_is_refused(lines):
    changed = [lines[0], lines[1].replace("GHI (W/m^2)", "GHI (kWh/m^2)"), *lines[2:]]
    problem = refused(changed)
    assert "found `GHI (kWh/m^2)`" in problem.reason
    assert problem.line == 2


def test_degrees_fahrenheit_are_refused(lines):
    changed = lines[:2] + [
        with_field(line, AIR, f"{float(line.split(',')[AIR]) * 1.8 + 32:.1f}") for line in lines[2:]
    ]
    assert "is no °C on this globe" in refused(changed).reason


def test_another_unit_in_a_national_database_head_is_refused(greensboro):
    with pytest.raises(WeatherProblem, match="GHI is in `kJ/m2`"):
        parse_weather("x", weather_files.nsrdb(greensboro, unit="kJ/m2").encode())


def test_a_sun_at_night_is_refused(lines):
    """The clock of the far side of the globe."""
    problem = refused([lines[0].replace(",-5.0,", ",7.0,"), *lines[1:]])
    assert "while the sun is down" in problem.reason
    assert problem.line is not None


@pytest.mark.parametrize(("zone", "code"), [("-3.5", "weather-label"), ("-6.0", "weather-noon")])
def test_a_clock_an_hour_off_is_said(lines, zone, code):
    """Where a shift of the stamps explains it, the sun is followed; where none does, noon is off."""
    year = read([lines[0].replace(",-5.0,", f",{zone},"), *lines[1:]])
    assert code in [found for found, _ in year.warnings]


@pytest.mark.parametrize("zone", ["-2.5", "0.0", "-8.0"])
def test_a_clock_hours_off_is_refused(lines, zone):
    assert "while the sun is down" in refused([lines[0].replace(",-5.0,", f",{zone},"), *lines[1:]]).reason


def test_a_longitude_of_the_wrong_sign_is_refused(lines):
    assert "while the sun is down" in refused([lines[0].replace("-79.950", "79.950"), *lines[1:]]).reason


def test_another_hemisphere_in_the_head_is_refused(lines):
    """Summer's long evenings fall into a winter's night."""
    assert "while the sun is down" in refused([lines[0].replace("36.100", "-36.100"), *lines[1:]]).reason


def test_a_wrong_label_is_found_by_the_sun(lines, greensboro):
    """Stamps at the start of the hour where the format says the end."""
    changed = lines[:2]
    for line, later in zip(lines[2:], [*lines[3:], lines[2]], strict=True):
        date, clock = line.split(",")[:2]
        changed.append(",".join([date, clock, *later.split(",")[2:]]))
    year = read(changed)
    assert year.label_offset_min == 30.0
    assert [code for code, _ in year.warnings] == ["weather-label"]
    assert year.closure == pytest.approx(greensboro.closure, abs=2e-4)


def test_a_text_where_a_number_belongs_is_refused_at_its_line(lines):
    changed = list(lines)
    changed[100] = with_field(lines[100], GHI, "n.v.")
    problem = refused(changed)
    assert (problem.line, problem.reason) == (101, "ghi `n.v.` is not a number")


def test_a_line_cut_in_the_middle_is_refused_at_its_line(lines):
    assert refused([*lines[:-1], lines[-1][:30]]).line == 8762


def test_a_file_too_large_is_refused_before_it_is_read(monkeypatch):
    monkeypatch.setattr(weather, "MAX_BYTES", 1000)
    with pytest.raises(WeatherProblem, match=re.escape("MiB, more than")):
        parse_weather("big.csv", b"\xff" * 1001)


def test_endless_lines_and_endless_json_are_refused_before_they_are_taken_apart():
    with pytest.raises(WeatherProblem, match="more than 400000 lines"):
        parse_weather("x", b"\n" * 400_001)
    with pytest.raises(WeatherProblem, match="MiB of JSON"):
        parse_weather("x", b" {" + b" " * (16 * 1024 * 1024))


@pytest.mark.parametrize(
    "data",
    [b"", b"a,b\n1,2\n3,4\n", b"\x00\x01\x02", b"{}", b"LOCATION,\nx\ny\n", b'{"outputs": {"tmy_hourly": ['],
)
def test_what_is_no_weather_is_refused(data):
    with pytest.raises(WeatherProblem):
        parse_weather("x", data)


def test_global_light_alone_is_split_and_said(greensboro):
    text = weather_files.nsrdb(greensboro)
    without = []
    for number, line in enumerate(text.splitlines()):
        fields = line.split(",")
        without.append(line if number < 2 else ",".join(fields[:6] + fields[8:]))
    year = parse_weather("x", "\n".join(without).encode())
    assert [code for code, _ in year.warnings] == ["weather-decomposed"]
    assert year.dhi.sum() == pytest.approx(greensboro.dhi.sum(), rel=0.15)
    assert year.dni.sum() == pytest.approx(greensboro.dni.sum(), rel=0.15)


def test_a_place_nearby_draws_no_warning(greensboro):
    assert check_site(greensboro, 36.3, -79.5) == ()


@pytest.mark.parametrize(
    ("latitude", "longitude", "code"),
    [
        (-36.1, -79.95, "weather-hemisphere"),
        (38.5, -79.95, "weather-distance"),
        (36.1, 10.0, "weather-clock"),
    ],
)
def test_a_place_that_does_not_suit_is_said(greensboro, latitude, longitude, code):
    assert code in [found for found, _ in check_site(greensboro, latitude, longitude)]


def test_digest_follows_the_light_and_the_place(greensboro):
    assert replace(greensboro).digest == greensboro.digest
    assert replace(greensboro, ghi=np.roll(greensboro.ghi, 1)).digest != greensboro.digest
    assert replace(greensboro, longitude=-80.0).digest != greensboro.digest
    assert replace(greensboro, temp_air=greensboro.temp_air + 1).digest == greensboro.digest
