"""What a home run from each array would lose in the year, for any length and size: kWh for ways that are not built yet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from reportgen.design.energy import orientation_of, sheet_of, site_of
from reportgen.design.missing import Missing
from reportgen.engineering.energy.inputs import ArrayCache
from reportgen.project.model import Project

if TYPE_CHECKING:
    # Only for the annotation: these load pandas and pvlib, which a check does without.
    from reportgen.engineering.energy.home_run import HomeRunYear
    from reportgen.engineering.energy.weather import WeatherYear


def home_run_years(
    project: Project, weather: WeatherYear | Missing, cache: ArrayCache | None = None
) -> Mapping[str, HomeRunYear | Missing]:
    """For each array the year of one string's current, from which the loss of any home run is one product.

    ``years["EAST"].loss_kwh(ohm, alpha)`` is the loss [kWh] of one string of EAST whose home run has ``ohm`` out and back
    at 75 °C and the coefficient ``alpha`` of that base, whatever its number of modules; a way to string loses the sum over
    its strings. No tracking window and no rating cuts the current here, so it is never less than the whole year's figure
    by more than the wire's own effect on the best point.

    Parameters
    ----------
    project : Project
        Its arrays, modules and site.
    weather : WeatherYear or Missing
        Hours of the year, or why there are none.
    cache : ArrayCache, optional
        Keeps sun positions and planes.
    """
    from reportgen.engineering.energy.home_run import home_run_year  # noqa: PLC0415 - pvlib, only where it is wanted
    from reportgen.engineering.energy.module import SheetProblem  # noqa: PLC0415

    found: dict[str, HomeRunYear | Missing] = {}
    for key, array in project.arrays.items():
        module = project.modules[str(array.module)]
        if isinstance(weather, Missing):
            found[str(key)] = weather
            continue
        wanted = (
            *((project.site, field, "site") for field in ("latitude", "longitude")),
            *((array, field, f"array {key}") for field in ("tilt", "azimuth")),
            *(
                (module, field, f"module type {array.module}")
                for field in ("voltage_coefficient", "current_coefficient", "cells_in_series")
            ),
        )
        absent = [
            Missing(f"{field} of {where}", section.span)
            for section, field, where in wanted
            if getattr(section, field) is None
        ]
        if module.placeholder:
            absent.append(Missing(f"the data sheet of module type {array.module}", module.span))
        if absent:
            found[str(key)] = absent[0]
            continue
        plane = orientation_of(str(key), array, project)
        try:
            found[str(key)] = home_run_year(weather, site_of(project), plane, sheet_of(module), cache=cache)
        except SheetProblem as problem:
            found[str(key)] = Missing(f"module figures that belong together: {problem}", module.span)
    return found
