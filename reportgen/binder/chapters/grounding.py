"""Equipment grounding: which ground runs in each stretch, why it has its size, and the four words explained."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Chapter, Element, Facts
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.missing import Missing


def chapter(desk: Desk) -> Chapter:
    """Four words, then the schedule of grounds."""
    first = next(
        (ground.conductors[0].id for ground in desk.design.facts.grounds if ground.conductors),
        "none in this project yet",
    )
    elements: list[Element] = [
        Facts(
            (
                (
                    "Equipment grounding conductor",
                    f"The wire that ties every frame and box back to the source, so that a fault can flow: here {first}.",
                ),
                (
                    "Bonding jumper",
                    "A short link that makes two metal parts one: module frame to rail, raceway to box.",
                ),
                (
                    "Grounding electrode conductor",
                    "The wire from the system or the structure to an electrode; it is no substitute for the first.",
                ),
                (
                    "Electrode",
                    "What stands in the soil: a rod, a footing. At the array it never replaces the equipment grounding conductor.",
                ),
            ),
            "Four words that are often mixed up",
        ),
        Caution(
            "Floating poles stay floating",
            "No PV pole of an inverter that lets its poles float is ever bonded to ground. In such an array the first fault "
            "to ground makes the second one dangerous: find it before any other work.",
            "IEC 62548, clause 6, recalled",
        ),
        desk.keep(_grounds(desk)).table(),
    ]
    for ground in desk.design.facts.grounds:
        elements += desk.working(ground.rating, "ground", str(ground.segment), "rating", rule="egc-size")
    return Chapter(
        "grounding",
        "Equipment grounding",
        "A ground in every stretch, and the reason for its size.",
        tuple(elements),
    )


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
                    "cell": ground.required_source,
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
        Field("actual", "Chosen"),
    )
    notes = (
        "Sized for: the rating of the largest overcurrent device in the stretch; where there is none, the rating that a device would need.",
    )
    return Schedule("grounds", "Equipment grounding by stretch", fields, tuple(lines), notes)
