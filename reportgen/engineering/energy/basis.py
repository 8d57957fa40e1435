"""What a year's figures rest on: defaults, simplifications, doubts, and how wide the band is."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from reportgen.engineering.energy import inverter, plane, rows, thermal
from reportgen.engineering.energy.inputs import (
    InputSpec,
    InverterSpec,
    Options,
    Orientation,
    Site,
    StringSpec,
)
from reportgen.engineering.energy.module import ModuleModel
from reportgen.engineering.energy.results import Band
from reportgen.engineering.energy.weather import SourceKind, WeatherYear, check_site

Assumption = tuple[str, str, str]
Caution = tuple[str, str]
PRACTICE = "common practice, no source"

WEATHER_SHARE: dict[SourceKind, float | None] = {
    "typical year": 0.05,
    "one year": 0.05,
    "synthetic from monthly means": 0.08,
    "clear sky": None,
}
"""Uncertainty of a year of weather data as such [-]. Common practice, no source."""
YEAR_TO_YEAR = 0.05
"""How far a single year lies from the mean of many [-]. Common practice, no source."""
MODEL = 0.04
"""Uncertainty of the models from light to output [-]. Common practice, no source."""


def band_of(weather: WeatherYear, ac_kwh: float) -> Band:
    """The band around a year's output [kWh], from the kind of weather and the models.

    Parameters
    ----------
    weather : WeatherYear
        The year.
    ac_kwh : float
        Output. [kWh]
    """
    data = WEATHER_SHARE[weather.kind]
    if data is None:
        return Band(
            None,
            None,
            None,
            "a sky without a cloud all year: the output is an upper bound, not an expectation",
        )
    share = math.sqrt(data**2 + YEAR_TO_YEAR**2 + MODEL**2)
    text = (
        f"±{100 * share:.0f} %, within which about two years in three lie: the root of the squares of weather data ({weather.kind}) {100 * data:.0f} %, year to year "
        f"{100 * YEAR_TO_YEAR:.0f} %, models {100 * MODEL:.0f} % ({PRACTICE})"
    )
    return Band(ac_kwh * (1 - share), ac_kwh * (1 + share), share, text)


def assumptions_of(
    weather: WeatherYear,
    site: Site,
    orientations: Sequence[Orientation],
    models: Mapping[str, ModuleModel],
    strings: Sequence[StringSpec],
    inputs: Sequence[InputSpec],
    inverters: Sequence[InverterSpec],
    options: Options,
) -> tuple[Assumption, ...]:
    """Key, text and source of every default and simplification of a year."""
    found: list[Assumption] = [("weather", f"{weather.source} ({weather.kind})", "input")]
    if site.albedo is None:
        found.append(("albedo", f"the ground reflects {plane.ALBEDO:.2f} of the light", PRACTICE))
    if site.horizon is None:
        found.append(("horizon", "the horizon is free: nothing shades the modules", "no horizon given"))
    for item in orientations:
        found += _of_orientation(item)
        on_it = {
            models[string.module].sheet.bifaciality for string in strings if string.orientation == item.id
        }
        found += _of_rear(item, bifacial=bool(on_it - {None}))
    for key, model in models.items():
        found += _of_module(key, model, any(_open_rack(o) for o in orientations), options)
    found.append(
        ("mismatch", f"{100 * options.mismatch:g} % is lost because the modules of a string differ", PRACTICE)
    )
    sky = {
        "perez-driesse": "Perez et al. (1990) in the continuous form of Driesse et al. (2024)",
        "hay-davies": "Hay and Davies (1980)",
    }
    found.append(("sky", f"sky light on a tilted plane: {sky[options.sky_model]}", "method"))
    reflection = "reflection at the glass: De Soto et al. (2006) for direct light, its mean over sky and ground by Marion (2017) for diffuse"
    if not options.diffuse_reflection:
        reflection = "reflection at the glass is counted for direct light only"
    found.append(("reflection", reflection, "method" if options.diffuse_reflection else "option"))
    found += _SIMPLIFICATIONS
    if any(string.wires for string in strings) or any(item.feeder for item in inputs):
        found += _WIRES
    if any(item.v_start is not None for item in inputs):
        text = "an input is off in every hour whose open-circuit voltage is below its start voltage"
        found.append(("start", text, "simplification"))
    if any(item.v_min is None or item.v_max is None for item in inputs):
        found.append(("window", "an input without a tracking window follows any voltage", "no window given"))
    for unit in inverters:
        found += _of_inverter(unit)
    return tuple(dict.fromkeys(found))


_SIMPLIFICATIONS: tuple[Assumption, ...] = (
    ("spectrum", "spectral effects: the colour of the light does not change the current", "left out"),
    ("ageing", "modules are as new: no ageing, no outages", "left out"),
    ("parallel", "no current flows backwards into a string of lower voltage", "simplification"),
    (
        "start",
        "an input is off in every hour whose open-circuit voltage is below its start voltage",
        "simplification",
    ),
    (
        "limits",
        "a limit is kept by raising the voltage; an inverter at its rating cuts its inputs by the same share",
        "simplification",
    ),
)
_WIRES: tuple[Assumption, ...] = (
    (
        "wire-temperature",
        "a conductor is as warm as the outdoor air, plus the rise stated for its stretch; its own heating is left out",
        "simplification",
    ),
    (
        "hourly-means",
        "the loss is taken from mean currents of an interval; within it the current varies, so the true loss is higher",
        "simplification",
    ),
)  # fmt: skip


def _open_rack(item: Orientation) -> bool:
    return item.mounting in (None, "open rack")


def _of_orientation(item: Orientation) -> Iterable[Assumption]:
    if item.mounting is None:
        yield (f"mounting.{item.id}", f"{item.id}: open rack", "no mounting given")
    if item.soiling is None:
        yield (f"soiling.{item.id}", f"{item.id}: no loss by dirt", "no soiling given")
    if item.snow is None:
        yield (f"snow.{item.id}", f"{item.id}: no loss by snow", "no snow given")
    if item.rows is None:
        yield (f"rows.{item.id}", f"{item.id}: no table stands before it", "no pitch of rows given")
    else:
        yield (
            f"rows.{item.id}",
            f"{item.id}: every table stands behind another on level ground, and a row of modules shaded in part loses all "
            f"its direct light ({item.rows.module_rows} up the slope); each string gets the mean of its table",
            "simplification",
        )


def _of_rear(item: Orientation, *, bifacial: bool) -> Iterable[Assumption]:
    if bifacial and item.rows is not None:
        yield (
            f"rear.{item.id}",
            f"{item.id}: light on the rear is worked out for level ground between long tables whose lower edges lie on it; "
            f"posts, rails and the rear glass take {100 * rows.REAR_BLOCKED:g} % of it, dirt and snow none",
            PRACTICE,
        )
    elif item.rear_gain:
        text = f"{item.id}: {100 * item.rear_gain:g} % is gained on the rear in every hour, as stated; dirt and snow take none of it"
        yield (f"rear.{item.id}", text, "simplification")
    elif bifacial:
        yield (f"rear.{item.id}", f"{item.id}: no light on the rear", "no gain and no pitch of rows given")


def _of_module(key: str, model: ModuleModel, open_rack: bool, options: Options) -> Iterable[Assumption]:
    sheet = model.sheet
    if open_rack and options.open_rack_model == "noct":
        if sheet.noct_c is None:
            text = f"`{key}`: nominal operating cell temperature {thermal.NOCT_C:g} °C"
            yield (f"noct.{key}", text, PRACTICE)
        if sheet.area_m2 is None:
            yield (
                f"area.{key}",
                f"`{key}`: efficiency {100 * thermal.EFFICIENCY:g} % for the cell temperature",
                PRACTICE,
            )
    if sheet.gamma_pmp is None:
        yield (
            f"gamma.{key}",
            f"`{key}`: the power falls with temperature as the fitted curve does",
            "no power coefficient given",
        )


def _of_inverter(item: InverterSpec) -> Iterable[Assumption]:
    if item.coefficients is not None:
        return
    if item.efficiency is None:
        yield (
            f"efficiency.{item.id}",
            f"{item.id}: efficiency {100 * inverter.EFFICIENCY:g} % at any load",
            PRACTICE,
        )
    elif isinstance(item.efficiency, (int, float)):
        yield (
            f"efficiency.{item.id}",
            f"{item.id}: the efficiency given holds at any load and voltage",
            "simplification",
        )
    if item.ac_limit is None:
        yield (f"rating.{item.id}", f"{item.id}: its output is not limited", "no rating given")
    if item.night_w == 0.0:
        yield (f"night.{item.id}", f"{item.id}: draws nothing at night", "no figure given")


def cautions_of(
    weather: WeatherYear,
    site: Site,
    planes: Sequence[Orientation],
    models: Mapping[str, ModuleModel],
    wire_check: float | None,
) -> tuple[Caution, ...]:
    """Code and text of what a reader should doubt about a year."""
    found = [*weather.warnings, *check_site(weather, site.latitude, site.longitude)]
    found += _snow(weather, planes)
    for key, model in models.items():
        found += cautions_of_module(key, model)
    if weather.kind in ("synthetic from monthly means", "clear sky"):
        found.append(
            (
                "weather-made",
                "the hours are made, not measured: take no extreme temperature or voltage from them",
            )
        )
    if wire_check is not None and not 0.85 <= wire_check <= 1.15:
        found.append(
            (
                "wire-check",
                f"the wire loss is {wire_check:.2f} times what full-sun loss and the squared sun predict; expected 0.85 to 1.15 "
                "unless a limit or window cuts the current",
            )
        )
    return tuple(dict.fromkeys(found))


def _snow(weather: WeatherYear, planes: Sequence[Orientation]) -> Iterable[Caution]:
    """Snow that the weather file holds and the system does not count."""
    bare = [plane.id for plane in planes if plane.snow is None]
    if weather.snow_depth is None or not bare:
        return
    days = int((weather.snow_depth > 0.0).sum() * weather.hours / 24.0 + 0.5)
    if days:
        yield (
            "weather-snow",
            f"snow lies on {days} days of the weather file, and no loss by snow is stated: the output is too large by what it covers",
        )


def cautions_of_module(key: str, model: ModuleModel) -> tuple[Caution, ...]:
    """Code and text of what of a module's data sheet its curve does not meet; a fallback says that it is one."""
    found: list[Caution] = []
    residuals = dict(model.residuals)
    if model.status == "isc relaxed":
        found.append(
            (
                "module-isc",
                f"`{key}`: the sheet's figures contradict each other; the curve's short-circuit current is "
                f"{100 * residuals['isc']:+.1f} % off, all else is met",
            )
        )
    elif model.status == "gamma ignored" and model.sheet.gamma_pmp is not None:
        found.append(
            (
                "module-gamma",
                f"`{key}`: the curve's power coefficient is {residuals['gamma_pmp']:+.3f} %/°C off the sheet's",
            )
        )
    elif model.status == "fallback":
        found.append(
            (
                "module-fallback",
                f"`{key}`: no curve meets the sheet, a fallback stands in; voltage at maximum power is {100 * residuals['vmp']:+.1f} % off, "
                f"power {100 * residuals['p_max']:+.1f} %",
            )
        )
    per_cell = model.sheet.voc / model.sheet.cells_in_series
    if not 0.55 <= per_cell <= 0.85:
        found.append(
            (
                "module-cells",
                f"`{key}`: {per_cell:.2f} V of open-circuit voltage per cell: count the cells in series again",
            )
        )
    return tuple(found)
