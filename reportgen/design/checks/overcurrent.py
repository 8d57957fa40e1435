"""Overcurrent protection: needed or not, large enough, small enough, made for direct current, in the right poles."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from reportgen.design.checks.base import TOO_MUCH, Facts, Words, check, compare, if_all_placed, unknown
from reportgen.design.circuits import by_string
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing, first_missing, known, missing_of
from reportgen.design.protection import Device, StringProtection
from reportgen.diagnostics.model import Span
from reportgen.engineering.currents import mixed_current
from reportgen.engineering.overcurrent import Poles
from reportgen.working.quantity import Quantity

#: What an ampacity by the table for raceways proves of a wire in free air.
_BOUND = "the ampacity is a lower bound: by the table for raceways, because the one for free air is not held"


def _devices(facts: Facts) -> Iterator[tuple[StringProtection, Device]]:
    for item in facts.overcurrent.strings:
        for device in item.devices:
            yield item, device


def _place(facts: Facts, item: StringProtection) -> Span:
    return facts.project.strings[item.string.id].span


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
            yield _left_out(item, thin)


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
        cure_span=_place(facts, item),
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


@check
def not_too_small(facts: Facts) -> Iterator[Finding]:
    """Rating of a device against the current it has to carry for hours."""
    for item, device in _devices(facts):
        yield compare(
            "fuse-floor",
            item.string.id,
            device.rating,
            item.floor,
            Words(f"rating of {device.id} in string {item.string.id}", "least rating", 2),
            0.0,
            at_most=False,
            part=device.id,
            cure="use a larger rating; one that is too small opens on a bright day",
            cure_span=device.span,
        )


@check
def not_above_the_module(facts: Facts) -> Iterator[Finding]:
    """Rating of a device against the greatest fuse on the module's label; this bound never rounds up."""
    for item, device in _devices(facts):
        yield compare(
            "fuse-module",
            item.string.id,
            device.rating,
            item.module_limit,
            Words(
                f"rating of {device.id} in string {item.string.id}", "maximum series fuse of its modules", 2
            ),
            0.0,
            part=device.id,
            cure="use a smaller rating",
            cure_span=device.span,
        )


@check
def protects_the_conductor(facts: Facts) -> Iterator[Finding]:
    """Rating of a device against the greatest one that protects the conductor where it carries least."""
    wired = by_string(facts.circuits)
    for item, device in _devices(facts):
        limit = item.conductor_limit
        assert limit is not None
        carried = (
            f", which carries {item.ampacity.show(2, at_most=True)}"
            if isinstance(item.ampacity, Quantity)
            else ""
        )
        made = compare(
            "device-conductor",
            item.string.id,
            device.rating,
            limit,
            Words(
                f"rating of {device.id} in string {item.string.id}",
                f"greatest rating that protects its home run{carried}:",
                2,
            ),
            0.0,
            part=device.id,
            cure="use a larger conductor or a smaller rating",
            cure_span=device.span,
        )
        circuits = wired[item.string.id]
        through = [stretch.segment for circuit in circuits for stretch in circuit.stretches]
        nowhere = [
            gap for circuit in circuits for gap in facts.pathless(*through, circuit=circuit.id, carrying=True)
        ]
        yield if_all_placed(made, [*dict.fromkeys(nowhere)] if circuits else facts.pathless(carrying=True))


