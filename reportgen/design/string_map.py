"""Way of each leg of each string through its switches, terminal by terminal, to what it meets on the other side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from reportgen.design.graph import Conductor, Graph, Join

Step = Join | Literal["wire"]


@dataclass(frozen=True, slots=True)
class LegWay:
    """Way of one leg from where it lands.

    Attributes
    ----------
    terminals : tuple of str
        Terminals in the order passed, those of further devices with their unit; empty where no single way can be told.
    steps : tuple of {"pole", "link", "wire"}
        What joins each terminal to the next one.
    meets : str
        What is landed at the far end, empty where no single way can be told.
    wanted : str
        Input terminal that the leg is meant for, empty where its string has no input.
    wrong : bool
        It meets an inverter terminal other than the one it is meant for.
    unclear : str
        Why no single way can be told.
    beside : tuple of str
        Legs of other strings, meant for the same pole, that share the way from where they join it.
    """

    wire: str
    string: str
    leg: str
    unit: str
    terminals: tuple[str, ...]
    steps: tuple[Step, ...]
    meets: str
    wanted: str
    wrong: bool = False
    unclear: str = ""
    beside: tuple[str, ...] = ()


def ways(graph: Graph) -> tuple[LegWay, ...]:
    """Way of every leg of every string, in the order of the circuits; one that is not landed too."""
    wires = {wire.id: wire for wire in graph.conductors if wire.leg}
    return tuple(_way(graph, wire, graph.places_of.get(wire.id, ()), wires) for wire in wires.values())


def _way(
    graph: Graph, wire: Conductor, landed: Sequence[tuple[str, str]], wires: Mapping[str, Conductor]
) -> LegWay:
    string = str(graph.project.circuits[wire.circuit].string or "")
    wanted = f"{wire.end}{wire.leg}" if wire.end else ""

    def untold(unit: str, why: str) -> LegWay:
        return LegWay(wire.id, string, wire.leg, unit, (), (), "", wanted, unclear=why)

    def told(
        unit: str, terminals: tuple[str, ...], steps: tuple[Step, ...], meets: str, beside: Sequence[str] = ()
    ) -> LegWay:
        device, _, name = meets.partition("/")
        if any(name in link for link in graph.links(device)):
            return untold(unit, f"a link at {meets} joins it to more")
        at_input = graph.project.inverter_of(device) is not None
        wrong = bool(wanted) and at_input and meets != wanted
        return LegWay(
            wire.id, string, wire.leg, unit, terminals, steps, meets, wanted, wrong, beside=tuple(beside)
        )

    if not landed:
        return untold("", "landing not stated")
    if len(landed) > 1:
        return untold("", "landed at " + " and at ".join(f"{unit}/{terminal}" for unit, terminal in landed))
    ((unit, terminal),) = landed
    if graph.project.inverter_of(unit) is not None:
        return told(unit, (terminal,), (), f"{unit}/{terminal}")
    switch = graph.project.switch_of(unit)
    if switch is None:
        return untold(unit, f"lands on {unit}/{terminal}; what that leads to is not stated")
    terminals: list[str] = []
    steps: list[Step] = []
    first, start, came = unit, terminal, ""
    beside: dict[str, None] = {}
    while True:
        joining = _joining(graph, wire, unit, start)
        if any(
            (wires[leg].end, wires[leg].leg) != (wire.end, wire.leg)
            for legs in joining.values()
            for leg in legs
        ):
            joining = {}
        made = _to_the_way_out(graph, unit, start, joining) if joining else _within(graph, unit, start, came)
        beside |= dict.fromkeys(leg for legs in joining.values() for leg in legs)
        if isinstance(made, str):
            return untold(first, made)
        passed, how, meets = made
        if terminals:
            steps.append("wire")
        terminals += passed if unit == first else [f"{unit}/{name}" for name in passed]
        steps += how
        onward = graph.onward(meets)
        if onward is None:
            return told(first, tuple(terminals), tuple(steps), meets, sorted(beside))
        came = f"{unit}/{passed[-1]}"
        unit, start = onward
        if graph.project.switch_of(unit) is None:
            return untold(first, f"goes on to {meets}; what that leads to is not stated")
        if f"{unit}/{start}" in terminals or unit == first:
            return untold(first, f"the way closes on itself at {meets}")


def _joining(graph: Graph, wire: Conductor, unit: str, start: str) -> Mapping[str, frozenset[str]]:
    """Terminals joined to one of a switch where nothing but legs of strings comes in, with these legs."""
    found = {}
    for node in _joined(graph, unit, start):
        if node != start and graph.net.landed(unit).get(node, wire.id) != wire.id:
            legs, ends = graph.net.behind(unit, node)
            if legs and not ends:
                found[node] = legs - {wire.id}
    return found


def _joined(graph: Graph, unit: str, start: str) -> Mapping[str, tuple[str, Step]]:
    """Terminals of a switch joined to one of them, each with the terminal before it and what joins the two."""
    came: dict[str, tuple[str, Step]] = {start: ("", "link")}
    queue = [start]
    for node in queue:
        for other, kind in graph.net.joins(unit).get(node, ()):
            if other not in came:
                came[other] = (node, kind)
                queue.append(other)
    return came


def _to_the_way_out(
    graph: Graph, unit: str, start: str, joining: Mapping[str, frozenset[str]]
) -> tuple[list[str], list[Step], str] | str:
    """Terminals and steps through a switch where other strings join, or why there is no single way."""
    came, here = _joined(graph, unit, start), graph.net.landed(unit)
    outs = [node for node in came if node in here and node != start and node not in joining]
    joins = sum(len(graph.net.joins(unit).get(node, ())) for node in came) // 2
    if len(outs) != 1 or joins >= len(came):
        return f"the way parts or closes on itself at {unit}/{start}"
    switch = graph.project.switch_of(unit)
    assert switch is not None
    if tied := [node for node in came if node in map(str, switch[1].ground_terminals)]:
        return f"{unit}/{tied[0]} on its way is tied to ground"
    terminals, steps = [outs[0]], list[Step]()
    while terminals[0] != start:
        before, how = came[terminals[0]]
        terminals.insert(0, before)
        steps.insert(0, how)
    return terminals, steps, here[outs[0]]


def _within(graph: Graph, unit: str, start: str, came: str) -> tuple[list[str], list[Step], str] | str:
    """Terminals and steps through one switch and what is landed at the far end, or why there is no single way.

    ``came`` is the terminal of the device before, whose wire is landed where this one is entered.
    """
    switch = graph.project.switch_of(unit)
    assert switch is not None
    here = graph.landed(unit)
    if came and here.get(start) != came:
        return f"the wire from {came} is not landed on {unit}/{start}"
    joins = graph.joins(unit)
    terminals, steps = [start], list[Step]()
    while True:
        beside = joins.get(terminals[-1], [])
        onward = [join for join in beside if join[0] not in terminals]
        back = len(beside) - len(onward)
        if len(onward) > 1 or back > bool(steps):
            return f"the way parts or closes on itself at {unit}/{terminals[-1]}"
        if steps and terminals[-1] in here and onward:
            return f"{here[terminals[-1]]} joins on the way, at {unit}/{terminals[-1]}"
        if not onward:
            break
        terminals.append(onward[0][0])
        steps.append(onward[0][1])
    if not steps or terminals[-1] not in here:
        return f"nothing stated at the far end, {unit}/{terminals[-1]}"
    tied = [name for name in terminals if name in map(str, switch[1].ground_terminals)]
    if tied:
        return f"{unit}/{tied[0]} on its way is tied to ground"
    return terminals, steps, here[terminals[-1]]
