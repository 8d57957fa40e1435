"""From a project to a design: results of every discipline, then the findings, then what was assumed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache, cached_property
from typing import TYPE_CHECKING, Any

from reportgen.design import checks as _registers_checks
from reportgen.design.array_wiring import design_array_wiring
from reportgen.design.bonding import design_bonding
from reportgen.design.boxes import design_boxes
from reportgen.design.checks.base import CHECKS, Facts
from reportgen.design.checks.scope import NOT_COVERED
from reportgen.design.circuits import design_circuits
from reportgen.design.commissioning import CommissioningDesign, SunHours, design_commissioning
from reportgen.design.comparisons import design_readings
from reportgen.design.cutting import design_cuts, planned
from reportgen.design.elsewhere import asked
from reportgen.design.findings import Finding, Outcome
from reportgen.design.graph import Graph
from reportgen.design.grounding import design_grounds
from reportgen.design.isolation import IsolationDesign, design_isolation
from reportgen.design.labels import design_labels
from reportgen.design.landing import arrivals, crossing
from reportgen.design.local import LocalDesign, local_finding, localise, resting_on, touched
from reportgen.design.materials import design_materials
from reportgen.design.movement import design_movement
from reportgen.design.outputs import design_outputs
from reportgen.design.overcurrent import design_overcurrent
from reportgen.design.pieces import design_pieces
from reportgen.design.policies import policies_of
from reportgen.design.predictions import design_predictions
from reportgen.design.pull_boxes import design_pull_boxes
from reportgen.design.pulling import design_pulls
from reportgen.design.raceways import design_stretches, pull_sections
from reportgen.design.reuse import design_reuse
from reportgen.design.sharing import SharingDesign, design_sharing
from reportgen.design.shutdown import design_guarding, design_shutdown
from reportgen.design.site_plan import design_courses
from reportgen.design.stringing import StringingDesign, design_stringing, with_trials
from reportgen.design.stringing_years import array_years
from reportgen.design.strings import design_inputs, design_strings
from reportgen.design.surroundings import design_surroundings
from reportgen.design.terminal_sizes import design_terminals
from reportgen.design.terminations import design_terminations
from reportgen.design.tolerance import within_tolerance
from reportgen.design.unstated import unstated
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.project.model import Project
from reportgen.rulebook.rulebook import Rulebook
from reportgen.working.collector import uncollected
from reportgen.working.quantity import Assumed, Cell, Quantity, walk
from reportgen.working.unit_system import written_in

if TYPE_CHECKING:
    # Only for the annotation: the module loads numpy, which a check does without.
    from reportgen.design.energy import EnergyDesign
    from reportgen.design.row_orders import RowOrdersDesign
    from reportgen.engineering.energy.inputs import ArrayCache

__all__ = ["Design", "assemble"]
assert _registers_checks


@dataclass(frozen=True)
class Design:
    """The whole design: project, rulebook, results and findings; what every chapter is a view of.

    Attributes
    ----------
    findings : tuple of Finding
        Worst first, then by code and subject.
    energy : EnergyDesign or None
        None where this run left the year out.
    local : tuple of LocalDesign
        Rules of the authority at hand, and what they changed.
    sun : SunHours or None
        Hours to measure in; None where this run left them out.
    rows : RowOrdersDesign or None
        Arrays strung along rows or columns; None where no array states rows that lose light, or this run left it out.
    cache : ArrayCache or None
        Where what a search found is kept from one run to the next.
    """

    facts: Facts
    findings: tuple[Finding, ...]
    energy: EnergyDesign | None
    digest: str
    local: tuple[LocalDesign, ...] = ()
    sun: SunHours | None = None
    rows: RowOrdersDesign | None = None
    cache: ArrayCache | None = None

    @property
    def project(self) -> Project:
        """The project read."""
        return self.facts.project

    @property
    def rulebook(self) -> Rulebook:
        """The edition in force."""
        return self.facts.rulebook

    @cached_property
    def commissioning(self) -> CommissioningDesign:
        """The commissioning sheet; worked out when a page wants it, because no finding rests on it."""
        return design_commissioning(self.project, self.facts.strings)

    @cached_property
    def isolation(self) -> IsolationDesign:
        """Voltages to touch and what stays live; worked out when a page wants it, because no finding rests on it."""
        return design_isolation(self.facts.graph, {string.id: string for string in self.facts.strings})

    @cached_property
    def sharing(self) -> tuple[SharingDesign, ...]:
        """Inputs that unlike strings share; worked out when a page wants it, because it loads the solar models."""
        return design_sharing(self.facts.inputs, {string.id: string for string in self.facts.strings})

    @cached_property
    def stringing(self) -> StringingDesign:
        """Ways to string the site; searched when a page wants them, because it loads a solver."""
        arrays = self.project.arrays.items()
        dimmed = frozenset(str(key) for key, array in arrays if array.lower_rows is not None)
        years = array_years(self.facts.strings, self.energy, self.rows, dimmed)
        tried = with_trials(self.project)
        if tried is None:
            return design_stringing(self.facts, self.findings, years, self.cache)
        trial = assemble(tried, self.rulebook, self.digest)
        return design_stringing(trial.facts, trial.findings, years, self.cache)

    def of(self, outcome: Outcome) -> tuple[Finding, ...]:
        """Findings with one outcome."""
        return tuple(finding for finding in self.findings if finding.outcome is outcome)

    @cached_property
    def quantities(self) -> tuple[Quantity, ...]:
        """Every quantity that a result or finding rests on, each once."""
        return tuple(walk(*_quantities_in((self.facts, self.findings, self.commissioning, self.isolation))))

    @cached_property
    def assumptions(self) -> tuple[tuple[Assumed, Quantity | None], ...]:
        """What stands in for something not stated, with its value, by key; energy's own last."""
        found = {
            item.origin.key: (item.origin, item)
            for item in self.quantities
            if isinstance(item.origin, Assumed)
        }
        words = {assumed.key: (assumed, None) for assumed in unstated(self.facts.graph)}
        every: dict[str, tuple[Assumed, Quantity | None]] = {**words, **found}
        listed = [every[key] for key in sorted(every)]
        if self.energy is not None:
            listed += [(assumed, None) for assumed in self.energy.assumptions]
            # A check prints no ways, and shall not load the solver for them.
            listed += [(assumed, None) for assumed in self.stringing.assumptions]
        if self.sun is not None:
            listed += [(assumed, None) for assumed in self.sun.assumptions]
        if self.rows is not None:
            listed += [(assumed, None) for assumed in self.rows.assumptions]
        return tuple(listed)

    @cached_property
    def cells(self) -> tuple[Cell, ...]:
        """Table cells that judged values rest on, in order of table and row; the size that a table asks of a ground is one."""
        cells = {item.origin for item in self.quantities if isinstance(item.origin, Cell)}
        cells |= {ground.cell for ground in self.facts.grounds if ground.cell is not None}
        # Two ratings of a list share row and column: their value keeps the order the same in every run.
        return tuple(sorted(cells, key=lambda cell: (cell.table, cell.row, cell.column, str(cell.value))))

    @cached_property
    def recalled(self) -> tuple[Cell, ...]:
        """Those of them that were recalled and not read."""
        return tuple(cell for cell in self.cells if cell.recalled)

    @property
    def not_covered(self) -> tuple[str, ...]:
        """What the tool does not cover."""
        return NOT_COVERED