@check
def protects_the_array_wire(facts: Facts) -> Iterator[Finding]:
    """Rating of a device against the greatest one that protects the wire behind the modules, which it protects too."""
    code = "device-array-wire"
    for item, device in _devices(facts):
        wire, name = item.behind, item.string.id
        least = "at least " if wire.proves else ""
        carried = (
            f", which carries {least}{wire.ampacity.show(2, at_most=True)}"
            if isinstance(wire.ampacity, Quantity)
            else ""
        )
        made = compare(
            code,
            name,
            device.rating,
            wire.ceiling,
            Words(
                f"rating of {device.id} in string {name}",
                f"greatest rating that protects the wire behind the modules of {wire.array or 'its array'}{carried}:",
                2,
            ),
            0.0,
            part=device.id,
            cure="use a larger wire behind the modules, smaller bundles, or a smaller rating",
            cure_span=device.span,
        )
        if made.outcome is Outcome.UNKNOWN:
            yield made
        elif wire.proves and made.outcome is not Outcome.FAILS:
            yield replace(made, notes=(*made.notes, _BOUND))
        else:
            told = made.headline.removesuffix(TOO_MUCH)
            question = f"Is {wire.size} in free air behind the modules of {wire.array} protected by {device.rating.show()}, by the table for free air at that temperature?"
            note = (
                _BOUND if wire.proves else "by the table of photovoltaic cable, which the code does not know"
            )
            yield replace(
                made, outcome=Outcome.ASK, headline=told, question=question, notes=(*made.notes, note)
            )


@check
def voltage_of_devices(facts: Facts) -> Iterator[Finding]:
    """Cold voltage of the string against the rated direct voltage of its device."""
    for item, device in _devices(facts):
        yield compare(
            "fuse-voltage",
            item.string.id,
            item.string.governing,
            device.voltage,
            Words(f"cold voltage of string {item.string.id}", f"rated direct voltage of {device.id}"),
            facts.policies.share("voltage_margin"),
            part=device.id,
            cure="use a fuse and a holder for a higher direct voltage",
            cure_span=device.span,
        )


@check
def listing_of_devices(facts: Facts) -> Iterator[Finding]:
    """Whether each device is listed for photovoltaic direct current."""
    for key, device in {device.id: device for _, device in _devices(facts)}.items():
        if device.listed is None:
            yield unknown(
                "fuse-listing",
                key,
                f"whether {key} is listed for photovoltaic use is not stated",
                [Missing(f"listed_for_pv of {key}", device.span)],
            )
            continue
        yield Finding(
            "fuse-listing",
            key,
            Outcome.MEETS if device.listed else Outcome.FAILS,
            f"{key} is {'' if device.listed else 'not '}listed for photovoltaic direct current",
            cure="" if device.listed else "use a fuse listed for photovoltaic use",
            cure_span=None if device.listed else device.span,
        )


@check
def breaking_capacity(facts: Facts) -> Iterator[Finding]:
    """Current that can be fed into a fault against the breaking capacity of the device."""
    for item, device in _devices(facts):
        yield compare(
            "fuse-breaking",
            item.string.id,
            item.fed_back,
            known(device.breaking, f"breaking_capacity of {device.id}", device.span),
            Words(
                f"current fed into a fault of string {item.string.id}", f"breaking capacity of {device.id}", 1
            ),
            0.0,
            part=device.id,
            cure="use a fuse of a higher breaking capacity",
            cure_span=device.span,
        )


@check
def poles(facts: Facts) -> Iterator[Finding]:
    """Legs that a device stands in, by the edition and the inverter's ground-fault protection."""
    fused = [item for item in facts.overcurrent.strings if item.devices]
    single = sorted({item.pole for item in fused if item.pole in {"positive", "negative"}})
    for item in fused:
        name = item.string.id
        place = _place(facts, item)
        if not item.pole:
            absent = [Missing(f"fused_pole of string {name}", place)]
            yield unknown(
                "fuse-poles", name, f"which leg of string {name} its device stands in is not stated", absent
            )
        elif item.pole == "both":
            yield Finding("fuse-poles", name, Outcome.MEETS, f"both legs of string {name} have a device")
        elif item.poles is Poles.ASK:
            yield Finding(
                "fuse-poles",
                name,
                Outcome.ASK,
                f"string {name} has a device in its {item.pole} leg alone",
                question="May a string have its overcurrent device in one leg alone?",
            )
        elif item.poles is Poles.UNKNOWN:
            found = facts.project.inverter_of(item.inverter)
            what = (
                f"ground_fault_protection of inverter type {found[0]}" if found else f"input of string {name}"
            )
            told = f"string {name} has a device in its {item.pole} leg alone, which rests on ground-fault protection"
            yield unknown("fuse-poles", name, told, [Missing(what, found[1].span if found else place)])
        elif item.poles is Poles.TWO or len(single) > 1:
            why = (
                "and no ground-fault protection stands behind the other"
                if item.poles is Poles.TWO
                else "while other strings have theirs in the other leg"
            )
            yield Finding(
                "fuse-poles",
                name,
                Outcome.FAILS,
                f"string {name} has a device in its {item.pole} leg alone, {why}",
                cure="put a device in both legs"
                if item.poles is Poles.TWO
                else "use the same leg throughout",
                cure_span=facts.project.strings[name].where("fused_pole"),
            )
        else:
            yield Finding(
                "fuse-poles",
                name,
                Outcome.MEETS,
                f"string {name} has its device in the {item.pole} leg, as all fused strings, and {item.inverter} has ground-fault protection",
            )


