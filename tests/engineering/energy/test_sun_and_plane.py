"""Sun position and light on a plane: the published case, pvlib's own chain, and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from pvlib import irradiance, solarposition, temperature

from reportgen.engineering.energy.inputs import Horizon, MemoryCache, Options
from reportgen.engineering.energy.plane import diffuse_transmission, plane_of_array, squared_sun
from reportgen.engineering.energy.sun import cosine_of_zenith, position, shifted, sun_of
from reportgen.engineering.energy.thermal import cell_temperature


@pytest.fixture(scope="module")
def sun(greensboro):
    return sun_of(greensboro)


@pytest.mark.source(
    "Reda and Andreas, Solar position algorithm, NREL/TP-560-34302 (2008), as expected_solpos in pvlib-python's tests",
    locator="2003-10-17 12:30:30 UTC−7, Golden CO: zenith 50.111622°, azimuth 194.340241°",
)
def test_sun_of_the_published_case():
    when = np.array(["2003-10-17T19:30:30"], dtype="datetime64[s]")
    zenith, azimuth = position(when, 39.742476, -105.1786, 1830.14)
    # the case has 820 mbar and 11 °C; the standard atmosphere of that height and 12 °C move refraction by 0.0003°
    assert zenith[0] == pytest.approx(50.111622, abs=5e-4)
    assert azimuth[0] == pytest.approx(194.340241, abs=1e-4)
    true_zenith = 90.0 - 39.872046
    assert np.degrees(np.arccos(cosine_of_zenith(when, 39.742476, -105.1786)))[0] == pytest.approx(
        true_zenith, abs=0.02
    )


def test_the_short_series_follows_the_long_one(greensboro):
    utc = shifted(greensboro.mid, 5 * 3600)
    import pandas as pd

    exact = solarposition.get_solarposition(
        pd.DatetimeIndex(utc).tz_localize("UTC"),
        greensboro.latitude,
        greensboro.longitude,
        method="nrel_numpy",
    )
    short = np.degrees(np.arccos(cosine_of_zenith(utc, greensboro.latitude, greensboro.longitude)))
    assert np.abs(short - exact["zenith"].to_numpy()).max() < 0.02


@pytest.mark.parametrize(
    ("name", "off"), [("723170TYA.CSV", 0.001), ("12839.tm2", 0.005), ("703165TY.csv", 0.002)]
)
def test_a_horizontal_plane_sees_the_global_irradiance(shipped, name, off):
    """Within the closure of each file: direct and diffuse do not add up to global any better."""
    year = shipped[name]
    plane = plane_of_array(year, sun_of(year), 0.0, 180.0)
    assert plane.total.sum() == pytest.approx(year.ghi.sum(), rel=off)


@pytest.mark.parametrize("tilt", [0.0, 20.0, 60.0, 90.0])
@pytest.mark.parametrize("azimuth", [90.0, 180.0, 250.0])
@pytest.mark.parametrize("model", ["perez-driesse", "hay-davies"])
def test_pvlib_gives_the_same_light_on_any_plane(greensboro, sun, tilt, azimuth, model):
    rows = sun.rows
    theirs = irradiance.get_total_irradiance(
        tilt, azimuth, sun.zenith, sun.azimuth, greensboro.dni[rows], greensboro.ghi[rows], greensboro.dhi[rows],
        dni_extra=sun.extra, albedo=0.2, model="haydavies" if model == "hay-davies" else model,
    )["poa_global"]  # fmt: skip
    ours = plane_of_array(greensboro, sun, tilt, azimuth, 0.2, options=Options(sky_model=model))
    np.testing.assert_allclose(ours.total, theirs, atol=1e-6)
    np.testing.assert_array_equal(ours.free, ours.total)


@pytest.mark.source("pvlib 0.16.1, docstring of iam.marion_diffuse", locator="physical, tilt 20°")
def test_published_transmission_of_diffuse_light():
    assert diffuse_transmission(20.0) == pytest.approx((0.9539178294, 0.6387140118), abs=1e-9)


def test_a_horizon_hides_the_sun_and_keeps_the_sky(greensboro, sun):
    wall = Horizon((0.0, 180.0), (90.0, 90.0))
    dark = plane_of_array(greensboro, sun, 20.0, 180.0, horizon=wall)
    flat = plane_of_array(greensboro, sun, 20.0, 180.0, horizon=Horizon((0.0,), (-1.0,)))
    beam = greensboro.dni[sun.rows] * irradiance.aoi_projection(20.0, 180.0, sun.zenith, sun.azimuth).clip(0)
    np.testing.assert_allclose(flat.total - dark.total, np.where(sun.zenith < 91, beam, 0.0), atol=1e-6)
    np.testing.assert_array_equal(dark.free, flat.free)


def test_a_hill_in_the_west_takes_afternoons_only(greensboro, sun):
    hill = Horizon((200.0, 201.0, 339.0, 340.0), (-10.0, 30.0, 30.0, -10.0))
    plane = plane_of_array(greensboro, sun, 20.0, 180.0, horizon=hill)
    hidden = plane.total < plane.free - 1e-9
    assert hidden.any()
    assert (sun.azimuth[hidden] > 200.0).all()
    assert (90.0 - sun.zenith[hidden] <= 30.0).all()


def test_the_glass_takes_more_of_slanting_light(greensboro, sun):
    plane = plane_of_array(greensboro, sun, 20.0, 180.0)
    only_direct = plane_of_array(greensboro, sun, 20.0, 180.0, options=Options(diffuse_reflection=False))
    loss, loss_direct = (1 - p.behind_glass.sum() / p.total.sum() for p in (plane, only_direct))
    assert 0.005 < loss_direct < loss < 0.05


def test_a_cached_plane_is_the_same_plane(greensboro):
    cache = MemoryCache()
    first = sun_of(greensboro, cache)
    again = sun_of(greensboro, cache)
    np.testing.assert_array_equal(first.rows, again.rows)
    np.testing.assert_array_equal(first.low, again.low)
    assert again.rows.dtype == np.intp
    a = plane_of_array(greensboro, first, 20.0, 180.0, cache=cache)
    count = len(cache.store)
    b = plane_of_array(greensboro, first, 20.0, 180.0, cache=cache)
    assert len(cache.store) == count
    np.testing.assert_array_equal(a.behind_glass, b.behind_glass)
    plane_of_array(greensboro, first, 21.0, 180.0, cache=cache)
    assert len(cache.store) == count + 1


def test_a_cache_hands_out_what_cannot_be_written():
    cache = MemoryCache()
    mine = np.zeros(3)
    cache.put("k", {"a": mine})
    mine[0] = 1.0
    kept = cache.get("k")
    assert kept["a"][0] == 0.0
    with pytest.raises(ValueError, match="read-only"):
        kept["a"][0] = 2.0


def test_squared_sun_of_half_and_full_light():
    """Half the time 1000 W/m², half 500: (1 + 0.25) / 1.5 = 0.8333."""
    assert squared_sun(np.array([1000.0, 500.0])) == pytest.approx(1.25 / 1.5)
    assert squared_sun(np.zeros(3)) == 0.0


ONE = np.ones(1)


@pytest.mark.source(
    "pvlib-python, tests/test_temperature.py at commit 6382338a7", locator="test_faiman_default"
)
def test_published_heat_balance():
    found = cell_temperature(900 * ONE, 20 * ONE, 5 * ONE, "open rack", open_rack_model="heat balance")
    assert found[0] == pytest.approx(35.203, abs=5e-4)


@pytest.mark.parametrize(
    ("mounting", "parameters"), [("flush roof", (-2.98, -0.0471, 1)), ("insulated back", (-2.81, -0.0455, 0))]
)
@pytest.mark.source(
    "King et al., SAND2004-3535 (2004), as in pvlib 0.16.1", locator="close roof mount; insulated back"
)
def test_roofs_are_warmer_by_the_published_coefficients(mounting, parameters):
    a, b, step = parameters
    module = 20 + 900 * np.exp(a + b * 5)
    found = cell_temperature(900 * ONE, 20 * ONE, 5 * ONE, mounting)
    assert found[0] == pytest.approx(module + 0.9 * step)


def test_an_open_rack_follows_the_nominal_temperature():
    ours = cell_temperature(800 * ONE, 20 * ONE, ONE, "open rack", 47.0, 0.18)
    assert ours[0] == pytest.approx(float(temperature.noct_sam(800.0, 20.0, 1.0, 47.0, 0.18)))
    warmer = cell_temperature(800 * ONE, 20 * ONE, ONE, "open rack", 50.0, 0.18)
    assert warmer[0] > ours[0]
