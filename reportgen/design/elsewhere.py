"""An edition or country without a rulebook here: every row that rests on a code is a question, the physics stays.

Which rows those are is seen by what they rest on. A check without a rule is physics, a maker's or the user's limit. A
check with a rule whose value and limit both come from the folder (the cold voltage against an input's hard limit) is
physics too: a string that destroys the input destroys it in every country. All others rest on a table or on the words
of an edition that is not the one adopted; they keep their figures and lose their verdict.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from reportgen.design.findings import Finding, Outcome
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.diagnostics.nearest import listing, nearest
from reportgen.project.model import Project
from reportgen.project.nodes import span_of
from reportgen.rulebook.rulebook import Rulebook, editions
from reportgen.working.quantity import Quantity
from reportgen.working.unit_system import first_unit


def asked(findings: Iterable[Finding], project: Project, rulebook: Rulebook) -> list[Finding]:
    """Findings of a project whose edition is not held: one question a code check and subject, physics as judged."""
    kept: list[Finding] = [_edition(project, rulebook)]
    questions: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        if _rests_on_a_code(finding):
            questions.setdefault((finding.code, finding.subject), []).append(finding)
        else:
            kept.append(finding)
    return [*kept, *(_question(parts, rulebook) for parts in questions.values())]


def _rests_on_a_code(finding: Finding) -> bool:
    if CATALOGUE[finding.code].rule is None:
        return False
    return finding.value is None or finding.limit is None or bool(finding.cells)


def _question(parts: Sequence[Finding], rulebook: Rulebook) -> Finding:
    """The question in place of everything that one check found on one thing; what fails by the rules held is told."""
    finding = next((part for part in parts if part.outcome is Outcome.FAILS), parts[0])
    wanted, title = rulebook.wanted, CATALOGUE[finding.code].title
    own = f"{finding.question} " if finding.outcome is Outcome.ASK and finding.question else ""
    figure = _figure(finding.value) if finding.value else ""
    fails = (part.headline for part in parts if part.outcome is Outcome.FAILS)
    return replace(
        finding,
        outcome=Outcome.ASK,
        part="",
        headline=f"{title} of {finding.subject} is not judged: {wanted} has no rulebook here{figure}",
        limit=None,
        margin=None,
        break_even="",
        cure="",
        missing=(),
        notes=(
            *(f"by {rulebook.edition.short} it fails: {headline}" for headline in fails),
            *(f"missing: {item}" for item in dict.fromkeys(item for part in parts for item in part.missing)),
        ),
        question=f"{own}What does {wanted} ask for {finding.subject} on {title}{figure}?",
    )


def _figure(value: Quantity) -> str:
    """The figure that is put to the question, in the units of the project."""
    told = value.to(first_unit(value.unit)).show()
    return f", with {told}, {value.name}" if value.name else f", with {told}"


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
