"""Where each ground goes: followed over stated joints to an inverter, or to the place where nobody says what comes next.

A ground that ends in a box protects nothing. It counts as one that serves its stretches and arrays only where it is
followed, joint by joint, to a ground terminal of an inverter.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from reportgen.design.graph import Graph
from reportgen.design.joined import GROUND_NAMES
from reportgen.design.missing import Missing
from reportgen.engineering.terminals import connected_sets
from reportgen.project.layout import Circuit


@dataclass(frozen=True, slots=True)
class GroundEnd:
    """Where a ground ends up.

    Attributes
    ----------
    told : str
        Its way on from joint to joint in words, as far as it is stated.
    missing : Missing or None
        What is to be stated so that it can be followed to an inverter; None where it can.
    electrode : str
        Electrode system that it is said to end at and at nothing else; whether that is enough is a question.
    by_raceway : bool
        That it comes to the inverter is told by the end of a raceway alone.
    joints : tuple of (str, str)
        Other grounds that it is joined with, each with the box, device or array in which it is.
    reaches : frozenset of str
        Every inverter that it comes to, over stated joints and over the ground terminals of other inverters.
    """

    circuit: str
    told: str
    missing: Missing | None = None
    electrode: str = ""
    joints: tuple[tuple[str, str], ...] = ()
    by_raceway: bool = False
    reaches: frozenset[str] = frozenset()

    @property
    def serves(self) -> bool:
        """Whether it is followed to an inverter."""
        return self.missing is None and not self.electrode


def ground_ends(graph: Graph) -> Mapping[str, GroundEnd]:
    """Where every ground that is not removed ends up, in the order of the folder."""
    circuits = {
        str(key): circuit
        for key, circuit in graph.project.circuits.items()
        if circuit.kind == "ground" and circuit.status != "removed"
    }
    follower = _Follower(graph, circuits)
    return {key: follower.end(key) for key in circuits}


class _Follower:
    """Follows one ground after the other; a class only because they share the same joints."""

    def __init__(self, graph: Graph, circuits: Mapping[str, Circuit]) -> None:
        self.graph, self.circuits = graph, circuits
        self.places = {key: tuple(_places(graph, key)) for key in circuits}
        self.owner = {wire.id: wire.circuit for wire in graph.conductors if wire.circuit in circuits}
        self.landed_at: dict[str, list[str]] = defaultdict(list)
        for key, unit in self._landed_inverters():
            self.landed_at[key].append(unit)
        self.inverters = {key: frozenset(self._inverters(key)) for key in circuits}
        self.wrong: dict[str, Missing] = {}
        self.joints: dict[str, dict[str, str]] = defaultdict(dict)
        for one, other, place in (*self._landed_joints(), *self._stated_joints()):
            self.joints[one].setdefault(other, place)
            self.joints[other].setdefault(one, place)

    def end(self, key: str) -> GroundEnd:
        """Nearest way from a ground to an inverter."""
        before: dict[str, str] = {key: ""}
        queue = deque([key])
        last = key
        electrode = ""
        gap: tuple[str, Missing] | None = None
        while queue:
            last = queue.popleft()
            if gaps := self.graph.gaps.get(last):
                # Through a gap nothing is followed: the wire may well be cut there.
                gap = gap or (last, gaps[0].missing)
                continue
            if unit := self._inverter(last):
                stated = last in self.landed_at or self.circuits[last].bonded_to == unit
                made = self._made(before, last, None, f"{last} ends at {unit}")
                return replace(made, by_raceway=not stated, reaches=self._reached(key))
            electrode = electrode or str(self.circuits[last].electrode_system or "")
            for other in self.joints[last]:
                if other not in before:
                    before[other] = last
                    queue.append(other)
        if electrode:
            return self._made(before, key, None, f"{key} ends at {electrode}", electrode)
        if gap is not None:
            return self._made(before, *gap)
        absent = self.wrong.get(last) or Missing(
            f"where {last} goes from {self._open_end(last)}: `bonded_to` of circuit {last}",
            self.circuits[last].span,
        )
        return self._made(before, last, absent)

    def _made(
        self,
        before: Mapping[str, str],
        last: str,
        missing: Missing | None,
        told: str = "",
        electrode: str = "",
    ) -> GroundEnd:
        way = [last]
        while before[way[-1]]:
            way.append(before[way[-1]])
        way.reverse()
        steps = [f"{one} is joined with {other} in {self.joints[one][other]}" for one, other in pairwise(way)]
        return GroundEnd(
            way[0],
            ", ".join([*steps, *([told] if told else [])]),
            missing,
            electrode,
            tuple(self.joints[way[0]].items()),
        )

    def _reached(self, key: str) -> frozenset[str]:
        """Every inverter that a ground comes to; the ground terminals of an inverter join the grounds that end there."""
        seen, queue = {key}, deque([key])
        found: set[str] = set()
        while queue:
            last = queue.popleft()
            if self.graph.gaps.get(last):
                continue
            ends = self.inverters[last]
            found |= ends
            beside = {other for other in self.circuits if ends & self.inverters[other]}
            for other in (*self.joints[last], *sorted(beside)):
                if other not in seen:
                    seen.add(other)
                    queue.append(other)
        return frozenset(found)

    def _inverter(self, key: str) -> str:
        """Inverter on whose ground terminal a ground is landed, at which its raceway ends, or that is stated."""
        return next(self._inverters(key), "")

    def _inverters(self, key: str) -> Iterator[str]:
        yield from self.landed_at.get(key, ())
        through = self.graph.through(self.circuits[key])
        ends = [str(self.circuits[key].bonded_to or "")]
        if through:
            ends += [self.graph.enclosure_after(through[-1]), self.graph.enclosure_before(through[0])]
        yield from (end for end in ends if self._stands(end))

    def _landed_inverters(self) -> Iterator[tuple[str, str]]:
        for unit, wires in self.graph.project.landing.items():
            found = self.graph.project.inverter_of(str(unit))
            if found is None or not self._stands(str(unit)):
                continue
            inputs = {f"{letter}{sign}" for letter in found[1].inputs for sign in "+-"}
            for terminal, wire in wires.items():
                if str(wire) in self.owner and str(terminal) not in inputs:
                    yield self.owner[str(wire)], str(unit)

    def _stands(self, unit: str) -> bool:
        """Whether a unit is an inverter that is not removed."""
        return self.graph.project.inverter_of(unit) is not None and unit not in self.graph.removed

    def _open_end(self, key: str) -> str:
        through = self.graph.through(self.circuits[key])
        return (self.graph.enclosure_after(through[-1]) if through else "") or "the end of its path"

    def _landed_joints(self) -> Iterator[tuple[str, str, str]]:
        """Grounds on one terminal or bar, over links and wires from device to device; a pole may stand open."""
        graph = self.graph
        on: dict[str, str] = {}
        pairs: list[tuple[str, str]] = []
        for unit in dict.fromkeys(map(str, (*graph.project.landing, *graph.project.jumpers))):
            if unit in graph.removed:
                continue
            landed = graph.landed(unit)
            on |= {f"{unit}/{name}": self.owner[end] for name, end in landed.items() if end in self.owner}
            pairs += [(f"{unit}/{one}", f"{unit}/{other}") for one, other in graph.links(unit)]
            pairs += [(f"{unit}/{name}", end) for name, end in landed.items() if graph.onward(end)]
            pairs += pairwise(f"{unit}/{name}" for name in _bar(graph, unit, landed))
        alone = {node: frozenset({node}) for node in on}
        whole = alone | {node: nodes for nodes in connected_sets(pairs) for node in nodes}
        for nodes in dict.fromkeys(whole[node] for node in on):
            here = sorted(nodes & on.keys())
            for node in here[1:]:
                if on[node] != on[here[0]]:
                    yield on[here[0]], on[node], node.partition("/")[0]

    def _stated_joints(self) -> Iterator[tuple[str, str, str]]:
        for key, circuit in self.circuits.items():
            other = str(circuit.bonded_to or "")
            if not other or other not in self.graph.project.circuits:
                continue
            place = circuit.where("bonded_to")
            if other == key or other not in self.circuits:
                self.wrong[key] = Missing(f"a ground in use that {key} is bonded to: {other} is none", place)
                continue
            shared = [unit for unit in self.places[key] if unit in self.places[other]]
            if not shared:
                what = f"box or array in which {key} is joined with {other}: their ways have none in common"
                self.wrong[key] = Missing(what, place)
                continue
            unable = [unit for unit in shared if self._no_joint(unit)]
            if len(unable) == len(shared):
                what = f"what joins {key} with {other} in {shared[-1]}, which has no splices and no terminals: `ground_terminals` of its type"
                self.wrong[key] = Missing(what, place)
                continue
            yield key, other, next(unit for unit in reversed(shared) if unit not in unable)

    def _no_joint(self, unit: str) -> bool:
        """Whether a box is said to hold no joint."""
        box = self.graph.project.box_of(unit)
        return box is not None and (
            unit in self.graph.removed
            or (box[1].splices is False and not box[1].ground_terminals and not box[1].terminal_ids)
        )


def _bar(graph: Graph, unit: str, landed: Mapping[str, str]) -> list[str]:
    """Terminals of a unit that are tied to its enclosure, and so are one."""
    switch, box = graph.project.switch_of(unit), graph.project.box_of(unit)
    kind = switch[1] if switch else box[1] if box else None
    tied = [str(name) for name in kind.ground_terminals] if kind is not None else []
    return list(dict.fromkeys((*tied, *(name for name in landed if name.upper() in GROUND_NAMES))))


def _places(graph: Graph, key: str) -> Iterator[str]:
    """Arrays, boxes and devices that a circuit begins at, passes or ends at, in order."""
    yield from dict.fromkeys(
        filter(None, (*graph.passing.along(key), *map(str, graph.project.circuits[key].enclosures)))
    )
