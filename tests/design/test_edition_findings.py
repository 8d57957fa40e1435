"""What another edition changes in the findings of the sample: printed, and only where the two books differ."""

from __future__ import annotations

import sys
from dataclasses import replace
from itertools import pairwise

import pytest

from reportgen.design.assemble import assemble
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.project.load import load_project
from reportgen.rulebook.differences import differences
from reportgen.rulebook.rulebook import editions, load

PAIRS = [*pairwise(editions()), (editions()[0], editions()[-1])]


def told(found):
    """What a reader sees of a finding, the source of a cell left out."""
    value, limit = ((one.value, one.unit) if one else None for one in (found.value, found.limit))
    return {
        "outcome": str(found.outcome),
        "headline": found.headline,
        "value": value,
        "limit": limit,
        "clause": found.clause,
        "clause recalled": found.clause_recalled,
        "notes": found.notes,
        "question": found.question,
    }


def by(sample, edition):
    return {found.id: found for found in assemble(load_project(sample), load(edition), "test").findings}


def rules_that_differ(older, newer) -> set[str]:
    """Rule keys on which two editions differ, whether in a clause, a number, a word or a table."""
    rules = set()
    for difference in differences(older, newer):
        if difference.table == "clauses":
            rules.add(difference.key)
            continue
        for book in (older, newer):
            table = book.table(difference.table)
            row = table.find(*difference.key.split(" | "))
            rules.add(
                row["clause"] if row is not None and "clause" in row.values else table.header.clause_key
            )
    return rules


@pytest.mark.parametrize(("before", "after"), PAIRS)
def test_only_findings_on_rules_that_differ_change(sample, before, after, capsys) -> None:
    older, newer = load(before), load(after)
    rules = rules_that_differ(older, newer)
    # A number that a rule of its own gives enters checks with another rule: roof adder and count enter ampacity.
    enters = {"roof-adder": "conductor-ampacity-corrected", "raceway-table": "fill"}
    rules |= {into for rule, into in enters.items() if rule in rules}
    there, here = by(sample, before), by(sample, after)
    changed = [
        key
        for key in sorted({*there, *here})
        if key not in there or key not in here or told(there[key]) != told(here[key])
    ]
    for key in changed:
        old, new = (told(found[key]) if key in found else {} for found in (there, here))
        for part in dict.fromkeys([*old, *new]):
            if old.get(part) != new.get(part):
                sys.stdout.write(f"{key} {part}: {old.get(part)} -> {new.get(part)}\n")
    printed = capsys.readouterr().out
    stray = {key for key in changed if CATALOGUE[(here.get(key) or there[key]).code].rule not in rules}
    sys.stdout.write(printed)
    assert not stray, printed
    assert printed or not changed


def test_the_comparison_sees_a_change(sample) -> None:
    """Guard of the test above: another clause is seen as a change."""
    found = next(iter(by(sample, "nec2023").values()))
    assert told(found) != told(replace(found, clause="another"))


def test_physics_is_the_same_by_every_edition(sample) -> None:
    free = [
        {key: told(found) for key, found in by(sample, edition).items() if CATALOGUE[found.code].rule is None}
        for edition in editions()
    ]
    assert all(one == free[0] for one in free)
