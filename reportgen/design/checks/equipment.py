"""Data sheets complete and plausible: what is still to be looked up, and which values do not fit together."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.data_sheets import (
    CABLE,
    INPUT,
    INVERTER,
    MODULE,
    SWITCH,
    Need,
    input_data,
    module_data,
    oddities_of,
    open_needs,
)
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing
from reportgen.engineering.plausible import Oddity, input_pairs, module_oddities
from reportgen.project.values import Section


@check
def data_sheets_complete(facts: Facts) -> Iterator[Finding]:
    """Every value that the design needs of a type in use is stated."""
    for subject, kind, item, needs in _in_use(facts):
        if getattr(item, "placeholder", False):
            what = f"the values of {kind} {subject} from its data sheet, and take `placeholder` out"
            absent_all = [Missing(what, item.where("placeholder"))]
            headline = f"{kind} {subject}: its values only hold the place of the data sheet's"
            yield unknown("data-sheet-complete", subject, headline, absent_all)
            continue
        absent: dict[Need, list[str]] = {}
        for letter, part, listed in needs:
            for need in open_needs(part, listed):
                absent.setdefault(need, []).append(letter)
        if not absent:
            headline = f"{kind} {subject}: every value needed is stated"
            yield Finding("data-sheet-complete", subject, Outcome.MEETS, headline)
            continue
        words = "1 value is" if len(absent) == 1 else f"{len(absent)} values are"
        missing = [
            Missing(f"{need.key} of {_part(letters)}{kind} {subject} (“{need.line}”)", item.span)
            for need, letters in absent.items()
        ]
        headline = f"{kind} {subject}: {words} still to be looked up"
        yield unknown("data-sheet-complete", subject, headline, missing)


def _part(letters: list[str]) -> str:
    named = [letter for letter in letters if letter]
    return f"input{'s' if len(named) > 1 else ''} {', '.join(named)} of " if named else ""


Parts = list[tuple[str, Section, tuple[Need, ...]]]


def _in_use(facts: Facts) -> Iterator[tuple[str, str, Section, Parts]]:
    project = facts.project
    modules = dict.fromkeys(str(array.module) for array in project.arrays.values())
    for key in modules:
        if key in project.modules:
            yield key, "module type", project.modules[key], [("", project.modules[key], MODULE)]
    for key, inverter in project.inverters.items():
        parts: Parts = [("", inverter, INVERTER)]
        parts += [(str(letter), item, INPUT) for letter, item in inverter.inputs.items()]
        yield str(key), "inverter type", inverter, parts
    for key, switch in project.switches.items():
        if switch.units:
            yield str(key), "switch type", switch, [("", switch, SWITCH)]
    cables = dict.fromkeys(str(circuit.cable) for circuit in project.circuits.values())
    for key in cables:
        if key in project.cables:
            yield key, "cable", project.cables[key], [("", project.cables[key], CABLE)]


@check
def module_values(facts: Facts) -> Iterator[Finding]:
    """Values of each module type fit together: what cannot be is unknown, what seldom is thin."""
    used = dict.fromkeys(str(array.module) for array in facts.project.arrays.values())
    for key in used:
        module = facts.project.modules.get(key)
        if module is None or module.placeholder:
            continue
        odd = module_oddities(module_data(module))
        yield from _told(key, f"module type {key}", module, odd)
        if not odd:
            yield Finding(
                "data-sheet-values", key, Outcome.MEETS, f"module type {key}: the values stated fit together"
            )


@check
def inverter_values(facts: Facts) -> Iterator[Finding]:
    """Limits of each inverter input stand in the order they must have."""
    for key, inverter in facts.project.inverters.items():
        if not any(input_pairs(input_data(inverter, item)) for item in inverter.inputs.values()):
            # With nothing to hold against each other there is nothing to say; the list of the data sheet asks.
            continue
        odd = [*oddities_of(inverter)]
        for letter, item, oddity in odd:
            yield from _told(str(key), f"input {letter} of inverter type {key}", item, (oddity,), letter)
        if not odd:
            headline = f"inverter type {key}: the limits stated fit together"
            yield Finding("data-sheet-values", str(key), Outcome.MEETS, headline)


def _told(
    subject: str, named: str, item: Section, odd: tuple[Oddity, ...], part: str = ""
) -> Iterator[Finding]:
    for oddity in odd:
        place = item.where(oddity.fields[0])
        where = "/".join(word for word in (part, oddity.fields[0]) if word)
        headline = f"{named}: {oddity.what}"
        if oddity.impossible:
            wanted = " and ".join(f"`{field}`" for field in oddity.fields)
            missing = Missing(f"{wanted} of {named} as the data sheet has them", place)
            yield unknown(
                "data-sheet-values", subject, f"{headline}, which no device does", [missing], part=where
            )
            continue
        yield Finding(
            "data-sheet-values",
            subject,
            Outcome.THIN,
            f"{headline}, which is unusual",
            where,
            value=oddity.value,
            cure="compare the value with the data sheet; where it stands there so, leave it",
            cure_span=place,
        )
