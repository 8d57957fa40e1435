"""Equipment grounding: a ground in every stretch, large enough, and no PV pole of a floating inverter bonded."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from reportgen.design.bonding import ArrayBond
from reportgen.design.checks.base import Facts, Words, check, compare, unknown
from reportgen.design.checks.ground_way import asked_of_electrode
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing
from reportgen.design.results import GroundDesign
from reportgen.diagnostics.model import Span
from reportgen.working.quantity import Quantity


@check
def grounds_present(facts: Facts) -> Iterator[Finding]:
    """Every stretch with live conductors holds an equipment grounding conductor."""
    for ground in facts.grounds:
        where = str(ground.segment)
        if ground.conductors:
            yield _present(facts, ground)
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


def _present(facts: Facts, ground: GroundDesign) -> Finding:
    """Ground in a stretch, which serves it only where it is followed to an inverter."""
    code, where = "ground-present", str(ground.segment)
    ends = [(wire, end) for wire in ground.conductors if (end := facts.bonding.ends.get(wire.circuit))]
    serving = [wire.id for wire, end in ends if end.serves]
    if serving:
        verb = "grounds" if len(serving) == 1 else "ground"
        return Finding(code, where, Outcome.MEETS, f"{', '.join(serving)} {verb} {where}")
    absent = [end.missing for _, end in ends if end.missing is not None]
    names = ", ".join(wire.id for wire in ground.conductors)
    if absent:
        headline = f"{names} runs through {where}; where it goes from there cannot be followed"
        return unknown(code, where, headline, absent[:1])
    return Finding(
        code,
        where,
        Outcome.ASK,
        f"{names} runs through {where} and ends at an electrode system",
        question=asked_of_electrode(ends[0][1].electrode),
    )


@check
def grounds_large_enough(facts: Facts) -> Iterator[Finding]:
    """Size of the ground against the table or its circuit conductors, by conductor area."""
    for ground in facts.grounds:
        if not ground.conductors:
            continue
        where = str(ground.segment)
        if isinstance(ground.required, Missing):
            yield unknown("ground-size", where, f"ground of {where} is not sized", [ground.required])
            continue
        made = compare(
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
        lost = _unfollowed(facts, ground)
        if made.outcome is Outcome.MEETS and lost is not None:
            headline = f"{made.headline}: not judged while it cannot be followed to an inverter"
            yield unknown("ground-size", where, headline, [lost])
        elif made.outcome is Outcome.MEETS and ground.grown is not None:
            yield _grown(facts, ground, made)
        else:
            yield replace(made, notes=_size_notes(ground, made))


def _unfollowed(facts: Facts, ground: GroundDesign) -> Missing | None:
    """What is missing of the way of a ground that alone has the size judged; an electrode system is asked about elsewhere."""
    ends = [facts.bonding.ends.get(wire.circuit) for wire in ground.conductors if wire.size == ground.actual]
    absent = [end.missing for end in ends if end is not None]
    return None if None in absent or not absent else absent[0]


def _size_notes(ground: GroundDesign, made: Finding) -> tuple[str, ...]:
    notes = []
    if ground.bounded_by:
        notes.append(f"never larger than its circuit conductors, here those of {ground.bounded_by}")
    if made.margin is not None and made.margin > 0:
        notes.append(
            f"larger than needed: {ground.required} AWG would do; it takes room in the pipe and is no fault"
        )
    return tuple(notes)


def _grown(facts: Facts, ground: GroundDesign, made: Finding) -> Finding:
    """Ground that the table allows, against output conductors chosen larger than they had to be."""
    where = str(ground.segment)
    if isinstance(ground.grown, Missing):
        return unknown("ground-size", where, f"ground of {where} is not sized", [ground.grown])
    assert isinstance(ground.grown, Quantity) and isinstance(ground.actual_area, Quantity)
    against = compare(
        "ground-size",
        where,
        ground.actual_area,
        ground.grown,
        Words(f"ground {ground.actual} in {where}: area", "grown in proportion to its output conductors", 0),
        0.0,
        at_most=False,
        cure="use a larger ground, in proportion to the output conductors",
        cure_span=made.cure_span,
    )
    if against.outcome is not Outcome.FAILS or not ground.grown_open:
        return against
    name = ground.grown_open[0]
    absent = Missing(f"least_size of circuit {name}", facts.project.circuits[name].where("size"))
    headline = f"ground {ground.actual} in {where} does by the table; whether it has to grow with {name} cannot be told"
    return unknown("ground-size", where, headline, [absent])


@check
def frames_bonded(facts: Facts) -> Iterator[Finding]:
    """Frames of every array are joined by listed means and tied to a ground that runs with its circuits."""
    code = "array-bonding"
    for bond in facts.bonding.arrays:
        array, name = bond.array, bond.id
        if array.frames_bonded is None:
            absent = [Missing(f"frames_bonded of array {name}", array.span)]
            if not bond.ground:
                absent.append(_which_ground(bond))
            yield unknown(code, name, f"whether the frames of {name} are bonded is not stated", absent)
        elif not array.frames_bonded:
            yield Finding(
                code,
                name,
                Outcome.FAILS,
                f"frames of {name} are not bonded by listed means",
                cure="bond every frame and rail with clamps, lugs or jumpers listed for these modules",
                cure_span=array.where("frames_bonded"),
            )
        elif not bond.ground:
            yield unknown(
                code,
                name,
                f"frames of {name} are joined; which ground they are tied to is not stated",
                [_which_ground(bond)],
            )
        else:
            yield _tied(facts, bond)


def _which_ground(bond: ArrayBond) -> Missing:
    return Missing(f"grounded_by of array {bond.id}, a circuit of kind ground", bond.array.span)


def _tied(facts: Facts, bond: ArrayBond) -> Finding:
    code, name, place = "array-bonding", bond.id, bond.array.where("grounded_by")
    circuit = facts.project.circuits[bond.ground]
    if circuit.kind != "ground" or circuit.status == "removed":
        what = f"a circuit of kind {circuit.kind}" if circuit.kind != "ground" else "removed"
        return Finding(
            code,
            name,
            Outcome.FAILS,
            f"frames of {name} are tied to {bond.ground}, which is {what} and no equipment grounding conductor",
            cure="tie the frames to a circuit of kind ground",
            cure_span=place,
        )
    if bond.apart:
        return Finding(
            code,
            name,
            Outcome.FAILS,
            f"{bond.ground}, to which the frames of {name} are tied, does not run with {', '.join(bond.apart)}",
            cure="run the ground with the circuits of the array from their first stretch on",
            cure_span=place,
        )
    if bond.pathless:
        absent = Missing(f"path of circuit {bond.pathless[0]}", facts.project.circuits[bond.pathless[0]].span)
        return unknown(
            code, name, f"whether {bond.ground} runs with the circuits of {name} cannot be told", [absent]
        )
    if not bond.begins and not bond.array.ground_tie:
        start = next((w.start for w in facts.graph.conductors if w.circuit == bond.ground and w.start), "")
        absent = Missing(f"what ties {name} to {bond.ground}: `ground_tie` of array {name}", place)
        headline = f"{bond.ground}, to which the frames of {name} are tied, begins at {start or 'no place stated'} and not at {name}"
        return unknown(code, name, headline, [absent])
    by = f" by {bond.array.bonded_by}" if bond.array.bonded_by else ""
    tie = f" by {bond.array.ground_tie}" if bond.array.ground_tie and not bond.begins else ""
    told = f"frames of {name} are joined{by} and tied to {bond.ground}{tie}"
    end = facts.bonding.ends.get(bond.ground)
    if end is None or end.missing is not None:
        absent = end.missing if end and end.missing else Missing(f"where {bond.ground} goes")
        return unknown(code, name, f"{told}, which cannot be followed to an inverter", [absent])
    if end.electrode:
        return Finding(
            code,
            name,
            Outcome.ASK,
            f"{told}, which {end.told.partition(' ')[2]}",
            question=asked_of_electrode(end.electrode),
        )
    return Finding(code, name, Outcome.MEETS, told)


@check
def electrodes(facts: Facts) -> Iterator[Finding]:
    """Electrode at each array as the edition has it; one never stands in for the equipment grounding conductor."""
    code, rule = "array-electrode", facts.bonding.electrode_rule.answer
    for bond in facts.bonding.arrays:
        name, stated = bond.id, str(bond.array.electrode or "")
        held = bond.ground or ", ".join(bond.present)
        if stated and stated != "none":
            if not held:
                yield Finding(
                    code,
                    name,
                    Outcome.FAILS,
                    f"{name} has an electrode ({stated}) and no equipment grounding conductor, which it never replaces",
                    cure="run a ground with the circuits of the array",
                    cure_span=bond.array.where("electrode"),
                )
                continue
            word = "required" if rule == "required" else "permitted"
            if lost := _no_ground(facts, bond):
                headline = f"electrode at {name} ({stated}) is {word}; which equipment grounding conductor stays beside it cannot be told"
                yield unknown(code, name, headline, [lost])
                continue
            end = facts.bonding.ends[bond.ground]
            if end.electrode:
                headline = f"electrode at {name} ({stated}) is {word}; {end.told}"
                yield Finding(code, name, Outcome.ASK, headline, question=asked_of_electrode(end.electrode))
                continue
            yield Finding(
                code,
                name,
                Outcome.MEETS,
                f"electrode at {name} ({stated}) is {word}; {held} stays the equipment grounding conductor",
            )
        elif stated == "none" and rule == "required":
            yield Finding(
                code,
                name,
                Outcome.FAILS,
                f"{name} has no electrode of its own",
                cure="put in an electrode at the array",
                cure_span=bond.array.where("electrode"),
            )
        else:
            absent = "has no electrode of its own" if stated else "does not say which electrode it has"
            yield Finding(
                code,
                name,
                Outcome.ASK,
                f"{name} {absent}; a further one is {rule}, and its structure belongs to an electrode system all the same",
                question=f"Which grounding electrode system does the structure of {name} belong to, and is one asked for at the array itself?",
            )


def _no_ground(facts: Facts, bond: ArrayBond) -> Missing | None:
    """What is missing of the ground that an array is tied to: which it is, or where it goes."""
    if not bond.ground:
        return _which_ground(bond)
    end = facts.bonding.ends.get(bond.ground)
    if end is None:
        return Missing(f"a ground in use for array {bond.id}", bond.array.where("grounded_by"))
    return end.missing


@check
def legs_off_ground(facts: Facts) -> Iterator[Finding]:
    """No leg of a floating input is one with a ground, by landing, link or pole."""
    code = "leg-bonded"
    touched = set()
    for leg in facts.bonding.legs:
        found = facts.project.inverter_of(leg.inverter)
        legs = str(found[1].pv_legs) if found and found[1].pv_legs is not None else ""
        touched.add(leg.string)
        told = f"{leg.name} is joined with {leg.ground} in {leg.unit}"
        if not legs:
            what = f"pv_legs of inverter type {found[0]}" if found else f"the input that {leg.name} ends at"
            absent = Missing(what, found[1].span if found else None)
            yield unknown(
                code, leg.name, f"{told}, and whether its input floats is not stated", [absent], part=leg.unit
            )
        elif legs.startswith({"+": "positive", "-": "negative"}[leg.sign]):
            yield Finding(
                code,
                leg.name,
                Outcome.ASK,
                f"{told}, and the input has its {legs}",
                leg.unit,
                question="Grounded PV poles are not covered by this tool: who designs the grounding of the pole?",
            )
        else:
            yield Finding(
                code,
                leg.name,
                Outcome.FAILS,
                f"{told}, although the poles of {leg.inverter} are {'floating' if legs == 'floating' else legs}",
                leg.unit,
                cure="take the link or the wire off the ground terminal",
                cure_span=_landing_place(facts, leg.unit),
            )
    for name in facts.bonding.landed:
        if name not in touched:
            yield Finding(
                code, name, Outcome.MEETS, f"no leg of string {name} is landed on a ground or linked to one"
            )


def _landing_place(facts: Facts, unit: str) -> Span | None:
    section = next((name for name in ("jumpers", "landing") if unit in getattr(facts.project, name)), None)
    return facts.project.where(section, unit) if section is not None else None


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
                notes=_no_conductor(facts),
            )
        else:
            yield Finding(
                "floating-poles",
                key,
                Outcome.ASK,
                f"inverter type {key} has its {inverter.pv_legs}",
                question="Grounded PV poles are not covered by this tool: who designs the grounding of the pole?",
            )


def _no_conductor(facts: Facts) -> tuple[str, ...]:
    """What the edition says of a conductor to an electrode on the dc side of floating poles."""
    if not facts.bonding.no_conductor:
        return ()
    return (
        "no grounding electrode conductor is asked for on the dc side of a system that is not solidly grounded",
    )
