"""P50 and P90 of several years: closed forms, and never a narrower band than the years allow."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.engineering.energy.basis import MODEL, WEATHER_SHARE, YEAR_TO_YEAR
from reportgen.engineering.energy.spread import ENOUGH, spread_of


def named(values):
    return {f"y{k}": float(value) for k, value in enumerate(values)}


@pytest.mark.source("tables of the normal distribution", locator="quantile 0.90: 1.2816", read="memory")
def test_p90_of_many_years_by_hand():
    """Ten years of mean 1000 and sample deviation 80: variance 0.08² · 1.1 + 0.05² + 0.04²."""
    half = 80.0 * math.sqrt(0.9)
    found = spread_of(named([1000.0 - half, 1000.0 + half] * 5))
    share = math.sqrt(0.0064 * 1.1 + 0.0025 + 0.0016)
    assert found.scatter == pytest.approx(0.08)
    assert found.band.share == pytest.approx(share)
    assert found.p50 == pytest.approx(1000.0)
    assert found.p90 == pytest.approx(1000.0 * (1.0 - 1.2816 * share), abs=0.01)


def test_few_years_that_happen_to_agree_are_not_believed():
    few, many = spread_of(named([1000.0] * 3)), spread_of(named([1000.0] * ENOUGH))
    assert few.band.share == pytest.approx(
        math.sqrt(YEAR_TO_YEAR**2 * 4 / 3 + WEATHER_SHARE["one year"] ** 2 + MODEL**2)
    )
    assert "taken as the usual 5 %" in few.band.text
    assert "usual" not in many.band.text
    assert many.band.share == pytest.approx(math.hypot(WEATHER_SHARE["one year"], MODEL))


def test_few_years_that_differ_more_than_usual_are_believed():
    found = spread_of(named([800.0, 1200.0]))
    assert found.band.share > found.scatter == pytest.approx(0.2828, abs=1e-4)


@given(st.lists(st.floats(500.0, 1500.0), min_size=2, max_size=12), st.floats(0.1, 10.0))
def test_laws(values, factor):
    found, scaled = spread_of(named(values)), spread_of(named([factor * value for value in values]))
    assert found.p90 < found.p50
    assert found.band.low_kwh < found.p50 < found.band.high_kwh
    assert scaled.p90 == pytest.approx(factor * found.p90)
    assert min(values) - 1e-9 <= found.p50 <= max(values) + 1e-9
    assert abs(found.years[found.middle][1] - found.p50) == min(abs(v - found.p50) for v in values)


@pytest.mark.parametrize("values", [[], [1000.0], [0.0, 0.0]])
def test_what_has_no_spread_is_refused(values):
    with pytest.raises(ValueError, match=r"spread|mean"):
        spread_of(named(values))
