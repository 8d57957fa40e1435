"""Data sheets as the design needs them: what is still to be looked up, and what cannot be right.

One list serves the check, `reportgen find` and the guide, so that all of them name the same lines of a data sheet.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from reportgen.diagnostics.model import Span
from reportgen.engineering.plausible import InputData, ModuleData, Oddity, input_oddities, module_oddities
from reportgen.project.equipment import Inverter, InverterInput, Module
from reportgen.project.values import Count, Section
from reportgen.rulebook import standards
from reportgen.rulebook.rulebook import quantity_of
from reportgen.working.quantity import Quantity


@dataclass(frozen=True, slots=True)
class Need:
    """One value that the design needs: its key, what the data sheet calls it, and what rests on it."""

    key: str
    line: str
    used_for: str


MODULE: tuple[Need, ...] = (
    Need(
        "voltage_coefficient",
        "Temperature coefficient of Voc, in %/°C or mV/°C",
        "string voltage in the cold",
    ),
    Need("current_coefficient", "Temperature coefficient of Isc", "operating voltage in the heat, the year"),
    Need("power_coefficient", "Temperature coefficient of Pmax", "operating voltage in the heat, the year"),
    Need("operating_temperature", "NOCT or NMOT", "cell temperature on the hottest day"),
    Need("cells_in_series", "Number of cells; half of it where they are half cells", "the year hour by hour"),
    Need("maximum_system_voltage", "Maximum system voltage", "limit of the string voltage"),
    Need("maximum_series_fuse", "Maximum series fuse rating", "strings in parallel"),
)
INVERTER: tuple[Need, ...] = (
    Need(
        "maximum_dc_voltage",
        "Max. input voltage, max. PV voltage",
        "limit that the cold string must not exceed",
    ),
    Need("ac_power", "Rated or nominal output power", "clipping in the year"),
    Need("pv_legs", "Installation manual: grounding of the PV array", "whether a pole may be bonded"),
    Need("backfeed_current", "Max. back-feed current to the array", "whether strings need fuses"),
    Need("ground_fault_protection", "Ground-fault or insulation monitoring", "protection of the array"),
    Need("arc_fault_protection", "DC arc-fault protection, AFCI, AFDPF", "protection of the array"),
    Need(
        "terminals",
        "Installation manual: wire range, torque, temperature of the PV terminals",
        "ampacity, torque",
    ),
)
INPUT: tuple[Need, ...] = (
    Need("tracking_from", "MPPT voltage range, lower end", "operation in the heat"),
    Need("tracking_to", "MPPT voltage range, upper end", "operation in the cold"),
    Need("start_voltage", "Start-up voltage", "waking on a hot morning"),
    Need("usable_current", "Max. input current a tracker", "clipping"),
    Need(
        "short_circuit_limit",
        "Max. short-circuit current a tracker, Isc PV",
        "limit that must not be exceeded",
    ),
    Need(
        "short_circuit_basis",
        "Manual: whether that limit already holds a factor of 1.25",
        "how it is compared",
    ),
)
SWITCH: tuple[Need, ...] = (
    Need("ratings", "Rated DC voltage by number of poles in series", "limit of the string voltage"),
    Need("rated_current", "Rated operational current at that voltage", "limit of the current"),
    Need("load_break", "Utilisation category DC-21B, DC-PV2", "opening under load"),
    Need("terminals", "Wire range, torque and temperature of the terminals", "ampacity, torque"),
)
CABLE: tuple[Need, ...] = (Need("voltage", "Voltage printed on the jacket", "limit of the string voltage"),)


def altitude_of_ratings() -> Quantity:
    """Altitude up to which ratings of voltage and current commonly hold [m]."""
    return quantity_of(standards.number("altitude-of-ratings"), "altitude up to which ratings hold")


def open_needs(item: Section, needs: tuple[Need, ...]) -> Iterator[Need]:
    """What of a list is not stated."""
    for need in needs:
        if getattr(item, need.key) in (None, [], {}):
            yield need


def _whole(value: Count | None) -> Quantity | None:
    return value.quantity() if value is not None else None


def module_data(module: Module) -> ModuleData:
    """Values of a module type in the form that engineering judges."""
    return ModuleData(
        module.power,
        module.open_circuit_voltage,
        module.operating_voltage,
        module.short_circuit_current,
        module.operating_current,
        module.voltage_coefficient,
        module.current_coefficient,
        module.power_coefficient,
        module.operating_temperature,
        _whole(module.cells_in_series),
        module.length,
        module.width,
        str(module.technology),
    )


def input_data(inverter: Inverter, item: InverterInput) -> InputData:
    """Values of an inverter input in the form that engineering judges."""
    return InputData(
        inverter.maximum_dc_voltage,
        item.tracking_from,
        item.tracking_to,
        item.start_voltage,
        item.usable_current,
        item.short_circuit_limit,
    )


def oddities_of(inverter: Inverter) -> Iterator[tuple[str, InverterInput, Oddity]]:
    """Input id, input and oddity of every input of an inverter type."""
    for letter, item in inverter.inputs.items():
        for oddity in input_oddities(input_data(inverter, item)):
            yield str(letter), item, oddity


#: Reason and place by key of a module type.
Doubts = Mapping[str, tuple[str, Span]]


def doubtful(module: Module) -> Doubts:
    """Keys of a module type whose values no cell can have, each with the reason and its place.

    Nothing is judged by such a value: a Voc that stands in the field of Vmp would make the coldest morning harmless.
    """
    found: dict[str, tuple[str, Span]] = {}
    for oddity in module_oddities(module_data(module)):
        if oddity.impossible:
            for field in oddity.fields:
                found.setdefault(field, (oddity.what, module.where(field)))
    return found
