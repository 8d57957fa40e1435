"""Raceways: how full, and how many bends between two pull points."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, Words, check, compare, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing
from reportgen.rulebook.rulebook import quantity_of


@check
def fill(facts: Facts) -> Iterator[Finding]:
    """Area of all conductors, grounds included, against the share of the bore that the code allows."""
    thin = facts.policies.share("fill_margin")
    for stretch in facts.stretches:
        if not stretch.conductors:
            yield Finding("raceway-fill", str(stretch.id), Outcome.MEETS, f"{stretch.id} is empty")
            continue
        total = len(stretch.conductors)
        yield compare(
            "raceway-fill",
            str(stretch.id),
            stretch.fill,
            stretch.limit,
            Words(f"fill of {stretch.id} with {total} conductors", "limit"),
            thin,
            cure="use a larger pipe, smaller conductors, or fewer of them",
            cure_span=stretch.segment.where("size"),
            notes=(f"carry current: {stretch.carrying}; take space: {total}",),
        )


@check
def bends(facts: Facts) -> Iterator[Finding]:
    """All bends between two pull points, offsets and kicks included."""
    for section in facts.sections:
        kind = str(facts.graph.segments[section.segments[0]][1].kind)
        limit = quantity_of(facts.rulebook.bend_limit(kind), "bends allowed between pull points")
        subject = f"{section.raceway} {section.start} to {section.end}"
        part = f"{section.start}-{section.end}"
        if end := facts.graph.open_end(section.segments):
            # A raceway that goes on into another one has more bends than are listed here.
            raceway = facts.project.raceways[section.raceway]
            missing = Missing(f"{end} of raceway {section.raceway}", raceway.span)
            yield unknown(
                "raceway-bends",
                section.raceway,
                f"bends of {subject} are not all known",
                [missing],
                part=part,
            )
            continue
        yield compare(
            "raceway-bends",
            section.raceway,
            section.bends,
            limit,
            Words(f"bends of {subject}", "limit", 0),
            0.0,
            part=part,
            cure="put a pull point into this section",
            cure_span=facts.graph.segments[section.segments[-1]][1].where("bends"),
        )
