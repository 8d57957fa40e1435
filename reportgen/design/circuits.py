"""Results of every string circuit: ampacity at its terminals and in each stretch, length, drop, insulation."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import partial

from reportgen.design.graph import Graph
from reportgen.design.missing import Known, Missing, derive, first_missing, known
from reportgen.design.pieces import begins_in
from reportgen.design.policies import Policies
from reportgen.design.results import CircuitDesign, SegmentAmpacity, StringDesign, WiredDesign
from reportgen.design.wiring import (
    WET_PLACES,
    Wiring,
    conductor_length,
    is_nipple,
    lowest,
    no_cooler,
    segment_ambient,
    settled_temperature,
    size_key,
)
from reportgen.engineering import currents, voltage_drop
from reportgen.project.equipment import Terminals
from reportgen.project.layout import ArrayWiring, Circuit
from reportgen.rulebook import standard_cables
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.rulebook.standards import number
from reportgen.working.quantity import Assumed, Quantity, work
from reportgen.working.wire_sizes import metric_size

__all__ = [
    "WET_PLACES",
    "by_string",
    "conductor_length",
    "design_circuits",
    "is_nipple",
    "segment_ambient",
    "size_key",
    "worst_share",
]


def design_circuits(
    graph: Graph, rulebook: Rulebook, policies: Policies, strings: Mapping[str, StringDesign]
) -> tuple[CircuitDesign, ...]:
    """Results of every string circuit, in the order of the folder."""
    wiring = Wiring(graph, rulebook)
    return tuple(
        design_circuit(wiring, policies, key, circuit, strings[str(circuit.string)])
        for key, circuit in graph.project.circuits.items()
        if circuit.kind == "string" and circuit.string is not None and circuit.status != "removed"
    )


def by_string(circuits: Sequence[CircuitDesign]) -> dict[str, list[CircuitDesign]]:
    """Circuits of each string, in their order; most strings have one."""
    found: dict[str, list[CircuitDesign]] = defaultdict(list)
    for circuit in circuits:
        found[circuit.string.id].append(circuit)
    return found


def worst_share(wired: WiredDesign) -> Known:
    """Larger one of the drops at standard conditions and in the hottest hour, where both are known [%]."""
    share = wired.drop_share
    hot = wired.hot_share if isinstance(wired, CircuitDesign) else share
    if isinstance(share, Missing) or isinstance(hot, Missing):
        return share
    return max(share, hot, key=lambda one: one.value)


def design_circuit(
    wiring: Wiring, policies: Policies, key: str, circuit: Circuit, string: StringDesign
) -> CircuitDesign:
    """Results of one string circuit, as the folder has it or with another size put in."""
    cable = wiring.cable(circuit)
    wet = tuple(name for name, segment in wiring.hops(circuit) if segment.place in WET_PLACES)
    marking, rating = wiring.insulation(circuit, wet=bool(wet))
    terminals = wiring.terminals(key, circuit, _input_end(wiring.graph, string), rating, string.continuous)
    least = lowest(terminals)
    nothing = Missing(f"the terminals of circuit {key}: no inverter input and no device", circuit.span)
    length = conductor_length(wiring.graph, key, circuit)
    stretches = wiring.stretches(circuit, rating)
    governing, set_aside = wiring.governing(circuit, stretches, length)
    printed = _printed(wiring, circuit)
    in_feet = derive(lambda one: one.to("ft"), length)
    loop = partial(voltage_drop.loop_resistance, parallel=wiring.parallel(circuit))
    temperature = _temperature(wiring, circuit, stretches, string.operating)
    at_standard = _at(wiring, circuit, printed, temperature)
    before = to_the_box(wiring, key)
    both_legs = _with(before, derive(loop, in_feet, at_standard))
    drop = derive(voltage_drop.drop, both_legs, string.operating)
    hot_current = _hot_current(wiring.graph, string)
    hot = _with(
        before,
        derive(
            loop,
            in_feet,
            _at(wiring, circuit, printed, _temperature(wiring, circuit, stretches, hot_current)),
        ),
    )
    return CircuitDesign(
        id=key,
        circuit=circuit,
        string=string,
        material=str(cable.material),
        insulation=" ".join(str(item) for item in cable.markings),
        maximum=string.maximum,
        continuous=string.continuous,
        terminals=terminals,
        terminal_at=least.unit if least else "",
        terminal_column=least.column if least else nothing,
        # The end at the inverter may be the lowest of all, so none is it while that one is unknown.
        terminal=(least.ampacity if least else nothing)
        if string.input
        else Missing(f"input of string {string.id}", circuit.span),
        stretches=stretches,
        governing=governing,
        set_aside=set_aside,
        length=length,
        conductor_temperature=temperature,
        # The year goes on without wire of the array whose length nobody states; its absence is listed.
        resistance=_with(
            _NOT_COUNTED if isinstance(before, Missing) else before, derive(loop, in_feet, printed)
        ),
        loop=both_legs,
        drop=drop,
        drop_share=derive(voltage_drop.drop_share, drop, string.stc_operating),
        loss=derive(voltage_drop.power_loss, both_legs, string.operating),
        longest=derive(
            partial(voltage_drop.longest_run, policies.drop_target),
            string.stc_operating,
            at_standard,
            string.operating,
            *(() if before is None else (before,)),
        ),
        hot_share=derive(
            voltage_drop.drop_share, derive(voltage_drop.drop, hot, hot_current), string.hot_operating
        ),
        hot_loss=derive(voltage_drop.power_loss, hot, hot_current),
        insulation_voltage=known(cable.voltage, f"voltage of cable {circuit.cable}", cable.span),
        wet_segments=wet,
        wet_marking=marking if wet else None,
    )


#: Wire of an array up to the box whose length nobody states, in the year alone: a drop is unknown without it.
_NOT_COUNTED = Quantity(
    0.0,
    "ohm",
    Assumed(
        "wire from arrays to boxes in the year",
        "wire between an array and the box where its home run begins loses nothing in the year where `length` of the wiring of "
        "the array is not stated",
        "our own choice",
    ),
    "wire of the array, not counted",
)


def _with(before: Known | None, home_run: Known) -> Known:
    """Both legs of a home run with the wire of the array in front of it, where there is any [Ω]."""
    if before is None:
        return home_run
    return derive(
        lambda one, other: work(
            "resistance of both legs, all wire", "ohm", "R_array + R_run", R_array=one, R_run=other
        ),
        before,
        home_run,
    )


def to_the_box(wiring: Wiring, key: str) -> Known | None:
    """Both legs of the wire from the array to the box where a home run begins, at the table's temperature [Ω].

    None where the home run itself comes from the array.
    """
    project = wiring.graph.project
    # As the folder has it, whatever size is being tried.
    circuit = project.circuits[key]
    box = begins_in(wiring.graph, circuit)
    if not box:
        return None
    worst: Known = Missing(f"array of string {circuit.string}", circuit.span)
    for part in project.parts_of(project.strings[str(circuit.string)]):
        array = project.arrays[str(part.array)]
        if array.wiring is None:
            return Missing(f"wiring of array {part.array} and its `length` to {box}", array.span)
        if array.wiring.length is None:
            return Missing(f"length of the wiring of array {part.array}, to {box}", array.wiring.span)
        printed = _printed(wiring, array.wiring)
        if isinstance(printed, Missing):
            return printed
        made = voltage_drop.loop_resistance(
            array.wiring.length.to("ft").named(f"wire of {part.array} to {box}"),
            printed.named(f"resistance of {array.wiring.size} at the table's temperature"),
        ).named(f"wire of {part.array} to {box}, both legs")
        if isinstance(worst, Missing) or made.value > worst.value:
            worst = made
    return worst


def _input_end(graph: Graph, string: StringDesign) -> list[tuple[str, Terminals | None]]:
    found = graph.project.input_of(string.input)
    return [(found[0], found[1].terminals)] if found else []


def _printed(wiring: Wiring, wire: Circuit | ArrayWiring) -> Known:
    """Resistance of one conductor as the table prints it, solid or stranded, coated or not [Ω/kft]."""
    cable = wiring.graph.project.cables[str(wire.cable)]
    stranded, coated = cable.stranding != "solid", bool(cable.tinned)
    size, made = str(wire.size), f"{cable.stranding}, {'coated' if coated else 'uncoated'}"
    try:
        if metric_size(size) and stranded and str(cable.material) == "copper":
            printed = _metric(wiring, size, made, flexible=cable.stranding == "fine stranded", coated=coated)
        else:
            cell = wiring.rulebook.resistance(
                str(cable.material), size_key(size), stranded=stranded, coated=coated
            )
            printed = quantity_of(cell, f"resistance at 75 °C, {made}")
    except OutsideTable as outside:
        return Missing(f"a table value: {outside}", wire.where("size"))
    if cable.tinned is not None or str(cable.material) != "copper":
        return printed
    nothing = Quantity(
        0.0,
        printed.unit,
        Assumed(
            f"cables.{wire.cable}.tinned",
            "strands of copper are taken as uncoated where the folder does not say; coated ones resist a little more",
            "our own choice",
        ),
        "nothing added for a coating",
    )
    return work("resistance as printed", printed.unit, "r_table + Δr", r_table=printed, Δr=nothing)


def _metric(wiring: Wiring, size: str, made: str, *, flexible: bool, coated: bool) -> Quantity:
    """Greatest resistance of a metric copper conductor at the temperature of the edition's own table [Ω/kft]."""
    cell = standard_cables.conductor_resistance(float(size.split()[0]), flexible=flexible, tinned=coated)
    reference = wiring.rulebook.resistance_reference_temperature("copper")
    return work(
        f"resistance at 75 °C, {made}",
        "ohm/kft",
        "r * (1 + α * (T - 20))",
        r=quantity_of(cell, f"greatest resistance at 20 °C, {made}").to("ohm/kft"),
        α=quantity_of(number("copper-temperature-coefficient"), "temperature coefficient at 20 °C"),
        T=quantity_of(reference, "temperature of the table"),
    )