def assemble(
    project: Project,
    rulebook: Rulebook,
    digest: str,
    energy: EnergyDesign | None = None,
    *,
    choose_spools: bool = False,
) -> Design:
    """Design of a project by an edition; ``energy`` is passed in, because it is slow and cached apart.

    ``choose_spools`` plans the cuts as well, which loads a solver.

    Raises
    ------
    InputRefused
        If a local rule cannot be read.
    """
    # Of what is made here nearly all lives on in the design: half the time, and no memory to speak of.
    with uncollected():
        return _assemble(project, rulebook, digest, energy, choose_spools=choose_spools)


def _assemble(
    project: Project, rulebook: Rulebook, digest: str, energy: EnergyDesign | None, *, choose_spools: bool
) -> Design:
    localised = localise(project, rulebook)
    project, rulebook = localised.project, localised.rulebook
    graph = Graph(project)
    policies = policies_of(project, localised.prescribed_cold)
    strings = design_strings(project, rulebook, policies)
    by_id = {string.id: string for string in strings}
    circuits = design_circuits(graph, rulebook, policies, by_id)
    boxes = design_boxes(graph, rulebook)
    stretches = design_stretches(graph, rulebook)
    sections = pull_sections(graph)
    array_wiring = design_array_wiring(project, rulebook, strings)
    overcurrent = design_overcurrent(graph, rulebook, by_id, circuits, array_wiring)
    landed = arrivals(graph)
    pieces = design_pieces(graph, landed)
    cuts = design_cuts(graph, pieces)
    pulls = design_pulls(graph, rulebook, policies, sections)
    labels = design_labels(graph, rulebook, by_id, circuits, landed, pieces)
    terminations = design_terminations(graph, rulebook, crossing(landed), pieces)
    facts = Facts(
        project,
        graph,
        rulebook,
        policies,
        strings,
        design_inputs(graph, by_id),
        circuits,
        stretches,
        sections,
        design_grounds(graph, rulebook, circuits, overcurrent),
        landed,
        design_readings(project, by_id),
        design_predictions(graph, by_id, landed),
        surroundings=design_surroundings(graph, rulebook, by_id),
        movement=design_movement(graph, rulebook),
        outputs=design_outputs(graph, rulebook, policies),
        boxes=boxes,
        pull_needs=design_pull_boxes(graph, rulebook, boxes),
        terminals=design_terminals(graph, crossing(landed)),
        array_wiring=array_wiring,
        reuse=design_reuse(graph, rulebook, policies, strings, circuits, stretches),
        pulls=pulls,
        overcurrent=overcurrent,
        bonding=design_bonding(graph, rulebook),
        cuts=planned(cuts, graph.units.length) if choose_spools else cuts,
        cuts_planned=choose_spools,
        labels=labels,
        terminations=terminations,
        materials=design_materials(graph, cuts, pulls, labels, terminations),
        shutdown=design_shutdown(graph, rulebook, strings),
        guarding=design_guarding(graph, rulebook, strings),
        courses=design_courses(graph),
        pieces=pieces,
    )
    with written_in(graph.units):
        found = within_tolerance((finding for check in CHECKS for finding in check(facts)), facts)
    if localised.rules:
        found = touched(found)
        in_use = resting_on(localised.rules, _quantities_in((facts, found)))
        found += [local_finding(rule, in_use=rule.id in in_use) for rule in localised.rules]
    if rulebook.wanted:
        with written_in(graph.units):
            found = asked(found, project, rulebook)
    else:
        found = [_with_clause(finding, rulebook) for finding in found]
    found.sort(key=lambda finding: (finding.outcome.rank, finding.code, finding.subject, finding.part))
    return Design(facts, tuple(found), energy, digest, localised.rules)


