"""A solved year with its ids: totals, the chain from light to output, extremes, cautions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from reportgen.engineering.energy.basis import assumptions_of, band_of, cautions_of
from reportgen.engineering.energy.inputs import InputSpec, InverterSpec, Orientation, StringSpec
from reportgen.engineering.energy.plan import Plan, source_key
from reportgen.engineering.energy.plane import squared_sun
from reportgen.engineering.energy.results import (
    Array,
    ChainStep,
    Extreme,
    InputYear,
    InverterYear,
    Months,
    PlaneYear,
    StringYear,
    YearResult,
)
from reportgen.engineering.energy.solve import (
    InverterKind,
    InverterSolution,
    Mark,
    Simulation,
    StringSolution,
)

CHAIN = (
    ("irradiation", "light on the modules, at their rated efficiency"),
    ("horizon", "behind the horizon"),
    ("row shading", "behind the table in front"),
    ("reflection", "reflected at the glass"),
    ("soiling", "dirt"),
    ("snow", "snow"),
    ("rear light", "gained on the rear"),
    ("mismatch", "modules of a string differ"),
    ("weak light", "modules work worse in weak light"),
    ("temperature", "cells warmer than 25 °C"),
    ("off peak", "strings held away from their best voltage"),
    ("clipping", "more than an input or inverter can use"),
    ("wire", "wires of the strings"),
    ("feeder", "wires that strings share"),
    ("conversion", "conversion to alternating current"),
    ("night", "drawn by the inverters at night"),
    ("ac", "alternating current"),
)
"""Key and wording of each step from light to output, in order."""


def gather(
    simulation: Simulation,
    plan: Plan,
    solved: Mapping[InverterKind, InverterSolution],
    orientations: Sequence[Orientation],
    strings: Sequence[StringSpec],
    inputs: Sequence[InputSpec],
    inverters: Sequence[InverterSpec],
) -> YearResult:
    """A year's result from its solved kinds.

    Parameters
    ----------
    simulation : Simulation
        Hours and ledger.
    plan : Plan
        Kinds by string, input and inverter.
    solved : mapping
        Solution of each kind of inverter.
    orientations, strings, inputs, inverters : sequence
        As given to the run.
    """
    weather = simulation.weather
    of_inverter = {item.id: item.inverter for item in inputs}
    marks: list[tuple[StringSolution, str]] = []
    string_years: list[StringYear] = []
    seen: set[int] = set()
    for string, kind in zip(strings, plan.strings, strict=True):
        unit = solved[plan.inverters[of_inverter[string.input]]]
        solution = unit.inputs[plan.inputs[string.input]].strings[kind]
        if id(solution) not in seen:
            seen.add(id(solution))
            marks.append((solution, string.id))
        names = tuple(wire.id for wire in string.wires)
        string_years.append(
            StringYear(
                string.id,
                string.input,
                string.orientation,
                string.module,
                string.count,
                names,
                solution.figures,
            )
        )
    input_years = []
    for item in inputs:
        if item.id in plan.inputs:
            found = solved[plan.inverters[item.inverter]].inputs[plan.inputs[item.id]]
            members = tuple(strings[k].id for k in plan.members[item.id])
            input_years.append(
                InputYear(
                    item.id, item.inverter, members, found.dc, found.clipped, found.feeder, found.parallel_kwh,
                    found.hours_outside, found.hours_off, found.hours_limited,
                )
            )  # fmt: skip
    inverter_years = [
        InverterYear(unit.id, part.dc, part.ac, part.clipped, part.night_kwh, part.hours_clipped)
        for unit in inverters
        if unit.id in plan.inverters
        for part in [solved[plan.inverters[unit.id]]]
    ]
    used = set(dict.fromkeys(string.orientation for string in strings))
    planes = [plane for plane in orientations if plane.id in used]
    plane_years = [_plane_year(simulation, plane, strings) for plane in planes]
    hourly = _hourly(simulation, inverter_years, plan, solved)
    ac = _sum_months([item.ac for item in inverter_years])
    wire = simulation.months(simulation.ledger.steps["wire"] + simulation.ledger.steps["feeder"])
    check = _wire_check(simulation, string_years, plane_years)
    used_inputs = [item for item in inputs if item.id in plan.inputs]
    used_inverters = [item for item in inverters if item.id in plan.inverters]
    return YearResult(
        strings=tuple(string_years),
        inputs=tuple(input_years),
        inverters=tuple(inverter_years),
        planes=tuple(plane_years),
        dc=simulation.months(simulation.ledger.steps["dc"]),
        wire=wire,
        clipped=simulation.months(simulation.ledger.steps["clipping"]),
        ac=ac,
        chain=_chain(hourly, weather.hours),
        hottest_cell=max((item.hottest_cell for item in plane_years), key=lambda item: item.value),
        voltage_max=_extreme(simulation, [(mark.voltage_max, name) for mark, name in marks], highest=True),
        voltage_min=_extreme(simulation, [(mark.voltage_min, name) for mark, name in marks], highest=False),
        open_voltage_max=_extreme(simulation, [(mark.open_max, name) for mark, name in marks], highest=True),
        wire_check=check,
        upper_bound=weather.kind == "clear sky",
        band=band_of(weather, sum(ac)),
        assumptions=assumptions_of(
            weather,
            simulation.site,
            planes,
            simulation.models,
            strings,
            used_inputs,
            used_inverters,
            simulation.options,
        ),
        cautions=cautions_of(weather, simulation.site, planes, simulation.models, check),
        hourly=hourly if simulation.options.hourly else None,
    )


def _sum_months(parts: Sequence[Months]) -> Months:
    """Month by month sum [same unit]."""
    return tuple(np.sum(np.array(parts), axis=0).tolist())


def _when(simulation: Simulation, row: int) -> str:
    """Middle of a lit interval in local standard time, month to minute."""
    stamp = str(simulation.weather.mid[simulation.rows[row]].astype("datetime64[m]"))
    return stamp[5:].replace("T", " ")


def _extreme(simulation: Simulation, marks: Sequence[tuple[Mark, str]], *, highest: bool) -> Extreme:
    """The highest or lowest of some marks; not a number where none has a value."""
    known = [(mark, name) for mark, name in marks if not np.isnan(mark.value)]
    if not known:
        return Extreme(float("nan"), "", "")
    mark, name = (max if highest else min)(known, key=lambda item: item[0].value)
    return Extreme(mark.value, _when(simulation, mark.row), name)


def _plane_year(simulation: Simulation, plane: Orientation, strings: Sequence[StringSpec]) -> PlaneYear:
    """A plane's irradiation and its hottest cell among the modules on it."""
    modules = dict.fromkeys(string.module for string in strings if string.orientation == plane.id)
    total = simulation.plane(plane.tilt_deg, plane.azimuth_deg % 360.0, plane.rows).total
    hottest = Extreme(-np.inf, "", plane.id)
    for module in modules:
        cell = simulation.lit(source_key(module, plane)).source.cell
        row = int(np.argmax(cell))
        if cell[row] > hottest.value:
            hottest = Extreme(float(cell[row]), _when(simulation, row), plane.id)
    return PlaneYear(plane.id, simulation.months(total), squared_sun(total), hottest)


