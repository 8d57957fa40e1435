"""How a check is written: a registered function from facts to findings, and the one comparison behind them.

A newcomer adds a check by writing such a function, decorating it with :func:`check`, and giving its code an
entry in the catalogue. Clauses are attached afterwards from the edition in force, so no check names one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from reportgen.design.array_wiring import ArrayWiringDesign
from reportgen.design.beside import Beside
from reportgen.design.bonding import BondingDesign
from reportgen.design.boxes import BoxDesign
from reportgen.design.cutting import CutGroup
from reportgen.design.findings import Finding, Outcome, judge
from reportgen.design.graph import Gap, Graph, SegmentId
from reportgen.design.labels import LabelsDesign
from reportgen.design.landing import Arrival, by_conductor
from reportgen.design.materials import MaterialsDesign
from reportgen.design.missing import Known, Missing, missing_of
from reportgen.design.movement import MovementDesign
from reportgen.design.path_ends import passed_ends
from reportgen.design.pieces import WirePieces
from reportgen.design.policies import Policies
from reportgen.design.predictions import PredictionsDesign
from reportgen.design.protection import OvercurrentDesign
from reportgen.design.pull_boxes import Need
from reportgen.design.pull_design import PullDesign
from reportgen.design.readings import ReadingsDesign
from reportgen.design.results import (
    CircuitDesign,
    GroundDesign,
    InputDesign,
    OutputDesign,
    PullSection,
    StretchDesign,
    StringDesign,
    WiredDesign,
)
from reportgen.design.reuse import Reused
from reportgen.design.shutdown import GuardingDesign, ShutdownDesign
from reportgen.design.site_plan import CourseDesign
from reportgen.design.surroundings import Surroundings
from reportgen.design.terminal_sizes import DeviceTerminals
from reportgen.design.terminations import Termination
from reportgen.diagnostics.model import Span
from reportgen.project.model import Project
from reportgen.rulebook.rulebook import Rulebook
from reportgen.working.quantity import Quantity, spans_of
from reportgen.working.text import apart
from reportgen.working.unit_system import UnitSystem, beside_them, first_unit, places_in


@dataclass(frozen=True)
class Facts:
    """All results that checks may read; none of them changes anything."""

    project: Project
    graph: Graph
    rulebook: Rulebook
    policies: Policies
    strings: tuple[StringDesign, ...]
    inputs: tuple[InputDesign, ...]
    circuits: tuple[CircuitDesign, ...]
    stretches: tuple[StretchDesign, ...]
    sections: tuple[PullSection, ...]
    grounds: tuple[GroundDesign, ...]
    arrivals: tuple[Arrival, ...]
    readings: ReadingsDesign
    predictions: PredictionsDesign
    surroundings: Surroundings
    movement: tuple[MovementDesign, ...]
    outputs: tuple[OutputDesign, ...]

    @property
    def units(self) -> UnitSystem:
        """Units that the project prints first."""
        return self.graph.units

    @property
    def wired(self) -> tuple[WiredDesign, ...]:
        """String circuits and output circuits."""
        return (*self.circuits, *self.outputs)

    def pathless(
        self, *segments: SegmentId, circuit: str = "", carrying: bool = False
    ) -> tuple[Missing, ...]:
        """What is not told of the ways of circuits that may share a raceway or box.

        Parameters
        ----------
        segments : SegmentId
            Stretches in question; without any, every raceway and box is.
        circuit : str
            Circuit that is judged, whose own gaps count wherever they lie.
        carrying : bool
            Leaves out grounds, which heat nothing.
        """
        anywhere, at = self._gaps
        if not segments:
            found = [gap for gaps in self.graph.gaps.values() for gap in gaps]
        else:
            found = [*anywhere, *self.graph.gaps.get(circuit, ())]
            found += [gap for segment in segments for gap in at.get(segment, ())]
        return tuple(dict.fromkeys(gap.missing for gap in found if gap.carries or not carrying))

    @cached_property
    def arrived(self) -> Mapping[str, tuple[Arrival, ...]]:
        """Arrivals of each leg: several where it is landed on several devices."""
        return by_conductor(self.arrivals)

    @cached_property
    def joined_on_the_way(self) -> Mapping[str, tuple[str, str]]:
        """Circuits whose wires go on behind a box where other strings join theirs: that box, and all strings."""
        found: dict[str, tuple[str, str]] = {}
        for circuit in self.circuits:
            item = self.overcurrent.by_string.get(circuit.string.id)
            hops = self.graph.through(circuit.circuit)
            if item is None or not item.boxes or not hops:
                continue
            amid = {after for _, after in passed_ends(self.graph, hops)[:-1] if after}
            unit = next((unit for unit in item.boxes if unit in amid), None)
            if unit is not None:
                found[circuit.id] = unit, " and ".join(sorted((circuit.string.id, *item.beside)))
        return found

    @cached_property
    def beside(self) -> Beside:
        """What lies together in raceways and boxes."""
        return Beside(self.graph, {string.id: string for string in self.strings})

    @cached_property
    def _gaps(self) -> tuple[list[Gap], Mapping[SegmentId, list[Gap]]]:
        """Gaps that may lie anywhere, and the others by the stretches that they may lie in."""
        anywhere: list[Gap] = []
        at: dict[SegmentId, list[Gap]] = {}
        for gap in (gap for gaps in self.graph.gaps.values() for gap in gaps):
            if gap.may_pass is None:
                anywhere.append(gap)
            for segment in gap.may_pass or ():
                at.setdefault(segment, []).append(gap)
        return anywhere, at

    boxes: tuple[BoxDesign, ...]
    pull_needs: tuple[Need, ...]
    terminals: tuple[DeviceTerminals, ...]
    array_wiring: tuple[ArrayWiringDesign, ...]
    reuse: tuple[Reused, ...]
    pulls: tuple[PullDesign, ...]
    overcurrent: OvercurrentDesign
    bonding: BondingDesign
    cuts: tuple[CutGroup, ...]
    cuts_planned: bool
    labels: LabelsDesign
    terminations: tuple[Termination, ...]
    materials: MaterialsDesign
    shutdown: tuple[ShutdownDesign, ...] = ()
    guarding: tuple[GuardingDesign, ...] = ()
    courses: tuple[CourseDesign, ...] = ()
    pieces: tuple[WirePieces, ...] = ()


TOO_MUCH = ", too much"

Check = Callable[[Facts], Iterator[Finding]]
CHECKS: list[Check] = []


def check(function: Check) -> Check:
    """Register a check; the order of registration is the order of the findings."""
    CHECKS.append(function)
    return function


@dataclass(frozen=True, slots=True)
class Words:
    """How a comparison is told: what the value is, what the limit is, and the decimal places of both."""

    value: str
    limit: str
    places: int = 1


def compare(
    code: str,
    subject: str,
    value: Known,
    limit: Known,
    words: Words,
    thin_below: float,
    *,
    at_most: bool = True,
    part: str = "",
    break_even: str = "",
    cure: str = "",
    cure_span: Span | None = None,
    notes: Sequence[str] = (),
) -> Finding:
    """Finding of a value against its limit: unknown where either is missing, else as judged."""
    if absent := missing_of(value, limit):
        return unknown(code, subject, f"{words.value} is not judged against {words.limit}", absent, part=part)
    assert isinstance(value, Quantity) and isinstance(limit, Quantity)
    if limit.value <= 0:
        # A rating of zero on a data sheet is a slip of the pen: it limits nothing and proves nothing.
        absurd = Missing(f"a value above zero for {words.limit}", next(iter(spans_of(limit)), None))
        return unknown(
            code, subject, f"{words.value} is not judged against {words.limit}", [absurd], part=part
        )
    verdict = judge(value, limit, thin_below, at_most=at_most)
    first = first_unit(value.unit)
    places = words.places if first == value.unit else places_in(first, words.places)
    shown, bound = apart(value.to(first).value, limit.to(first).value, places, at_most)
    told = value.to(first).unit_printed
    unit = f" {told}" if told else ""
    relation = "" if verdict.outcome is not Outcome.FAILS else (TOO_MUCH if at_most else ", too little")
    beside, besides = beside_them(value.to(first), limit.to(first), len(shown.partition(".")[2]), at_most)
    headline = f"{words.value} {shown}{unit}{beside}, {words.limit} {bound}{unit}{besides}{relation}"
    needed = verdict.outcome is not Outcome.MEETS
    return Finding(
        code,
        subject,
        verdict.outcome,
        headline,
        part,
        value,
        limit,
        at_most,
        verdict.margin,
        break_even,
        cure if needed else "",
        cure_span,
        notes=tuple(notes),
    )


def no_worse_than_thin(
    made: Finding, meaning: str, cure: str, cure_span: Span | None, break_even: str = ""
) -> Finding:
    """Soften a failure to thin where passing the limit is no hazard; ``meaning`` says what it is instead."""
    if made.outcome is not Outcome.FAILS:
        return made
    told = f"{made.headline.removesuffix(TOO_MUCH)}: {meaning}"
    return replace(
        made, outcome=Outcome.THIN, headline=told, cure=cure, cure_span=cure_span, break_even=break_even
    )


def by_kind(rule: str, kinds: Iterable[str]) -> tuple[str, ...]:
    """Rules of kinds of raceway, by the article of each: ``bends-EMT``."""
    return tuple(f"{rule}-{kind}" for kind in dict.fromkeys(kinds))


def if_all_placed(made: Finding, nowhere: Sequence[Missing]) -> Finding:
    """Finding on what shares a raceway: no pass while circuits have no path; a failure stays, for more only worsens it."""
    if not nowhere or made.outcome not in (Outcome.MEETS, Outcome.THIN):
        return made
    headline = f"{made.headline}: not judged while not all that shares the raceway is known"
    return unknown(made.code, made.subject, headline, nowhere, part=made.part)


def if_alone(facts: Facts, made: Finding, circuit: str) -> Finding:
    """Finding on the wire of one string: a question where others join it on the way, for no current but its own was judged."""
    joined = facts.joined_on_the_way.get(circuit)
    if joined is None or made.outcome not in (Outcome.MEETS, Outcome.THIN):
        return made
    unit, names = joined
    question = f"What do the wires of {circuit} carry behind {unit}, where {names} come together, and do they stand it?"
    headline = f"{made.headline}: for its own string alone, and from {unit} on it carries {names} together"
    return replace(made, outcome=Outcome.ASK, headline=headline, question=question, break_even="")


def unknown(code: str, subject: str, headline: str, absent: Sequence[Missing], *, part: str = "") -> Finding:
    """Finding that cannot be judged, with what has to be stated, each thing once."""
    named: dict[str, Missing] = {}
    for item in absent:
        named.setdefault(item.what, item)
    absent = tuple(named.values())
    spans = [item.span for item in absent if item.span is not None]
    return Finding(
        code,
        subject,
        Outcome.UNKNOWN,
        headline,
        part,
        missing=tuple(item.what for item in absent),
        cure=f"state {absent[0].what}",
        cure_span=spans[0] if spans else None,
        missing_at=tuple(item.span for item in absent),
    )
