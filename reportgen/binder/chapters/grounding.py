"""Equipment grounding: the four words explained, the ground in each stretch, frames, electrodes, floating poles."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.ground_words import ground_notes, grounds
from reportgen.binder.drawings.grounding import grounding_drawings
from reportgen.binder.elements import Caution, Chapter, Element, Facts, Figure, Paragraph
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.graph import Conductor
from reportgen.design.missing import Missing


def chapter(desk: Desk) -> Chapter:
    """Four words in terms of this project, the grounds by stretch, the arrays."""
    elements: list[Element] = [
        Facts(_four_words(desk), "Four words that are often mixed up"),
        Caution(
            "Floating poles stay floating",
            "No PV pole of an inverter that lets its poles float is ever bonded to ground. In such an array the first fault "
            "to ground makes the second one dangerous: find it before any other work.",
            "IEC 62548, clause 6, recalled",
        ),
        *_drawing(desk),
        desk.keep(_grounds(desk)).table(),
        desk.keep(_arrays(desk)).table(),
        Paragraph(_poles(desk)),
    ]
    for ground in desk.design.facts.grounds:
        where = str(ground.segment)
        elements += desk.working(ground.rating, "ground", where, "rating", rule="egc-size")
        if ground.bounded_by:
            elements += desk.working(ground.required_area, "ground", where, "area", rule="egc-table")
        if ground.grown is not None:
            elements += desk.working(ground.grown, "ground", where, "grown", rule="egc-upsizing")
    return Chapter(
        "grounding",
        "Equipment grounding",
        "A ground in every stretch and the reason for its size; frames, electrodes, and poles that stay off the ground.",
        tuple(elements),
    )


def _drawing(desk: Desk) -> list[Figure]:
    ways = grounds(desk)
    return grounding_drawings(ways, ground_notes(desk)) if ways else []


def _four_words(desk: Desk) -> tuple[tuple[str, str], ...]:
    """Each word once, by the ids of this very project."""
    facts = desk.design.facts
    grounds = [wire for wire in facts.graph.conductors if wire.id in facts.graph.ground_wires]
    ways = [
        f"{wire.id} ({wire.size}{f', from {wire.start}' if wire.start else ''}{f' to {wire.end}' if wire.end else ''}{_joined(desk, wire)})"
        for wire in grounds
    ]
    bonds = facts.bonding.arrays
    jumpers = [f"{bond.id}: {bond.array.bonded_by}" for bond in bonds if bond.array.bonded_by]
    wires = [
        f"{bond.id}: {bond.array.electrode_conductor}" for bond in bonds if bond.array.electrode_conductor
    ]
    rods = [
        f"{bond.id}: {bond.array.electrode}"
        for bond in bonds
        if bond.array.electrode and str(bond.array.electrode) != "none"
    ]
    return (
        (
            "Equipment grounding conductor",
            f"The wire that ties every frame and box back to the source, so that a fault can flow. {_here(ways)}",
        ),
        (
            "Bonding jumper",
            f"A short link that makes two metal parts one: module frame to rail, raceway to box. {_here(jumpers)}",
        ),
        (
            "Grounding electrode conductor",
            f"The wire from the system or the structure to an electrode; it is no substitute for the first. {_here(wires)}",
        ),
        (
            "Electrode",
            f"What stands in the soil: a rod, a footing. It never replaces the equipment grounding conductor. {_here(rods)}",
        ),
    )


def _joined(desk: Desk, wire: Conductor) -> str:
    """With which grounds it is joined where it ends."""
    here = [
        other for other, place in desk.design.facts.bonding.ends[wire.circuit].joints if place == wire.end
    ]
    return f", joined there with {', '.join(here)}" if here else ""


def _here(items: list[str]) -> str:
    return f"Here: {'; '.join(items)}." if items else "None is stated in this project."


def _poles(desk: Desk) -> str:
    facts = desk.design.facts
    floating = [str(key) for key, kind in facts.project.inverters.items() if kind.pv_legs == "floating"]
    parts = [
        "Conductors of PV circuits that are chosen larger for their voltage drop ask for no larger ground; those of output "
        "circuits do, in proportion. No ground has to be larger than its circuit conductors."
        if facts.bonding.upsizing_waived
        else "Whether conductors that are chosen larger for their voltage drop ask for a larger ground is a question to the authority."
    ]
    if floating and facts.bonding.no_conductor:
        clause = facts.bonding.conductor_rule.clause.text
        parts.append(
            f"The poles of {', '.join(floating)} float, so no grounding electrode conductor is asked for on their dc side"
            f"{f' ({clause})' if clause else ''}."
        )
    for leg in facts.bonding.legs:
        parts.append(f"{leg.name} is joined with {leg.ground} in {leg.unit}: see the findings.")
    return " ".join(parts)


def _arrays(desk: Desk) -> Schedule:
    lines = []
    for bond in desk.design.facts.bonding.arrays:
        array = bond.array
        bonded = {True: "yes", False: "no", None: "unknown"}[array.frames_bonded]
        lines.append(
            Line(
                {
                    "array": bond.id,
                    "frames": Marked(bonded, desk.worst("array-bonding", subject=bond.id)),
                    "by": str(array.bonded_by or ""),
                    "ground": bond.ground or "unknown",
                    "beside": ", ".join(bond.present) or "none",
                    "electrode": Marked(
                        str(array.electrode or "unknown"), desk.worst("array-electrode", subject=bond.id)
                    ),
                    "conductor": str(array.electrode_conductor or ""),
                }
            )
        )
    fields = (
        Field("array", "Array"),
        Field("frames", "Frames bonded"),
        Field("by", "Bonded by"),
        Field("ground", "Tied to"),
        Field("beside", "Grounds beside its circuits"),
        Field("electrode", "Electrode"),
        Field("conductor", "Wire to it"),
    )
    rule = desk.design.facts.bonding.electrode_rule
    notes = (
        f"An electrode of the array's own is {rule.answer} by {rule.clause.text or 'the edition adopted'}"
        f"{', recalled' if rule.recalled else ''}; it never replaces the equipment grounding conductor.",
    )
    return Schedule("bonding", "Frames, grounds and electrodes of the arrays", fields, tuple(lines), notes)


def _grounds(desk: Desk) -> Schedule:
    lines = []
    for ground in desk.design.facts.grounds:
        where = str(ground.segment)
        required = (
            f"unknown, state {ground.required.what}"
            if isinstance(ground.required, Missing)
            else f"{ground.required} AWG"
        )
        names = ", ".join(wire.id for wire in ground.conductors)
        lines.append(
            Line(
                {
                    "stretch": where,
                    "ground": Marked(names or "none", desk.worst("ground-present", subject=where)),
                    "rating": desk.judged(ground.rating, subject=where),
                    "required": required,
                    "cell": ground.cell.citation if ground.cell is not None else "",
                    "bounded": ground.bounded_by,
                    "actual": Marked(ground.actual or "none", desk.worst("ground-size", subject=where)),
                }
            )
        )
    fields = (
        Field("stretch", "Stretch"),
        Field("ground", "Ground"),
        Field("rating", "Sized for", "A", 2),
        Field("required", "Required"),
        Field("cell", "Table cell"),
        Field("bounded", "Bounded by"),
        Field("actual", "Chosen"),
    )
    notes = (
        "Bounded by: the circuit whose conductors are smaller than the ground of the table; no ground has to be larger than its circuit conductors.",
        "Sized for: the rating of the largest overcurrent device in the stretch; where there is none, the rating that a device would need.",
    )
    return Schedule("grounds", "Equipment grounding by stretch", fields, tuple(lines), notes)
