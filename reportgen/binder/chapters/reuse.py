"""What is kept and what is replaced, the wire behind the modules, and what a reused pipe has to prove first."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Chapter, Element, Heading, Paragraph
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.findings import Outcome
from reportgen.design.reuse import Word

_OUTCOMES = {Word.KEEP: Outcome.MEETS, Word.REPLACE: Outcome.FAILS, Word.UNKNOWN: Outcome.UNKNOWN}


def chapter(desk: Desk) -> Chapter | None:
    """Existing things with their reasons, then the array wiring."""
    facts = desk.design.facts
    if not facts.reuse and not facts.array_wiring:
        return None
    elements: list[Element] = [
        Caution(
            "Old circuits may not be what their labels say",
            "Trace and prove each existing conductor at both ends before it is used or cut. Drawings and labels are no proof.",
            "common practice, no source",
        )
    ]
    if any(item.kind == "raceway" for item in facts.reuse):
        elements.append(
            Caution(
                "Prove an old pipe before wire is bought",
                "Draw a mandrel, a rope or a camera through it from end to end. What stands in it may be live: lock out and "
                "measure at both ends before anything is drawn through beside it.",
                "common practice, no source",
            )
        )
    elements.append(desk.keep(_kept(desk)).table())
    if any(item.kind == "connector" for item in facts.reuse):
        elements.append(
            Caution(
                "Join halves of one make only",
                "Connectors of two makes may fit and still burn. Crimp with the maker's tool, and never part a connector while "
                "current flows.",
                "IEC 62852 and IEC 62548, recalled",
            )
        )
    if facts.array_wiring:
        elements += [Heading("Wire behind the modules"), desk.keep(_wiring(desk)).table()]
        for item in facts.array_wiring:
            elements += desk.working(item.temperature, "array wiring", item.id, "temperature")
            elements += desk.working(
                item.corrected, "array wiring", item.id, "ampacity", rule="free-air-ampacity"
            )
        elements.append(
            Paragraph(
                "In free air a conductor carries more than in a raceway. The table for free air is not held here, so the one "
                "for raceways stands in as a lower bound: what meets by it meets by the other; what does not is a question."
            )
        )
    return Chapter(
        "reuse",
        "What is kept and what is replaced",
        "Existing wire, connectors, boxes and pipes, each with its reasons.",
        tuple(elements),
    )


def _kept(desk: Desk) -> Schedule:
    lines = tuple(
        Line(
            {
                "thing": item.id,
                "kind": item.kind,
                "what": item.what,
                "word": Marked(str(item.word), _OUTCOMES[item.word]),
                "for": "; ".join(f"{r.what}: {r.text}" for r in item.reasons if r.word is Word.KEEP),
                "against": "; ".join(f"{r.what}: {r.text}" for r in item.reasons if r.word is Word.REPLACE),
                "open": "; ".join(
                    f"{r.what}: state {r.missing.what}"
                    for r in item.reasons
                    if r.word is Word.UNKNOWN and r.missing is not None
                ),
            }
        )
        for item in desk.design.facts.reuse
    )
    fields = (
        Field("thing", "Thing"),
        Field("kind", "Kind"),
        Field("what", "What it is"),
        Field("word", "Verdict"),
        Field("for", "Speaks for it"),
        Field("against", "Speaks against it"),
        Field("open", "Not known"),
    )
    return Schedule("kept", "What is kept and what is replaced", fields, lines, wide=True)


def _wiring(desk: Desk) -> Schedule:
    lines = tuple(
        Line(
            {
                "array": item.id,
                "strings": ", ".join(item.strings),
                "cable": Marked(str(item.wiring.cable), desk.worst("array-wire-marking", subject=item.id)),
                "size": str(item.wiring.size),
                "together": str(int(item.wiring.together)) if item.wiring.together is not None else "unknown",
                "temperature": item.temperature,
                "maximum": item.maximum,
                "table": item.table,
                "corrected": desk.judged(item.corrected, "array-wire-ampacity", subject=item.id),
                "voltage": desk.judged(item.voltage, "array-wire-voltage", subject=item.id),
            }
        )
        for item in desk.design.facts.array_wiring
    )
    fields = (
        Field("array", "Array"),
        Field("strings", "Strings"),
        Field("cable", "Wire"),
        Field("size", "Size"),
        Field("together", "In a bundle", align="right"),
        Field("temperature", "Air", desk.units.temperature, 1),
        Field("maximum", "I_max", "A", 2),
        Field("table", "I_table", "A", 1),
        Field("corrected", "Ampacity", "A", 2, at_most=True),
        Field("voltage", "Cold voltage", "V", 1),
    )
    return Schedule("array-wiring", "Wire in free air behind the modules", fields, lines, wide=True)
