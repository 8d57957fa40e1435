"""Landing: each leg arrives at its own pole of its own input."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, Words, check, compare, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing, known
from reportgen.diagnostics.model import Span
from reportgen.project.nodes import span_of
from reportgen.project.values import NOWHERE


@check
def legs_arrive(facts: Facts) -> Iterator[Finding]:
    """Each leg followed over closed poles and links reaches exactly the pole it is meant for."""
    arrivals = {arrival.conductor: arrival for arrival in facts.arrivals}
    for circuit in facts.circuits:
        for leg in ("+", "-"):
            name = f"{circuit.id}{leg}"
            arrival = arrivals.get(name)
            if arrival is None:
                missing = Missing(f"landing of {name}", circuit.circuit.span)
                yield unknown("landing", name, f"landing of {name} is not stated", [missing])
            elif arrival.reaches == (arrival.wanted,):
                over = f" over {arrival.poles} poles of {arrival.switch}" if arrival.switch else ""
                yield Finding("landing", name, Outcome.MEETS, f"{name} arrives at {arrival.wanted}{over}")
            else:
                reached = " and ".join(arrival.reaches) or "nothing"
                yield Finding(
                    "landing",
                    name,
                    Outcome.FAILS,
                    f"{name} arrives at {reached} instead of {arrival.wanted}",
                    cure="compare the terminal order of the switch with the landing section",
                    cure_span=_place(facts, arrival.switch),
                )


def _place(facts: Facts, unit: str) -> Span | None:
    key = next((key for key in facts.project.landing if key == unit), None)
    return span_of(key, NOWHERE) if key is not None else None


@check
def switch_voltage(facts: Facts) -> Iterator[Finding]:
    """Cold voltage against the rated voltage of the switch for the poles that each leg passes in series."""
    arrivals = {arrival.conductor: arrival for arrival in facts.arrivals}
    for circuit in facts.circuits:
        arrival = arrivals.get(f"{circuit.id}+")
        if arrival is None or not arrival.switch:
            continue
        found = facts.project.switch_of(arrival.switch)
        if found is None:
            continue
        key, switch = found
        rating = next(
            (item.voltage for item in switch.ratings if item.poles_in_series == arrival.poles), None
        )
        limit = known(
            rating, f"rating of switch type {key} with {arrival.poles} poles in series", switch.span
        )
        words = Words(
            f"cold voltage of string {circuit.string.id}",
            f"rating of {arrival.switch} with {arrival.poles} poles in series",
        )
        yield compare(
            "cold-voltage-switch",
            circuit.id,
            circuit.string.governing,
            limit,
            words,
            facts.policies.share("voltage_margin"),
            part=arrival.switch,
            cure="use more poles in series as the maker allows, or a switch with a higher rating",
            cure_span=switch.where("ratings"),
        )
