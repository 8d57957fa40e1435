"""The hours of a site solved: each different string, input and inverter once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from reportgen.engineering.energy import thermal
from reportgen.engineering.energy.inputs import (
    ArrayCache,
    InputSpec,
    InverterSpec,
    Mounting,
    Options,
    RowGeometry,
    Site,
    Wire,
)
from reportgen.engineering.energy.inverter import converter_of, night_power_w
from reportgen.engineering.energy.module import ModuleModel
from reportgen.engineering.energy.parallel import Bus, Held, Operation, hold, throttle
from reportgen.engineering.energy.plane import ALBEDO, Plane, plane_of_array
from reportgen.engineering.energy.results import Months, StringFigures
from reportgen.engineering.energy.rows import REAR_BLOCKED
from reportgen.engineering.energy.strings import Branch, Source, source_of
from reportgen.engineering.energy.sun import Sun, sun_of
from reportgen.engineering.energy.weather import Array, WeatherYear
from reportgen.engineering.energy.wire import Line, line_of, moments

WORKING = 0.05
"""Share of rated power above which an hour's voltage counts as operating [-]."""


@dataclass(frozen=True, slots=True)
class SourceKey:
    """What makes two modules see the same hours: type, plane, mounting, dirt and snow, tables around, rear."""

    module: str
    tilt_deg: float
    azimuth_deg: float
    mounting: Mounting
    soiling: tuple[float, ...]
    snow: tuple[float, ...]
    rows: RowGeometry | None = None
    rear_gain: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Kind:
    """What makes two strings alike; wires are (resistance, coefficient, rise), without names. Made once for each."""

    source: SourceKey
    count: int
    wires: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True, eq=False)
class InputKind:
    """What makes two inputs alike: strings by kind and number, limits, feeder. Made once for each."""

    strings: tuple[tuple[Kind, int], ...]
    limits: InputSpec


@dataclass(frozen=True, slots=True, eq=False)
class InverterKind:
    """What makes two inverters alike: inputs by kind and number, rating, efficiency. Made once for each."""

    inputs: tuple[tuple[InputKind, int], ...]
    spec: InverterSpec


@dataclass(frozen=True, slots=True)
class Mark:
    """A value and the row it is met in."""

    value: float
    row: int


@dataclass(frozen=True, slots=True)
class StringSolution:
    """Figures of a kind of string on its input, and where its extremes are met."""

    figures: StringFigures
    voltage_max: Mark
    voltage_min: Mark
    open_max: Mark


@dataclass(frozen=True, slots=True)
class InputSolution:
    """Figures of a kind of input, (12,) in kWh unless said otherwise."""

    strings: Mapping[Kind, StringSolution]
    dc: Months
    clipped: Months
    feeder: Months
    parallel_kwh: float
    hours_outside: float
    hours_off: float
    hours_limited: float


@dataclass(frozen=True, slots=True)
class InverterSolution:
    """Figures of a kind of inverter; ``inputs`` in the order of its kinds of input."""

    inputs: Mapping[InputKind, InputSolution]
    dc: Months
    ac: Months
    clipped: Months
    night_w: float
    night_kwh: float
    hours_clipped: float


@dataclass(frozen=True, slots=True)
class Lit:
    """A module's light, and what each step takes from it before its curve is reached, all (n,) in W a module."""

    plane: Plane
    source: Source
    steps: Mapping[str, Array]


@dataclass
class Ledger:
    """Power of the site in the hours with light, summed up by step [W]."""

    length: int
    steps: dict[str, Array] = field(default_factory=dict)

    def add(self, step: str, values: Array, times: float) -> None:
        """Add a power, so many times."""
        if step not in self.steps:
            self.steps[step] = np.zeros(self.length)
        self.steps[step] += times * values


