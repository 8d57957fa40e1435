"""Power by day and hour of the clock: energy kept, leap day and sub-hourly intervals placed."""

from __future__ import annotations

import numpy as np
import pytest

from reportgen.engineering.energy.profile import by_day_and_hour, by_month_and_hour


def stamps(start: str, step_min: int, count: int) -> np.ndarray:
    return np.datetime64(start, "s") + np.arange(count) * np.timedelta64(60 * step_min, "s")


def test_hours_of_a_year_land_where_they_are() -> None:
    power = np.arange(8760, dtype=np.float64)
    days = by_day_and_hour(stamps("1990-01-01T00:30", 60, 8760), power)
    np.testing.assert_array_equal(days.ravel(), power)


def test_quarters_of_an_hour_are_averaged() -> None:
    power = np.tile([1.0, 2.0, 3.0, 6.0], 8760)
    days = by_day_and_hour(stamps("1990-01-01T00:07:30", 15, 4 * 8760), power)
    np.testing.assert_array_equal(days, 3.0)


def test_hours_without_an_interval_are_unknown_and_never_zero() -> None:
    days = by_day_and_hour(stamps("1990-01-01T01:30", 180, 365 * 8), np.ones(365 * 8))
    assert np.isnan(days[:, 0]).all()
    assert (days[:, 1] == 1.0).all()
    months = by_month_and_hour(days)
    assert np.isnan(months[:, 0]).all()
    assert (months[:, 1] == 1.0).all()


def test_months_average_their_own_days() -> None:
    days = np.zeros((365, 24))
    days[31:59, 12] = 28.0  # February
    days[58, 12] = 0.0
    months = by_month_and_hour(days)
    assert months[1, 12] == pytest.approx(27.0)
    assert months[0, 12] == months[2, 12] == 0.0


def test_the_year_of_a_site_keeps_its_energy(plant) -> None:
    result = plant.run()
    days = by_day_and_hour(plant.weather.mid, result.hourly["ac"])
    assert days.sum() / 1000.0 == pytest.approx(result.ac_kwh, rel=1e-9)
    assert days[:, 0].max() <= 0.0 < days[:, 12].max()