def _hourly(
    simulation: Simulation,
    inverters: Sequence[InverterYear],
    plan: Plan,
    solved: Mapping[InverterKind, InverterSolution],
) -> dict[str, Array]:
    """Power of the site in every interval of the year, dark ones included [W]."""
    count = len(simulation.weather.mid)
    night = sum(solved[plan.inverters[item.id]].night_w for item in inverters)
    found: dict[str, Array] = {}
    for key in [key for key, _ in CHAIN] + ["dc"]:
        values = np.zeros(count)
        if key == "night":
            values[:] = night
        elif key == "ac":
            values[:] = -night
        values[simulation.rows] = simulation.ledger.steps[key]
        found[key] = values
    return found


def _chain(hourly: Mapping[str, Array], hours: float) -> tuple[ChainStep, ...]:
    """Energy of each step of the year."""
    whole = {key: float(hourly[key].sum()) * hours / 1000.0 for key, _ in CHAIN}
    entry = whole["irradiation"]
    return tuple(ChainStep(key, text, whole[key], whole[key] / entry) for key, text in CHAIN)


def _wire_check(
    simulation: Simulation, strings: Sequence[StringYear], planes: Sequence[PlaneYear]
) -> float | None:
    """Loss in the strings' wires over what loss in full sun and the squared sun of the plane predict [-]."""
    squared = {item.id: item.squared_sun for item in planes}
    expected = sum(item.figures.full_sun_share * squared[item.orientation] * item.dc_kwh for item in strings)
    if expected <= 0.0:
        return None
    return sum(simulation.months(simulation.ledger.steps["wire"])) / expected
