"""Results of every output circuit of an inverter: ampacity, device, voltage drop on alternating current.

The rest of the AC side is not covered. Nothing is guessed: without its current, voltage, phases, power factor and
number of conductors, what rests on them is unknown.
"""

from __future__ import annotations

from functools import partial

from reportgen.design.graph import Graph
from reportgen.design.missing import Known, Missing, derive, highest, known
from reportgen.design.policies import Policies
from reportgen.design.results import OutputDesign
from reportgen.design.wiring import WET_PLACES, Wiring, conductor_length, lowest, size_key
from reportgen.engineering import alternating, currents, voltage_drop
from reportgen.project.equipment import Terminals
from reportgen.project.layout import Circuit
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Quantity

#: Conduit that the impedance table names, for each kind of raceway; metal other than aluminum counts as steel.
_CONDUIT = {
    "EMT": "steel",
    "IMC": "steel",
    "RMC": "steel",
    "FMC": "steel",
    "LFMC": "steel",
}
_OTHER = "pvc"
_LINES = {"single phase": 2, "three phase": 3}


def design_outputs(graph: Graph, rulebook: Rulebook, policies: Policies) -> tuple[OutputDesign, ...]:
    """Results of every output circuit, in the order of the folder."""
    wiring = Wiring(graph, rulebook)
    return tuple(
        design_output(wiring, policies, key, circuit)
        for key, circuit in graph.project.circuits.items()
        if circuit.kind == "output" and circuit.status != "removed"
    )


def design_output(wiring: Wiring, policies: Policies, key: str, circuit: Circuit) -> OutputDesign:
    """Results of one output circuit, as the folder has it or with another size put in."""
    cable, rulebook = wiring.cable(circuit), wiring.rulebook
    wet = tuple(name for name, segment in wiring.hops(circuit) if segment.place in WET_PLACES)
    marking, rating = wiring.insulation(circuit, wet=bool(wet))
    current = _current(key, circuit)
    factor = quantity_of(rulebook.number("continuous-factor"), "factor for continuous duty")
    continuous = derive(lambda one: currents.continuous_current(one, factor), current)
    terminals = wiring.terminals(key, circuit, _inverter_end(wiring.graph, circuit), rating, continuous)
    least = lowest(terminals)
    nothing = Missing(f"the terminals of circuit {key}", circuit.span)
    length = conductor_length(wiring.graph, key, circuit)
    stretches = wiring.stretches(circuit, rating)
    governing, set_aside = wiring.governing(circuit, stretches, length)
    three = circuit.phases == "three phase"
    voltage = known(circuit.voltage, f"voltage of circuit {key}", circuit.span)
    impedance, resistance = _impedance(wiring, key, circuit)
    parallel, in_feet = wiring.parallel(circuit), derive(lambda one: one.to("ft"), length)
    phases = known(circuit.phases, f"phases of circuit {key}", circuit.span)
    run: Known = phases if isinstance(phases, Missing) else in_feet
    drop = derive(partial(alternating.drop, three_phase=three, parallel=parallel), run, impedance, current)
    longest = derive(
        lambda *terms: alternating.longest_run(policies.drop_target, *terms, three_phase=three),
        voltage if not isinstance(phases, Missing) else phases,
        impedance,
        current,
    )
    terminal = least.ampacity if least else nothing
    return OutputDesign(
        id=key,
        circuit=circuit,
        material=str(cable.material),
        insulation=" ".join(str(item) for item in cable.markings),
        maximum=current,
        continuous=continuous,
        terminals=terminals,
        terminal_at=least.unit if least else "",
        terminal_column=least.column if least else nothing,
        terminal=terminal,
        stretches=stretches,
        governing=governing,
        set_aside=set_aside,
        length=length,
        conductor_temperature=_table_temperature(wiring, circuit),
        drop=drop,
        drop_share=derive(voltage_drop.drop_share, drop, voltage),
        loss=derive(
            partial(alternating.power_loss, three_phase=three, parallel=parallel), run, resistance, current
        ),
        longest=longest if circuit.parallel is None else Missing(f"one conductor a line of {key}"),
        wet_segments=wet,
        wet_marking=marking if wet else None,
        voltage=voltage,
        impedance=impedance,
        device=circuit.device,
        ceiling=wiring.ceiling(circuit, terminal, governing),
    )


def _current(key: str, circuit: Circuit) -> Known:
    """Continuous current, unknown too where the conductors cannot be all that the phases need [A]."""
    if circuit.current is None:
        return Missing(f"current of circuit {key}", circuit.span)
    lines = _LINES.get(str(circuit.phases), 2) * int(circuit.parallel or 1)
    if circuit.conductors is not None and int(circuit.conductors) < lines:
        return Missing(f"at least {lines} conductors of circuit {key}", circuit.where("conductors"))
    return circuit.current.named(f"continuous current of {key}")


def _inverter_end(graph: Graph, circuit: Circuit) -> list[tuple[str, Terminals | None]]:
    unit = str(circuit.inverter or "")
    found = graph.project.inverter_of(unit)
    return [(unit, found[1].ac_terminals)] if found else []


def _table_temperature(wiring: Wiring, circuit: Circuit) -> Known:
    cell = wiring.rulebook.resistance_reference_temperature(str(wiring.cable(circuit).material))
    return quantity_of(cell, "temperature of the impedance table")


def _impedance(wiring: Wiring, key: str, circuit: Circuit) -> tuple[Known, Known]:
    """Effective impedance and resistance of one conductor, in the worst of the pipes on its way [Ω/kft]."""
    material, size = str(wiring.cable(circuit).material), size_key(str(circuit.size))
    pipes = dict.fromkeys(_CONDUIT.get(str(segment.kind), _OTHER) for _, segment in wiring.hops(circuit))
    power_factor = known(circuit.power_factor, f"power_factor of circuit {key}", circuit.span)
    if not pipes:
        missing = Missing(f"path of circuit {key}", circuit.span)
        return missing, missing
    found: list[tuple[Known, Quantity]] = []
    for pipe in pipes:
        try:
            resistance = quantity_of(
                wiring.rulebook.ac_resistance(material, size, pipe), f"resistance in {pipe}"
            )
            reactance = quantity_of(wiring.rulebook.ac_reactance(size, pipe), f"reactance in {pipe}")
        except OutsideTable as outside:
            beyond = Missing(f"a table value: {outside}", circuit.where("size"))
            return beyond, beyond
        if isinstance(power_factor, Quantity) and not 0 < power_factor.value <= 1:
            absurd = Missing(
                f"a power_factor of circuit {key} between 0 and 1", circuit.where("power_factor")
            )
            return absurd, resistance
        found.append(
            (
                derive(partial(alternating.effective_impedance, resistance, reactance), power_factor),
                resistance,
            )
        )
    return highest(impedance for impedance, _ in found), max(
        (resistance for _, resistance in found), key=lambda one: one.value
    )
