"""Rapid shutdown by inverter and guarding of array wiring: what the edition says of each place, and what follows."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Element, Heading
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.missing import Missing
from reportgen.design.shutdown import APPLIES, ASK, EXCEPTED, NOT_APPLICABLE, UNKNOWN, Place

_WORDS = {
    APPLIES: "applies",
    EXCEPTED: "does not apply",
    NOT_APPLICABLE: "does not apply",
    ASK: "the authority decides",
    UNKNOWN: "unknown",
}


def shutdown(desk: Desk) -> Iterator[Element]:
    """Part of a chapter: two tables, or nothing where no string ends anywhere."""
    facts = desk.design.facts
    if not facts.shutdown and not facts.guarding:
        return
    yield Heading("Rapid shutdown and guarding")
    yield Caution(
        "Rapid shutdown is no isolation",
        "Modules make voltage as long as there is light, also while rapid shutdown holds the conductors down. "
        "Work only on what was measured dead.",
        "NEC 690.12, recalled; common practice",
    )
    if facts.shutdown:
        yield desk.keep(_shutdown(desk)).table()
    if facts.guarding:
        yield desk.keep(_guarding(desk)).table()


def _shutdown(desk: Desk) -> Schedule:
    found = desk.design.facts.shutdown
    stated = str(desk.design.project.project.rapid_shutdown or "not stated")
    lines = tuple(
        Line(
            {
                "unit": item.unit,
                "strings": ", ".join(item.strings),
                "where": "; ".join(place.told for place in item.places),
                "because": "; ".join(dict.fromkeys(_because(place) for place in item.deciding)),
                "decision": Marked(_WORDS[item.decision], desk.worst("rapid-shutdown", subject=item.unit)),
            }
        )
        for item in found
    )
    fields = (
        Field("unit", "Inverter"),
        Field("strings", "Strings"),
        Field("where", "Where its circuits stand, pass and end"),
        Field("because", "What decides"),
        Field("decision", "Rapid shutdown"),
    )
    notes = (
        (f"Where it applies, provided by: {stated}.",) if any(i.decision == APPLIES for i in found) else ()
    )
    return Schedule("rapid-shutdown", "Rapid shutdown by where the circuits end", fields, lines, notes)


def _because(place: Place) -> str:
    if isinstance(place.says, Missing):
        return f"to state: {place.says.what}"
    recalled = ", recalled" if place.says.recalled else ""
    return (
        f"{place.says.question}: {place.says.answer.replace('-', ' ')} by {place.says.clause.text}{recalled}"
    )


def _guarding(desk: Desk) -> Schedule:
    arrays = desk.design.project.arrays
    lines = tuple(
        Line(
            {
                "array": item.array,
                "strings": ", ".join(item.strings),
                "highest": item.highest,
                "guarding": Marked(
                    str(arrays[item.array].guarding or "not stated"),
                    desk.worst("array-guarding", subject=item.array),
                ),
            }
        )
        for item in desk.design.facts.guarding
    )
    fields = (
        Field("array", "Array"),
        Field("strings", "Strings"),
        Field("highest", "Highest", "V", 1),
        Field("guarding", "What keeps people from its wiring"),
    )
    return Schedule("guarding", "Wiring of the arrays within reach", fields, lines)
