"""Temperatures stated for places that cannot be cooler than the air or the soil of the site."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check
from reportgen.design.findings import Finding, Outcome
from reportgen.design.surroundings import standing_segments
from reportgen.diagnostics.model import Span
from reportgen.working.quantity import Quantity
from reportgen.working.unit_system import both

_CODE = "stated-ambient"


@check
def ambients(facts: Facts) -> Iterator[Finding]:
    """A stretch in open air or in soil, or wire behind modules, stated cooler than the site at its hottest."""
    site = facts.project.site
    for key, segment in standing_segments(facts.graph):
        if segment.place == "indoors":
            continue
        buried = segment.place == "underground"
        least = site.ground_temperature if buried else site.design_high
        told = "ground temperature" if buried else "design high"
        yield from _cooler(str(key), segment.ambient, least, told, segment.where("ambient"))
    for name, array in facts.project.arrays.items():
        if array.wiring is not None and array.status != "removed":
            place = array.wiring.where("temperature")
            yield from _cooler(str(name), array.wiring.temperature, site.design_high, "design high", place)


def _cooler(
    subject: str, stated: Quantity | None, least: Quantity | None, told: str, place: Span
) -> Iterator[Finding]:
    if stated is None or least is None or stated.value >= least.value:
        return
    yield Finding(
        _CODE,
        subject,
        Outcome.ASK,
        f"hottest temperature stated for {subject} {both(stated, 1)} is below the {told} of the site {both(least, 1)}",
        value=stated,
        limit=least,
        at_most=False,
        cure=f"state the hottest temperature there, or leave it out to take the {told}",
        cure_span=place,
        question=f"What keeps {subject} cooler than the {told} of the site, and who measured it in the hottest hour?",
    )
