"""What a home run of any length and size would lose in the year, before there is one: for ranking ways to string.

Modules in series share one current, so the year's loss in a string's wires depends on its plane, module and resistance
and not on how many modules it has. One pass over the year for each plane and module serves every way to string.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reportgen.engineering.energy.diode import terminal
from reportgen.engineering.energy.inputs import ArrayCache, Options, Orientation, Site, Wire
from reportgen.engineering.energy.module import SheetModule, fit_sheet
from reportgen.engineering.energy.plan import source_key
from reportgen.engineering.energy.solve import Simulation
from reportgen.engineering.energy.weather import WeatherYear
from reportgen.engineering.energy.wire import Moments, line_of, moments


@dataclass(frozen=True, slots=True)
class HomeRunYear:
    """A year of the current of one string in one plane.

    Parameters
    ----------
    sums : Moments
        Sums over each month of the current's square.
    module_kwh : float
        Energy of one module at its own best point. [kWh]
    """

    sums: Moments
    module_kwh: float

    def loss_kwh(self, ohm: float, alpha_per_k: float) -> float:
        """Loss in a home run in the year [kWh].

        Parameters
        ----------
        ohm : float
            Resistance of both legs at 75 °C. [Ω]
        alpha_per_k : float
            Temperature coefficient of that resistance, base 75 °C. [1/K]
        """
        return float(self.sums.loss_kwh(line_of((Wire("", ohm, alpha_per_k),))).sum())


def home_run_year(
    weather: WeatherYear,
    site: Site,
    orientation: Orientation,
    sheet: SheetModule,
    usable_current: float | None = None,
    options: Options | None = None,
    cache: ArrayCache | None = None,
) -> HomeRunYear:
    """The year of the current in any home run of a plane, from which the loss of a resistance is one product.

    Parameters
    ----------
    weather : WeatherYear
        The year.
    site : Site
        Albedo and horizon.
    orientation : Orientation
        The plane.
    sheet : SheetModule
        The module.
    usable_current : float, optional
        What the input can use of one string's current; more is left in the modules. [A]
    options : Options, optional
        Choices of method.
    cache : ArrayCache, optional
        Keeps sun positions and planes.

    Raises
    ------
    reportgen.engineering.energy.module.SheetProblem
        If a data sheet contradicts itself.

    Notes
    -----
    Each string at its own best point, without tracking window, rated output or unlike neighbours: the whole year's
    simulation has those, and comes out lower where they cut the current.
    """
    options = options or Options()
    key = "module"
    simulation = Simulation(weather, site, {key: fit_sheet(sheet)}, options, cache)
    source = simulation.lit(source_key(key, orientation)).source
    current, _ = terminal(source.curves, 0.0, source.peak)
    current = np.maximum(current, 0.0)
    if usable_current is not None:
        current = np.minimum(current, usable_current)
    sums = moments(current, simulation.air, simulation.month, weather.hours)
    return HomeRunYear(sums, sum(simulation.months(source.free_w)))
