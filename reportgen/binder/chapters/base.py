"""What every chapter is given, and the helpers that chapters share."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from reportgen.binder.chapters.upper_bounds import is_bound, named
from reportgen.binder.elements import WorkingView, anchor, rule_anchor
from reportgen.binder.schedules import Marked, Schedule
from reportgen.binder.workings import step_anchors, working_view
from reportgen.design.assemble import Design
from reportgen.design.compare import Comparison
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Known, Missing
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.working.quantity import Quantity
from reportgen.working.unit_system import UnitSystem


@dataclass
class Desk:
    """The design on the desk while the chapters are written; remembers where each working stands.

    Attributes
    ----------
    inputs : mapping of str to bytes
        The files read, by path: printed at the end of the binder.
    anchors : dict
        Anchor of the working of every value shown so far, so that findings can link to it.
    schedules : dict
        Every schedule shown, by id: each becomes a CSV file.
    since : (str, Comparison) or None
        Name of an earlier state and what differs from it, where the build was asked for that.
    earlier : mapping of str to Schedule
        Schedules of that earlier state, by id: rows that differ from theirs are marked.
    before : (str, Design) or None
        Name and design of what stood there before, where the folder names it.
    variants : tuple of (str, Design)
        Designs of the folder's variants by their ids.
    """

    design: Design
    inputs: Mapping[str, bytes]
    anchors: dict[Quantity, str] = field(default_factory=dict)
    schedules: dict[str, Schedule] = field(default_factory=dict)
    since: tuple[str, Comparison] | None = None
    earlier: Mapping[str, Schedule] = field(default_factory=dict)
    before: tuple[str, Design] | None = None
    variants: tuple[tuple[str, Design], ...] = ()

    @property
    def units(self) -> UnitSystem:
        """Units that the project prints first."""
        return self.design.facts.units

    @property
    def tall(self) -> bool:
        """The sheets are A4, which is higher than letter."""
        return not self.units.imperial

    def working(self, value: Known, *parts: str, rule: str = "", subject: str = "") -> Iterable[WorkingView]:
        """Working of a value, nothing where it is missing; its anchor is made of ``parts``.

        The first of them says of which kind the subject is, the last what is worked out for it, and those between
        name it where ``subject`` does not. A working that another subject has shown is not repeated: the view then
        has no steps and says who shares it.
        """
        if isinstance(value, Missing):
            return
        named = subject or ", ".join(parts[1:-1]) or parts[-1]
        if shown := self.anchors.get(value):
            yield WorkingView(shown, value.name, "", (), subject=named)
            return
        place = anchor("working", *parts)
        rulebook = self.design.rulebook
        # The clause of an edition that is not the one adopted would be a wrong one.
        clause = rulebook.clause(rule) if rule and not rulebook.wanted else None
        view = working_view(
            value,
            clause.text if clause else "",
            id=place,
            clause_recalled=bool(clause and clause.recalled),
            elsewhere=self.anchors,
            subject=named,
            purpose=next((part for part in reversed(parts) if not part.isdecimal()), ""),
            rule=rule_anchor(rule) if clause is not None and rule in self._rules else "",
        )
        self.anchors.update(step_anchors(value, place, self.anchors))
        yield view

    def keep(self, schedule: Schedule) -> Schedule:
        """Remember a schedule for its CSV file; its rows come back marked where they are not as they were.

        In a year under a clear sky every energy is named an upper bound.
        """
        if is_bound(self.design.energy):
            schedule = named(schedule)
        if schedule.id in self.earlier:
            schedule = schedule.against(self.earlier[schedule.id])
        self.schedules[schedule.id] = schedule
        return schedule

    def findings(self, *codes: str, subject: str | None = None) -> tuple[Finding, ...]:
        """Findings with one of the codes, of one subject where it is given."""
        found = (f for code in codes for f in self._by_code.get(code, ()))
        return tuple(f for f in found if subject in {None, f.subject})

    def rule(self, finding: Finding) -> str:
        """Anchor of the row of the appendix that names a finding's clause; empty where it has none."""
        return rule_anchor(CATALOGUE[finding.code].rule or "") if finding.clause else ""

    @cached_property
    def _rules(self) -> frozenset[str]:
        """Rules that findings rest on: the rows of the appendix."""
        return frozenset(CATALOGUE[code].rule or "" for code in self._by_code)

    @cached_property
    def _by_code(self) -> Mapping[str, list[Finding]]:
        found: dict[str, list[Finding]] = defaultdict(list)
        for finding in self.design.findings:
            found[finding.code].append(finding)
        return found

    def worst(self, *codes: str, subject: str) -> Outcome | None:
        """Worst outcome among the findings with one of the codes on one subject."""
        found = [finding.outcome for finding in self.findings(*codes, subject=subject)]
        return min(found, key=lambda outcome: outcome.rank, default=None)

    def judged(self, value: Known, *codes: str, subject: str) -> Marked:
        """A value with the worst outcome of the named checks, linked to its working."""
        link = self.anchors.get(value, "") if isinstance(value, Quantity) else ""
        return Marked(value, self.worst(*codes, subject=subject), link)
