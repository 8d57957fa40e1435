"""Several single years of weather: what is met in half of all years, and what in nine of ten."""

from __future__ import annotations

import math
import statistics
from collections.abc import Mapping
from dataclasses import dataclass

from reportgen.engineering.energy.basis import MODEL, PRACTICE, WEATHER_SHARE, YEAR_TO_YEAR
from reportgen.engineering.energy.results import Band

ENOUGH = 10
"""With fewer years than this their own scatter is not taken for less than the usual one. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Output over several years of weather.

    Parameters
    ----------
    years : tuple of (str, float)
        Name and output of each. [kWh]
    p50, p90 : float
        Output exceeded in half of all years, and in nine of ten, models and data counted in. [kWh]
    scatter : float
        Standard deviation of the years over their mean. [-]
    band : Band
        One standard deviation around ``p50``.
    """

    years: tuple[tuple[str, float], ...]
    p50: float
    p90: float
    scatter: float
    band: Band

    @property
    def middle(self) -> int:
        """Position of the year nearest to ``p50``."""
        return min(range(len(self.years)), key=lambda k: abs(self.years[k][1] - self.p50))


def spread_of(years: Mapping[str, float]) -> Spread:
    """Output [kWh] that half of all years exceed, and that nine of ten do.

    Parameters
    ----------
    years : mapping of str to float
        Output of each single year; at least two. [kWh]

    Raises
    ------
    ValueError
        If there are fewer than two years, or their mean is not above zero.

    Notes
    -----
    Normal distribution around the mean. Its variance is that of the years, once for the year to come and 1/n of it for the
    mean of n years, and those of the weather data and of the models, independent of each other (common practice, no source).

    Examples
    --------
    >>> found = spread_of({"a": 900.0, "b": 1000.0, "c": 1100.0})
    >>> found.p50, found.scatter
    (1000.0, 0.1)
    """
    if len(years) < 2:
        raise ValueError("one year has no spread")
    mean = statistics.fmean(years.values())
    if not mean > 0.0:
        raise ValueError("the mean of the years is not above zero")
    scatter = statistics.stdev(years.values()) / mean
    count = len(years)
    taken = scatter if count >= ENOUGH else max(scatter, YEAR_TO_YEAR)
    data = WEATHER_SHARE["one year"]
    assert data is not None
    share = math.sqrt(taken**2 * (1.0 + 1.0 / count) + data**2 + MODEL**2)
    below = statistics.NormalDist().inv_cdf(0.9)
    usual = (
        "" if taken == scatter else f", fewer than {ENOUGH} years and taken as the usual {100 * taken:.0f} %"
    )
    text = (
        f"±{100 * share:.1f} % around P50, within which about two years in three lie, and P90 {below:.2f} times that below it: "
        f"the root of the squares of weather data {100 * data:.0f} %, models {100 * MODEL:.0f} % ({PRACTICE}), and the scatter "
        f"of the {count} years {100 * scatter:.1f} %{usual}, counted once for a year to come and 1/{count} of its square for "
        "their mean"
    )
    band = Band(mean * (1.0 - share), mean * (1.0 + share), share, text)
    return Spread(tuple(years.items()), mean, mean * (1.0 - below * share), scatter, band)
