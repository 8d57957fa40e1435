"""Overcurrent protection: needed or not, large enough, small enough, made for direct current, in the right poles."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from reportgen.design.checks.base import (
    TOO_MUCH,
    Facts,
    Words,
    check,
    compare,
    if_all_placed,
    if_alone,
    unknown,
)
from reportgen.design.circuits import by_string
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing, known
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
        made = if_all_placed(made, [*dict.fromkeys(nowhere)] if circuits else facts.pathless(carrying=True))
        for circuit in circuits:
            made = if_alone(facts, made, circuit.id)
        yield made


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
