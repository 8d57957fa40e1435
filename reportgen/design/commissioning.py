"""What the commissioning sheet holds: expected readings over temperature and light, tests, and the hours with sun.

The grid is worked out once for all strings of one kind, because they read alike under one light.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from reportgen.design.missing import Known, Missing, first_missing
from reportgen.design.results import StringDesign
from reportgen.engineering.readings.expectation import (
    common_errors,
    expectation,
    expected_current,
    thermal_voltage,
)
from reportgen.engineering.readings.ground import insulation_basis
from reportgen.engineering.readings.outcome import Bands, common_bands
from reportgen.engineering.readings.voltage import good_band
from reportgen.engineering.strings import string_voltage
from reportgen.project.equipment import Module
from reportgen.project.model import Project
from reportgen.rulebook import standard_equipment, standards
from reportgen.rulebook.errors import OutsideTable
from reportgen.rulebook.rulebook import quantity_of
from reportgen.working.quantity import Assumed, Quantity, work

if TYPE_CHECKING:
    # Only for the annotation: the module loads pvlib, which a check does without.
    from reportgen.engineering.energy.measuring import Hours

#: Cell temperatures [°C] and irradiances [W/m²] that are tabled where the folder names none; the sheet says so.
CELLS_C = (10.0, 25.0, 40.0, 55.0)
LIGHTS = (400.0, 700.0, 1000.0)


@dataclass(frozen=True, slots=True)
class ExpectedRow:
    """What a string reads at one cell temperature and irradiance.

    Attributes
    ----------
    voltage, low, high, one_short : Quantity or Missing
        Open circuit: expected, the good band, and with one module missing. [V]
    short_circuit, operating_current : Quantity or Missing
        At this light. [A]
    operating_voltage : Quantity or Missing
        At this temperature; light moves it little. [V]
    judged : bool
        False where there is too little light to judge a voltage by expectation.
    """

    cell: Quantity
    irradiance: Quantity
    voltage: Known
    low: Known
    high: Known
    one_short: Known
    short_circuit: Known
    operating_voltage: Known
    operating_current: Known
    judged: bool


@dataclass(frozen=True, slots=True)
class ExpectedGroup:
    """Strings of one module type and count, and their expected readings."""

    strings: tuple[str, ...]
    module: str
    count: Quantity
    rows: tuple[ExpectedRow, ...]


@dataclass(frozen=True, slots=True)
class InsulationTest:
    """Insulation test of one string: voltage it is chosen by, test voltage [V], least resistance [MΩ]."""

    string: str
    basis: Known
    test: Known
    least: Known


@dataclass(frozen=True, slots=True)
class CommissioningDesign:
    """The sheet; ``own_grid`` says that the folder names no temperatures or no irradiances."""

    groups: tuple[ExpectedGroup, ...]
    tests: tuple[InsulationTest, ...]
    bands: Bands
    own_grid: bool


@dataclass(frozen=True, slots=True)
class SunRow:
    """Hours of one day in which arrays that face one way have enough light, in local standard time."""

    date: str
    arrays: tuple[str, ...]
    hours: Hours


@dataclass(frozen=True, slots=True)
class SunHours:
    """Hours to measure on the days named, or what is missing for them.

    Attributes
    ----------
    voltage_light, current_light : Quantity
        Irradiance in the plane from which voltages, and currents, are judged. [W/m²]
    """

    rows: tuple[SunRow, ...]
    missing: tuple[Missing, ...]
    assumptions: tuple[Assumed, ...]
    voltage_light: Quantity
    current_light: Quantity


def design_commissioning(project: Project, strings: Sequence[StringDesign]) -> CommissioningDesign:
    """Expected readings of every kind of string, and the insulation test of every string."""
    sheet = project.commissioning
    cells = [*sheet.cell_temperatures] if sheet else []
    lights = [*sheet.irradiances] if sheet else []
    own = not (cells and lights)
    cells = cells or [Quantity(value, "degC", None, "cell temperature") for value in CELLS_C]
    lights = lights or [Quantity(value, "W/m2", None, "irradiance") for value in LIGHTS]
    kinds: dict[tuple[str, float], list[StringDesign]] = defaultdict(list)
    for string in strings:
        if string.module is not None and string.count.value >= 1:
            kinds[string.module_id, string.count.value].append(string)
    bands = common_bands()
    groups = tuple(
        ExpectedGroup(
            tuple(string.id for string in alike),
            alike[0].module_id,
            alike[0].count,
            tuple(_row(alike[0], cell, light, bands) for light in lights for cell in cells),
        )
        for alike in kinds.values()
    )
    return CommissioningDesign(groups, tuple(_test(string) for string in strings), bands, own)


def _row(string: StringDesign, cell: Quantity, light: Quantity, bands: Bands) -> ExpectedRow:
    module = string.module
    assert module is not None
    voltage, low, high, short = _voltages(string, module, cell, light, bands)
    return ExpectedRow(
        cell,
        light,
        voltage,
        low,
        high,
        short,
        _short_circuit(string, module, cell, light),
        _operating_voltage(string, module, cell),
        _by_light(module, light),
        judged=light.value >= bands.irradiance_least.value,
    )


def _voltages(
    string: StringDesign, module: Module, cell: Quantity, light: Quantity, bands: Bands
) -> tuple[Known, Known, Known, Known]:
    absent = first_missing(
        *(
            Missing(f"{field} of module type {string.module_id}", module.span)
            for field in ("voltage_coefficient", "cells_in_series")
            if not getattr(module, field)
        )
    )
    if module.technology == "thin film":
        absent = Missing(f"fall of voltage with light of module type {string.module_id}", module.span)
    if not light.value > 0:
        absent = Missing("irradiances above zero in the commissioning section", module.span)
    if absent is not None or module.voltage_coefficient is None or module.cells_in_series is None:
        gap = absent or Missing(f"data of module type {string.module_id}", module.span)
        return gap, gap, gap, gap
    made = expectation(
        string.count,
        module.open_circuit_voltage,
        module.voltage_coefficient,
        cell,
        light,
        thermal_voltage(module.cells_in_series.quantity("cells in series")),
        common_errors(),
    )
    good = good_band(made, bands)
    return (
        made.voltage,
        work("lowest good voltage", "V", "V - d", V=made.voltage, d=good),
        work("highest good voltage", "V", "V + d", V=made.voltage, d=good),
        work("voltage with one module missing", "V", "V * (N - 1) / N", V=made.voltage, N=string.count),
    )


def _short_circuit(string: StringDesign, module: Module, cell: Quantity, light: Quantity) -> Known:
    if module.current_coefficient is None:
        return Missing(f"current_coefficient of module type {string.module_id}", module.span)
    if not light.value > 0:
        return Missing("irradiances above zero in the commissioning section", module.span)
    return expected_current(module.short_circuit_current, light, cell, module.current_coefficient)


def _operating_voltage(string: StringDesign, module: Module, cell: Quantity) -> Known:
    if isinstance(string.operating_coefficient, Missing):
        return string.operating_coefficient
    return string_voltage(
        string.count,
        module.operating_voltage,
        string.operating_coefficient,
        cell,
        "expected operating voltage",
    )


def _by_light(module: Module, light: Quantity) -> Known:
    return work("expected operating current", "A", "I_mp * G / 1000", I_mp=module.operating_current, G=light)


def _test(string: StringDesign) -> InsulationTest:
    if isinstance(string.stc_open, Missing):
        return InsulationTest(string.id, string.stc_open, string.stc_open, string.stc_open)
    basis = insulation_basis(string.stc_open)
    try:
        asked = standard_equipment.insulation_test(basis.value)
    except OutsideTable as outside:
        gap = Missing(f"an insulation test for string {string.id}: {outside}")
        return InsulationTest(string.id, basis, gap, gap)
    return InsulationTest(
        string.id,
        basis,
        quantity_of(asked.test, "test voltage"),
        quantity_of(asked.least, "least insulation resistance"),
    )


def design_sun_hours(project: Project) -> SunHours:
    """Hours with enough sun on the days that the folder names, for each way that arrays face.

    Notes
    -----
    Loads pvlib, so it is left out of a check.
    """
    voltage_light = quantity_of(standards.number("reading-irradiance-least"), "least light for a voltage")
    current_light = quantity_of(standards.number("curve-irradiance-least"), "least light for a current")
    dates = project.commissioning.dates if project.commissioning else []
    missing: list[Missing] = []
    if not dates:
        where = project.commissioning.span if project.commissioning else None
        missing.append(Missing("dates of commissioning: the days to measure on", where))
        return SunHours((), tuple(missing), (), voltage_light, current_light)
    site = project.site
    missing += [
        Missing(f"{field} of site", site.span)
        for field in ("latitude", "longitude", "utc_offset")
        if getattr(site, field) is None
    ]
    days = []
    for text in dates:
        try:
            days.append(date.fromisoformat(str(text)))
        except ValueError:
            assert project.commissioning is not None
            missing.append(
                Missing(f"a day that exists instead of {text}", project.commissioning.where("dates"))
            )
    planes, gaps = _planes(project)
    missing += gaps
    if site.latitude is None or site.longitude is None or site.utc_offset is None or not days or not planes:
        return SunHours((), tuple(missing), (), voltage_light, current_light)
    from reportgen.engineering.energy.measuring import ASSUMPTIONS, Place, measuring_hours  # noqa: PLC0415 - pvlib

    assumed = [Assumed(f"commissioning.{key}", reason, source) for key, reason, source in ASSUMPTIONS]
    if site.elevation is None:
        assumed.append(
            Assumed(
                "commissioning.elevation", "sea level, where the site states no elevation", "our own default"
            )
        )
    place = Place(
        site.latitude.value,
        site.longitude.value,
        site.elevation.value if site.elevation else 0.0,
        site.utc_offset.value,
        tuple(sorted((point.azimuth.value, point.elevation.value) for point in site.horizon)),
    )
    rows = []
    for day in sorted(set(days)):
        found = measuring_hours(day, place, [*planes], (voltage_light.value, current_light.value))
        rows += [
            SunRow(day.isoformat(), tuple(names), hours)
            for names, hours in zip(planes.values(), found, strict=True)
        ]
    return SunHours(tuple(rows), tuple(missing), tuple(assumed), voltage_light, current_light)


def _planes(project: Project) -> tuple[Mapping[tuple[float, float], list[str]], list[Missing]]:
    """Arrays by tilt and azimuth, and those whose direction is not stated."""
    found: dict[tuple[float, float], list[str]] = defaultdict(list)
    missing = []
    for key, array in project.arrays.items():
        if array.status == "removed":
            continue
        if array.tilt is None or array.azimuth is None:
            missing.append(Missing(f"tilt and azimuth of array {key}", array.span))
        else:
            found[array.tilt.value, array.azimuth.value].append(str(key))
    return found, missing
