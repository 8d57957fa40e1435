"""Whether anything parts a string from its inverter: a leg that lands on the inverter itself passes no switch of the folder."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check
from reportgen.design.findings import Finding, Outcome


@check
def disconnects(facts: Facts) -> Iterator[Finding]:
    """Strings of each inverter whose legs come to it over no switch."""
    by_unit: dict[str, list[str]] = defaultdict(list)
    for circuit in facts.circuits:
        unit = circuit.string.input.partition("/")[0]
        if unit and _nothing_between(facts, circuit.id):
            by_unit[unit].append(circuit.string.id)
    for unit, strings in by_unit.items():
        names = list(dict.fromkeys(strings))
        told = ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
        yield Finding(
            "string-disconnect",
            unit,
            Outcome.ASK,
            f"no switch of the folder parts {told} from {unit}",
            cure=f"put a switch for direct current between, or state the one built into {unit} under switches",
            question=f"Which means parts {unit} from its strings, opens both legs under load, and can be locked open?",
        )


def _nothing_between(facts: Facts, circuit: str) -> bool:
    """Whether both legs are landed, and neither passes or names a switch."""
    graph = facts.graph
    if any(graph.project.switch_of(unit) for unit in graph.passing.met(circuit)):
        return False
    legs = [facts.arrived.get(leg, ()) for leg in graph.legs_of.get(circuit, ())]
    return bool(legs) and all(
        arrivals and not any(dict(one.passed) or one.aside for one in arrivals) for arrivals in legs
    )
