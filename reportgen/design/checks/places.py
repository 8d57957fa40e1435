"""Path, enclosures, landing and input of a circuit against each other: a wire has one way."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.places import Compared, compared, path_places

_CODE = "circuit-places"


@check
def places(facts: Facts) -> Iterator[Finding]:
    """A path that leads elsewhere than the enclosures, the landing or the input say is no way of that wire."""
    for key, circuit in facts.project.circuits.items():
        if circuit.status == "removed":
            continue
        if circuit.kind == "output":
            yield from _output(facts, str(key))
            continue
        found = compared(facts.graph, str(key), facts.arrived) if circuit.kind == "string" else None
        if found is not None:
            yield from _judged(facts, str(key), found)


def _judged(facts: Facts, key: str, found: Compared) -> Iterator[Finding]:
    circuit = facts.project.circuits[key]
    for number, (told, cure, field) in enumerate(found.against):
        place = circuit.where(field) if getattr(circuit, field) else circuit.where("path")
        part = "" if not number else str(number + 1)
        headline = told if told.startswith((key, f"path of {key}")) else f"{key}: {told}"
        yield Finding(_CODE, key, Outcome.FAILS, headline, part, cure=cure, cure_span=place)
    if found.against:
        return
    way = ", ".join(found.way)
    if found.absent:
        headline = f"whether {key} comes to where it is landed and ends is not known"
        yield unknown(_CODE, key, f"{headline}: its path names {way or 'no place'}", found.absent)
        return
    tails = f"; tails taken to lead {', and '.join(found.tails)}" if found.tails else ""
    headline = f"path of {key} by {way} contradicts neither enclosures, landing nor input{tails}"
    if found.asked:
        yield Finding(_CODE, key, Outcome.ASK, headline, question=found.asked[0])
        return
    yield Finding(_CODE, key, Outcome.MEETS, headline)


def _output(facts: Facts, key: str) -> Iterator[Finding]:
    """An output circuit that only touches another inverter than its own."""
    circuit = facts.project.circuits[key]
    path = path_places(facts.graph, circuit)
    if path is None or circuit.inverter is None:
        return
    ends = [place for place in (path.start, path.end) if facts.project.inverter_of(place) is not None]
    if ends and str(circuit.inverter) not in ends:
        told = f"path of {key} is led to {ends[0]}, and it is the output of {circuit.inverter}"
        cure = f"let its path begin at {circuit.inverter}, or name the inverter that it comes from"
        yield Finding(_CODE, key, Outcome.FAILS, told, cure=cure, cure_span=circuit.where("path"))
