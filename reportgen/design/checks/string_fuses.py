"""Whether a string needs a fuse: what feeds a fault in it against what its modules and its wires stand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from reportgen.design.checks.base import Facts, Words, check, compare, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing, first_missing, missing_of
from reportgen.design.protection import StringProtection
from reportgen.working.quantity import Quantity


@check
def needed(facts: Facts) -> Iterator[Finding]:
    """Current that others can drive into a fault of a string against what its modules and conductors stand."""
    code, thin = "string-fuse", facts.policies.share("current_margin")
    if not facts.overcurrent.omission_known:
        for item in facts.overcurrent.strings:
            yield Finding(
                code,
                item.string.id,
                Outcome.ASK,
                f"when the device of string {item.string.id} may be left out is not decided here",
                question="When may the overcurrent device of a string be left out?",
            )
        return
    for item in facts.overcurrent.strings:
        name = item.string.id
        if item.devices:
            fitted = " and ".join(device.id for device in item.devices)
            need = {True: "is needed", False: "is not needed", None: "may or may not be needed"}[item.needed]
            yield Finding(
                code, name, Outcome.MEETS, f"{fitted} is fitted in string {name}, where a device {need}"
            )
        elif item.behind_decides:
            yield _behind_asked(item)
        elif item.needed is None:
            absent = missing_of(
                item.alone, item.fed_back, item.module_limit, item.ampacity, item.behind.ampacity
            )
            yield unknown(code, name, f"whether string {name} needs a fuse cannot be told", absent)
        elif item.needed:
            yield _lacking(facts, item)
        else:
            yield _with_homeless(facts, item, _left_out(item, thin))


def _with_homeless(facts: Facts, item: StringProtection, made: Finding) -> Finding:
    """No fuse is left out while a string without an input, which may come in beside, would feed too much."""
    homeless = [one for one in facts.strings if not one.input and one.id != item.string.id]
    at = next((one for one in facts.inputs if one.address == item.string.input), None)
    connectors = at.input.connectors if at is not None and at.input is not None else None
    room = len(homeless) if connectors is None else int(connectors) - item.strings
    if not homeless or room < 1 or made.outcome not in (Outcome.MEETS, Outcome.THIN):
        return made
    amounts = [one.maximum.value for one in homeless if isinstance(one.maximum, Quantity)]
    more = sum(sorted(amounts, reverse=True)[:room])
    bounds = [one.value for one in (item.limit, item.behind.ampacity) if isinstance(one, Quantity)]
    known_all = made.value is not None and len(amounts) == len(homeless) and len(bounds) == 2
    if known_all and made.value is not None and made.value.value + more <= min(bounds):
        return made
    names = ", ".join(one.id for one in homeless)
    absent = [
        Missing(f"input of string {one.id}", facts.project.where("strings", one.id)) for one in homeless
    ]
    headline = (
        f"whether string {item.string.id} needs a fuse is not judged while it is not known where {names} ends"
    )
    return unknown(made.code, made.subject, headline, absent)


def _behind_asked(item: StringProtection) -> Finding:
    """String whose modules and home run bear all sources, and the wire behind its modules by no table that is held."""
    name, wire = item.string.id, item.behind
    assert isinstance(item.fed_back, Quantity) and isinstance(wire.ampacity, Quantity)
    headline = (
        f"string {name} has no fuse, and a fault in it is fed by {item.fed_back.show(2)}; the wire behind the modules of "
        f"{wire.array} carries {'at least ' if wire.proves else ''}{wire.ampacity.show(2, at_most=True)} by the table that is held"
    )
    question = f"Does {wire.size} behind the modules of {wire.array} carry {item.fed_back.show(2)} by the table for free air? If it does not, string {name} needs a fuse."
    return Finding("string-fuse", name, Outcome.ASK, headline, value=item.fed_back, question=question)


def _left_out(item: StringProtection, thin: float) -> Finding:
    told = item.why_no_fuse()
    name = item.string.id
    if isinstance(item.limit, Missing):
        # Nothing can be fed back, so no limit is needed to be sure.
        assert isinstance(item.fed_back, Quantity)
        return Finding("string-fuse", name, Outcome.MEETS, told, value=item.fed_back)
    made = compare("string-fuse", name, item.fed_back, item.limit, Words("", ""), thin)
    return replace(made, headline=told, notes=_break_even(item))


def _break_even(item: StringProtection) -> tuple[str, ...]:
    """How many like strings could stand side by side without a fuse."""
    one, limit, back = item.string.maximum, item.limit, item.backfeed
    if not (isinstance(one, Quantity) and isinstance(limit, Quantity) and isinstance(back, Quantity)):
        return ()
    if one.value <= 0:
        return ()
    most = 1 + int((limit.value - back.value) / one.value + 1e-9)
    return (f"up to {most} such strings in parallel need none",) if most >= 1 else ()


def _lacking(facts: Facts, item: StringProtection) -> Finding:
    name, fed = item.string.id, item.fed
    assert isinstance(fed, Quantity)
    bounds = [
        (bound, what)
        for bound, what in ((item.module_limit, "its modules allow"), (item.ampacity, "its conductors carry"))
        if isinstance(bound, Quantity)
    ]
    limit, what = min(bounds, key=lambda pair: pair[0].value)
    least = "at least " if isinstance(item.fed_back, Missing) else ""
    others = f"{' and '.join(item.beside)} and " if item.beside else ""
    headline = (
        f"string {name} has no fuse, and a fault in it is fed by {least}{fed.show(2)} from {others}"
        f"{item.inverter}, more than the {limit.show(2, at_most=True)} that {what}"
    )
    made = compare("string-fuse", name, fed, limit, Words("", ""), 0.0)
    switches = [
        unit
        for circuit in facts.circuits
        if circuit.string.id == name
        for unit in facts.graph.passing.met(circuit.id)
        if facts.project.switch_of(unit)
    ]
    notes = [f"{unit} is a switch: it opens load current and clears no fault" for unit in switches]
    return replace(
        made,
        headline=headline,
        cure=_cure(item),
        cure_span=facts.project.strings[item.string.id].span,
        notes=tuple(notes),
    )


def _cure(item: StringProtection) -> str:
    if item.fitting:
        ratings = " or ".join(rating.show() for rating in item.fitting)
        return f"fit a fuse of {ratings} in this string, or give it an input of its own"
    if first_missing(item.floor, item.module_limit, item.conductor_limit) is not None:
        return "fit a fuse in this string, or give it an input of its own"
    return (
        "no standard rating lies between floor and ceilings: use a larger conductor, a rating that is sold between"
        " them, or fewer strings side by side"
    )
