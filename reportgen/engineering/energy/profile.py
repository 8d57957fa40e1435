"""A year's power laid out by day and hour of the clock, as a picture of it is read."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from reportgen.engineering.energy.weather import Array, Stamps

DAYS, HOURS = 365, 24


def by_day_and_hour(mid: Stamps, power_w: Array) -> Array:
    """Mean power in each hour of the clock on each day of a year without leap day [W], (365, 24).

    Parameters
    ----------
    mid : ndarray of datetime64, (n,)
        Middle of each interval, local standard time.
    power_w : ndarray (n,)
        Mean power of each interval. [W]

    Returns
    -------
    ndarray (365, 24)
        Not a number in hours that hold the middle of no interval.

    Examples
    --------
    >>> mid = np.array(["1990-01-02T11:15", "1990-01-02T11:45"], dtype="datetime64[m]")
    >>> float(by_day_and_hour(mid, np.array([100.0, 300.0]))[1, 11])
    200.0
    """
    date = mid.astype("datetime64[D]")
    day = (date - mid.astype("datetime64[Y]").astype("datetime64[D]")).astype(np.int64)
    hour = (mid.astype("datetime64[h]") - date).astype(np.int64)
    place = day * HOURS + hour
    inside = day < DAYS
    cells = DAYS * HOURS
    total = np.bincount(place[inside], weights=power_w[inside], minlength=cells)
    count = np.bincount(place[inside], minlength=cells)
    mean = np.divide(total, count, out=np.full(cells, np.nan), where=count > 0)
    return np.asarray(mean.reshape(DAYS, HOURS), dtype=np.float64)


def by_month_and_hour(days: Array) -> NDArray[np.float64]:
    """Mean of each hour of the clock over the days of each month [unit of ``days``], (12, 24).

    Parameters
    ----------
    days : ndarray (365, 24)
        From `by_day_and_hour`.
    """
    dates = np.datetime64("1990-01-01") + np.arange(DAYS)
    month = dates.astype("datetime64[M]").astype(np.int64) % 12
    found = np.full((12, HOURS), np.nan)
    for k in range(12):
        part = days[month == k]
        for hour in range(HOURS):
            known = part[:, hour][~np.isnan(part[:, hour])]
            if len(known):
                found[k, hour] = known.mean()
    return found
