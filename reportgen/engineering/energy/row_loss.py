"""Strings of which some modules get less light than the rest: what bypass diodes leave of them, hour by hour.

Row by row, snow along the lower edge costs the lowest strings alone; column by column it costs every string a little, or
all that its dimmed modules have. Which of the two is less follows from the curves, not from a rule of thumb.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from reportgen.engineering.energy import diode
from reportgen.engineering.energy.inputs import ArrayCache, Options, Orientation, Site
from reportgen.engineering.energy.module import SheetModule, fit_sheet
from reportgen.engineering.energy.plan import source_key
from reportgen.engineering.energy.solve import Simulation
from reportgen.engineering.energy.strings import Source
from reportgen.engineering.energy.weather import WeatherYear

#: Voltage over the bypass diodes of one module, all conducting: three of half a volt. [V]
BYPASS_V = 1.5
#: Currents tried between none and the greatest; the top of a curve is flat, so this is within a thousandth of it.
_STEPS = 60

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Dimmed:
    """Year of an array wired in one order.

    Attributes
    ----------
    kwh : float
        Of all strings, each at its own best point. [kWh]
    strings : tuple of (int, int)
        Modules under full light and under dimmed light in each string.
    """

    kwh: float
    strings: tuple[tuple[int, int], ...]


def split(order: Sequence[bool], lengths: Sequence[int]) -> tuple[tuple[int, int], ...]:
    """Modules under full and under dimmed light of each string, cut off one after the other.

    Parameters
    ----------
    order : sequence of bool
        For each module in the order they are wired, whether it is dimmed; what is left over belongs to no string.
    lengths : sequence of int
        Modules in series of each string.

    Examples
    --------
    >>> split([False, False, True, True], [2, 2])
    ((2, 0), (0, 2))
    """
    found, start = [], 0
    for length in lengths:
        dim = sum(order[start : start + length])
        found.append((length - dim, dim))
        start += length
    return tuple(found)


def orders(rows: int, columns: int, lower: int) -> tuple[tuple[bool, ...], tuple[bool, ...]]:
    """Which modules are dimmed along the rows from the top, and along the columns from the left, each from its top.

    Examples
    --------
    >>> orders(2, 2, 1)
    ((False, False, True, True), (False, True, False, True))
    """
    from_top = [row >= rows - lower for row in range(rows)]
    return tuple(dim for dim in from_top for _ in range(columns)), tuple(from_top * columns)


def best_power(full: Source, dim: Source, counts: tuple[int, int]) -> Array:
    """Greatest power of a string in each hour, dimmed modules bypassed where that gives more [W].

    Parameters
    ----------
    full, dim : Source
        The module under full and under dimmed light, of the same hours.
    counts : tuple of two ints
        Modules under each.

    Notes
    -----
    A module is dimmed as a whole, so all its bypass diodes conduct together; partly covered modules do better.
    """
    lit, dark = counts
    if not dark:
        return lit * full.free_w
    if not lit:
        return dark * dim.free_w
    best = np.zeros_like(full.free_w)
    for current, bypassed in _currents(full, dim):
        volts = lit * _voltage(full, current)
        if bypassed:
            volts = volts - dark * BYPASS_V
        else:
            volts = volts + dark * np.maximum(_voltage(dim, current), -BYPASS_V)
        best = np.maximum(best, volts * current)
    return best


def _currents(full: Source, dim: Source) -> Iterator[tuple[Array, bool]]:
    for step in range(1, _STEPS + 1):
        # Close together near the top, where the best point of a good module lies.
        share = 1.0 - (1.0 - step / (_STEPS + 1)) ** 2
        yield share * np.minimum(dim.curves.light, full.curves.light), False
        yield share * full.curves.light, True


def _voltage(source: Source, current: Array) -> Array:
    """Voltage of one module at a current that its light can carry [V]."""
    return diode.terminal_at(source.curves, current)


def compare_orders(
    weather: WeatherYear,
    site: Site,
    plane: Orientation,
    sheet: SheetModule,
    lost: Sequence[float],
    wirings: Sequence[tuple[tuple[int, int], ...]],
    cache: ArrayCache | None = None,
    options: Options | None = None,
) -> tuple[Dimmed, ...]:
    """Year of an array for several ways to wire it, with light lost to some of its modules.

    Parameters
    ----------
    lost : sequence of 12 floats
        Share of light that dimmed modules lose in each month. [-]
    wirings : sequence
        Of each way, the modules under full and dimmed light of each string.
    options : Options, optional
        Choices of method.

    Raises
    ------
    reportgen.engineering.energy.module.SheetProblem
        If no curve runs through the figures of the sheet.
    reportgen.engineering.energy.diode.NoConvergence
        If an operating point cannot be found.

    Notes
    -----
    Wires, inverters and their windows are left out: each string is taken at its own best point. A tracker that stays at a
    lesser peak, or whose window ends above the voltage that bypassing leaves, gets less.
    """
    simulation = Simulation(weather, site, {"module": fit_sheet(sheet)}, options or Options(), cache)
    before = plane.snow or (0.0,) * 12
    both = tuple(1.0 - (1.0 - snow) * (1.0 - more) for snow, more in zip(before, lost, strict=True))
    darker = replace(plane, snow=both)
    full = simulation.lit(source_key("module", plane)).source
    dim = simulation.lit(source_key("module", darker)).source
    kinds = {counts for strings in wirings for counts in strings}
    kwh = {counts: float(np.sum(best_power(full, dim, counts))) * weather.hours / 1000.0 for counts in kinds}
    return tuple(Dimmed(sum(kwh[counts] for counts in strings), tuple(strings)) for strings in wirings)
