"""Hours of the year where the folder names no weather file: made from its monthly means, or of a clear sky."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.design.missing import Missing
from reportgen.diagnostics.model import Diagnostic, InputRefused, Label, Severity
from reportgen.project.model import Project
from reportgen.working.months import MONTHS

if TYPE_CHECKING:
    from reportgen.engineering.energy.weather import WeatherYear


def made_weather(project: Project) -> WeatherYear | Missing:
    """Year of hours made for the place of a project, or what has to be stated before one can be made.

    Twelve means of irradiation and temperature make a typical year; temperatures alone make a clear sky, an upper bound.

    Raises
    ------
    InputRefused
        If there are not twelve figures, or a month has more light than a clear sky gives.
    """
    from reportgen.engineering.energy.synthetic import (  # noqa: PLC0415 - pandas and pvlib
        clear_sky_year,
        synthetic_year,
    )
    from reportgen.engineering.energy.weather import WeatherProblem  # noqa: PLC0415

    site, source = project.site, project.site.weather
    if source is None or not (source.monthly_irradiation or source.monthly_temperature):
        return Missing(
            "weather of site: a file, the name of a shipped typical year, or twelve monthly means", site.span
        )
    if not source.monthly_temperature:
        return Missing("monthly_temperature of the weather of site", source.span)
    for field in ("monthly_irradiation", "monthly_temperature"):
        if len(getattr(source, field)) not in (0, MONTHS):
            count = len(getattr(source, field))
            raise _refused(project, field, f"`{field}` has {count} figures", "give one for each month")
    place = [getattr(site, field) for field in ("latitude", "longitude", "elevation", "utc_offset")]
    for field, value in zip(("latitude", "longitude", "elevation", "utc_offset"), place, strict=True):
        if value is None:
            return Missing(f"{field} of site", site.span)
    latitude, longitude, elevation, offset = (float(item.value) for item in place)
    temperatures = [item.value for item in source.monthly_temperature]
    light = [item.value for item in source.monthly_irradiation]
    try:
        if light:
            return synthetic_year(latitude, longitude, elevation, offset, light, temperatures)
        return clear_sky_year(latitude, longitude, elevation, offset, temperatures)
    except WeatherProblem as problem:
        raise _refused(project, "monthly_irradiation", problem.reason, problem.help) from problem


def _refused(project: Project, field: str, reason: str, help: str | None) -> InputRefused:
    source = project.site.weather
    assert source is not None
    label = Label(source.where(field), "given here")
    return InputRefused([Diagnostic("weather-monthly", reason, Severity.ERROR, (label,), help)])
