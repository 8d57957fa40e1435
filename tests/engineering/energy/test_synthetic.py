"""The made year against the three real ones, fed with nothing but their monthly means."""

from __future__ import annotations

import numpy as np
import pytest

from reportgen.engineering.energy.inputs import InputSpec, InverterSpec, Orientation, Site, StringSpec, Wire
from reportgen.engineering.energy.synthetic import DAYS, MADE_ERROR, MEASURED, clear_sky_year, synthetic_year
from reportgen.engineering.energy.weather import WeatherProblem
from reportgen.engineering.energy.year import run_year

PLANES = [(0.0, 180.0), (20.0, 180.0), (35.0, 140.0), (10.0, 250.0), (60.0, 180.0)]


def made_like(year):
    return synthetic_year(
        year.latitude,
        year.longitude,
        year.elevation,
        year.utc_offset_h,
        year.monthly_ghi / DAYS,
        year.monthly_temp,
    )


def figures(year, sheet):
    orientations = [Orientation(f"o{k}", tilt, azimuth) for k, (tilt, azimuth) in enumerate(PLANES)]
    strings = [
        StringSpec(f"s{k}", f"i{k}", o.id, "M", 7, (Wire("w", 0.3, 0.00323),))
        for k, o in enumerate(orientations)
    ]
    result = run_year(
        year, Site(year.latitude, year.longitude), orientations, {"M": sheet}, strings,
        [InputSpec(f"i{k}", "v") for k in range(len(PLANES))], [InverterSpec("v", efficiency=1.0)],
    )  # fmt: skip
    return np.array(
        [
            (p.irradiation_kwh_m2, s.dc_kwh, s.wire_kwh)
            for p, s in zip(result.planes, result.strings, strict=True)
        ]
    )


@pytest.mark.source("typical years in pvlib 0.16.1 (pvlib/data)", locator="three files, five planes each")
def test_errors_against_three_real_years(shipped, sheet):
    errors = np.array(
        [100 * (figures(made_like(year), sheet) / figures(year, sheet) - 1) for year in shipped.values()]
    )
    mean = np.abs(errors).mean(axis=(0, 1))
    worst = np.abs(errors).max(axis=(0, 1))
    for number, (name, (mean_told, worst_told)) in enumerate(MEASURED.items()):
        # what is printed is what was measured, rounded up
        assert 0.9 * mean_told < mean[number] <= mean_told, name
        assert 0.9 * worst_told < worst[number] <= worst_told, name
    assert mean[0] < 0.43, "irradiation on the plane"
    assert mean[2] < 3.3, "wire loss"


def test_the_error_that_is_printed_is_the_one_measured(shipped):
    (told,) = [
        text for code, text in made_like(shipped["12839.tm2"]).warnings if code == "weather-made-error"
    ]
    assert told == MADE_ERROR
    assert "0.37 and 1.2 % on the plane of array" in told
    assert "3.2 and 7.2 % on wire loss" in told


def test_monthly_means_are_kept(shipped):
    for year in shipped.values():
        made = made_like(year)
        np.testing.assert_allclose(made.monthly_ghi, year.monthly_ghi, rtol=1e-6)
        np.testing.assert_allclose(made.monthly_temp, year.monthly_temp, atol=1e-6)
        assert made.kind == "synthetic from monthly means"


def test_the_same_means_give_the_same_year(greensboro):
    assert made_like(greensboro).digest == made_like(greensboro).digest


def test_direct_and_diffuse_add_up_to_global(greensboro):
    from reportgen.engineering.energy.sun import cosine_of_zenith, shifted

    made = made_like(greensboro)
    cosine = cosine_of_zenith(shifted(made.mid, 5 * 3600), made.latitude, made.longitude)
    up = cosine > 0.15
    gap = made.ghi[up] - made.dhi[up] - made.dni[up] * cosine[up]
    assert np.abs(gap).sum() / made.ghi[up].sum() < 0.002
    assert min(made.ghi.min(), made.dni.min(), made.dhi.min()) >= 0.0


def test_temperature_extremes_are_not_in_it_and_that_is_said(greensboro, sheet):
    made = made_like(greensboro)
    assert made.temp_air.min() > greensboro.temp_air.min() + 5
    result = run_year(
        made, Site(36.1, -79.95), [Orientation("o", 20, 180)], {"M": sheet}, [StringSpec("s", "i", "o", "M", 7)],
        [InputSpec("i", "v")], [InverterSpec("v")],
    )  # fmt: skip
    assert "weather-made" in [code for code, _ in result.cautions]


def test_a_clear_sky_is_an_upper_bound_and_says_so(greensboro, sheet):
    clear = clear_sky_year(36.1, -79.95, 273.0, -5.0, greensboro.monthly_temp)
    assert (clear.monthly_ghi > greensboro.monthly_ghi).all()
    result = run_year(
        clear, Site(36.1, -79.95), [Orientation("o", 20, 180)], {"M": sheet}, [StringSpec("s", "i", "o", "M", 7)],
        [InputSpec("i", "v")], [InverterSpec("v")],
    )  # fmt: skip
    assert result.upper_bound
    assert result.band.high_kwh is None
    assert "upper bound" in result.band.text


def test_a_dark_winter_month_is_made(shipped):
    means = [0.0, 0.2, 1.4, 3.5, 5.0, 5.5, 5.0, 3.4, 1.5, 0.3, 0.0, 0.0]
    made = synthetic_year(72.0, 20.0, 10.0, 1.0, means, [-5.0] * 12)
    np.testing.assert_allclose(made.monthly_ghi / DAYS, means, atol=1e-6)


@pytest.mark.parametrize(
    ("light", "reason"),
    [
        ([5.0] * 11, "not twelve monthly irradiations"),
        ([-1.0] + [4.0] * 11, "month 1 is below zero"),
        ([9.0] + [4.0] * 11, "more than a clear sky gives"),
        ([float("nan")] * 12, "not twelve monthly irradiations"),
    ],
)
def test_impossible_means_are_refused(light, reason):
    with pytest.raises(WeatherProblem, match=reason):
        synthetic_year(36.1, -79.95, 273.0, -5.0, light, [10.0] * 12)
