"""Conductors beyond the two ampacity tests: parallel ones, aluminum, claims and methods, devices of outputs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from reportgen.design.checks.base import Facts, Words, check, compare, if_all_placed, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.graph import SegmentId
from reportgen.design.missing import Known, Missing, highest, known
from reportgen.design.results import OutputDesign
from reportgen.design.strings import engineered_allowed, engineered_from, generating_power
from reportgen.design.wiring import service_wire_indoors, size_key, smallest_parallel
from reportgen.rulebook.sizes import compare_sizes


@check
def parallel_size(facts: Facts) -> Iterator[Finding]:
    """Conductors in parallel have a smallest size."""
    for circuit in facts.wired:
        many = int(circuit.circuit.parallel or 1)
        if many < 2:
            continue
        least, size = smallest_parallel(facts.rulebook), str(circuit.circuit.size)
        try:
            small = compare_sizes(size_key(size), least) < 0
        except ValueError:
            missing = Missing(f"an AWG or kcmil size of circuit {circuit.id}", circuit.circuit.where("size"))
            yield unknown("parallel-size", circuit.id, f"{size} in parallel is not judged", [missing])
            continue
        yield Finding(
            "parallel-size",
            circuit.id,
            Outcome.FAILS if small else Outcome.MEETS,
            f"{many} conductors of {size} in parallel a leg of {circuit.id}, at least {least} AWG each",
            cure="use one larger conductor a leg" if small else "",
            cure_span=circuit.circuit.where("parallel"),
        )


@check
def aluminum_terminals(facts: Facts) -> Iterator[Finding]:
    """Terminals that aluminum conductors land on are marked for them."""
    for circuit in facts.wired:
        if circuit.material != "aluminum":
            continue
        for terminal in circuit.terminals:
            told = f"terminals at {terminal.unit} for the aluminum of {circuit.id}"
            if terminal.aluminum is None:
                missing = Missing(f"aluminum of the terminals of {terminal.unit}", circuit.circuit.span)
                headline = f"{told}: no marking is stated"
                yield unknown("aluminum-terminals", circuit.id, headline, [missing], part=terminal.unit)
                continue
            yield Finding(
                "aluminum-terminals",
                circuit.id,
                Outcome.MEETS if terminal.aluminum else Outcome.FAILS,
                f"{told}: {'marked for it' if terminal.aluminum else 'not marked for it'}",
                terminal.unit,
                cure="" if terminal.aluminum else "use copper, or connectors listed for both metals",
                cure_span=circuit.circuit.where("cable"),
            )


@check
def output_device(facts: Facts) -> Iterator[Finding]:
    """Device of an output circuit: not below the continuous-duty current, and small enough for its conductors."""
    for output in facts.outputs:
        if output.device is None:
            missing = Missing(f"device of output circuit {output.id}", output.circuit.span)
            yield unknown("output-device", output.id, f"device ahead of {output.id} is not stated", [missing])
            continue
        where = output.circuit.where("device")
        yield compare(
            "output-device",
            output.id,
            output.continuous,
            output.device,
            Words(f"continuous current of {output.id}", "rating of its device", 1),
            0.0,
            part="rating",
            cure="use a larger device, and a conductor that it protects",
            cure_span=where,
        )
        made = compare(
            "output-device",
            output.id,
            output.device,
            output.ceiling,
            Words(f"device of {output.id}", "largest that protects its conductors", 1),
            0.0,
            part="conductor",
            cure="use a larger conductor or a smaller device",
            cure_span=where,
        )
        through = (stretch.segment for stretch in output.stretches)
        yield if_all_placed(made, facts.pathless(*through, circuit=output.id, carrying=True))


#: Conductors that carry voltage against ground in every circuit of so many phases; of a single phase it is one or two.
_LIVE = {"single phase": (1, 2), "three phase": (3, 3)}


@check
def output_device_rating(facts: Facts) -> Iterator[Finding]:
    """Rated voltage and poles of the device of an output circuit; what its data do not say is no pass."""
    for output in facts.outputs:
        circuit = output.circuit
        if output.device is None:
            continue
        yield compare(
            "output-device",
            output.id,
            output.voltage,
            known(circuit.device_voltage, f"device_voltage of output circuit {output.id}", circuit.span),
            Words(f"voltage of {output.id}", "rated voltage of its device", 0),
            0.0,
            part="voltage",
            cure="use a device rated for the voltage of the circuit",
            cure_span=circuit.where("device_voltage"),
        )
        yield _poles(output)


def _poles(output: OutputDesign) -> Finding:
    code, part, circuit = "output-device", "poles", output.circuit
    absent = [
        Missing(f"{field} of output circuit {output.id}", circuit.span)
        for field in ("device_poles", "phases")
        if getattr(circuit, field) is None
    ]
    if absent or circuit.device_poles is None:
        headline = f"whether the device of {output.id} opens every live conductor is not stated"
        return unknown(code, output.id, headline, absent, part=part)
    poles = int(circuit.device_poles)
    fewest, enough = _LIVE[str(circuit.phases)]
    told = f"device of {output.id} has {poles} pole{'s' * (poles != 1)}, {circuit.phases}"
    if poles >= enough:
        return Finding(code, output.id, Outcome.MEETS, told, part)
    if poles >= fewest:
        question = f"Is one conductor of {output.id} grounded, so that one pole opens all that carries voltage against ground?"
        return Finding(code, output.id, Outcome.ASK, told, part, question=question)
    return Finding(
        code,
        output.id,
        Outcome.FAILS,
        f"{told}: a live conductor stays connected",
        part,
        cure="use a device that opens every live conductor together",
        cure_span=circuit.where("device_poles"),
    )


@check
def output_beside_strings(facts: Facts) -> Iterator[Finding]:
    """Voltage mark of output conductors, also against the strings in the same pipe, and the question of sharing it."""
    strings: dict[SegmentId, dict[str, Known]] = defaultdict(dict)
    for circuit in facts.circuits:
        for stretch in circuit.stretches:
            strings[stretch.segment][circuit.string.id] = circuit.string.governing
    for output in facts.outputs:
        shared = [stretch.segment for stretch in output.stretches if stretch.segment in strings]
        beside = {key: volts for segment in shared for key, volts in strings[segment].items()}
        mark = known(
            facts.project.cables[str(output.circuit.cable)].voltage,
            f"voltage of cable {output.circuit.cable}",
            output.circuit.where("cable"),
        )
        yield compare(
            "output-wire-voltage",
            output.id,
            highest([output.voltage, *beside.values()]),
            mark,
            Words(f"highest voltage at the wire of {output.id}", "its mark"),
            facts.policies.share("voltage_margin"),
            cure="use wire marked for the highest voltage in its pipes",
            cure_span=output.circuit.where("cable"),
        )
        if shared:
            places = ", ".join(map(str, dict.fromkeys(shared)))
            yield Finding(
                "output-beside-strings",
                output.id,
                Outcome.ASK,
                f"{output.id} shares {places} with strings",
                question="May output conductors lie in one raceway with the strings, and what keeps them apart?",
                cure_span=output.circuit.where("path"),
            )


@check
def short_stretch(facts: Facts) -> Iterator[Finding]:
    """What a claim of the exception for short stretches comes to."""
    for circuit in facts.wired:
        claims = [
            str(item.segment)
            for item in circuit.stretches
            if facts.graph.segments[item.segment][1].short_segment_claimed
        ]
        if not claims:
            continue
        if circuit.set_aside is not None:
            names = ", ".join(stretch.name for stretch in circuit.set_aside.set_aside)
            yield compare(
                "short-stretch",
                circuit.id,
                circuit.set_aside.length,
                circuit.set_aside.allowance,
                Words(f"length of lower ampacity of {circuit.id}, {names},", "the exception allows", 1),
                0.0,
            )
        elif isinstance(circuit.length, Missing):
            told = f"exception claimed for {', '.join(claims)} is not judged for {circuit.id}"
            yield unknown("short-stretch", circuit.id, told, [circuit.length])
        elif circuit.governing is not None and str(circuit.governing.segment) in claims:
            yield Finding(
                "short-stretch",
                circuit.id,
                Outcome.THIN,
                f"exception claimed for {', '.join(claims)} gives {circuit.id} nothing: too long, or all is as low",
                cure="remove the claim; the lowest ampacity counts",
            )


@check
def indoor_marking(facts: Facts) -> Iterator[Finding]:
    """USE-2 without a second marking is no wire for the inside of a building."""
    answer = service_wire_indoors(facts.rulebook)
    for circuit in facts.wired:
        inside = [
            str(item.segment)
            for item in circuit.stretches
            if facts.graph.segments[item.segment][1].place == "indoors"
        ]
        cable = facts.project.cables[str(circuit.circuit.cable)]
        markings = {part.strip().upper() for text in cable.markings for part in str(text).split("/")}
        if not inside or markings != {"USE-2"}:
            continue
        yield Finding(
            "indoor-marking",
            circuit.id,
            Outcome.FAILS if answer == "fails" else Outcome.ASK,
            f"{circuit.insulation} of {circuit.id} has no second marking for the inside of a building: {', '.join(inside)}",
            cure="use wire that is also marked RHW-2, or change over before the building",
            cure_span=cable.where("markings"),
            question="" if answer == "fails" else "Is this marking accepted inside the building?",
        )


@check
def engineered_current(facts: Facts) -> Iterator[Finding]:
    """A maximum current by an engineered method: for large systems alone, and documented."""
    stated = {key: one for key, one in facts.project.strings.items() if one.engineered_current is not None}
    if not stated:
        return
    allowed = engineered_allowed(facts.project, facts.rulebook)
    power = generating_power(facts.project)
    least = engineered_from(facts.rulebook)
    for key, string in stated.items():
        if allowed:
            yield Finding(
                "engineered-current",
                str(key),
                Outcome.ASK,
                f"maximum current of {key} is the engineer's, of a system of {power.show(1)}",
                question="Who is the licensed engineer, and where is the method documented?",
                cure_span=string.where("engineered_current"),
            )
        else:
            yield Finding(
                "engineered-current",
                str(key),
                Outcome.FAILS,
                f"engineered current of {key} is not used: {power.show(1)} of modules, the method asks for {least.show(0, at_most=False)}",
                cure="remove it; the simple method's current is judged",
                cure_span=string.where("engineered_current"),
            )