def _temperature(
    wiring: Wiring, circuit: Circuit, stretches: Sequence[SegmentAmpacity], current: Known
) -> Known:
    """Temperature of the conductor under a current, the table's own where its surroundings are not known [°C]."""
    found = settled_temperature(circuit, stretches, current)
    if isinstance(found, Quantity) or isinstance(current, Missing):
        return found
    table = table_temperature(wiring, str(wiring.cable(circuit).material))
    return no_cooler(table, stretches, "hottest ambient of the circuit")


def table_temperature(wiring: Wiring, material: str) -> Quantity:
    """Temperature of the resistance table, which stands in for an unknown one [°C]."""
    cell = wiring.rulebook.resistance_reference_temperature(material)
    return Quantity(
        cell.number,
        "degC",
        Assumed(
            f"conductor temperature, {material}",
            "where the surroundings of a conductor are not known, its drop is taken at the table's own temperature",
            "the temperature of the resistance table",
        ),
        "temperature of the conductor",
    )


def _at(wiring: Wiring, circuit: Circuit, printed: Known, temperature: Known) -> Known:
    """Resistance at the conductor's temperature [Ω/kft]."""
    material = str(wiring.cable(circuit).material)
    coefficient = quantity_of(
        wiring.rulebook.resistance_temperature_coefficient(material), "temperature coefficient"
    )
    reference = quantity_of(
        wiring.rulebook.resistance_reference_temperature(material), "temperature of the table"
    )

    def corrected(resistance: Quantity, conductor: Quantity) -> Quantity:
        return voltage_drop.resistance_at(resistance, coefficient, reference, conductor)

    return derive(corrected, printed, temperature)


def _hot_current(graph: Graph, string: StringDesign) -> Known:
    """Operating current in the hottest hour at full sun, rear light included [A]."""
    missing = first_missing(string.operating, string.hot_cell, string.maximum)
    if missing is not None:
        return missing
    coefficient = string.module.current_coefficient if string.module else None
    if coefficient is None:
        place = string.module.span if string.module else None
        return Missing(f"current_coefficient of module type {string.module_id}", place)
    gains = [gain for key in string.arrays if (gain := graph.project.arrays[key].rear_gain) is not None]
    gain = max(gains, key=lambda one: one.value, default=Quantity(0.0, "%"))
    assert isinstance(string.operating, Quantity) and isinstance(string.hot_cell, Quantity)
    return currents.operating_at(string.operating, coefficient, string.hot_cell, gain)
