"""An edition or country without a rulebook here: every row that rests on a code is a question, the physics stays.

Which rows those are is seen by what they rest on. A check without a rule is physics, a maker's or the user's limit. A
check with a rule whose value and limit both come from the folder (the cold voltage against an input's hard limit) is
physics too: a string that destroys the input destroys it in every country. All others rest on a table or on the words
of an edition that is not the one adopted; they keep their figures and lose their verdict.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from reportgen.design.findings import Finding, Outcome
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.diagnostics.nearest import listing, nearest
from reportgen.project.model import Project
from reportgen.project.nodes import span_of
from reportgen.rulebook.rulebook import Rulebook, editions


def asked(findings: Iterable[Finding], project: Project, rulebook: Rulebook) -> list[Finding]:
    """Findings of a project whose edition is not held: one question a code check and subject, physics as judged."""
    kept: list[Finding] = [_edition(project, rulebook)]
    questions: dict[tuple[str, str], Finding] = {}
    for finding in findings:
        if not _rests_on_a_code(finding):
            kept.append(finding)
            continue
        questions.setdefault((finding.code, finding.subject), _question(finding, rulebook.wanted))
    return [*kept, *questions.values()]


def _rests_on_a_code(finding: Finding) -> bool:
    if CATALOGUE[finding.code].rule is None:
        return False
    return finding.value is None or finding.limit is None or bool(finding.cells)


def _question(finding: Finding, wanted: str) -> Finding:
    entry = CATALOGUE[finding.code]
    own = f"{finding.question} " if finding.outcome is Outcome.ASK and finding.question else ""
    value = f"{finding.value.show()} {finding.value.name}".strip() if finding.value else ""
    figure = f", where {value} is worked out" if value else ""
    return replace(
        finding,
        outcome=Outcome.ASK,
        part="",
        headline=f"{entry.title} of {finding.subject} is not judged: {wanted} has no rulebook here{figure}",
        limit=None,
        margin=None,
        break_even="",
        cure="",
        missing=(),
        notes=tuple(f"missing: {item}" for item in finding.missing),
        question=f"{own}What does {wanted} ask for {finding.subject} on {entry.title}{figure}?",
    )


def _edition(project: Project, rulebook: Rulebook) -> Finding:
    wanted = rulebook.wanted
    meant = nearest(wanted, editions())
    cure = f"did you mean `{meant}`?" if meant else f"rulebooks held: {listing(editions())}"
    return Finding(
        "edition",
        wanted,
        Outcome.ASK,
        f"there is no rulebook for {wanted}: every row that rests on a code is a question, the physics is worked out",
        question=f"Who answers the questions on this project by {wanted}?",
        cure=cure,
        cure_span=span_of(project.project.rulebook, project.project.where("rulebook")),
        notes=(
            f"sizes, bores and resistances are those of {rulebook.edition.short}, named where they stand; its factors are no factors of {wanted}",
        ),
    )
