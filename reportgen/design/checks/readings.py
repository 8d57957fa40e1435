"""Readings: what each of them, and each comparison between them, came to."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check
from reportgen.design.findings import Finding, Outcome
from reportgen.design.readings import Judged, StringRead
from reportgen.diagnostics.model import Span
from reportgen.engineering.readings.outcome import Verdict
from reportgen.engineering.readings.voltage import REVERSED

#: Code of each kind of judgement, and the key of a reading that it rests on.
CODES = {
    "voltage": ("reading-voltage", "open_circuit_voltage"),
    "alike": ("reading-alike", "open_circuit_voltage"),
    "ends": ("reading-ends", "open_circuit_voltage"),
    "legs": ("reading-legs", "positive_to_ground"),
    "insulation": ("reading-insulation", "insulation"),
    "current": ("reading-current", "short_circuit_current"),
    "operating": ("reading-operating", "operating_current"),
    "trend": ("reading-trend", "open_circuit_voltage"),
}
#: Like strings named beside one.
_NAMED = 2
OUTCOME = {
    Verdict.ACCEPT: Outcome.MEETS,
    Verdict.QUESTION: Outcome.THIN,
    Verdict.STOP: Outcome.FAILS,
    Verdict.NONE: Outcome.UNKNOWN,
}


@check
def readings_judged(facts: Facts) -> Iterator[Finding]:
    """Every judgement on a reading that no later series has replaced."""
    for read in facts.readings.reads:
        for judged in read.judged:
            if not judged.superseded:
                yield _finding(facts, read, judged)


def _finding(facts: Facts, read: StringRead, judged: Judged) -> Finding:
    made = judged.judgement
    code, field = CODES[judged.kind]
    outcome = OUTCOME[made.verdict]
    place: Span = read.entry.where(field)
    notes = [
        f"likely: {mistake.says}; the meter would then show {mistake.predicted.show(1)}"
        for mistake in made.mistakes
    ]
    if made.to_do == REVERSED:
        notes += _maker(facts, read)
    if judged.kind == "ends" and outcome is Outcome.MEETS:
        notes += _twins(facts, read)
    unknown = outcome is Outcome.UNKNOWN
    missing = tuple(item.what for item in judged.missing) or (_judgeable(read),)
    return Finding(
        code,
        read.string,
        outcome,
        f"{read.string} at the {read.point}, {read.date}: {made.reason}",
        read.series,
        None if unknown else judged.value,
        None if unknown else judged.limit,
        judged.at_most,
        None if unknown else _margin(judged),
        cure="" if outcome is Outcome.MEETS else made.to_do,
        cure_span=place,
        missing=missing if unknown else (),
        missing_at=tuple(item.span for item in judged.missing) if unknown else (),
        notes=tuple(notes),
    )


def _margin(judged: Judged) -> float | None:
    """Room left as a share of what stops."""
    value, limit = judged.value, judged.limit
    if value is None or limit is None or limit.value <= 0:
        return None
    room = (limit.value - value.value) / limit.value
    return room if judged.at_most else -room


def _twins(facts: Facts, read: StringRead) -> list[str]:
    """What equal ends do not prove where other strings read alike."""
    alike = [
        string.id
        for string in facts.strings
        if string.id != read.string
        and string.module_id == read.module
        and string.count.value == read.count.value
    ]
    if not alike:
        return []
    names = " or ".join(alike[:_NAMED]) + (" or another like them" if len(alike) > _NAMED else "")
    return [
        f"exchanged with {names} it would read the same: open one string at the array and see which input falls"
    ]


def _maker(facts: Facts, read: StringRead) -> list[str]:
    """What the maker of the string's inverter says of a reversed input."""
    address = str(facts.project.strings[read.string].input or "")
    found = facts.project.input_of(address)
    if found is None or found[1].reversed_polarity is None:
        return []
    return [f"the maker of {found[0]} says: {found[1].reversed_polarity}"]


def _judgeable(read: StringRead) -> str:
    """What lacks where every input is stated and the reading itself tells nothing."""
    return f"a reading of {read.string} at the {read.point} that can be judged"
