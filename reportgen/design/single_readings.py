"""Every reading by itself beside what it should be: its conditions, its expectation, and what is made of it.

A condition that nobody measured is never put in from elsewhere. The series' own temperature and irradiance belong to
one plane of modules, so they hold for its strings only as long as those face one way.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property

from reportgen.design.missing import Known, Missing, missing_of
from reportgen.design.readings import Face, Judged, StringRead, number_of, size_of
from reportgen.design.results import StringDesign
from reportgen.engineering.readings.expectation import (
    Errors,
    Expectation,
    common_errors,
    expectation,
    thermal_voltage,
)
from reportgen.engineering.readings.ground import judge_insulation, judge_legs
from reportgen.engineering.readings.outcome import Bands, Judgement, Verdict, common_bands, no_verdict
from reportgen.engineering.readings.voltage import REVERSED, judge_voltage
from reportgen.project.equipment import Module
from reportgen.project.model import Project
from reportgen.project.records import Reading, StringReading
from reportgen.rulebook import standards
from reportgen.working.quantity import Assumed, Quantity, work

_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)")
#: Other strings named as exchanged with one.
_NAMED = 2
#: Kinds of string whose expected voltages are held against a strange reading.
_KINDS_TRIED = 3


def judge_reads(project: Project, strings: Mapping[str, StringDesign]) -> tuple[StringRead, ...]:
    """Every reading by itself: against expectation, legs to ground, insulation; in the order of the folder."""
    shop = _Shop(project, strings)
    return tuple(
        shop.read(key, series, name, entry)
        for key, series in project.readings.items()
        for name, entry in series.strings.items()
    )


class _Shop:
    """What every reading is judged with, made once."""

    def __init__(self, project: Project, strings: Mapping[str, StringDesign]) -> None:
        self.project, self.strings = project, strings
        self.bands: Bands = common_bands()
        self.thermal: dict[str, Quantity] = {}
        self.errors: dict[str, Errors] = {}

    @cached_property
    def kinds(self) -> Mapping[tuple[str, int], list[str]]:
        """String ids by module type and count."""
        found: dict[tuple[str, int], list[str]] = defaultdict(list)
        for key, string in self.strings.items():
            if string.module is not None and string.count.value >= 1:
                found[string.module_id, int(string.count.value)].append(key)
        return found

    @cached_property
    def faces(self) -> Mapping[str, Face]:
        """Which way the modules of each string face; unlike for arrays whose direction is not stated."""
        found: dict[str, Face] = {}
        for key, string in self.strings.items():
            ways = set()
            for name in string.arrays:
                array = self.project.arrays[name]
                if array.tilt is None or array.azimuth is None:
                    ways.add(("array", name))
                else:
                    ways.add((str(array.tilt.value), str(array.azimuth.value)))
            found[key] = tuple(sorted(ways))
        return found

    @cached_property
    def shared(self) -> Mapping[tuple[str, str], set[Face]]:
        """Ways faced by the strings that take a condition from their series, by series and condition."""
        found: dict[tuple[str, str], set[Face]] = defaultdict(set)
        for key, series in self.project.readings.items():
            for name, entry in series.strings.items():
                for field in ("cell_temperature", "irradiance"):
                    if getattr(entry, field) is None:
                        found[str(key), field].add(self.faces[str(name)])
        return found

    def read(self, key: str, series: Reading, name: str, entry: StringReading) -> StringRead:
        """One reading with its conditions, its expectation and what is made of it."""
        string = self.strings[str(name)]
        cell = self._condition(str(key), series, string, entry, "cell_temperature", "cell temperature")
        light = self._condition(str(key), series, string, entry, "irradiance", "irradiance")
        expected, missing = self._expected(str(key), series, string, cell, light)
        made = StringRead(
            series=str(key),
            date=str(series.date),
            point=str(series.at),
            minute=minute_of(str(entry.time or "")),
            string=string.id,
            module=string.module_id if string.module is not None else "",
            face=self.faces[string.id],
            count=string.count,
            entry=entry,
            cell=cell,
            irradiance=light,
            expected=expected,
            missing=missing,
        )
        judged = (self._voltage(made, string), self._legs(made), self._insulation(made, series, string))
        return replace(made, judged=tuple(item for item in judged if item is not None))

    def _condition(
        self, key: str, series: Reading, string: StringDesign, entry: StringReading, field: str, words: str
    ) -> Known:
        own: Quantity | None = getattr(entry, field)
        of = f"{words} of {string.id} in series {key}"
        if len(self.faces[string.id]) > 1:
            return Missing(f"{words} for one plane: modules of {string.id} face several ways", entry.span)
        if own is not None:
            return own
        shared: Quantity | None = getattr(series, field)
        if shared is None:
            return Missing(of, entry.span)
        if len(self.shared[key, field]) > 1:
            return Missing(
                f"{of}: its own, because the strings of the series do not face one way", entry.span
            )
        return shared

    def _expected(
        self, key: str, series: Reading, string: StringDesign, cell: Known, light: Known
    ) -> tuple[Expectation | None, tuple[Missing, ...]]:
        missing = list(missing_of(cell, light))
        if isinstance(light, Quantity) and not light.value > 0:
            missing.append(Missing(f"irradiance above zero in series {key}", series.span))
        module = string.module
        if module is None:
            missing.append(
                Missing(f"one module type of string {string.id}", self.project.strings[string.id].span)
            )
        else:
            missing += self._sheet(string.module_id, module)
        if string.count.value < 1:
            missing.append(Missing(f"count of string {string.id}", self.project.strings[string.id].span))
        if missing or module is None or not isinstance(cell, Quantity) or not isinstance(light, Quantity):
            return None, tuple(missing)
        return self._of_count(key, series, string.module_id, string.count, cell, light), ()

    def _sheet(self, key: str, module: Module) -> list[Missing]:
        found = [
            Missing(f"{field} of module type {key}", module.span)
            for field in ("voltage_coefficient", "cells_in_series")
            if not getattr(module, field)
        ]
        if module.technology == "thin film":
            found.append(
                Missing(
                    f"fall of voltage with light of module type {key}, which is known for crystalline silicon alone",
                    module.where("technology"),
                )
            )
        return found

    def _of_count(
        self, key: str, series: Reading, module_id: str, count: Quantity, cell: Quantity, light: Quantity
    ) -> Expectation:
        module = self.project.modules[module_id]
        assert module.voltage_coefficient is not None and module.cells_in_series is not None
        if module_id not in self.thermal:
            self.thermal[module_id] = thermal_voltage(module.cells_in_series.quantity("cells in series"))
        if key not in self.errors:
            self.errors[key] = common_errors(_meter(series))
        return expectation(
            count,
            module.open_circuit_voltage,
            module.voltage_coefficient,
            cell,
            light,
            self.thermal[module_id],
            self.errors[key],
        )

    def _voltage(self, read: StringRead, string: StringDesign) -> Judged | None:
        volts = read.volts
        if volts is None:
            return None
        if read.expected is None:
            return self._sign_alone(read, string, volts)
        made = judge_voltage(volts, read.expected, bands=self.bands)
        if made.verdict in {Verdict.QUESTION, Verdict.STOP}:
            # At the array no wire has been landed yet that could be another string's.
            others = {} if read.point == "array" else self._others(read, volts)
            made = judge_voltage(volts, read.expected, others, self.bands)
        off, stop = number_of(made, "deviation"), number_of(made, "stopping deviation")
        if made.verdict is Verdict.NONE or off is None:
            return Judged("voltage", made)
        return Judged("voltage", made, size_of(off, "size of the deviation"), stop)

    def _sign_alone(self, read: StringRead, string: StringDesign, volts: Quantity) -> Judged:
        """A reversed pair needs no expectation; everything else does."""
        measure = (
            "measure cell temperature and irradiance in the plane of the modules together with the voltage"
        )
        told = f"{volts.show(1)} is not judged, because its expectation is not known"
        if volts.value < 0 and string.module is not None:
            stray = work(
                "stopping deviation",
                "V",
                "k * V_oc",
                k=self.bands.voltage_stop,
                V_oc=string.module.open_circuit_voltage,
            )
            if volts.value <= -stray.value:
                reason = f"{volts.show(1)}: the sign is negative"
                return Judged(
                    "voltage", Judgement(Verdict.STOP, reason, (stray,), (), REVERSED), missing=read.missing
                )
        return Judged("voltage", no_verdict(told, measure), missing=read.missing)

    def _others(self, read: StringRead, volts: Quantity) -> dict[str, Expectation]:
        """Strings of other kinds whose expected voltage is nearest to the reading, at its conditions."""
        assert read.expected is not None
        series = self.project.readings[read.series]
        size = abs(volts.value)

        def rough(kind: tuple[str, int]) -> float:
            return kind[1] * self.project.modules[kind[0]].open_circuit_voltage.value

        # Light and temperature lower every kind alike, so what lies next at standard conditions does so now.
        own = rough((read.module, read.modules))
        target = size / read.expected.voltage.value * own
        usable = [
            kind
            for kind in self.kinds
            if kind != (read.module, read.modules) and not self._sheet(kind[0], self.project.modules[kind[0]])
        ]
        found: dict[str, Expectation] = {}
        for kind in sorted(usable, key=lambda kind: (abs(rough(kind) - target), kind))[:_KINDS_TRIED]:
            ids = self.kinds[kind]
            name = " or ".join(ids[:_NAMED]) + (" or another like them" if len(ids) > _NAMED else "")
            assert isinstance(read.cell, Quantity) and isinstance(read.irradiance, Quantity)
            count = self.strings[ids[0]].count
            found[name] = self._of_count(read.series, series, kind[0], count, read.cell, read.irradiance)
        return found

    def _legs(self, read: StringRead) -> Judged | None:
        entry = read.entry
        plus, minus = entry.positive_to_ground, entry.negative_to_ground
        if plus is None and minus is None:
            return None
        of = f"of {read.string} in series {read.series}"
        absent = [
            Missing(f"{words} {of}", entry.span)
            for words, value in (
                ("positive_to_ground", plus),
                ("negative_to_ground", minus),
                ("open_circuit_voltage", read.volts),
            )
            if value is None
        ]
        absent += self._floating(read.string)
        if read.modules < 1:
            absent.append(Missing(f"count of string {read.string}", entry.span))
        if absent or plus is None or minus is None or read.volts is None:
            made = no_verdict(
                "the legs to ground are not judged", "read both legs and the open-circuit voltage together"
            )
            return Judged("legs", made, missing=tuple(absent))
        made = judge_legs(plus, minus, read.volts, read.modules, self.bands)
        share = number_of(made, "share of the open-circuit voltage")
        if made.verdict is Verdict.NONE or share is None:
            return Judged("legs", made)
        return Judged("legs", made, share, self.bands.leg_settled)

    def _floating(self, key: str) -> list[Missing]:
        """What keeps a string's legs from being judged as those of a floating array."""
        address = str(self.strings[key].input)
        found = self.project.input_of(address) if address else None
        if found is None:
            return [Missing(f"input of string {key}", self.project.strings[key].span)]
        unit, kind, _ = found
        if kind.pv_legs is None:
            return [Missing(f"pv_legs of the inverter type of {unit}", kind.span)]
        if kind.pv_legs != "floating":
            words = f"floating poles at {unit}: a pole that is grounded on purpose holds the legs"
            return [Missing(words, kind.where("pv_legs"))]
        return []

    def _insulation(self, read: StringRead, series: Reading, string: StringDesign) -> Judged | None:
        ohms = read.entry.insulation
        if ohms is None:
            return None
        if isinstance(string.stc_open, Missing) or string.count.value < 1:
            what = string.stc_open if isinstance(string.stc_open, Missing) else None
            absent = what or Missing(f"count of string {string.id}", read.entry.span)
            made = no_verdict(f"{ohms.show()} is not judged", "state what the string consists of")
            return Judged("insulation", made, missing=(absent,))
        made = judge_insulation(
            ohms,
            read.entry.insulation_test_voltage,
            string.stc_open,
            dry=bool(series.dry),
            bands=self.bands,
        )
        if made.verdict is Verdict.NONE:
            return Judged("insulation", made)
        least = number_of(made, "least insulation resistance")
        if made.verdict is Verdict.QUESTION:
            least = self.bands.insulation_good
        return Judged(
            "insulation", made, ohms.to("Mohm").named("insulation resistance"), least, at_most=False
        )


def minute_of(text: str) -> int | None:
    """Minute of the day of a time as written; None where it is none.

    Examples
    --------
    >>> minute_of("10:42"), minute_of("noon")
    (642, None)
    """
    found = _CLOCK.fullmatch(text.strip())
    return int(found[1]) * 60 + int(found[2]) if found else None


def _meter(series: Reading) -> Quantity:
    """Error of the meter of a series [%]."""
    if series.voltage_error is not None:
        return replace(series.voltage_error, unit="%")
    cell = standards.number("reading-meter-error")
    reason = "error of a voltmeter whose own is not stated; `voltage_error` of the series replaces it"
    return Quantity(cell.number, "%", Assumed("readings.voltage_error", reason, cell.table))
