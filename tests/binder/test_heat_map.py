"""The picture of a year: small, every hour in its place, steps told apart and told in words."""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np
import pytest

from reportgen.binder.drawings.svg import GREYS
from reportgen.binder.heat_map import day_name, heat_map


def year(seed: int = 0) -> np.ndarray:
    """A year with clouds: a bell over the day, each hour dimmed by chance."""
    hours = np.arange(24)[None, :]
    bell = np.clip(np.cos((hours - 12) / 24 * 2 * np.pi) * 12, 0, None)
    return bell * np.random.default_rng(seed).uniform(0.1, 1.0, (365, 24))


def test_each_step_draws_the_hours_that_reach_it() -> None:
    days = np.zeros((365, 24))
    days[10, 9:15] = [0.9, 2.0, 5.0, 5.0, 2.0, 0.9]
    days[200, 12] = 5.0
    svg = str(heat_map("k", "t", days).svg)
    paths = re.findall(r'<path class="pen-heat\d" d="([^"]*)"', svg)
    assert paths[0] == "M10 9v6M200 12v1"
    assert paths[-1] == "M10 11v2M200 12v1"


def test_a_cloudy_year_stays_below_thirty_kilobytes() -> None:
    # Chance hour by hour is worse than any weather.
    assert len(str(heat_map("k", "t", year()).svg).encode()) < 30_000


def test_steps_of_grey_stay_apart_in_black_and_white() -> None:
    light = [int(grey[1:3], 16) for grey in GREYS]
    assert all(a - b >= 36 for a, b in pairwise(light))
    figure = heat_map("k", "t", year())
    pens = set(re.findall(r"pen-(heat\d)", str(figure.svg)))
    keys = set(re.findall(r"pen-patch(\d)", str(figure.svg)))
    assert {f"heat{key}" for key in keys} == pens
    assert len(pens) == 5


def test_words_stand_in_for_the_picture() -> None:
    days = np.zeros((365, 24))
    days[0, 9:12] = [2.0, 7.5, 4.0]
    days[160, 5:21] = 3.0
    said = heat_map("k", "t", days).description
    assert said == (
        "Highest hour 7.5 kW, Jan 1 from 10 to 11 h local standard time; 2 hours give at least half of that. "
        "Power comes in January between 9 and 12 h and in June between 5 and 21 h."
    )


def test_a_year_without_power_has_no_picture() -> None:
    with pytest.raises(ValueError, match="an hour with power"):
        heat_map("k", "t", np.full((365, 24), -0.1))


def test_days_have_names() -> None:
    assert [day_name(day) for day in (0, 30, 31, 58, 59, 364)] == [
        "Jan 1", "Jan 31", "Feb 1", "Feb 28", "Mar 1", "Dec 31",
    ]  # fmt: skip


@pytest.mark.parametrize("highest", [0.004, 0.9, 1.0, 17.3, 2000.0])
def test_the_key_covers_up_to_the_highest(highest: float) -> None:
    days = np.zeros((365, 24))
    days[100, 10:14] = np.array([0.2, 0.5, 0.8, 1.0]) * highest
    svg = str(heat_map("k", "t", days).svg)
    assert len(re.findall("pen-heat", svg)) == 5
    last = re.findall(r">([^<]* to [^<]* kW)<", svg)[-1]
    low, high = (float(word) for word in last.removesuffix(" kW").split(" to "))
    assert high == pytest.approx(highest, rel=0.02)
    assert low == pytest.approx(0.8 * highest, rel=0.02)
