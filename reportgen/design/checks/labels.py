"""Labels and placards: the list of each circuit is complete, and every placard has its value."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.labels import COLOURS_KEPT, DISCONNECT, MAX_VOLTAGE, Placard, WireLabels
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
        # Wrong whatever else is missing.
        if found := _kept_colour(facts, one.circuit):
            yield found
        elif one.missing:
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


#: Colours of insulation that are kept for grounded conductors and for grounds, as the first word of a colour.
_KEPT = frozenset({"white", "grey", "gray", "green"})
_SHADES = frozenset({"light", "dark", "pale", "bright"})


def _kept_colour(facts: Facts, key: str) -> Finding | None:
    """Finding of the first leg of a circuit in a colour that says grounded or ground although it is neither."""
    circuit = facts.project.circuits[key]
    string = facts.project.strings.get(str(circuit.string or ""))
    inverter = facts.project.input_of(str(string.input)) if string is not None and string.input else None
    poles = str(inverter[1].pv_legs or "") if inverter else ""
    for wire in facts.graph.wires_of[key]:
        if not wire.leg or not wire.colour:
            continue
        sign = "positive" if wire.leg == "+" else "negative"
        words = [word for word in re.findall(r"[a-z]+", wire.colour.casefold()) if word not in _SHADES]
        if words and words[0] in _KEPT and poles != f"{sign} grounded":
            return Finding(
                "wire-labels",
                key,
                Outcome.FAILS,
                f"{wire.id} is {wire.colour}, a colour kept for grounded conductors and grounds; the {sign} leg is neither",
                cure="take wire of another colour for it, red and black for instance",
                cure_span=circuit.where(f"{sign}_colour"),
                rules=(COLOURS_KEPT,),
            )
    return None


def _told(one: WireLabels) -> str:
    wires = len({label.conductor for label in one.labels})
    count = len(one.labels)
    many = f"{wires} wire{'s' if wires > 1 else ''}"
    told = f"{count} labels for {many} of {one.circuit}, {count // wires} on each"
    # A ground or a spare has no polarity to name.
    return f"{told}, polarity in words" if any(label.conductor[-1:] in "+-" for label in one.labels) else told


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