def _with_clause(finding: Finding, rulebook: Rulebook) -> Finding:
    """Attach the clause of the edition in force; a code without an entry in the catalogue is a defect."""
    entry = CATALOGUE[finding.code]
    if entry.rule is None:
        return finding
    clauses = [rulebook.clause(rule) for rule in finding.rules or (entry.rule,)]
    text = " and ".join(dict.fromkeys(clause.text for clause in clauses))
    return replace(finding, clause=text, clause_recalled=any(clause.recalled for clause in clauses))


def _quantities_in(thing: object) -> Iterator[Quantity]:
    """Quantities that stand in fields and tuples below a thing, each once, in the order of the fields."""
    seen: set[int] = set()
    stack: list[Any] = [thing]
    while stack:
        one = stack.pop()
        # Results share strings, circuits and segments: what was looked through is not looked through again.
        if id(one) in seen:
            continue
        seen.add(id(one))
        if isinstance(one, Quantity):
            yield one
        elif isinstance(one, tuple | list):
            stack.extend(reversed(one))
        else:
            stack.extend(getattr(one, name) for name in _parts_of(one.__class__))


@cache
def _parts_of(kind: type[Any]) -> tuple[str, ...]:
    """Names of the fields that are looked through, the last first."""
    if not is_dataclass(kind) or issubclass(kind, Rulebook | Graph):
        return ()
    return tuple(part.name for part in reversed(fields(kind)))
