"""Path of each circuit: one run from enclosure to enclosure, no stretch twice, nothing exposed by an empty list."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.graph import Graph, SegmentId
from reportgen.design.missing import Missing
from reportgen.project.layout import Circuit

_CODE = "circuit-path"
_STRING = "circuit-string"


@check
def path(facts: Facts) -> Iterator[Finding]:
    """A path that is empty, doubles back or jumps is no path that lengths, fill and factors could be trusted with."""
    for key, circuit in facts.project.circuits.items():
        if circuit.status == "removed":
            continue
        made = _path(facts.graph, key, circuit)
        end = facts.bonding.ends.get(key)
        if made.outcome is Outcome.MEETS and end is not None and end.missing is not None:
            headline = f"{made.headline}, and then cannot be followed to an inverter"
            made = unknown(_CODE, key, headline, [end.missing])
        yield made


def _path(graph: Graph, key: str, circuit: Circuit) -> Finding:
    hops = graph.through(circuit)
    place = circuit.where("path")
    if not hops:
        what = f"path of circuit {key}: single conductors run exposed within an array only"
        return unknown(_CODE, key, f"circuit {key} passes no raceway", [Missing(what, circuit.span)])
    gone = next((str(hop) for hop in hops if _is_removed(graph, hop)), None)
    gone = gone or next((unit for unit in graph.passing.along(key) if unit in graph.removed), None)
    if gone is not None:
        cure = "give the circuit another path, or what it passes another status"
        return Finding(
            _CODE,
            key,
            Outcome.FAILS,
            f"circuit {key} passes {gone}, which is removed",
            cure=cure,
            cure_span=place,
        )
    twice = next((hop for place_, hop in enumerate(hops) if hop in hops[:place_]), None)
    if twice is not None:
        return Finding(
            _CODE,
            key,
            Outcome.FAILS,
            f"circuit {key} passes {twice} twice",
            cure="name each stretch once, in the order from the array to the inverter",
            cure_span=place,
        )
    for gap in graph.gaps.get(key, ()):
        return unknown(_CODE, key, f"path of {key} has a gap", [gap.missing])
    return Finding(_CODE, key, Outcome.MEETS, f"stretches of {key} join one to the next, {len(hops)} of them")


def _is_removed(graph: Graph, hop: SegmentId) -> bool:
    raceway, segment = graph.segments[hop]
    return raceway.status_of(segment) == "removed"


@check
def ends(facts: Facts) -> Iterator[Finding]:
    """A circuit of strings carries a string, and a string that ends at an input is carried by a circuit."""
    carried = {
        str(circuit.string) for circuit in facts.project.circuits.values() if circuit.string is not None
    }
    for key, circuit in facts.project.circuits.items():
        if (circuit.kind or "string") == "string" and circuit.string is None and circuit.status != "removed":
            missing = Missing(f"string of circuit {key}, or its kind where it carries none", circuit.span)
            headline = f"circuit {key} carries no string, and nothing about its wire is judged"
            yield unknown(_STRING, key, headline, [missing])
    for string in facts.strings:
        if string.id not in carried:
            missing = Missing(f"circuit of string {string.id}", facts.project.strings[string.id].span)
            headline = f"no circuit carries string {string.id}, and nothing about its wire is judged"
            yield unknown(_STRING, string.id, headline, [missing])
