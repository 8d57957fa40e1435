"""What stands already: kept, replaced or unknown; connectors of one make; openings, seals and drains."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.circuits import WET_PLACES
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing
from reportgen.design.reuse import Reused, Word

_CODES = {
    "conductor": "reuse-conductor",
    "connector": "connector-halves",
    "raceway": "reuse-raceway",
    "box": "reuse-box",
}
_CURES = {
    "conductor": "replace it, and give the circuit the status new",
    "connector": "use one make and type on both halves, or state by which document they are listed for each other",
    "raceway": "lay another one, or fewer conductors",
    "box": "use a box listed for wet locations",
}
_OUTSIDE = WET_PLACES


@check
def reused(facts: Facts) -> Iterator[Finding]:
    """Each existing thing with all its reasons, the deciding ones first."""
    for item in facts.reuse:
        yield _finding(item)


def _finding(item: Reused) -> Finding:
    code, word = _CODES[item.kind], item.word
    deciding = [reason for reason in item.reasons if reason.word is word]
    told = "; ".join(reason.text for reason in deciding)
    notes = tuple(f"{reason.what}, {reason.word}: {reason.text}" for reason in item.reasons)
    name = item.what if item.kind == "connector" else f"existing {item.kind} {item.id}"
    if word is Word.UNKNOWN:
        absent = [reason.missing for reason in deciding if reason.missing is not None]
        made = unknown(code, item.id, f"{item.what}: {told}", absent)
        return Finding(
            code,
            item.id,
            Outcome.UNKNOWN,
            made.headline,
            missing=made.missing,
            cure=made.cure,
            cure_span=made.cure_span,
            notes=notes,
        )
    if word is Word.KEEP:
        verdict = "" if item.kind == "connector" else " is kept"
        return Finding(code, item.id, Outcome.MEETS, f"{name}{verdict}: {told}", notes=notes)
    worst = deciding[0]
    return Finding(
        code,
        item.id,
        Outcome.FAILS,
        f"{name}{'' if item.kind == 'connector' else ' is to be replaced'}: {told}",
        value=worst.value,
        limit=worst.limit,
        cure=_CURES[item.kind],
        cure_span=item.span,
        notes=notes,
    )


@check
def seals(facts: Facts) -> Iterator[Finding]:
    """A raceway that passes from earth or open air into a building is sealed inside."""
    for key, raceway in facts.project.raceways.items():
        places = [str(segment.place) for segment in raceway.segments.values()]
        if raceway.status == "removed" or "indoors" not in places or not _OUTSIDE & set(places):
            continue
        code = "raceway-seal"
        if raceway.sealed is None:
            missing = Missing(f"sealed of raceway {key}", raceway.span)
            yield unknown(
                code, key, f"not known whether {key} is sealed where it enters the building", [missing]
            )
        elif raceway.sealed:
            yield Finding(code, key, Outcome.MEETS, f"{key} is sealed where it enters the building")
        else:
            yield Finding(
                code,
                key,
                Outcome.FAILS,
                f"{key} is open inside where it enters the building",
                cure="seal it with a compound made for the wire, after the pull",
                cure_span=raceway.where("sealed"),
            )


@check
def drains(facts: Facts) -> Iterator[Finding]:
    """Water that gets into a raceway outdoors finds its way out at the low points."""
    for key, raceway in facts.project.raceways.items():
        places = {str(segment.place) for segment in raceway.segments.values()}
        if raceway.status == "removed" or not places & {"outdoors", "roof"}:
            continue
        code = "raceway-drain"
        if raceway.drained is None:
            missing = Missing(f"drained of raceway {key}", raceway.span)
            yield unknown(code, key, f"not known whether {key} drains at its low points", [missing])
        elif raceway.drained:
            yield Finding(code, key, Outcome.MEETS, f"{key} drains at its low points")
        else:
            yield Finding(
                code,
                key,
                Outcome.ASK,
                f"{key} does not drain at its low points",
                question=f"May {key} stand without drains at its low points outdoors?",
                cure_span=raceway.where("drained"),
            )


@check
def openings(facts: Facts) -> Iterator[Finding]:
    """Openings of a box that nothing uses are closed."""
    code = "unused-openings"
    for box in facts.project.boxes.values():
        for unit, installed in box.units.items():
            if installed.status == "removed":
                continue
            if installed.openings_closed is None:
                missing = Missing(f"openings_closed of {unit}", installed.span)
                yield unknown(
                    code, str(unit), f"not known whether unused openings of {unit} are closed", [missing]
                )
            elif installed.openings_closed:
                yield Finding(code, str(unit), Outcome.MEETS, f"unused openings of {unit} are closed")
            else:
                yield Finding(
                    code,
                    str(unit),
                    Outcome.FAILS,
                    f"unused openings of {unit} are open",
                    cure="close them with plugs of the box's own rating",
                    cure_span=installed.where("openings_closed"),
                )
