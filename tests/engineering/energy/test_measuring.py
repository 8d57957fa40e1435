"""Hours with enough sun: the sun's height and noon by hand, and what must hold for any plane."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.engineering.energy.measuring import STEP, Hours, Place, measuring_hours

PIEDMONT = Place(36.1, -79.9, 270.0, -5.0)
SOUTH = (30.0, 180.0)


def length(hours: Hours, limit: int = 0) -> int:
    return sum(last - first for first, last in hours.spans[limit])


def test_height_and_noon_by_hand() -> None:
    # 9 May: declination 17.4°, so 90 − 36.1 + 17.4 = 71.3°. The meridian of the zone is 75° W, the place 4.9° west of
    # it, 19.6 min; the equation of time is +3.6 min: noon at 12:16.
    found = measuring_hours(date(2026, 5, 9), PIEDMONT, [SOUTH], [200.0])[0]
    assert found.highest == pytest.approx(71.3, abs=0.2)
    assert found.noon == pytest.approx(12 * 60 + 16, abs=STEP)
    # 14 November: declination −18.3°, equation of time +15.6 min: 35.6° at 12:04.
    found = measuring_hours(date(2026, 11, 14), PIEDMONT, [SOUTH], [200.0])[0]
    assert found.highest == pytest.approx(35.6, abs=0.2)
    assert found.noon == pytest.approx(12 * 60 + 4, abs=STEP)


def test_a_plane_that_faces_the_sun_of_noon_has_its_hours_around_it() -> None:
    found = measuring_hours(date(2026, 5, 9), PIEDMONT, [SOUTH], [200.0])[0]
    ((first, last),) = found.spans[0]
    assert (first + last) / 2 == pytest.approx(found.noon, abs=2 * STEP)


def test_east_begins_and_ends_before_west() -> None:
    east, west = measuring_hours(date(2026, 5, 9), PIEDMONT, [(30.0, 100.0), (30.0, 260.0)], [400.0])
    assert east.spans[0][0][0] < west.spans[0][0][0]
    assert east.spans[0][0][1] < west.spans[0][0][1]


def test_the_southern_half_looks_north() -> None:
    south = Place(-33.9, 18.4, 0.0, 2.0)
    north, away = measuring_hours(date(2026, 6, 21), south, [(30.0, 0.0), (30.0, 180.0)], [400.0])
    assert length(north) > length(away)


def test_polar_night_has_no_hours() -> None:
    found = measuring_hours(date(2026, 12, 21), Place(69.6, 18.9, 0.0, 1.0), [SOUTH], [200.0])[0]
    assert found.spans == ((),)
    assert found.highest < 0
    assert found.most == 0


def test_a_hill_in_the_east_takes_the_morning() -> None:
    hill = Place(36.1, -79.9, 270.0, -5.0, ((45.0, 35.0), (135.0, 35.0), (150.0, 0.0), (30.0, 0.0)))
    free, behind = (
        measuring_hours(date(2026, 5, 9), place, [SOUTH], [300.0])[0]
        for place in (PIEDMONT, Place(36.1, -79.9, 270.0, -5.0, tuple(sorted(hill.horizon))))
    )
    assert behind.spans[0][0][0] > free.spans[0][0][0] + 20
    assert behind.spans[0][-1][1] == free.spans[0][-1][1]


@given(
    month=st.integers(1, 12),
    tilt=st.floats(0, 60),
    azimuth=st.floats(0, 359),
    latitude=st.floats(-60, 60),
)
def test_more_light_asked_for_means_fewer_hours(
    month: int, tilt: float, azimuth: float, latitude: float
) -> None:
    place = Place(latitude, 10.0, 100.0, 1.0)
    found = measuring_hours(date(2026, month, 15), place, [(tilt, azimuth)], [200.0, 400.0, 800.0])[0]
    assert length(found, 0) >= length(found, 1) >= length(found, 2)
    assert 0 <= found.most < 1400
    assert all(first <= last for spans in found.spans for first, last in spans)
