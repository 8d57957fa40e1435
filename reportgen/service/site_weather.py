"""Weather that a folder names: one file, files of several years, a shipped year, or monthly means; the first of these counts."""

from __future__ import annotations

import posixpath
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from reportgen.design.missing import Missing
from reportgen.diagnostics.model import Diagnostic, InputRefused, Label, Severity, Span
from reportgen.project.layout import Weather
from reportgen.project.model import Project
from reportgen.project.nodes import span_of
from reportgen.service.made_weather import made_weather
from reportgen.working.months import DAYS, MONTHS

if TYPE_CHECKING:
    from reportgen.engineering.energy.inputs import ArrayCache
    from reportgen.engineering.energy.weather import WeatherYear
    from reportgen.service.snapshot import Snapshot

_KINDS = (
    ("files", "files of several years"),
    ("file", "file"),
    ("shipped", "shipped year"),
)


@dataclass(frozen=True)
class SiteWeather:
    """Hours of one or several years, or why there are none.

    Parameters
    ----------
    years : tuple of WeatherYear, or Missing
        One, or single years in the order of the folder.
    names : tuple of str
        What each is called.
    extra : mapping of str to bytes
        A shipped file, so that it is hashed like any other input.
    unused : tuple of str
        What is named beside it and not used, for a reader.
    """

    years: tuple[WeatherYear, ...] | Missing
    names: tuple[str, ...] = ("",)
    extra: dict[str, bytes] = field(default_factory=dict)
    unused: tuple[str, ...] = ()


def site_weather(project: Project, snapshot: Snapshot, cache: ArrayCache | None) -> SiteWeather:
    """Weather of a project, checked against its site; what is named and not used is said.

    Raises
    ------
    InputRefused
        If a file cannot be used, monthly means make no year, or one of several years is a typical one or stands twice.
    """
    source = project.site.weather
    if source is None or not (source.files or source.file or source.shipped):
        made = made_weather(project)
        return SiteWeather(made if isinstance(made, Missing) else (made,))
    key, names = (
        ("files", list(source.files))
        if source.files
        else ("file", [source.file])
        if source.file
        else ("shipped", [source.shipped])
    )
    extra: dict[str, bytes] = {}
    years: list[WeatherYear] = []
    texts: list[str] = []
    for name in names:
        text = str(name) if key == "shipped" else posixpath.normpath(str(name).replace("\\", "/"))
        place = span_of(name, source.where(key))
        years.append(_one(project, cache, snapshot, text, place, extra, in_folder=key != "shipped"))
        texts.append(text)
        if len(names) > 1:
            _check_single(texts, years, place)
    return SiteWeather(tuple(years), tuple(texts), extra, tuple(_unused(source, years)))


def _one(
    project: Project,
    cache: ArrayCache | None,
    snapshot: Snapshot,
    name: str,
    place: Span,
    extra: dict[str, bytes],
    *,
    in_folder: bool,
) -> WeatherYear:
    """One file's year with what the site thinks of it."""
    from reportgen.design.energy_store import kept_weather  # noqa: PLC0415
    from reportgen.engineering.energy.weather import (  # noqa: PLC0415 - pandas
        WeatherProblem,
        check_site,
        parse_weather,
        shipped_weather,
    )

    try:
        if in_folder:
            data = snapshot.everything[name]
        else:
            extra[f"pvlib/data/{name}"] = data = shipped_weather(name)
        weather = kept_weather(cache, name, data, parse_weather)
    except WeatherProblem as problem:
        raise InputRefused([_refused(name, place, problem, in_folder=in_folder)]) from problem
    site = project.site
    if site.latitude is not None and site.longitude is not None:
        warnings = (*weather.warnings, *check_site(weather, site.latitude.value, site.longitude.value))
        weather = replace(weather, warnings=warnings)
    return weather


def _check_single(names: list[str], years: list[WeatherYear], place: Span) -> None:
    """Refuse a last year that says nothing about how one year differs from another."""
    *earlier, name = names
    *before, year = years
    reason = ""
    if year.kind != "one year":
        reason = f"`{name}` is a {year.kind}, put together out of many: it says nothing of how years differ"
    for other, known in zip(earlier, before, strict=True):
        if year.digest == known.digest:
            reason = f"`{name}` holds the same hours as `{other}`"
    if reason:
        help = "list files of single years, each once, or name one typical year as `file`"
        raise InputRefused([Diagnostic("weather-years", reason, Severity.ERROR, (Label(place),), help)])


def _unused(source: Weather, years: list[WeatherYear]) -> Iterator[str]:
    """Weather that is named beside what is used, and how far monthly means lie from the file."""
    used, *others = [words for key, words in _KINDS if getattr(source, key)]
    for words in others:
        yield f"the {words} named under `weather` is not used: the {used} goes before it"
    light = [item.value for item in source.monthly_irradiation]
    if len(light) == MONTHS:
        stated = sum(value * days for value, days in zip(light, DAYS, strict=True))
        held = sum(float(year.monthly_ghi.sum()) for year in years) / len(years)
        start = f"the monthly means are not used, the {used} goes before them"
        far = f"{100 * (held / stated - 1):+.1f} %" if stated > 0 else "not to be compared"
        yield f"{start}: they come to {stated:.0f} kWh/m² a year on the level, the {used} to {held:.0f} kWh/m² ({far})"
    elif light or source.monthly_temperature:
        yield f"the monthly means are not used: the {used} goes before them"


def _refused(name: str, place: Span, problem: object, *, in_folder: bool) -> Diagnostic:
    reason, help, line = (getattr(problem, field, None) for field in ("reason", "help", "line"))
    named = Label(place, "named here", primary=not (in_folder and line))
    labels = (Label(Span(name, int(line), 1, int(line), 1)), named) if in_folder and line else (named,)
    return Diagnostic("weather-file", f"weather file `{name}`: {reason}", Severity.ERROR, labels, help)
