"""Tables behind each other and light on the rear: closed forms, pvlib's own view factors and shaded fractions, the chain."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from pvlib import shading
from pvlib.bifacial import infinite_sheds, utils

from reportgen.engineering.energy.inputs import MemoryCache, Options, Orientation, RowGeometry
from reportgen.engineering.energy.plane import plane_of_array
from reportgen.engineering.energy.rows import (
    REAR_BLOCKED,
    ground_light,
    rear_light,
    shaded_share,
    share_lost,
    views,
)
from reportgen.engineering.energy.sun import sun_of

PVLIB = "pvlib 0.16.1"
ROWS = RowGeometry(2.0, 3.0, 2)


@pytest.fixture(scope="module")
def sun(greensboro):
    return sun_of(greensboro)


def incidence(sun, tilt: float, azimuth: float):
    zenith = np.radians(sun.zenith)
    return np.cos(np.radians(tilt)) * np.cos(zenith) + np.sin(np.radians(tilt)) * np.sin(zenith) * np.cos(
        np.radians(sun.azimuth - azimuth)
    )


@pytest.mark.parametrize("tilt", [5.0, 20.0, 45.0, 80.0])
@pytest.mark.parametrize("ratio", [0.2, 0.5, 0.8])
@pytest.mark.source(PVLIB, locator="bifacial.utils.vf_row_sky_2d_integ, vf_row_ground_2d_integ")
def test_views_are_those_of_the_library(tilt, ratio):
    seen = views(tilt, RowGeometry(1.0, 1.0 / ratio))
    assert seen.front_sky == pytest.approx(utils.vf_row_sky_2d_integ(tilt, ratio, 0, 1), abs=2e-4)
    assert seen.rear_sky == pytest.approx(utils.vf_row_sky_2d_integ(180 - tilt, ratio, 0, 1), abs=2e-4)


@pytest.mark.parametrize("tilt", [0.0, 30.0, 90.0])
def test_sky_ground_and_neighbour_see_each_other_alike(tilt):
    """What leaves the sky over one pitch arrives at two faces and the ground; nothing is seen twice."""
    seen = views(tilt, ROWS)
    over = ROWS.slope_length / ROWS.pitch
    assert seen.ground_sky + over * (seen.front_sky + seen.rear_sky) == pytest.approx(1.0)
    assert seen.front_sky + seen.front_ground <= 1.0 + 1e-12
    assert seen.rear_sky + seen.rear_ground <= 1.0 + 1e-12


@pytest.mark.source("closed form", locator="sky and ground seen from a tilted plane: (1 ± cos(tilt)) / 2")
@pytest.mark.parametrize("tilt", [0.0, 25.0, 90.0])
def test_far_apart_a_table_stands_free(tilt):
    seen = views(tilt, RowGeometry(2.0, 1e7))
    cosine = np.cos(np.radians(tilt))
    assert (seen.front_sky, seen.front_ground) == pytest.approx(
        ((1 + cosine) / 2, (1 - cosine) / 2), abs=1e-6
    )
    assert (seen.rear_sky, seen.rear_ground) == pytest.approx(((1 - cosine) / 2, (1 + cosine) / 2), abs=1e-6)
    assert seen.ground_sky == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize(("tilt", "azimuth"), [(30.0, 180.0), (15.0, 140.0), (60.0, 250.0)])
@pytest.mark.source(PVLIB, locator="shading.shaded_fraction1d, Anderson and Jensen (2024)")
def test_shade_is_that_of_the_library_in_every_hour(sun, tilt, azimuth):
    facing = incidence(sun, tilt, azimuth)
    front = (facing > 0.02) & (sun.zenith < 88.0)
    ours = shaded_share(facing.clip(0), np.cos(np.radians(sun.zenith)), ROWS)[front]
    theirs = shading.shaded_fraction1d(
        sun.zenith[front], sun.azimuth[front], azimuth - 90.0, tilt, collector_width=2.0, pitch=3.0
    )
    np.testing.assert_allclose(ours, theirs, atol=1e-9)
    assert ours.max() > 0.5
    assert (ours == 0.0).mean() > 0.5


@pytest.mark.source(
    f"{PVLIB}, docstring of shading.shaded_fraction1d", locator="first example, offset left out"
)
def test_the_published_example_of_shade():
    zenith, turn = np.radians(80.0), np.radians(135.0 - 180.0)
    facing = np.cos(np.radians(30)) * np.cos(zenith) + np.sin(np.radians(30)) * np.sin(zenith) * np.cos(turn)
    ours = shaded_share(np.array([facing]), np.array([np.cos(zenith)]), ROWS)
    # the example lifts the modules 5 cm off the axis, which moves the shadow by no more than that over two metres
    assert ours[0] == pytest.approx(0.47755694708090535, abs=0.025)


def test_a_row_that_is_shaded_at_all_is_lost_wholly():
    shaded = np.array([0.0, 1e-6, 0.5, 0.5000001, 1.0])
    np.testing.assert_allclose(share_lost(shaded, 2), [0.0, 0.5, 0.5, 1.0, 1.0])
    np.testing.assert_allclose(share_lost(shaded, 1), [0.0, 1.0, 1.0, 1.0, 1.0])
    assert (share_lost(shaded, 7) >= shaded - 1e-9).all()


def test_direct_light_on_tables_and_ground_is_what_the_sun_sends(sun, greensboro):
    """On one pitch: front or rear, shaded parts left out, and the ground together catch exactly the beam."""
    facing, up = incidence(sun, 30.0, 180.0), np.cos(np.radians(sun.zenith)).clip(0)
    seen, dni = views(30.0, ROWS), greensboro.dni[sun.rows]
    lit = 1.0 - shaded_share(np.abs(facing), up, ROWS)
    table = dni * np.abs(facing) * lit * ROWS.slope_length
    ground = ground_light(dni, np.zeros_like(dni), facing, up, ROWS, seen) * ROWS.pitch
    np.testing.assert_allclose(table + ground, dni * up * ROWS.pitch, atol=1e-6)


@pytest.mark.source(PVLIB, locator="bifacial.infinite_sheds.get_irradiance, isotropic sky")
def test_front_and_rear_of_a_year_are_near_the_librarys(sun, greensboro):
    """Ours loses a whole row at a time; with the linear share of the shade both agree on the year."""
    dni, dhi, ghi = (values[sun.rows] for values in (greensboro.dni, greensboro.dhi, greensboro.ghi))
    facing, up = incidence(sun, 30.0, 180.0), np.cos(np.radians(sun.zenith))
    seen = views(30.0, ROWS)
    ground = 0.2 * ground_light(dni, dhi, facing, up, ROWS, seen)
    front = (
        dni * facing.clip(0) * (1 - shaded_share(facing.clip(0), up, ROWS))
        + dhi * seen.front_sky
        + ground * seen.front_ground
    )
    rear = rear_light(dni, dhi, ground, facing, up, ROWS, seen)
    theirs = infinite_sheds.get_irradiance(
        30.0, 180.0, sun.zenith, sun.azimuth, 2.0 / 3.0, 0.5001, 3.0, ghi, dhi, dni, 0.2, bifaciality=1.0,
        shade_factor=0.0, iam_front=1.0, iam_back=1.0,
    )  # fmt: skip
    assert front.sum() == pytest.approx(np.nansum(theirs["poa_front"]), rel=0.01)
    # the library's table floats half its height above the ground, ours touches it
    assert rear.sum() == pytest.approx(np.nansum(theirs["poa_back"]), rel=0.1)


@pytest.mark.parametrize("model", ["perez-driesse", "hay-davies"])
def test_tables_in_front_take_light_and_far_ones_take_none(sun, greensboro, model):
    options = Options(sky_model=model)
    free = plane_of_array(greensboro, sun, 30.0, 180.0, options=options)
    near = plane_of_array(greensboro, sun, 30.0, 180.0, options=options, rows=ROWS)
    far = plane_of_array(greensboro, sun, 30.0, 180.0, options=options, rows=RowGeometry(2.0, 1e7, 2))
    np.testing.assert_array_equal(near.free, free.total)
    assert 0.02 < 1 - near.total.sum() / free.total.sum() < 0.25
    assert (near.total <= near.seen + 1e-9).all()
    # of the free plane only the brightness low above the horizon is left out
    assert far.total.sum() == pytest.approx(free.total.sum(), rel=0.02)


def test_a_cached_plane_keeps_its_rows_and_its_rear(sun, greensboro):
    cache = MemoryCache()
    first = plane_of_array(greensboro, sun, 30.0, 180.0, cache=cache, rows=ROWS)
    again = plane_of_array(greensboro, sun, 30.0, 180.0, cache=cache, rows=ROWS)
    np.testing.assert_array_equal(first.rear, again.rear)
    np.testing.assert_array_equal(first.seen, again.seen)
    assert plane_of_array(greensboro, sun, 30.0, 180.0, cache=cache).rear is None


def chain_of(plant):
    return {step.key: step.kwh for step in plant.run().chain}


def test_the_chain_shows_shade_and_rear_light_and_still_closes(plant):
    plant.orientations = [replace(item, rows=ROWS) for item in plant.orientations]
    plant.modules = {"M": replace(plant.modules["M"], bifaciality=0.7)}
    chain = chain_of(plant)
    assert chain["row shading"] > 0.02 * chain["irradiation"]
    assert 0.01 < -chain["rear light"] / chain["irradiation"] < 0.15
    between = sum(value for key, value in chain.items() if key not in ("irradiation", "ac"))
    assert chain["irradiation"] - between == pytest.approx(chain["ac"], abs=1e-6)


def test_a_stated_rear_gain_is_that_share_of_the_light(plant):
    without = chain_of(plant)
    plant.orientations = [replace(item, rear_gain=0.06) for item in plant.orientations]
    chain = chain_of(plant)
    assert without["rear light"] == 0.0
    assert -chain["rear light"] == pytest.approx(0.06 * chain["irradiation"], rel=1e-9)
    assert chain["ac"] > without["ac"]


def test_what_is_worked_out_goes_before_what_is_stated(plant):
    plant.modules = {"M": replace(plant.modules["M"], bifaciality=0.7)}
    plant.orientations = [replace(item, rows=ROWS) for item in plant.orientations]
    alone = chain_of(plant)["rear light"]
    plant.orientations = [replace(item, rear_gain=0.3) for item in plant.orientations]
    assert chain_of(plant)["rear light"] == alone


def test_what_rows_and_rear_rest_on_is_listed(plant):
    assert (
        "no table stands before it" in {key: text for key, text, _ in plant.run().assumptions}["rows.south"]
    )
    plant.modules = {"M": replace(plant.modules["M"], bifaciality=0.7)}
    listed = {key: text for key, text, _ in plant.run().assumptions}
    assert listed["rear.south"].endswith("no light on the rear")
    plant.orientations = [replace(item, rows=ROWS) for item in plant.orientations]
    listed = {key: text for key, text, _ in plant.run().assumptions}
    assert "every table stands behind another" in listed["rows.south"]
    assert f"take {100 * REAR_BLOCKED:g} %" in listed["rear.south"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"rows": RowGeometry(4.0, 3.0)}, "overlap"),
        ({"rear_gain": 1.5}, "rear gain"),
        ({"rear_gain": -0.1}, "rear gain"),
    ],
)
def test_impossible_rows_are_refused(change, words):
    with pytest.raises(ValueError, match=words):
        Orientation("o", 20.0, 180.0, **change)
