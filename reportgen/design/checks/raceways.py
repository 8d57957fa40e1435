"""Raceways: how full, and how many bends between two pull points."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from reportgen.design.checks.base import (
    TOO_MUCH,
    Facts,
    Words,
    by_kind,
    check,
    compare,
    if_all_placed,
    unknown,
)
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing
from reportgen.design.raceways import jam, rounded_count
from reportgen.design.results import StretchDesign
from reportgen.rulebook.rulebook import quantity_of


@check
def fill(facts: Facts) -> Iterator[Finding]:
    """Area of all conductors, grounds included, against the share of the bore that the code allows."""
    thin = facts.policies.share("fill_margin")
    for stretch in facts.stretches:
        nowhere = facts.pathless(stretch.id)
        if not stretch.conductors:
            empty = Finding("raceway-fill", str(stretch.id), Outcome.MEETS, f"{stretch.id} is empty")
            yield if_all_placed(empty, nowhere)
            continue
        total = len(stretch.conductors)
        made = compare(
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
        made = _rounded(facts, stretch, made) if made.outcome is Outcome.FAILS else made
        yield if_all_placed(made, nowhere)


def _rounded(facts: Facts, stretch: StretchDesign, made: Finding) -> Finding:
    """Soften a fill just over the share where the count of conductors of one size may be rounded up."""
    alike = rounded_count(facts.graph, facts.rulebook, stretch)
    total = len(stretch.conductors)
    if alike is None or total > alike.rounded:
        return made
    told = f"{made.headline.removesuffix(TOO_MUCH)}: permitted for conductors all of one size, {alike.quotient.show(2)} rounded up"
    note = f"{alike.whole} by area, {alike.rounded} by rounding up; a single conductor of another size ends the permission"
    return replace(made, outcome=Outcome.THIN, headline=told, notes=(*made.notes, note))


@check
def jamming(facts: Facts) -> Iterator[Finding]:
    """Three conductors of one size whose ratio to the bore lets them wedge; silent in every other case."""
    for stretch in facts.stretches:
        ratio = jam(facts.graph, facts.rulebook, stretch)
        if ratio is not None:
            yield Finding(
                "raceway-jam",
                str(stretch.id),
                Outcome.THIN,
                f"three conductors of one size in {stretch.id}, jam ratio {ratio.show(2)}: they may wedge side by side at a bend",
                value=ratio,
                cure="use another pipe or wire size, or pull with care and lubricant",
                cure_span=stretch.segment.where("size"),
                notes=("advice of the code, not a limit; it says nothing for any other number or mix",),
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
        if gone := [end for end in (section.start, section.end) if end in facts.graph.removed]:
            # Where no box stands any more nobody can pull, and the bends on both sides add up.
            missing = Missing(
                f"a pull point in place of {gone[0]}, which is removed",
                facts.project.raceways[section.raceway].span,
            )
            headline = f"bends of {subject} are not judged while {gone[0]} is removed"
            yield unknown("raceway-bends", section.raceway, headline, [missing], part=part)
            continue
        silent = [
            key for key in section.segments if "bends" not in facts.graph.segments[key][1].model_fields_set
        ]
        if silent and section.bends.value <= limit.value:
            # What is not written down is not straight for that.
            absent = [
                Missing(
                    f"bends of {key}: measure each angle, or write `bends: []` where it is straight",
                    facts.graph.segments[key][1].span,
                )
                for key in silent
            ]
            headline = f"bends of {subject} are not all known"
            yield unknown("raceway-bends", section.raceway, headline, absent, part=part)
            continue
        made = compare(
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
        kinds = [str(facts.graph.segments[key][1].kind) for key in section.segments]
        yield replace(made, rules=by_kind("bends", kinds))