class Simulation:
    """The hours with light of a year of weather, and everything solved in them so far.

    Parameters
    ----------
    weather : WeatherYear
        The year.
    site : Site
        Albedo and horizon.
    models : mapping of str to ModuleModel
        Fitted modules by id.
    options : Options
        Choices of method.
    cache : ArrayCache, optional
        For sun and planes.
    """

    def __init__(
        self,
        weather: WeatherYear,
        site: Site,
        models: Mapping[str, ModuleModel],
        options: Options,
        cache: ArrayCache | None,
    ) -> None:
        self.weather, self.site, self.models, self.options, self.cache = weather, site, models, options, cache
        self.sun: Sun = sun_of(weather, cache)
        self.rows: NDArray[np.intp] = self.sun.rows
        self.air = weather.temp_air[self.rows]
        self.wind = weather.wind[self.rows]
        self.month = weather.month[self.rows]
        self.ledger = Ledger(len(self.rows))
        self._planes: dict[tuple[float, float, RowGeometry | None], Plane] = {}
        self._lit: dict[SourceKey, Lit] = {}

    def months(self, power_w: Array) -> Months:
        """Energy of a power in each month [kWh]."""
        sums = np.bincount(self.month, weights=power_w, minlength=12) * (self.weather.hours / 1000.0)
        return tuple(sums.tolist())

    def plane(self, tilt_deg: float, azimuth_deg: float, rows: RowGeometry | None = None) -> Plane:
        """Irradiance on a plane."""
        key = (tilt_deg, azimuth_deg, rows)
        if key not in self._planes:
            albedo = ALBEDO if self.site.albedo is None else self.site.albedo
            self._planes[key] = plane_of_array(
                self.weather,
                self.sun,
                tilt_deg,
                azimuth_deg,
                albedo,
                self.site.horizon,
                self.options,
                self.cache,
                rows,
            )
        return self._planes[key]

    def lit(self, key: SourceKey) -> Lit:
        """A module on its plane, with the steps from light to its own maximum power."""
        if key in self._lit:
            return self._lit[key]
        model, plane = self.models[key.module], self.plane(key.tilt_deg, key.azimuth_deg, key.rows)
        sheet = model.sheet
        rear = _rear(plane, key.rear_gain, sheet.bifaciality)
        cell = thermal.cell_temperature(
            plane.total + rear,
            self.air,
            self.wind,
            key.mounting,
            thermal.NOCT_C if sheet.noct_c is None else sheet.noct_c,
            thermal.EFFICIENCY if sheet.area_m2 is None else sheet.p_max / (1000.0 * sheet.area_m2),
            self.options.open_rack_model,
        )
        dirty = np.array(key.soiling)[self.month]
        snowed = np.array(key.snow)[self.month]
        clean = plane.behind_glass
        after_dirt = clean * (1.0 - dirty)
        after_snow = after_dirt * (1.0 - snowed)
        light = (after_snow + rear) * (1.0 - self.options.mismatch)
        source = source_of(model, light, cell, self.air, self.month, self.weather.hours)
        watt = sheet.p_max / 1000.0
        steps = {
            "irradiation": watt * plane.free,
            "horizon": watt * (plane.free - plane.seen),
            "row shading": watt * (plane.seen - plane.total),
            "reflection": watt * (plane.total - clean),
            "soiling": watt * (clean - after_dirt),
            "snow": watt * (after_dirt - after_snow),
            "rear light": -watt * rear,
            "mismatch": watt * (after_snow + rear - light),
            "weak light": watt * light - source.cool_w,
            "temperature": source.cool_w - source.free_w,
        }
        self._lit[key] = Lit(plane, source, steps)
        return self._lit[key]

    def inverter(self, what: InverterKind, times: int) -> InverterSolution:
        """Solve a kind of inverter that stands so many times on the site.

        Parameters
        ----------
        what : InverterKind
            Rating, efficiency and inputs.
        times : int
            How many such inverters there are; the ledger counts all of them.
        """
        spec, inputs = what.spec, what.inputs
        buses = [self._bus(kind) for kind, _ in inputs]
        held = [hold(bus, kind.limits) for bus, (kind, _) in zip(buses, inputs, strict=True)]
        numbers = [number for _, number in inputs]
        finals = [item.final for item in held]
        converter = converter_of(spec)

        def spread() -> tuple[list[Array], list[Array]]:
            volts, watts = [], []
            for bus, final, number in zip(buses, finals, numbers, strict=True):
                volts += [final.terminal] * number
                watts += [bus.total(final.currents) * final.terminal] * number
            return volts, watts

        volts, watts = spread()
        ceiling = converter.ceiling(volts, watts)
        over = np.zeros(len(self.rows), dtype=np.bool_)
        if ceiling is not None:
            whole = np.sum(watts, axis=0)
            over = whole > ceiling
            if over.any():
                share = ceiling / np.maximum(whole, 1e-9)
                for k, bus in enumerate(buses):
                    target = bus.total(finals[k].currents) * finals[k].terminal * share
                    finals[k] = throttle(bus, held[k].free, finals[k], over, target)
                volts, watts = spread()
        dc = np.sum(watts, axis=0)
        ac = converter.output(volts, watts)
        ratio = np.divide(ac, dc, out=np.zeros_like(ac), where=dc > 0.0)
        night_w = night_power_w(spec)
        asleep = ac <= 0.0
        self.ledger.add("conversion", dc - ac, times)
        self.ledger.add("night", np.where(asleep, night_w, 0.0), times)
        self.ledger.add("ac", np.where(asleep, -night_w, ac), times)
        solved: dict[InputKind, InputSolution] = {}
        clipped = np.zeros(12)
        for bus, (kind, number), item, final in zip(buses, inputs, held, finals, strict=True):
            solved[kind] = self._input(bus, kind, item, final, ratio, over, times * number)
            clipped += number * np.array(solved[kind].clipped)
        dark = len(self.weather.mid) - len(self.rows)
        drawn = self._dark_months() * (night_w / 1000.0)
        awake = np.array(self.months(np.where(asleep, -night_w, ac)))
        hours = self.weather.hours
        return InverterSolution(
            solved,
            self.months(dc),
            tuple((awake - drawn).tolist()),
            tuple(clipped.tolist()),
            night_w,
            night_w * hours * (dark + int(asleep.sum())) / 1000.0,
            float(over.sum()) * hours,
        )

    def _dark_months(self) -> Array:
        """Hours without light in each month [h]."""
        every = np.bincount(self.weather.month, minlength=12)
        lit = np.bincount(self.month, minlength=12)
        return np.asarray((every - lit) * self.weather.hours, dtype=np.float64)

    def _bus(self, kind: InputKind) -> Bus:
        """The branches of a kind of input."""
        branches = tuple(
            Branch(self.lit(string.source).source, string.count, _line(string.wires), number)
            for string, number in kind.strings
        )
        return Bus(branches, line_of(kind.limits.feeder))

    def _input(
        self,
        bus: Bus,
        kind: InputKind,
        held: Held,
        final: Operation,
        ratio: Array,
        over: NDArray[np.bool_],
        times: int,
    ) -> InputSolution:
        """Figures of an input and its strings once its inverter has had its say."""
        hours = self.weather.hours
        whole = bus.total(final.currents)
        feeder_w = whole * whole * bus.feeder_ohm()
        self.ledger.add("feeder", feeder_w, times)
        strings: dict[Kind, StringSolution] = {}
        clipped = np.zeros(12)
        idle = held.outside_window | held.off
        for k, ((string, number), branch) in enumerate(zip(kind.strings, bus.branches, strict=True)):
            ohm = branch.line.at(self.air)
            before = held.windowed.currents[k]
            before_w = (held.windowed.node + before * ohm) * before
            current = final.currents[k]
            dc_w = (final.node + current * ohm) * current
            wire_w = current * current * ohm
            own_w = branch.count * branch.source.free_w
            lit = self.lit(string.source)
            for step, values in lit.steps.items():
                self.ledger.add(step, values, times * number * string.count)
            self.ledger.add("off peak", own_w - before_w, times * number)
            self.ledger.add("clipping", before_w - dc_w, times * number)
            self.ledger.add("dc", dc_w, times * number)
            self.ledger.add("wire", wire_w, times * number)
            sums = moments(current, self.air, self.month, hours)
            model = self.models[string.source.module]
            rated = string.count * model.sheet.vmp * model.sheet.imp
            at_work = np.flatnonzero(dc_w > WORKING * rated)
            figures = StringFigures(
                dc=self.months(dc_w),
                wire=self.months(wire_w),
                clipped=self.months(before_w - dc_w),
                off_peak=self.months(own_w - before_w),
                ac=self.months(ratio * current * final.terminal),
                wires=tuple(tuple(sums.loss_kwh(_line((wire,))).tolist()) for wire in string.wires),
                current_max=float(current.max()),
                voltage_max=_mark(final.terminal, at_work, np.argmax).value,
                voltage_min=_mark(final.terminal, at_work, np.argmin).value,
                open_voltage_max=float(string.count * branch.source.voc.max()),
                hours_outside=float(idle.sum()) * hours,
                full_sun_share=model.sheet.imp
                * float(branch.line.at(np.array([20.0]))[0])
                / (string.count * model.sheet.vmp),
                full_sun_ohms=tuple(float(_line((wire,)).at(np.array([20.0]))[0]) for wire in string.wires),
            )
            clipped += number * np.array(figures.clipped)
            highest = int(np.argmax(branch.source.voc))
            strings[string] = StringSolution(
                figures,
                _mark(final.terminal, at_work, np.argmax),
                _mark(final.terminal, at_work, np.argmin),
                Mark(figures.open_voltage_max, highest),
            )
        lost = held.alone_w - bus.total(held.free.currents) * held.free.node
        return InputSolution(
            strings,
            self.months(whole * final.terminal),
            tuple(clipped.tolist()),
            self.months(feeder_w),
            sum(self.months(lost)) if len(bus.branches) > 1 else 0.0,
            float(held.outside_window.sum()) * hours,
            float(held.off.sum()) * hours,
            float((held.limited | over).sum()) * hours,
        )


def _rear(plane: Plane, gain: float | None, bifaciality: float | None) -> Array:
    """Light on the rear as the front would make use of it [W/m²], (n,)."""
    if bifaciality is not None and plane.rear is not None:
        return bifaciality * (1.0 - REAR_BLOCKED) * plane.rear
    return (gain or 0.0) * plane.total


def _line(wires: tuple[tuple[float, float, float], ...]) -> Line:
    """Resistance over air temperature of nameless wires in series."""
    return line_of(Wire("", *wire) for wire in wires)


def _mark(values: Array, rows: NDArray[np.intp], pick: Callable[[Array], np.intp]) -> Mark:
    """An extreme of some rows; not a number where there are none."""
    if not len(rows):
        return Mark(float("nan"), 0)
    row = int(rows[int(pick(values[rows]))])
    return Mark(float(values[row]), row)
