"""Predicted readings: what a voltmeter will show at each input, and what an open switch leaves connected."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.predictions import InputPrediction
from reportgen.diagnostics.model import Span
from reportgen.engineering.terminals import Case

_CURE = "compare the terminal order of the switch with the landing section"


@check
def readings_to_come(facts: Facts) -> Iterator[Finding]:
    """With every switch closed, each input reads its own strings, right way round."""
    for item in facts.predictions.inputs:
        yield _reading(facts, item)


def _reading(facts: Facts, item: InputPrediction) -> Finding:
    code, reading = "landing-reading", item.reading
    # A wrong landing is wrong whatever else is missing; a right one is right only once nothing is.
    absent = item.missing
    if reading is None or (absent and reading.case in {Case.RIGHT, Case.OPEN}):
        headline = f"the reading at {item.address} cannot be predicted"
        return unknown(code, item.address, headline, absent)
    shown = reading.voltage.show(1) if reading.voltage is not None else "an unsteady voltage"
    # The same words whichever unit the temperature was written in.
    cell = replace(facts.predictions.cell, origin=None).show()
    where = f"at {cell} and full sun a voltmeter at {item.address} shows {shown}"
    if reading.case is Case.RIGHT and item.arriving == tuple(sorted(item.meant)):
        headline = f"{where}: {' and '.join(item.meant)}, right way round"
        return Finding(code, item.address, Outcome.MEETS, headline)
    if not item.meant and reading.case is Case.OPEN and not reading.legs:
        return Finding(
            code, item.address, Outcome.MEETS, f"{item.address} carries no string, and none arrives"
        )
    if not item.meant:
        told = f"{where}, although no string is meant for it"
    elif reading.case is Case.RIGHT:
        told = f"{where}, but {_unlike(item)}"
    elif reading.case in {Case.OTHER, Case.OTHER_REVERSED, Case.SERIES}:
        told = f"{where}: {reading.case} ({', '.join(reading.strings)} instead of {', '.join(item.meant)})"
    elif reading.case in {Case.REVERSED, Case.PARALLEL, Case.SHORTED}:
        told = f"{where}: {reading.case} ({', '.join(reading.strings)})"
    else:
        stand = f"; on its poles stand {' and '.join(reading.legs)}" if reading.legs else ""
        told = f"{where} although its strings are live: {reading.case}{stand}"
    return Finding(
        code,
        item.address,
        Outcome.FAILS,
        told,
        cure=_CURE,
        cure_span=_place(facts, item),
    )


def _unlike(item: InputPrediction) -> str:
    absent = [key for key in item.meant if key not in item.arriving]
    foreign = [key for key in item.arriving if key not in item.meant]
    parts = [f"{' and '.join(absent)} {'do' if len(absent) > 1 else 'does'} not arrive"] if absent else []
    parts += (
        [f"{' and '.join(foreign)} {'are' if len(foreign) > 1 else 'is'} not meant for it"] if foreign else []
    )
    return ", ".join(parts)


@check
def switches_open(facts: Facts) -> Iterator[Finding]:
    """With every switch open, no leg stays connected to an input that has a switch."""
    for item in facts.predictions.inputs:
        if not item.switched or item.reading is None:
            continue
        code = "switch-opens"
        absent = [one for one in item.missing if one.what.startswith("landing of")]
        if item.left_open:
            legs = " and ".join(item.left_open)
            yield Finding(
                code,
                item.address,
                Outcome.FAILS,
                f"with every switch open {legs} stays connected to {item.address}",
                cure="let both legs pass poles of the switch, and no link around it",
                cure_span=_place(facts, item),
            )
        elif absent:
            yield unknown(code, item.address, f"what opens at {item.address} is not known", absent)
        else:
            yield Finding(
                code, item.address, Outcome.MEETS, f"open switches part both legs from {item.address}"
            )


def _place(facts: Facts, item: InputPrediction) -> Span | None:
    """The landing section, else the string that is meant for the input."""
    if facts.project.landing:
        return facts.project.where("landing")
    return facts.project.strings[item.meant[0]].where("input") if item.meant else None
