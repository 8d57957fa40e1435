"""Verdicts held against the tolerance of measured lengths: what flips inside it is thin, and says so.

A raceway states how far its lengths may be off (`length_tolerance`); tails and what lies in boxes are taken as stated.
A drop grows with the length; a raceway is a nipple up to a length. Nothing else that is judged here moves with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from reportgen.design.checks.base import Facts
from reportgen.design.findings import Finding, Outcome, judge
from reportgen.design.graph import Graph, SegmentId
from reportgen.design.results import WiredDesign
from reportgen.design.wiring import is_nipple
from reportgen.rulebook.book import settled
from reportgen.rulebook.rulebook import Rulebook, quantity_of
from reportgen.working.quantity import Quantity, work
from reportgen.working.text import fixed

_PASSES = frozenset({Outcome.MEETS, Outcome.THIN})


def within_tolerance(findings: Iterable[Finding], facts: Facts) -> list[Finding]:
    """Findings on drop, fill and ampacity with what the tolerance of lengths does to them."""
    wired = {circuit.id: circuit for circuit in facts.wired}
    doubtful = {
        str(key): key for key in facts.graph.segments if _may_be_longer(facts.graph, facts.rulebook, key)
    }
    judged = []
    for finding in findings:
        if finding.code == "voltage-drop" and finding.subject in wired:
            judged.append(_drop(finding, facts.graph, wired[finding.subject]))
        elif finding.code == "raceway-fill" and finding.subject in doubtful:
            judged.append(_nipple(finding, facts, doubtful[finding.subject]))
        elif finding.code == "ampacity-use" and doubtful and finding.subject in wired:
            judged.append(_factor(finding, facts, wired[finding.subject], doubtful))
        else:
            judged.append(finding)
    return judged


def length_error(graph: Graph, circuit: WiredDesign) -> tuple[float, tuple[str, ...]]:
    """How far the length of a circuit may be off, and its raceways that state no tolerance [m]."""
    error, silent = 0.0, []
    for raceway_id, _, segment in graph.project.hops_of(circuit.circuit):
        tolerance = graph.project.raceways[raceway_id].length_tolerance
        if tolerance is None:
            silent.append(raceway_id)
        else:
            error += segment.length.value * tolerance.value / 100
    return error, tuple(dict.fromkeys(silent))


def _drop(finding: Finding, graph: Graph, circuit: WiredDesign) -> Finding:
    value, limit, length = finding.value, finding.limit, circuit.length
    if value is None or limit is None or not isinstance(length, Quantity) or length.value <= 0:
        return finding
    error, silent = length_error(graph, circuit)
    notes = (
        [f"no length_tolerance is stated for {', '.join(silent)}: their lengths are taken as written"]
        if silent
        else []
    )
    if error == 0:
        return replace(finding, notes=(*finding.notes, *notes)) if notes else finding
    share = error / length.value
    low, high = value.value * (1 - share), value.value * (1 + share)
    span = f"{fixed(low, 2)} to {fixed(high, 2)} %"
    told = f"with a length of {fixed(length.value, 1)} m ± {fixed(error, 1)} m it lies within {span}"
    outcome = finding.outcome
    if outcome is Outcome.MEETS and high > limit.value:
        outcome = Outcome.THIN
        told += ", and the limit inside that: the verdict flips within the tolerance"
    elif outcome is not Outcome.MEETS and low <= limit.value:
        told += ", and the limit inside that: at the short end it would be kept"
    else:
        told += ": the verdict holds over the whole tolerance"
    return replace(finding, outcome=outcome, notes=(*finding.notes, told, *notes))


def _may_be_longer(graph: Graph, rulebook: Rulebook, key: SegmentId) -> bool:
    """Whether a stretch passes for a nipple that the tolerance of its length may make too long for one."""
    tolerance = graph.segments[key][0].length_tolerance
    if tolerance is None or not is_nipple(graph, rulebook, key):
        return False
    most = rulebook.number("nipple-length")
    longest = graph.between_enclosures(key).to(most.unit).value * (1 + tolerance.value / 100)
    return settled(longest) > settled(most.number)


def _nipple(finding: Finding, facts: Facts, key: SegmentId) -> Finding:
    """Fill of a doubtful nipple: thin where the share of a longer raceway is passed."""
    wires = len(facts.graph.in_segment[key])
    if finding.outcome not in _PASSES or finding.value is None or not wires:
        return finding
    longer = 100 * facts.rulebook.fill_limit(wires).number
    note = f"{key} is a nipple by its length as stated, and may be too long for one within its tolerance; the limit is {fixed(longer, 0, at_most=True)} % then"
    if finding.value.value <= longer:
        return replace(finding, notes=(*finding.notes, note))
    told = (
        f"{finding.headline}; {key} may be too long for a nipple within its tolerance, and is too full then"
    )
    return replace(finding, outcome=Outcome.THIN, headline=told, notes=(*finding.notes, note))


def _factor(
    finding: Finding, facts: Facts, circuit: WiredDesign, doubtful: Mapping[str, SegmentId]
) -> Finding:
    """Ampacity of a circuit through a doubtful nipple with many conductors: thin where the factor that may apply matters."""
    lowered: dict[SegmentId, Quantity] = {}
    for item in circuit.stretches:
        carrying = sum(wire.carries for wire in facts.graph.in_segment[item.segment])
        factor = quantity_of(facts.rulebook.count_factor(max(1, carrying)), "count factor")
        if str(item.segment) in doubtful and factor.value < 1 and isinstance(item.ampacity, Quantity):
            lowered[item.segment] = work(
                "ampacity if it is too long", "A", "I_z * F_n", I_z=item.ampacity, F_n=factor
            )
    if not lowered or finding.outcome is not Outcome.MEETS or finding.value is None:
        return finding
    worst = min(lowered, key=lambda key: lowered[key].value)
    note = (
        f"{', '.join(map(str, lowered))} may be too long for a nipple within its tolerance; the factor for the number of conductors "
        f"applies then, and the ampacity in {worst} is {lowered[worst].show(2, at_most=True)}"
    )
    thin = facts.policies.share("current_margin")
    if judge(finding.value, lowered[worst], thin).outcome is Outcome.MEETS:
        holds = f"{note}: the verdict holds over the whole tolerance"
        return replace(finding, notes=(*finding.notes, holds))
    told = f"{finding.headline}; {worst} may be too long for a nipple within its tolerance, and carries {lowered[worst].show(2, at_most=True)} then"
    return replace(finding, outcome=Outcome.THIN, headline=told, notes=(*finding.notes, note))
