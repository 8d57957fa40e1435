"""Labels and placards: the list of each circuit is complete, and every placard has its value."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.labels import DISCONNECT, MAX_VOLTAGE, Placard, WireLabels
from reportgen.design.missing import Missing
from reportgen.working.quantity import Quantity


@check
def wire_labels(facts: Facts) -> Iterator[Finding]:
    """Each wire has a label at both ends and in every enclosure passed; no id is given twice."""
    places: dict[str, int] = defaultdict(int)
    for one in facts.labels.wires:
        for label in one.labels:
            places[label.id] += 1
    for one in facts.labels.wires:
        twice = [label.id for label in one.labels if places[label.id] > 1]
        if one.missing:
            yield unknown(
                "wire-labels", one.circuit, f"labels of {one.circuit} are not complete", one.missing
            )
        elif twice:
            told = f"label `{twice[0]}` is needed twice: another wire has the same id"
            cure = "give the circuits different ids"
            span = facts.project.circuits[one.circuit].span
            yield Finding("wire-labels", one.circuit, Outcome.FAILS, told, cure=cure, cure_span=span)
        else:
            yield Finding("wire-labels", one.circuit, Outcome.MEETS, _told(one))


def _told(one: WireLabels) -> str:
    wires = len({label.conductor for label in one.labels})
    count = len(one.labels)
    many = f"{wires} wire{'s' if wires > 1 else ''}"
    return f"{count} labels for {many} of {one.circuit}, {count // wires} on each, polarity in words"


@check
def placards(facts: Facts) -> Iterator[Finding]:
    """Each placard with a value has one; each switch says which of its terminals stay live."""
    for placard in facts.labels.placards:
        if placard.key == MAX_VOLTAGE:
            yield _valued(facts, placard)
        elif placard.key == DISCONNECT:
            if placard.live:
                told = f"placard at {placard.place}: {', '.join(placard.live)} stay live with the switch open"
                if placard.through:
                    told += f", and {', '.join(placard.through)}, which only pass it"
                yield Finding("placard-disconnect", placard.place, Outcome.MEETS, told)
            else:
                told = f"which terminals of {placard.place} stay live is not known"
                absent = Missing(f"landing of every leg on {placard.place}")
                yield unknown("placard-disconnect", placard.place, told, [absent])


def _valued(facts: Facts, placard: Placard) -> Finding:
    absent = [value for _, value in placard.values if isinstance(value, Missing)]
    if absent:
        told = f"placard at {placard.place} lacks a value"
        return unknown("placard-max-voltage", placard.place, told, absent)
    shown = ", ".join(
        f"{name} {value.show(1, at_most=False)}"
        for name, value in placard.values
        if isinstance(value, Quantity)
    )
    first = placard.values[0][1]
    return Finding(
        "placard-max-voltage",
        placard.place,
        Outcome.MEETS,
        f"placard at {placard.place}: {shown}",
        value=first if isinstance(first, Quantity) else None,
    )
