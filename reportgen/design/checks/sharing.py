"""What unlike strings on one input lose in the year because one tracker holds them all at one voltage."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.design.checks.base import Facts, Words, check, compare, no_worse_than_thin, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing
from reportgen.design.results import InputDesign
from reportgen.working.quantity import Assumed, Quantity, work

if TYPE_CHECKING:
    # Only for the annotation: the year loads the solar models, which a check does without.
    from reportgen.design.energy import EnergyDesign

CODE = "input-shared-loss"
#: Command that simulates the year.
RUN = "reportgen build DIR"
TARGET = Quantity(
    1.0,
    "%",
    Assumed(
        "input-shared-loss.target",
        "loss of strings that share an input, in the year, from which a page asks for another assignment",
        "common practice, no source",
    ),
    "target",
)


@check
def not_run(facts: Facts) -> Iterator[Finding]:
    """Inputs with unlike strings, whose loss follows from the year alone: a check leaves the year out."""
    for item in _unlike(facts):
        yield Finding(
            CODE,
            item.address,
            Outcome.UNKNOWN,
            f"what strings {' and '.join(item.strings)} lose by sharing {item.address}: not run",
            missing=("the simulated year, which a check leaves out",),
            cure=f"run `{RUN}`",
            needs_run=RUN,
        )


def with_year(findings: Iterable[Finding], facts: Facts, energy: EnergyDesign) -> tuple[Finding, ...]:
    """Findings with the loss by sharing judged from the year; unknown where there is no year.

    Parameters
    ----------
    findings : iterable of Finding
        As a check without a year left them.
    facts : Facts
        Of the same design.
    energy : EnergyDesign
        Its year, or why there is none.
    """
    unlike = {item.address: item for item in _unlike(facts)}
    made = [
        _judged(unlike[finding.subject], energy)
        if finding.code == CODE and finding.subject in unlike
        else finding
        for finding in findings
    ]
    made.sort(key=lambda finding: (finding.outcome.rank, finding.code, finding.subject, finding.part))
    return tuple(made)


def _unlike(facts: Facts) -> Iterator[InputDesign]:
    """Inputs whose strings differ in count, module type or the way they face."""
    by_id = {string.id: string for string in facts.strings}
    for item in facts.inputs:
        on_it = [by_id[key] for key in item.strings]
        if len({(s.count.value, s.module_id, _faces(facts, s.arrays)) for s in on_it}) > 1:
            yield item


def _faces(facts: Facts, arrays: tuple[str, ...]) -> tuple[object, ...]:
    """Tilt and azimuth of each array; an array that states one of them not is like none but itself."""
    return tuple(facts.project.arrays[key].plane or key for key in dict.fromkeys(arrays))


def _judged(item: InputDesign, energy: EnergyDesign) -> Finding:
    names = " and ".join(item.strings)
    told = f"what strings {names} lose by sharing {item.address}"
    if energy.year is None:
        absent = energy.missing or (Missing("what the simulated year needs"),)
        return unknown(CODE, item.address, f"{told} is not known", absent)
    year = next((one for one in energy.year.inputs if one.id == item.address), None)
    own = [one for one in energy.year.strings if one.id in item.strings]
    best = sum(one.dc_kwh + one.clipped_kwh + one.off_peak_kwh for one in own)
    if year is None or best <= 0.0:
        return unknown(
            CODE, item.address, f"{told} is not known", [Missing(f"light on the strings at {item.address}")]
        )
    share = work(
        "share lost by sharing one voltage",
        "%",
        "100 * E_lost / E_own",
        E_lost=Quantity(max(year.parallel_kwh, 0.0), "kWh", None, f"lost in the year at {item.address}"),
        E_own=Quantity(best, "kWh", None, f"modules of {names}, each string at its own best voltage"),
    )
    found = no_worse_than_thin(
        compare(CODE, item.address, share, TARGET, Words(f"{told}, in the year", "the target", 2), 0.0),
        "energy is lost, no hazard of itself",
        "give each string an input of its own, or make them equal",
        item.input.span if item.input is not None else None,
    )
    if energy.year.upper_bound:
        found = replace(found, notes=(*found.notes, "both energies are those of a clear sky, upper bounds"))
    return found
