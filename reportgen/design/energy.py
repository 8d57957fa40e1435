"""The year: the graph put into plain numbers for the simulation, and its result with ids again."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from reportgen.design.circuits import by_string
from reportgen.design.missing import Missing, missing_of
from reportgen.design.results import CircuitDesign, StringDesign
from reportgen.engineering.energy.inputs import (
    ArrayCache,
    Horizon,
    InputSpec,
    InverterSpec,
    Options,
    Orientation,
    RowGeometry,
    Site,
    StringSpec,
    Wire,
)
from reportgen.project.equipment import Inverter, Module
from reportgen.project.layout import Array
from reportgen.project.model import Project
from reportgen.rulebook.rulebook import Rulebook
from reportgen.working.quantity import Assumed, Quantity

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from reportgen.engineering.energy.module import SheetModule
    from reportgen.engineering.energy.spread import Spread
    from reportgen.engineering.energy.weather import WeatherYear
    from reportgen.engineering.energy.year import YearResult

_MOUNTING: dict[str, Literal["open rack", "flush roof"]] = {
    "ground table": "open rack",
    "pole": "open rack",
    "roof raised": "open rack",
    "roof flush": "flush roof",
}


@dataclass(frozen=True)
class EnergyDesign:
    """A simulated year, or the reasons why there is none.

    Attributes
    ----------
    year : YearResult or None
        The simulation's result; None where something is missing.
    missing : tuple of Missing
        What has to be stated before a year can be simulated.
    assumptions : tuple of Assumed
        Defaults that the simulation filled in.
    weather_source : str
        Where the hours come from.
    kept : bool
        True where the year was simulated by an earlier build of the same inputs.
    days : ndarray or None
        Mean output in each hour of the clock on each day, (365, 24). [W]
    spread : Spread or None
        Output over several years of weather, where several are given; ``year`` is the one nearest to their mean.
    """

    year: YearResult | None
    missing: tuple[Missing, ...]
    assumptions: tuple[Assumed, ...]
    weather_source: str = ""
    warnings: tuple[str, ...] = ()
    kept: bool = False
    days: NDArray[np.float64] | None = field(default=None, compare=False, repr=False)
    spread: Spread | None = None

    @property
    def output_kwh(self) -> float | None:
        """Output of the year, of several years P50; None where there is no year or an upper bound only [kWh]."""
        if self.year is None or self.year.upper_bound:
            return None
        return self.spread.p50 if self.spread is not None else self.year.ac_kwh


def design_energy(
    project: Project,
    rulebook: Rulebook,
    strings: tuple[StringDesign, ...],
    circuits: tuple[CircuitDesign, ...],
    weather: WeatherYear | Missing,
    cache: ArrayCache | None = None,
) -> EnergyDesign:
    """Simulate the year of a project; what is missing is told instead of guessed.

    Parameters
    ----------
    weather : WeatherYear or Missing
        Hours of the typical year, or why there are none.
    cache : ArrayCache, optional
        Store for sun position, irradiance on the planes, and whole years.
    """
    from reportgen.design.energy_store import kept_year  # noqa: PLC0415
    from reportgen.engineering.energy.diode import NoConvergence  # noqa: PLC0415
    from reportgen.engineering.energy.module import SheetProblem  # noqa: PLC0415
    from reportgen.engineering.energy.profile import by_day_and_hour  # noqa: PLC0415
    from reportgen.engineering.energy.year import run_year  # noqa: PLC0415 - pvlib, only where a year is wanted

    if isinstance(weather, Missing):
        return EnergyDesign(None, (weather,), ())
    site = project.site
    wired = by_string(circuits)
    missing = [*missing_of(*(_need(site, field, "site") for field in ("latitude", "longitude")))]
    for string in strings:
        missing += _string_needs(project, string, wired[string.id])
    for key, kind in project.inverters.items():
        if kind.efficiency_curve and kind.ac_power is None:
            missing.append(
                Missing(f"ac_power of inverter type {key}, to which its efficiency curve refers", kind.span)
            )
    if missing:
        return EnergyDesign(None, tuple(dict.fromkeys(missing)), ())
    used = {key for string in strings for key in string.arrays}
    told = (
        site_of(project),
        [orientation_of(key, project.arrays[key], project) for key in sorted(used)],
        {
            key: sheet_of(module)
            for key, module in project.modules.items()
            if any(s.module_id == key for s in strings)
        },
        [_string(string, wired[string.id], rulebook) for string in strings],
        _inputs(project, strings),
        _inverters(project),
        options_of(project),
    )
    try:
        result, kept = kept_year(cache, weather, told, lambda: run_year(weather, *told, cache))
    except (SheetProblem, NoConvergence) as problem:
        # The data sheets passed the reader one by one, but no module curve runs through their figures.
        return EnergyDesign(None, (Missing(f"module figures that belong together: {problem}"),), ())
    assumed = tuple(Assumed(f"energy.{key}", text, source) for key, text, source in result.assumptions)
    warnings = tuple(text for _, text in weather.warnings)
    days = by_day_and_hour(weather.mid, result.hourly["ac"]) if result.hourly else None
    return EnergyDesign(result, (), assumed, weather.source, warnings, kept, days)


def _need(section: object, field: str, where: str) -> object:
    value = getattr(section, field)
    return Missing(f"{field} of {where}", getattr(section, "span", None)) if value is None else value


def _string_needs(project: Project, string: StringDesign, circuits: list[CircuitDesign]) -> list[Missing]:
    wanted: list[object] = []
    if string.module is None:
        wanted.append(Missing(f"one module type of string {string.id}"))
    else:
        fields = ("voltage_coefficient", "current_coefficient", "cells_in_series")
        wanted += [_need(string.module, field, f"module type {string.module_id}") for field in fields]
    if not string.input:
        wanted.append(Missing(f"input of string {string.id}"))
    if len(set(string.arrays)) != 1:
        wanted.append(
            Missing(f"one array of string {string.id}: modules facing several ways are not simulated")
        )
    for key in set(string.arrays):
        wanted += [_need(project.arrays[key], field, f"array {key}") for field in ("tilt", "azimuth")]
        wanted += row_needs(key, project.arrays[key])
    wanted += [item.resistance for item in circuits] or [Missing(f"a circuit of string {string.id}")]
    return list(missing_of(*wanted))


def row_needs(key: str, array: Array) -> list[Missing]:
    """What keeps the shade of the table in front from being worked out where a pitch or a slope is stated."""
    stated = {"row_pitch": array.row_pitch, "slope_length": array.slope_length}
    if all(value is None for value in stated.values()):
        return []
    found = [
        Missing(f"{field} of array {key}, for the shade of the table in front", array.span)
        for field, value in stated.items()
        if value is None
    ]
    if array.row_pitch and array.slope_length and array.tilt:
        run = array.slope_length.value * math.cos(math.radians(array.tilt.value))
        if run > array.row_pitch.value or array.slope_length.value <= 0:
            found.append(
                Missing(
                    f"row_pitch of array {key} that its tables fit into: at its tilt they take {run:.2f} m",
                    array.where("row_pitch"),
                )
            )
    return found


def site_of(project: Project) -> Site:
    """Place, albedo and skyline as the simulation takes them; latitude and longitude have to be stated."""
    site = project.site
    assert site.latitude is not None and site.longitude is not None
    horizon = None
    if site.horizon:
        points = sorted((point.azimuth.value, point.elevation.value) for point in site.horizon)
        horizon = Horizon(tuple(a for a, _ in points), tuple(e for _, e in points))
    albedo = site.albedo.value if site.albedo else None
    return Site(site.latitude.value, site.longitude.value, albedo, horizon)


def options_of(project: Project) -> Options:
    """Choices of method that the folder states."""
    return Options(sky_model="hay-davies") if project.site.sky_model == "hay-davies" else Options()


def orientation_of(key: str, array: Array, project: Project) -> Orientation:
    """Plane of an array with the monthly losses of the site; tilt and azimuth have to be stated."""
    assert array.tilt is not None and array.azimuth is not None
    monthly = {
        field: tuple(share.value / 100 for share in getattr(project.site, field)) or None
        for field in ("soiling", "snow")
    }
    # The year lists a mounting that nobody stated among its assumptions.
    mounting = _MOUNTING[str(array.mounting)] if "mounting" in array.model_fields_set else None
    rows = None
    if array.row_pitch is not None and array.slope_length is not None:
        rows = RowGeometry(array.slope_length.value, array.row_pitch.value, max(int(array.rows or 1), 1))
    gain = array.rear_gain.value / 100 if array.rear_gain is not None else None
    return Orientation(
        key, array.tilt.value, array.azimuth.value, mounting, **monthly, rows=rows, rear_gain=gain
    )


def sheet_of(module: Module) -> SheetModule:
    """Figures of a data sheet as the simulation takes them; coefficients and cells have to be stated."""
    from reportgen.engineering.energy.module import SheetModule  # noqa: PLC0415

    voltage, current = module.voltage_coefficient, module.current_coefficient
    assert voltage is not None and current is not None and module.cells_in_series is not None
    size = (module.length.value * module.width.value) if module.length and module.width else None
    return SheetModule(
        p_max=module.power.value,
        voc=module.open_circuit_voltage.value,
        isc=module.short_circuit_current.value,
        vmp=module.operating_voltage.value,
        imp=module.operating_current.value,
        alpha_isc=_absolute(current, module.short_circuit_current),
        beta_voc=_absolute(voltage, module.open_circuit_voltage),
        cells_in_series=int(module.cells_in_series),
        gamma_pmp=module.power_coefficient.value if module.power_coefficient else None,
        noct_c=module.operating_temperature.value if module.operating_temperature else None,
        area_m2=size,
        bifaciality=module.bifaciality.value / 100 if module.bifaciality else None,
    )


def _absolute(coefficient: Quantity, of: Quantity) -> float:
    """Coefficient in volts or amperes a degree, whichever way it was given."""
    return coefficient.value / 100 * of.value if coefficient.unit == "%/degC" else coefficient.value


def _string(string: StringDesign, circuits: list[CircuitDesign], rulebook: Rulebook) -> StringSpec:
    wires = []
    for circuit in circuits:
        assert isinstance(circuit.resistance, Quantity)
        alpha = rulebook.resistance_temperature_coefficient(circuit.material).number
        wires.append(Wire(circuit.id, circuit.resistance.value, alpha))
    return StringSpec(
        string.id, string.input, string.arrays[0], string.module_id, int(string.count.value), tuple(wires)
    )


def _inputs(project: Project, strings: tuple[StringDesign, ...]) -> list[InputSpec]:
    specs = []
    for address in dict.fromkeys(string.input for string in strings):
        found = project.input_of(address)
        assert found is not None
        unit, _, data = found
        specs.append(
            InputSpec(
                address,
                unit,
                v_min=_value(data.tracking_from),
                v_max=_value(data.tracking_to),
                v_start=_value(data.start_voltage),
                current_limit=_value(data.usable_current),
                power_limit=_value(data.maximum_power),
            )
        )
    return specs


def _inverters(project: Project) -> list[InverterSpec]:
    return [
        InverterSpec(str(unit), _value(kind.ac_power), _efficiency(kind), _value(kind.night_power) or 0.0)
        for kind in project.inverters.values()
        for unit in kind.units
    ]


def _efficiency(kind: Inverter) -> float | tuple[tuple[float, float], ...] | None:
    if kind.efficiency_curve:
        return tuple(
            sorted((point.load.value / 100, point.efficiency.value / 100) for point in kind.efficiency_curve)
        )
    return kind.efficiency.value / 100 if kind.efficiency else None


def _value(quantity: Quantity | None) -> float | None:
    return quantity.value if quantity is not None else None
