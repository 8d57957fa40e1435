"""Results of every string and input: voltages cold and hot, currents, the window of allowed counts."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from reportgen.design.data_sheets import Doubts, doubtful
from reportgen.design.graph import Graph
from reportgen.design.missing import Known, Missing, derive, first_missing, known
from reportgen.design.policies import Policies
from reportgen.design.results import (
    MEAN_MINIMUM,
    PRESCRIBED,
    RECORD_LOW,
    ColdCase,
    InputDesign,
    StringDesign,
    Window,
)
from reportgen.engineering import currents, strings
from reportgen.engineering.candidates import reaches
from reportgen.project.equipment import Inverter, InverterInput
from reportgen.project.layout import String
from reportgen.project.model import Project
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Assumed, Quantity, work

#: Irradiance of the hot case: the brightest that data sheets are stated for.
FULL_SUN = Quantity(
    1000.0,
    "W/m2",
    Assumed(
        "hot case irradiance",
        "full sun on the plane of the modules in the hot case",
        "standard test conditions",
    ),
)
#: What a mounting adds to the cell temperature beyond a free-standing module.
_MOUNTING_RISE = {"ground table": 0.0, "pole": 0.0, "roof raised": 3.0, "roof flush": 10.0}


def generating_power(project: Project) -> Quantity:
    """Power of all modules in strings at standard conditions [kW]."""
    total = sum(
        int(part.count) * project.modules[str(project.arrays[str(part.array)].module)].power.to("kW").value
        for string in project.strings.values()
        for part in project.parts_of(string)
    )
    return Quantity(float(total), "kW", None, "power of all modules in strings")


def engineered_allowed(project: Project, rulebook: Rulebook) -> bool:
    """Whether the system is large enough for currents found by an engineered method."""
    return reaches(generating_power(project), engineered_from(rulebook))


def engineered_from(rulebook: Rulebook) -> Quantity:
    """Power from which currents found by an engineered method may be used [kW]."""
    return quantity_of(rulebook.number("engineered-method-power"), "least power")


def design_strings(project: Project, rulebook: Rulebook, policies: Policies) -> tuple[StringDesign, ...]:
    """Results of every string, in the order of the folder."""
    doubts = {str(key): doubtful(module) for key, module in project.modules.items()}
    stated = any(string.engineered_current is not None for string in project.strings.values())
    engineered = stated and engineered_allowed(project, rulebook)
    return tuple(
        _StringDesigner(project, rulebook, policies, key, string, doubts, engineered=engineered).design()
        for key, string in project.strings.items()
    )


class _StringDesigner:
    """Works out one string; a class only because every step shares the same five inputs."""

    def __init__(
        self,
        project: Project,
        rulebook: Rulebook,
        policies: Policies,
        key: str,
        string: String,
        doubtful: Mapping[str, Doubts],
        *,
        engineered: bool,
    ) -> None:
        self.engineered = engineered
        self.project, self.rulebook, self.policies, self.key, self.string = (
            project,
            rulebook,
            policies,
            key,
            string,
        )
        self.parts = project.parts_of(string)
        self.arrays = [project.arrays[str(part.array)] for part in self.parts]
        kinds = dict.fromkeys(str(array.module) for array in self.arrays)
        self.mixed = len(kinds) > 1
        self.module_id = next(iter(kinds), "")
        self.module = project.modules.get(self.module_id) if not self.mixed else None
        self.placeholder = self.module if self.module is not None and self.module.placeholder else None
        if self.placeholder is not None:
            # Values that only hold a place give no verdict, so they are not even carried along.
            self.module = None
        self.doubtful = doubtful.get(self.module_id, {})
        found = project.input_of(str(string.input)) if string.input else None
        self.inverter: Inverter | None = found[1] if found else None
        self.input: InverterInput | None = found[2] if found else None

    def design(self) -> StringDesign:
        site = self.project.site
        count = self._count()
        cold: tuple[ColdCase, ...] = (
            self._cold(RECORD_LOW, known(site.record_low, "site record_low", site.span), count),
            self._cold(
                MEAN_MINIMUM, known(site.mean_annual_minimum, "site mean_annual_minimum", site.span), count
            ),
        )
        if self.policies.prescribed_cold is not None:
            cold = (*cold, self._cold(PRESCRIBED, self.policies.prescribed_cold, count))
        label = self.policies.cold_temperature
        case = next(case for case in cold if case.label == label)
        governing = case.by_coefficient
        if isinstance(governing, Missing) and self._coefficient_is_missing():
            governing = case.by_table
        hot_cell = self._hot_cell()
        return StringDesign(
            id=self.key,
            input=str(self.string.input or ""),
            module_id=self.module_id,
            module=self.module,
            count=count,
            arrays=tuple(str(part.array) for part in self.parts),
            positions="; ".join(str(part.positions) for part in self.parts if part.positions),
            cold=cold,
            governing=governing,
            governing_label=label,
            hot_cell=hot_cell,
            hot_operating=self._operating(hot_cell, count, "operating voltage, hot"),
            cold_operating=self._operating(case.temperature, count, "operating voltage, cold"),
            stc_open=self._times(
                count, "open_circuit_voltage", "open-circuit voltage at standard conditions"
            ),
            stc_operating=self._times(count, "operating_voltage", "operating voltage at standard conditions"),
            short_circuit=self._of_module("short_circuit_current"),
            operating=self._of_module("operating_current"),
            lit_short_circuit=self._lit("short_circuit_current", "short-circuit current with its rear lit"),
            lit_operating=self._lit("operating_current", "operating current with its rear lit"),
            maximum=(maximum := self._maximum()),
            continuous=maximum
            if isinstance(maximum, Missing)
            else currents.continuous_current(
                maximum, quantity_of(self.rulebook.number("continuous-factor"), "factor for continuous duty")
            ),
            windows=tuple((case.label, self._window(case.temperature, hot_cell)) for case in cold),
            operating_coefficient=self._operating_coefficient(),
            mixed=self.mixed,
        )

    def _count(self) -> Quantity:
        if len(self.parts) == 1:
            return self.parts[0].count.quantity("modules in series")
        terms = {f"N_{i}": part.count.quantity() for i, part in enumerate(self.parts, start=1)}
        return work("modules in series", "", " + ".join(terms), **terms) if terms else Quantity(0.0)

    def _of_module(self, field: str) -> Known:
        if self.module is None:
            if self.placeholder is not None:
                what = f"the data sheet of module type {self.module_id}, whose values are placeholders"
                return Missing(what, self.placeholder.where("placeholder"))
            what = "one module type" if self.mixed else "the module type"
            return Missing(f"{what} of string {self.key}", self.project.where("strings", self.key))
        value: Quantity | None = getattr(self.module, field)
        if value is not None and field in self.doubtful:
            reason, place = self.doubtful[field]
            return Missing(
                f"{field} of module type {self.module_id} as the data sheet has it: {reason}", place
            )
        return known(value, f"{field} of module type {self.module_id}", self.module.span)

    def _coefficient_is_missing(self) -> bool:
        return self.module is not None and self.module.voltage_coefficient is None

    def _cold(self, label: str, temperature: Known, count: Quantity) -> ColdCase:
        voltage, coefficient = self._of_module("open_circuit_voltage"), self._of_module("voltage_coefficient")
        name = f"cold open-circuit voltage at the {label}"
        by_coefficient = derive(
            partial(strings.string_voltage, count, name=name), voltage, coefficient, temperature
        )
        return ColdCase(
            label, temperature, by_coefficient, self._by_table(label, temperature, voltage, count)
        )

    def _by_table(self, label: str, temperature: Known, voltage: Known, count: Quantity) -> Known:
        if isinstance(temperature, Missing):
            return temperature
        if isinstance(voltage, Missing):
            return voltage
        if self.module is not None and self.module.technology != "crystalline silicon":
            return Missing(
                f"a voltage coefficient of module type {self.module_id}: the table holds for crystalline silicon alone",
                self.module.span,
            )
        try:
            factor = self.rulebook.voltage_table_factor(temperature.value)
        except OutsideTable as outside:
            return Missing(f"a table factor for {temperature.show()}: {outside}", self.project.site.span)
        name = f"cold open-circuit voltage by the table, {label}"
        return strings.string_voltage_by_table(count, voltage, quantity_of(factor, "table factor"), name)

    def _hot_cell(self) -> Known:
        site = self.project.site
        ambient = known(site.design_high, "site design_high", site.span)
        if isinstance(ambient, Missing):
            return ambient
        if self.module is None:
            return Missing(f"one module type of string {self.key}", self.project.where("strings", self.key))
        nominal = self.module.operating_temperature or Quantity(
            45.0,
            "degC",
            Assumed(
                f"modules.{self.module_id}.operating_temperature",
                "nominal operating cell temperature where the data sheet is silent",
                "common practice, no source",
            ),
        )
        mountings = [str(array.mounting) for array in self.arrays]
        worst = max(mountings, key=lambda mounting: _MOUNTING_RISE[mounting], default="ground table")
        key, reason = f"mounting.{worst}", f"further rise of the cell temperature on a {worst}"
        silent = dict.fromkeys(
            str(part.array)
            for part, array in zip(self.parts, self.arrays, strict=True)
            if "mounting" not in array.model_fields_set and str(array.mounting) == worst
        )
        if silent:
            key = f"arrays.{' '.join(silent)}.mounting"
            reason = f"mounting of {' and '.join(silent)} not stated: taken as a {worst}; {reason}"
        rise = Quantity(_MOUNTING_RISE[worst], "K", Assumed(key, reason, "common practice, no source"))
        return strings.cell_temperature(ambient, nominal, FULL_SUN, rise)

    def _operating(self, cell: Known, count: Quantity, name: str) -> Known:
        voltage = self._of_module("operating_voltage")
        coefficient = self._operating_coefficient()
        return derive(partial(strings.string_voltage, count, name=name), voltage, coefficient, cell)

    def _operating_coefficient(self) -> Known:
        stated = self._of_module("operating_voltage_coefficient")
        if not isinstance(stated, Missing) or self.module is None:
            return stated
        power, current = self._of_module("power_coefficient"), self.module.current_coefficient
        if isinstance(power, Missing) and self.module.power_coefficient is not None:
            return power
        if current is not None and current.unit != "%/degC":
            current = work(
                "temperature coefficient of Isc in percent",
                "%/degC",
                "100 * α / I_sc",
                α=current.to("A/degC"),
                I_sc=self.module.short_circuit_current,
            )
        if isinstance(power, Missing) or current is None:
            return Missing(
                f"operating_voltage_coefficient, or power_coefficient and current_coefficient, of module type {self.module_id}",
                self.module.span,
            )
        return strings.operating_coefficient(power, current)

    def _times(self, count: Quantity, field: str, name: str) -> Known:
        voltage = self._of_module(field)
        return derive(lambda one: work(name, "V", "N * V", N=count, V=one), voltage)

    def _maximum(self) -> Known:
        current = self._of_module("short_circuit_current")
        if isinstance(current, Missing):
            return current
        gain = self._rear_gain()
        if isinstance(gain, Missing):
            return gain
        factor = quantity_of(self.rulebook.number("irradiance-factor"), "factor for bright irradiance")
        stated = self.string.engineered_current
        if stated is not None and self.engineered:
            floor = quantity_of(self.rulebook.number("engineered-method-current-floor"), "least share")
            return currents.engineered_current(stated, floor, current, factor)
        return currents.maximum_current(current, factor, 1, gain)

    def _rear_gain(self) -> Known:
        """Most that the rear of any of its modules gains [%]; nothing where none is bifacial and none is stated."""
        bifacial = self.module is not None and (
            self.module.bifaciality is not None and self.module.bifaciality.value > 0
        )
        for part, array in zip(self.parts, self.arrays, strict=True):
            if bifacial and array.rear_gain is None:
                return Missing(f"rear_gain of array {part.array}, whose modules are bifacial", array.span)
        gains = [array.rear_gain for array in self.arrays if array.rear_gain is not None]
        return max(gains, key=lambda item: item.value, default=Quantity(0.0, "%"))

    def _lit(self, field: str, name: str) -> Known:
        """A current of the data sheet with the light on the rear, itself where there is none."""
        current, gain = self._of_module(field), self._rear_gain()
        if isinstance(gain, Quantity) and gain.value == 0:
            return current
        return derive(lambda one, share: currents.with_rear(one, share, name), current, gain)

    def _window(self, cold: Known, hot_cell: Known) -> Window:
        most = fewest = None
        one = Quantity(1.0)
        voltage, coefficient = self._of_module("open_circuit_voltage"), self._of_module("voltage_coefficient")
        ceiling = self.inverter.maximum_dc_voltage if self.inverter else None
        if (
            ceiling is not None
            and isinstance(cold, Quantity)
            and isinstance(voltage, Quantity)
            and isinstance(coefficient, Quantity)
        ):
            most = strings.most_modules(
                ceiling, strings.string_voltage(one, voltage, coefficient, cold, "one module, cold")
            )
        stated = (self.input.tracking_from, self.input.start_voltage) if self.input else ()
        floors = [floor for floor in stated if floor is not None]
        operating = self._operating(hot_cell, one, "one module, hot")
        # With one of the two floors unknown, the least number is unknown too.
        if floors and len(floors) == len(stated) and isinstance(operating, Quantity):
            fewest = strings.fewest_modules(max(floors, key=lambda floor: floor.value), operating)
        return Window(most, fewest)


def design_inputs(graph: Graph, designs: Mapping[str, StringDesign]) -> tuple[InputDesign, ...]:
    """Results of every input of every inverter unit, also of those without a string."""
    project = graph.project
    found = []
    for inverter in project.inverters.values():
        for unit in inverter.units:
            for letter, data in inverter.inputs.items():
                address = f"{unit}/{letter}"
                ids = graph.strings_at_input.get(address, ())
                on_it = [designs[key] for key in ids]
                found.append(
                    InputDesign(
                        address,
                        unit,
                        inverter,
                        data,
                        ids,
                        operating=_sum(
                            [item.lit_operating for item in on_it], "operating current at the input"
                        ),
                        short_circuit=_sum(
                            [item.lit_short_circuit for item in on_it], "short-circuit current at the input"
                        ),
                        maximum=_sum([item.maximum for item in on_it], "maximum current at the input"),
                    )
                )
    return tuple(found)


def _sum(parts: list[Known], name: str) -> Known:
    missing = first_missing(*parts)
    if missing is not None:
        return missing
    amounts = [part for part in parts if isinstance(part, Quantity)]
    if not amounts:
        return Missing("a string at this input")
    return amounts[0].named(name) if len(amounts) == 1 else currents.mixed_current(amounts, name)
