"""Current of an input: the usable limit clips, the short-circuit limit destroys; the two are never mixed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from reportgen.design.checks.base import (
    TOO_MUCH,
    Facts,
    Words,
    check,
    compare,
    no_worse_than_thin,
    unknown,
)
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing, known
from reportgen.design.results import InputDesign, StringDesign
from reportgen.working.quantity import Quantity


@check
def input_currents(facts: Facts) -> Iterator[Finding]:
    """Short-circuit current against the hard limit, operating current against the usable one."""
    for item in facts.inputs:
        if not item.strings or item.input is None:
            continue
        yield _with_homeless(facts, item, _short_circuit(facts, item))
        yield _usable(item)


def _with_homeless(facts: Facts, item: InputDesign, made: Finding) -> Finding:
    """No pass while a string without an input, which may end here as well, would make it too much."""
    assert item.input is not None
    homeless = [string for string in facts.strings if not string.input]
    limit, connectors = item.input.short_circuit_limit, item.input.connectors
    room = len(homeless) if connectors is None else int(connectors) - len(item.strings)
    if not homeless or room < 1 or limit is None or made.outcome not in (Outcome.MEETS, Outcome.THIN):
        return made
    more = sorted((one.maximum.value for one in homeless if isinstance(one.maximum, Quantity)), reverse=True)
    known_all = made.value is not None and len(more) == len(homeless)
    if known_all and made.value is not None and made.value.value + sum(more[:room]) <= limit.value:
        return made
    names = ", ".join(string.id for string in homeless)
    absent = [Missing(f"input of string {s.id}", facts.project.where("strings", s.id)) for s in homeless]
    headline = f"{made.headline}: not judged while it is not known where {names} ends"
    return unknown(made.code, made.subject, headline, absent)


def _short_circuit(facts: Facts, item: InputDesign) -> Finding:
    code, thin = "input-short-circuit", facts.policies.share("current_margin")
    assert item.input is not None
    limit = known(
        item.input.short_circuit_limit, f"short_circuit_limit of input {item.address}", item.input.span
    )
    strings = " and ".join(item.strings)
    cure = {
        "cure": "put fewer strings on this input, or choose an input with a higher limit",
        "cure_span": item.input.where("short_circuit_limit"),
    }
    at_standard = compare(
        code,
        item.address,
        item.short_circuit,
        limit,
        Words(f"short-circuit current of {strings}", f"hard limit of {item.address}", 2),
        thin,
        cure=str(cure["cure"]),
        cure_span=item.input.where("short_circuit_limit"),
    )
    with_factor = compare(
        code,
        item.address,
        item.maximum,
        limit,
        Words(
            f"short-circuit current of {strings} with the irradiance factor",
            f"hard limit of {item.address}",
            2,
        ),
        thin,
        cure=str(cure["cure"]),
        cure_span=item.input.where("short_circuit_limit"),
    )
    basis = item.input.short_circuit_basis
    if basis == "standard conditions":
        return at_standard
    if basis == "with 1.25" or Outcome.UNKNOWN in {at_standard.outcome, with_factor.outcome}:
        return with_factor
    if at_standard.outcome is Outcome.FAILS or with_factor.outcome is not Outcome.FAILS:
        # Both readings of the data sheet come to the same side; the worse of the two is told.
        worse = max(
            (at_standard, with_factor), key=lambda finding: finding.value.value if finding.value else 0.0
        )
        assert isinstance(item.short_circuit, Quantity) and isinstance(item.maximum, Quantity)
        both = f"the maker does not say which is meant: {item.short_circuit.show(2)} at standard conditions, {item.maximum.show(2)} with the factor; both come to the same"
        return replace(worse, notes=(*worse.notes, both))
    return Finding(
        code,
        item.address,
        Outcome.ASK,
        f"{at_standard.headline} at standard conditions, but {with_factor.headline.removesuffix(TOO_MUCH)} is above it",
        value=with_factor.value,
        limit=with_factor.limit,
        margin=with_factor.margin,
        question=f"Ask the maker of {item.unit}: is the short-circuit limit of its inputs meant at standard conditions, or must 1.25 times Isc stay below it?",
        cure="state short_circuit_basis once the maker has answered",
        cure_span=item.input.span,
    )


def _usable(item: InputDesign) -> Finding:
    code = "input-usable-current"
    assert item.input is not None
    limit = known(item.input.usable_current, f"usable_current of input {item.address}", item.input.span)
    words = Words(
        f"operating current of {' and '.join(item.strings)}", f"usable current of {item.address}", 2
    )
    return no_worse_than_thin(
        compare(code, item.address, item.operating, limit, words, 0.0),
        "the input clips in strong sun, no hazard",
        "see the energy chapter for the kWh lost, or spread the strings over more inputs",
        item.input.where("usable_current"),
    )


@check
def like_strings(facts: Facts) -> Iterator[Finding]:
    """Strings in parallel on one input are alike in module type and count."""
    by_id = {string.id: string for string in facts.strings}
    for item in facts.inputs:
        if len(item.strings) < 2:
            continue
        strings = [by_id[key] for key in item.strings]
        names = " and ".join(item.strings)
        counts = {string.count.value for string in strings}
        types = {string.module_id for string in strings}
        place = facts.project.strings[item.strings[0]].where("input")
        if len(types) > 1 or len(counts) > 1:
            what = "module types" if len(types) > 1 else "numbers of modules"
            yield Finding(
                "input-like-strings",
                item.address,
                Outcome.FAILS,
                f"strings {names} differ in their {what} and share input {item.address}",
                cure="give each of them an input of its own, or make them equal",
                cure_span=place,
            )
            continue
        planes = {_plane(facts, string) for string in strings}
        if None in planes and len({string.arrays for string in strings}) > 1:
            absent = [
                _untold(facts, key)
                for string in strings
                if _plane(facts, string) is None
                for key in string.arrays
            ]
            headline = f"whether strings {names} on input {item.address} face one way is not stated"
            yield unknown("input-like-strings", item.address, headline, list(dict.fromkeys(absent)))
        elif len(planes) > 1:
            yield Finding(
                "input-like-strings",
                item.address,
                Outcome.THIN,
                f"strings {names} on input {item.address} are alike but face different ways: at one voltage both lose a little",
                cure="no hazard; see the string-to-input map for the loss, or give each an input of its own",
                cure_span=place,
            )
        else:
            yield Finding(
                "input-like-strings",
                item.address,
                Outcome.MEETS,
                f"strings {names} on input {item.address} are alike",
            )


def _plane(facts: Facts, string: StringDesign) -> tuple[tuple[float, float], ...] | None:
    """Tilt and azimuth of each part of a string; None where one is not stated."""
    found = [facts.project.arrays[key].plane for key in dict.fromkeys(string.arrays)]
    stated = [plane for plane in found if plane is not None]
    return tuple(dict.fromkeys(stated)) if len(stated) == len(found) else None


def _untold(facts: Facts, key: str) -> Missing:
    """Which way an array faces, where it does not say so."""
    return Missing(f"tilt and azimuth of array {key}", facts.project.arrays[key].span)


@check
def one_plane(facts: Facts) -> Iterator[Finding]:
    """Modules of one string face one way; told of strings with modules of several arrays alone."""
    code = "string-one-plane"
    for string in facts.strings:
        keys = tuple(dict.fromkeys(string.arrays))
        if len(keys) < 2:
            continue
        planes = {key: facts.project.arrays[key].plane for key in keys}
        absent = [_untold(facts, key) for key, plane in planes.items() if plane is None]
        names = ", ".join(keys)
        if absent:
            yield unknown(
                code,
                string.id,
                f"whether modules of {string.id} on {names} face one way is not stated",
                absent,
            )
        elif len(set(planes.values())) > 1:
            yield Finding(
                code,
                string.id,
                Outcome.THIN,
                f"modules of string {string.id} on {names} face different ways: in series those with the least light set "
                "the current of all",
                cure="no hazard; keep the modules of a string in one plane",
                cure_span=facts.project.strings[string.id].where("parts"),
            )
        else:
            yield Finding(
                code, string.id, Outcome.MEETS, f"modules of string {string.id} on {names} face one way"
            )


@check
def inputs_exist(facts: Facts) -> Iterator[Finding]:
    """No input carries more strings than it has connectors."""
    for item in facts.inputs:
        if item.input is None or len(item.strings) < 2:
            continue
        connectors = item.input.connectors
        if connectors is None:
            missing = Missing(f"connectors of input {item.address}", item.input.span)
            headline = f"whether input {item.address} takes {len(item.strings)} strings is not stated"
            yield unknown("input-connectors", item.address, headline, [missing])
            continue
        words = f"{len(item.strings)} strings at input {item.address}, {int(connectors)} pairs of connectors"
        outcome = Outcome.MEETS if len(item.strings) <= connectors else Outcome.ASK
        yield Finding(
            "input-connectors",
            item.address,
            outcome,
            words,
            question=""
            if outcome is Outcome.MEETS
            else "How are the strings joined before the input, and does the maker allow it?",
        )
