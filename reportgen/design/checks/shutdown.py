"""Rapid shutdown of each inverter's circuits, and wiring of arrays within reach of people."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing
from reportgen.design.shutdown import (
    APPLIES,
    ASK,
    NOT_APPLICABLE,
    UNKNOWN,
    GuardingDesign,
    Place,
    ShutdownDesign,
    asked_of_it,
    guarded_above,
)

_CODE = "rapid-shutdown"
#: Words that say that there is nothing.
_NOTHING = frozenset({"none", "no", "nothing"})


@check
def rapid_shutdown(facts: Facts) -> Iterator[Finding]:
    """Whether rapid shutdown applies to the circuits of each inverter, by the places they stand on, pass and end at."""
    for item in facts.shutdown:
        yield _decided(facts, item)


def _decided(facts: Facts, item: ShutdownDesign) -> Finding:
    notes = tuple(_reason(place) for place in item.deciding)
    whose = f"circuits of {item.unit}"
    if item.decision == APPLIES:
        return _applies(facts, item, notes)
    if item.decision == UNKNOWN:
        absent = [place.says for place in item.deciding if isinstance(place.says, Missing)]
        absent = list(dict.fromkeys(absent)) or [Missing(f"where the {whose} stand")]
        return unknown(
            _CODE, item.unit, f"whether rapid shutdown applies to the {whose} is not known", absent
        )
    if item.decision == ASK:
        return Finding(
            _CODE,
            item.unit,
            Outcome.ASK,
            f"whether rapid shutdown applies to the {whose} is for the authority",
            question=f"Does rapid shutdown apply to the {whose}: {'; '.join(place.told for place in item.deciding)}?",
            notes=notes,
        )
    why = "; ".join(place.told for place in item.deciding)
    return Finding(
        _CODE, item.unit, Outcome.MEETS, f"rapid shutdown does not apply to the {whose}: {why}", notes=notes
    )


def _applies(facts: Facts, item: ShutdownDesign, notes: tuple[str, ...]) -> Finding:
    info = facts.project.project
    why = "; ".join(place.told for place in item.deciding)
    headline = f"rapid shutdown applies to the circuits of {item.unit}: {why}"
    stated = info.rapid_shutdown
    if stated is None:
        what = "rapid_shutdown, under project: what provides it and what starts it"
        return unknown(_CODE, item.unit, headline, [Missing(what, info.span)])
    if str(stated).strip().casefold() in _NOTHING:
        return Finding(
            _CODE,
            item.unit,
            Outcome.FAILS,
            f"{headline}, and nothing provides it",
            cure="put in equipment listed for it, or end the circuits where the edition excepts them",
            cure_span=info.where("rapid_shutdown"),
            notes=notes,
        )
    question = f"Is this listed for it and accepted here: {stated}? {asked_of_it(facts.rulebook)}"
    return Finding(
        _CODE,
        item.unit,
        Outcome.ASK,
        headline,
        question=question,
        cure_span=info.where("rapid_shutdown"),
        notes=notes,
    )


def _reason(place: Place) -> str:
    if isinstance(place.says, Missing):
        return f"{place.told}: not stated"
    recalled = ", recalled" if place.says.recalled else ""
    return f"{place.told}: {place.says.answer.replace('-', ' ')} in this edition{recalled} ({place.says.question})"


@check
def guarding(facts: Facts) -> Iterator[Finding]:
    """Wiring of an array within reach of people is guarded or in a raceway, above the voltage that the edition names."""
    limit = guarded_above(facts.rulebook)
    for item in facts.guarding:
        code, key = "array-guarding", item.array
        wiring = f"wiring of array {key}"
        if isinstance(item.highest, Missing):
            if _enough(item):
                yield _guarded(facts, item, f"{wiring}, whatever its voltage")
            else:
                yield unknown(code, key, f"whether {wiring} is guarded is not judged", [item.highest])
        elif item.highest.value <= limit.value:
            headline = f"{wiring} reaches {item.highest.show(1)}, not above {limit.show(0, at_most=True)}"
            yield Finding(code, key, Outcome.MEETS, headline)
        else:
            yield _guarded(facts, item, f"{wiring}, up to {item.highest.show(1)},")


def _enough(item: GuardingDesign) -> bool:
    return not isinstance(item.ruling, Missing) and item.ruling.answer in {"meets", NOT_APPLICABLE}


def _guarded(facts: Facts, item: GuardingDesign, what: str) -> Finding:
    code, array = "array-guarding", facts.project.arrays[item.array]
    if isinstance(item.ruling, Missing):
        headline = f"whether {what} is guarded or out of reach is not stated"
        return unknown(code, item.array, headline, [item.ruling])
    stated, answer = str(array.guarding), item.ruling.answer
    how = {"out of reach": "is out of reach", "none": "is within reach and not guarded"}.get(
        stated, f"is guarded by a {stated}"
    )
    outcome = {"fails": Outcome.FAILS, "ask": Outcome.ASK}.get(answer, Outcome.MEETS)
    return Finding(
        code,
        item.array,
        outcome,
        f"{what} {how}",
        question=f"Does a {stated} guard the {what.rstrip(',')} well enough here?" if answer == "ask" else "",
        cure="put a screen behind the modules, or the wire into a raceway" if answer == "fails" else "",
        cure_span=array.where("guarding"),
        notes=(f"{item.ruling.question}: {answer}{', recalled' if item.ruling.recalled else ''}",),
    )
