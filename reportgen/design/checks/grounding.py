"""Equipment grounding: a ground in every stretch, large enough, and no PV pole of a floating inverter bonded."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, Words, check, compare, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing


@check
def grounds_present(facts: Facts) -> Iterator[Finding]:
    """Every stretch with live conductors holds an equipment grounding conductor."""
    for ground in facts.grounds:
        where = str(ground.segment)
        if ground.conductors:
            names = ", ".join(wire.id for wire in ground.conductors)
            yield Finding("ground-present", where, Outcome.MEETS, f"{names} grounds {where}")
            continue
        segment = facts.graph.segments[ground.segment][1]
        outcome = Outcome.ASK if ground.metallic else Outcome.FAILS
        yield Finding(
            "ground-present",
            where,
            outcome,
            f"no equipment grounding conductor runs through {where}",
            question="May the metal raceway itself serve as the equipment grounding conductor here, and are its fittings listed for that?"
            if ground.metallic
            else "",
            cure=f"add a circuit of kind ground whose path passes {where}",
            cure_span=segment.span,
        )


@check
def grounds_large_enough(facts: Facts) -> Iterator[Finding]:
    """Size of the ground against the table, by conductor area."""
    for ground in facts.grounds:
        if not ground.conductors:
            continue
        where = str(ground.segment)
        if isinstance(ground.required, Missing):
            yield unknown("ground-size", where, f"ground of {where} is not sized", [ground.required])
            continue
        yield compare(
            "ground-size",
            where,
            ground.actual_area,
            ground.required_area,
            Words(f"ground {ground.actual} in {where}: area", f"of {ground.required} AWG as required", 0),
            0.0,
            at_most=False,
            cure=f"use {ground.required} AWG or larger",
            cure_span=facts.project.circuits[ground.conductors[0].circuit].where("size"),
        )


@check
def floating_poles(facts: Facts) -> Iterator[Finding]:
    """Whether the PV poles of each inverter are floating; a floating pole is never bonded."""
    for key, inverter in facts.project.inverters.items():
        if inverter.pv_legs is None:
            yield unknown(
                "floating-poles",
                key,
                f"inverter type {key} does not say how it treats the PV poles",
                [Missing(f"pv_legs of inverter type {key}", inverter.span)],
            )
        elif inverter.pv_legs == "floating":
            yield Finding(
                "floating-poles",
                key,
                Outcome.MEETS,
                f"PV poles of {key} are floating: never bond one of them to ground",
            )
        else:
            yield Finding(
                "floating-poles",
                key,
                Outcome.ASK,
                f"inverter type {key} has its {inverter.pv_legs}",
                question="Grounded PV poles are not covered by this tool: who designs the grounding of the pole?",
            )
