"""Rules of the authority at hand: what they set, where they enter, and what rests on them.

A rule that sets a number enters before anything is calculated: into the tables of the rulebook
(:mod:`reportgen.rulebook.local`), into the site's temperatures, or into the policies. What it touched is found
afterwards by the origin of the numbers, so that no calculation and no check knows of local rules. A value that asks
less than the edition is never a quiet pass: it is not used, or every finding that rests on it is thin.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from reportgen.design.findings import Finding, Outcome
from reportgen.design.results import MEAN_MINIMUM, RECORD_LOW
from reportgen.diagnostics.model import InputRefused, Sink, Span
from reportgen.project.layout import Site
from reportgen.project.model import Project
from reportgen.project.records import LocalRule
from reportgen.rulebook.local import (
    NOT_STATED,
    OF_THE_PROJECT,
    Change,
    LocalRuleError,
    Ordinance,
    Target,
    target_of,
    value_in,
    with_local,
)
from reportgen.rulebook.rulebook import Rulebook
from reportgen.working.quantity import Cell, Given, Local, Quantity, walk
from reportgen.working.text import significant

_UNITS = {"cold-temperature": "degC", "design-high": "degC", "ground-temperature": "degC", "drop-limit": "%"}


@dataclass(frozen=True, slots=True)
class LocalDesign:
    """One local rule: what it means and what it changed.

    Attributes
    ----------
    target : Target or None
        None for a rule that sets no number.
    changes : tuple of Change
        Cells that differ from the edition's.
    """

    id: str
    rule: LocalRule
    target: Target | None
    changes: tuple[Change, ...]

    @property
    def said(self) -> str:
        """The rule as a finding names it."""
        return f"local rule {self.id} by {self.rule.authority or 'an authority that is not named'}"


@dataclass(frozen=True, slots=True)
class Localised:
    """Project and rulebook with the local rules in them."""

    project: Project
    rulebook: Rulebook
    rules: tuple[LocalDesign, ...]
    prescribed_cold: Quantity | None


def localise(project: Project, rulebook: Rulebook) -> Localised:
    """Lay the local rules of a project over its rulebook, its site and its policies.

    Raises
    ------
    InputRefused
        With one diagnostic for each rule whose key or value cannot be read.
    """
    if not project.local:
        return Localised(project, rulebook, (), None)
    sink = Sink()
    rules: list[LocalDesign] = []
    cold: Quantity | None = None
    for key, rule in project.local.items():
        ordinance = _ordinance(key, rule)
        try:
            target = target_of(rulebook, ordinance.rule)
            _refuse_what_has_no_effect(rule, target)
            rulebook, changed = with_local(rulebook, [ordinance])
            changes = changed.get(key, ())
            if target is not None and target.table in OF_THE_PROJECT and ordinance.value is not None:
                project, found, changes = _into_project(project, target, ordinance)
                cold = found or cold
        except LocalRuleError as error:
            sink.error(
                "local-rule-unreadable",
                f"local rule `{key}`: {error.reason}",
                rule_place(rule, error.part),
                help=error.help,
            )
            continue
        rules.append(LocalDesign(key, rule, target, changes))
    if sink.has_errors:
        raise InputRefused(sink.sorted())
    return Localised(project, rulebook, tuple(rules), cold)


def _ordinance(key: str, rule: LocalRule) -> Ordinance:
    value = None if rule.value is None else Given(str(rule.value), rule.where("value"))
    return Ordinance(key, str(rule.rule), value, str(rule.authority or ""))


def _refuse_what_has_no_effect(rule: LocalRule, target: Target | None) -> None:
    if target is None and rule.value is not None:
        raise LocalRuleError(
            "value",
            f"rule `{rule.rule}` has no number that could be set",
            "remove `value`, and let `text` say it",
        )
    if target is not None and rule.value is not None and rule.outcome is not None:
        raise LocalRuleError(
            "outcome", "`outcome` is for rules that set no number", "remove `outcome` or `value`"
        )


def _into_project(
    project: Project, target: Target, rule: Ordinance
) -> tuple[Project, Quantity | None, tuple[Change, ...]]:
    """Project with a site's temperature or a policy set; the cold temperature comes back apart."""
    assert rule.value is not None
    unit = _UNITS[target.key]
    value = value_in(rule.value.text, unit)
    before = _own(project, target, value)
    loosens = before is not None and target.loosens(before.value, value)
    if before is not None and before.value == value:
        return project, None, ()
    shown = before.show() if before is not None else NOT_STATED
    used = not loosens
    number = significant(before.to(unit).value, 6) if before is not None else NOT_STATED
    change = Change(target.what, number, significant(value, 6), unit, loosens, used)
    if not used:
        return project, None, (change,)
    local = Local(rule.id, rule.authority, rule.value, shown, loosens)
    cell = Cell(target.what, "", "", repr(value), unit, rule.value.span.short, local=local)
    quantity = Quantity(value, unit, cell, target.what)
    if target.key == "cold-temperature":
        return project, quantity, (change,)
    if target.table == "site":
        return _with_site(project, project.site.model_copy(update={target.row: quantity})), None, (change,)
    return _with_drop_limit(project, quantity), None, (change,)


