"""Which strings, inputs and inverters are alike, so that each kind is solved once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace

from reportgen.engineering.energy.inputs import InputSpec, InverterSpec, Orientation, StringSpec, Wire
from reportgen.engineering.energy.solve import InputKind, InverterKind, Kind, SourceKey

NO_LOSS = (0.0,) * 12


@dataclass(frozen=True, slots=True)
class Plan:
    """Kinds of strings, inputs and inverters.

    Parameters
    ----------
    strings : tuple of Kind
        In the order of the strings.
    members : dict of str to list of int
        Positions of the strings on each input.
    inputs : dict of str to InputKind
        By id; inputs without strings are absent.
    inverters : dict of str to InverterKind
        By id; inverters without strings are absent.
    """

    strings: tuple[Kind, ...]
    members: dict[str, list[int]]
    inputs: dict[str, InputKind]
    inverters: dict[str, InverterKind]


def sort_out(
    strings: Sequence[StringSpec],
    planes: Mapping[str, Orientation],
    ports: Mapping[str, InputSpec],
    units: Mapping[str, InverterSpec],
) -> Plan:
    """Kinds of a system's strings, inputs and inverters.

    Parameters
    ----------
    strings : sequence of StringSpec
        Every name they use is in the mappings.
    planes, ports, units : mapping
        Orientations, inputs and inverters by id.
    """
    sources: dict[tuple[str, str], int] = {}
    numbered: dict[SourceKey, int] = {}
    keys: list[SourceKey] = []
    for string in strings:
        pair = (string.module, string.orientation)
        if pair not in sources:
            key = source_key(string.module, planes[string.orientation])
            if key not in numbered:
                numbered[key] = len(keys)
                keys.append(key)
            sources[pair] = numbered[key]

    # small whole numbers stand for what is long to compare
    kinds: dict[Hashable, int] = {}
    made: list[Kind] = []
    of_string: list[int] = []
    members: dict[str, list[int]] = {}
    for position, string in enumerate(strings):
        source = sources[(string.module, string.orientation)]
        wires = _nameless(string.wires)
        key_of = (source, string.count, wires)
        number = kinds.setdefault(key_of, len(made))
        if number == len(made):
            made.append(Kind(keys[source], string.count, wires))
        of_string.append(number)
        members.setdefault(string.input, []).append(position)

    input_kinds: dict[Hashable, InputKind] = {}
    inputs: dict[str, InputKind] = {}
    on_inverter: dict[str, list[str]] = {}
    for name, positions in members.items():
        port = ports[name]
        counted = tuple(sorted(Counter(of_string[position] for position in positions).items()))
        limits = (
            port.v_min,
            port.v_max,
            port.v_start,
            port.current_limit,
            port.power_limit,
            _nameless(port.feeder),
        )
        if (counted, limits) not in input_kinds:
            branches = tuple((made[number], times) for number, times in counted)
            input_kinds[counted, limits] = InputKind(branches, replace(port, id="", inverter=""))
        inputs[name] = input_kinds[counted, limits]
        on_inverter.setdefault(port.inverter, []).append(name)

    order = {kind: number for number, kind in enumerate(input_kinds.values())}
    inverter_kinds: dict[Hashable, InverterKind] = {}
    inverters: dict[str, InverterKind] = {}
    for name, names in on_inverter.items():
        unit = units[name]
        tally = Counter(inputs[port] for port in names)
        ranked = tuple(sorted(tally.items(), key=lambda item: order[item[0]]))
        rating = (unit.ac_limit, unit.efficiency, unit.night_w, unit.coefficients)
        if (ranked, rating) not in inverter_kinds:
            inverter_kinds[ranked, rating] = InverterKind(ranked, unit)
        inverters[name] = inverter_kinds[ranked, rating]
    return Plan(tuple(made[number] for number in of_string), members, inputs, inverters)


def source_key(module: str, plane: Orientation) -> SourceKey:
    """What decides the light and temperature of a module on a plane, defaults filled in."""
    return SourceKey(
        module,
        plane.tilt_deg,
        plane.azimuth_deg % 360.0,
        plane.mounting or "open rack",
        plane.soiling or NO_LOSS,
        plane.snow or NO_LOSS,
        plane.rows,
        plane.rear_gain,
    )


def _nameless(wires: tuple[Wire, ...]) -> tuple[tuple[float, float, float], ...]:
    """Wires without their names."""
    return tuple((wire.ohm, wire.alpha_per_k, wire.rise_k) for wire in wires)
