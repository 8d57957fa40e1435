"""The year of a project under one or several years of weather."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.design.energy import EnergyDesign, design_energy
from reportgen.design.missing import Missing
from reportgen.design.results import CircuitDesign, StringDesign
from reportgen.project.model import Project
from reportgen.rulebook.rulebook import Rulebook

if TYPE_CHECKING:
    from reportgen.engineering.energy.inputs import ArrayCache
    from reportgen.engineering.energy.weather import WeatherYear


def design_years(
    project: Project,
    rulebook: Rulebook,
    strings: tuple[StringDesign, ...],
    circuits: tuple[CircuitDesign, ...],
    years: Sequence[WeatherYear] | Missing,
    names: Sequence[str],
    cache: ArrayCache | None = None,
) -> tuple[EnergyDesign, WeatherYear | Missing]:
    """The simulated year with the spread of its output, and the weather of the year that is shown.

    Parameters
    ----------
    years : sequence of WeatherYear, or Missing
        One year, or several single ones; of several the one nearest to their mean output is shown.
    names : sequence of str
        What each is called.
    cache : ArrayCache, optional
        Store for sun position, irradiance on the planes, and whole years.
    """
    from reportgen.engineering.energy.spread import spread_of  # noqa: PLC0415 - numpy

    if isinstance(years, Missing):
        return design_energy(project, rulebook, strings, circuits, years, cache), years
    found = [design_energy(project, rulebook, strings, circuits, weather, cache) for weather in years]
    output = {name: one.year.ac_kwh for name, one in zip(names, found, strict=True) if one.year is not None}
    if len(years) == 1 or len(output) < len(years) or sum(output.values()) <= 0.0:
        return found[0], years[0]
    spread = spread_of(output)
    shown = found[spread.middle]
    assert shown.year is not None
    others = [pair for pair in zip(names, found, strict=True) if pair[1] is not shown]
    warnings = tuple(f"{name}: {text}" for name, one in others for text in one.warnings)
    energy = replace(
        shown,
        year=replace(shown.year, band=spread.band),
        spread=spread,
        warnings=(*shown.warnings, *warnings),
        kept=all(one.kept for one in found),
        weather_source=f"{len(years)} single years; shown is the one nearest to their mean output, {shown.weather_source}",
    )
    return energy, years[spread.middle]