@check
def idle(facts: Facts) -> Iterator[Finding]:
    """Fuse types of the folder that no string names."""
    for key in facts.overcurrent.idle:
        fuse = facts.project.fuses[key]
        yield unknown(
            "fuse-idle",
            key,
            f"fuse type {key} is in the folder and in no string",
            [
                Missing(
                    f"`fuse: {key}` in the string that it protects, or nothing of it in the folder", fuse.span
                )
            ],
        )


@check
def combined(facts: Facts) -> Iterator[Finding]:
    """Strings joined before the input: what carries their sum is asked, for the folder does not describe it."""
    told: set[frozenset[str]] = set()
    for item in facts.overcurrent.strings:
        group = frozenset((item.string.id, *item.beside))
        if not item.boxes or group in told:
            continue
        told.add(group)
        names = sorted(group)
        amounts = [facts.overcurrent.by_string[name].string.maximum for name in names]
        sure = [amount for amount in amounts if isinstance(amount, Quantity)]
        total = (
            mixed_current(sure, "maximum current of the joined strings")
            if len(sure) == len(amounts)
            else None
        )
        sum_told = f" and carry {total.show(2)} behind it" if total else ""
        where = " and ".join(item.boxes)
        yield Finding(
            "combined-circuit",
            item.boxes[0],
            Outcome.ASK,
            f"strings {', '.join(names)} are joined at {where}{sum_told}",
            "-".join(names),
            value=total,
            question=f"Which conductor runs from {where} to the input, what is its ampacity, and which device protects it?",
        )


@check
def backfeed(facts: Facts) -> Iterator[Finding]:
    """Current that an inverter can feed back, which decides whether strings need fuses."""
    for key, inverter in facts.project.inverters.items():
        if inverter.backfeed_current is None:
            missing = Missing(f"backfeed_current of inverter type {key}", inverter.span)
            yield unknown(
                "backfeed", key, f"current that inverter type {key} feeds back is not stated", [missing]
            )


@check
def ground_fault(facts: Facts) -> Iterator[Finding]:
    """Ground-fault detection as each inverter declares it."""
    for key, inverter in facts.project.inverters.items():
        yield _declared(
            "ground-fault",
            key,
            inverter.ground_fault_protection,
            "ground-fault detection",
            Missing(f"ground_fault_protection of inverter type {key}", inverter.span),
            "What detects a ground fault in these strings, indicates it and interrupts it?",
        )


@check
def surge(facts: Facts) -> Iterator[Finding]:
    """Surge protection at the PV inputs as each inverter declares it."""
    for key, inverter in facts.project.inverters.items():
        yield _declared(
            "surge-protection",
            key,
            inverter.surge_protection,
            "surge protection at its PV inputs",
            Missing(f"surge_protection of inverter type {key}", inverter.span),
            "Is surge protection wanted at the array or at the inverter, and of which type and voltage?",
        )


def _declared(
    code: str, key: str, stated: bool | None, what: str, missing: Missing, question: str
) -> Finding:
    if stated is None:
        return unknown(code, key, f"inverter type {key} does not say whether it has {what}", [missing])
    if stated:
        return Finding(code, key, Outcome.MEETS, f"inverter type {key} declares {what}")
    return Finding(code, key, Outcome.ASK, f"inverter type {key} has no {what}", question=question)