def _own(project: Project, target: Target, value: float) -> Quantity | None:
    """What the folder itself states for a rule that belongs to the project."""
    site, policies = project.site, project.project.policies
    if target.key == "cold-temperature":
        by_policy = {RECORD_LOW: site.record_low, MEAN_MINIMUM: site.mean_annual_minimum}
        return by_policy[str(policies.cold_temperature)]
    if target.table == "site":
        found: Quantity | None = getattr(site, target.row)
        return found
    own = [policies.drop_limit, *(circuit.drop_limit for circuit in project.circuits.values())]
    stated = [limit for limit in own if limit is not None]
    # A single limit above the authority's is enough for the rule to be the stricter one.
    above = [limit for limit in stated if limit.value > value]
    return above[0] if above else policies.drop_limit


def _with_site(project: Project, site: Site) -> Project:
    return project.model_copy(update={"site": site})


def _with_drop_limit(project: Project, limit: Quantity) -> Project:
    """Project in which no circuit has a drop limit above the authority's; a stricter one of its own stays."""
    info = project.project
    own = info.policies.drop_limit
    stricter = own if own is not None and own.value < limit.value else limit
    policies = info.policies.model_copy(update={"drop_limit": stricter})
    circuits = {
        key: circuit.model_copy(update={"drop_limit": None})
        if circuit.drop_limit is not None and circuit.drop_limit.value > limit.value
        else circuit
        for key, circuit in project.circuits.items()
    }
    return project.model_copy(
        update={"project": info.model_copy(update={"policies": policies}), "circuits": circuits}
    )


def touched(findings: Iterable[Finding]) -> list[Finding]:
    """Findings with the local rules they rest on named; a pass that rests on a looser value is thin."""
    return [_touched(finding) for finding in findings]


def _touched(finding: Finding) -> Finding:
    rules = dict.fromkeys(cell.local for cell in finding.cells if cell.local is not None)
    if not rules:
        return finding
    notes = tuple(
        f"{rule.said}: {rule.given.text} in place of {rule.edition_value}"
        + (", which asks less than the edition" if rule.loosens else "")
        for rule in rules
    )
    looser = [rule.said for rule in rules if rule.loosens]
    if not looser or finding.outcome is not Outcome.MEETS:
        return replace(finding, notes=(*finding.notes, *notes))
    # The room may be large: it is thin because of what it rests on, and that has to be said with it.
    told = f"{finding.headline}; thin because it rests on {' and '.join(looser)}, which asks less than the edition"
    return replace(finding, outcome=Outcome.THIN, headline=told, notes=(*finding.notes, *notes))


def resting_on(rules: Sequence[LocalDesign], roots: Iterable[Quantity]) -> frozenset[str]:
    """Local rules that a quantity of the design comes from; looks no further once all of them are found."""
    wanted = {rule.id for rule in rules if any(change.used for change in rule.changes)}
    found: set[str] = set()
    for root in roots:
        if found >= wanted:
            break
        for item in walk(root):
            if isinstance(item.origin, Cell) and item.origin.local is not None:
                found.add(item.origin.local.key)
    return frozenset(found)


def local_finding(rule: LocalDesign, *, in_use: bool) -> Finding:
    """How a local rule stands: in force, looser than the edition, or a question."""
    place = rule_place(rule.rule, "value" if rule.rule.value is not None else "rule")
    text = str(rule.rule.text).rstrip(".")

    def finding(outcome: Outcome, headline: str, question: str = "", cure: str = "") -> Finding:
        return Finding(
            "local-rule",
            rule.id,
            outcome,
            f"{rule.said}: {headline}",
            question=question,
            cure=cure,
            cure_span=place,
            notes=(f"it says: {text}",),
        )

    if rule.target is None or rule.rule.value is None:
        fails = rule.rule.outcome == "fails"
        question = "" if fails else f"How does this design meet the rule: {text}?"
        cure = "change the design, or remove the rule once it is met" if fails else ""
        return finding(
            Outcome.FAILS if fails else Outcome.ASK, f"{text}, which is not computed here", question, cure
        )
    what, value = rule.target.what, rule.rule.value
    kept = [change for change in rule.changes if not change.used]
    used = [change for change in rule.changes if change.used]
    if kept and not used:
        question = f"Does {rule.rule.authority or 'the authority'} allow {value} in place of {_before(kept)}?"
        headline = f"{value} for {what} asks less than {_before(kept)}, which stays in the calculation"
        return finding(Outcome.ASK, headline, question)
    if not used:
        return finding(Outcome.MEETS, f"{value} for {what} is what holds anyway")
    if not in_use:
        headline = f"{value} for {what} is in force, but no check of this project rests on it"
        return finding(Outcome.ASK, headline, f"Who checks the rule: {text}?")
    looser = any(change.loosens for change in used)
    told = f"{value} for {what} in place of {_before(used)}"
    if looser:
        return finding(
            Outcome.THIN,
            f"{told}, which asks less than the edition",
            cure="have the authority confirm it in writing",
        )
    return finding(Outcome.MEETS, f"{told} is in force")


def _before(changes: Sequence[Change]) -> str:
    """What stood in each cell that one rule changes: a limit may differ by building."""
    return " or ".join(dict.fromkeys(change.shown(change.before) for change in changes))


def rule_place(rule: LocalRule, part: str) -> Span:
    """Where a part of a local rule is written."""
    return rule.where(part)
