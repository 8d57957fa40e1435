"""What was built otherwise than designed: whether the figures are those of what stands there."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.graph import SegmentId
from reportgen.design.missing import Missing
from reportgen.project.records import AsBuilt
from reportgen.working.quantity import Quantity


@check
def as_built(facts: Facts) -> Iterator[Finding]:
    """Each correction: worked into the inputs, or of no effect on any figure."""
    for key, item in facts.project.asbuilt.items():
        yield _judged(facts, str(key), item)


def _judged(facts: Facts, key: str, item: AsBuilt) -> Finding:
    told = f"{item.item}: {item.built} instead of {item.designed}"
    span = item.where("recalculated")
    length = _length(facts, str(item.item))
    if item.measured_length is not None and length is None:
        missing = Missing(
            f"a stretch as item of correction {key}, for instance `R1/trench`", item.where("item")
        )
        return unknown("as-built", key, f"{told}; the length measured belongs to no stretch", [missing])
    if item.measured_length is not None and length is not None and not _same(length, item.measured_length):
        missing = Missing(
            f"length of {item.item} as measured, {item.measured_length.show()}", item.where("item")
        )
        headline = f"{told}; measured {item.measured_length.show()}, and the inputs still say {length.show()}"
        return unknown("as-built", key, headline, [missing])
    if item.recalculated:
        return Finding("as-built", key, Outcome.MEETS, f"{told}; the inputs were changed to match")
    if item.affects_calculation is False:
        return Finding("as-built", key, Outcome.MEETS, f"{told}; no figure rests on it")
    what = (
        f"what was built in the inputs, then `recalculated: yes` of correction {key}"
        if item.affects_calculation
        else f"affects_calculation of correction {key}"
    )
    headline = f"{told}; whether the figures are those of what was built is not known"
    return unknown("as-built", key, headline, [Missing(what, span)])


def _length(facts: Facts, item: str) -> Quantity | None:
    """Length that the inputs give a stretch; None where the item is none."""
    raceway, _, segment = item.partition("/")
    found = facts.graph.segments.get(SegmentId(raceway, segment))
    return found[1].length if found else None


def _same(length: Quantity, measured: Quantity) -> bool:
    """Whether two lengths are one, up to the last digit of a conversion."""
    return abs(length.to(measured.unit).value - measured.value) <= 1e-9 * abs(measured.value)
