"""What this tool does not decide: each item it meets in the folder becomes a question, never a pass."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check
from reportgen.design.data_sheets import altitude_of_ratings
from reportgen.design.findings import Finding, Outcome
from reportgen.working.unit_system import both

#: Listed on the assumptions page of every binder.
NOT_COVERED = (
    "ampacity of single conductors in free air by their own table, and conductors inside boxes and devices",
    "ampacity of the tails of circuits, outside the raceways of the folder at the array and at the switches",
    "ratings of connectors, of terminal blocks and of fuse holders; housings of switches and inverters against rain, dust and heat",
    "derating of devices for altitude where the elevation of the site is not stated",
    "current that a switch can make, carry for a moment, or break in a fault",
    "the AC side beyond conductors and voltage drop",
    "conductors and devices behind a combiner box, which carry several strings together",
    "battery circuits and their protection",
    "structure, footings, wind and snow loads",
    "module-level electronics (optimizers, microinverters)",
    "lightning protection, and surge protection beyond what an inverter declares",
    "interconnection with the public grid",
)


@check
def altitude(facts: Facts) -> Iterator[Finding]:
    """Ratings of devices hold up to an altitude; thinner air insulates and cools less."""
    height, limit = facts.project.site.elevation, altitude_of_ratings()
    if height is None or height.value <= limit.to(height.unit).value:
        return
    yield Finding(
        "device-altitude",
        "site",
        Outcome.ASK,
        f"the site lies at {both(height, 0)}, and ratings of switches, fuses and inverters commonly hold up to {both(limit, 0, at_most=True)}",
        value=height.to(limit.unit).named("elevation"),
        limit=limit,
        cure="take the makers' ratings for that altitude into the folder, and say so in `source`",
        cure_span=facts.project.site.where("elevation"),
        question=f"Which voltage and current do the makers of switches, fuses and inverters state for {both(height, 0)}?",
    )


@check
def open_questions(facts: Facts) -> Iterator[Finding]:
    """Questions the user wrote down for the authority."""
    for number, text in enumerate(facts.project.project.questions, start=1):
        yield Finding(
            "open-question",
            f"question {number}",
            Outcome.ASK,
            str(text).rstrip("?") + ", asked by the designer",
            question=str(text),
        )
