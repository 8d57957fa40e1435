"""Overcurrent protection: why there is a fuse in a string or none, and what each inverter declares."""

from __future__ import annotations

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.shutdown import shutdown
from reportgen.binder.elements import Caution, Chapter, Element, Heading, Listing, Paragraph
from reportgen.binder.schedules import Field, Line, Marked, Schedule
from reportgen.design.findings import Outcome
from reportgen.design.missing import Known, Missing
from reportgen.design.protection import Device, StringProtection
from reportgen.working.quantity import Quantity

_DEVICE_CODES = (
    "fuse-floor",
    "fuse-module",
    "device-conductor",
    "device-array-wire",
    "fuse-voltage",
    "fuse-breaking",
    "fuse-poles",
)


def chapter(desk: Desk) -> Chapter:
    """Sentence of each string, need of a device, devices fitted, declarations of the inverters."""
    design = desk.design.facts.overcurrent
    workings = _workings(desk, design.strings)
    elements: list[Element] = [
        Caution(
            "A disconnect is no overcurrent protection",
            "An isolator opens load current up to its rating; it clears no fault. Fuses and breakers do, and only those "
            "made for direct current at the cold voltage of the string.",
            "IEC 60947-3 and IEC 60269-6, recalled",
        ),
        Caution(
            "A small fault current, and an arc",
            "A short circuit drives little more than working current: a device further up may never open, so the wire has to "
            "carry it. A direct-current arc has no zero crossing and burns at working current.",
            "IEC 62548, recalled",
        ),
        Paragraph(
            "The short-circuit current of a string is little more than its working current, so a fuse does not open on a "
            "fault that its own string feeds. It opens where other strings or the inverter feed one. A device is left out "
            "where all of them together stay within what the modules and the conductors stand."
        ),
        Listing(tuple(_sentences(desk, design.strings))),
        desk.keep(_needs(desk)).table(),
    ]
    if any(item.devices for item in design.strings):
        elements += [
            Caution(
                "Never open a fuse holder under load",
                "A direct-current arc does not go out by itself. Open the disconnect, prove with a clamp meter that no current "
                "flows, and only then draw a fuse or part a plug.",
                "IEC 62548, recalled",
            ),
            desk.keep(_fitted(desk)).table(),
        ]
    elements.append(desk.keep(_declared(desk)).table())
    elements += shutdown(desk)
    if workings:
        elements += [Heading("Working"), *workings]
    return Chapter(
        "overcurrent",
        "Overcurrent protection and rapid shutdown",
        "Which strings need a fuse, which do not, and why; where conductors have to be shut down or guarded.",
        tuple(elements),
    )


def _sentences(desk: Desk, strings: tuple[StringProtection, ...]) -> list[str]:
    """The finding on each string in words, with what has to be stated where it is unknown."""
    told: list[str] = []
    for item in strings:
        for finding in desk.findings("string-fuse", subject=item.string.id):
            text = f"{finding.headline[0].upper()}{finding.headline[1:]}."
            if finding.missing:
                text += f" To state: {', '.join(finding.missing)}."
            told.append(text)
    return told


def _workings(desk: Desk, strings: tuple[StringProtection, ...]) -> list[Element]:
    found: list[Element] = []
    for item in strings:
        name = item.string.id
        found += [
            *desk.working(item.fed_back, "overcurrent", name, "fed back", rule="ocpd-needed"),
            *desk.working(item.limit, "overcurrent", name, "limit", rule="ocpd-needed"),
        ]
        if item.conductor_limit is not None:
            found += [
                *desk.working(item.floor, "overcurrent", name, "floor", rule="ocpd-rating"),
                *desk.working(
                    item.conductor_limit, "overcurrent", name, "conductor", rule="conductor-protection"
                ),
            ]
        if item.devices:
            found += desk.working(
                item.behind.ceiling, "overcurrent", name, "array wire", rule="conductor-protection"
            )
    return found


def _needs(desk: Desk) -> Schedule:
    lines = []
    for item in desk.design.facts.overcurrent.strings:
        name = item.string.id
        worst = desk.worst("string-fuse", subject=name)
        lines.append(
            Line(
                {
                    "string": name,
                    "input": item.string.input or "none",
                    "parallel": str(item.strings),
                    "imax": item.string.maximum,
                    "backfeed": item.backfeed,
                    "fed": "unknown"
                    if isinstance(item.fed_back, Missing)
                    else desk.judged(item.fed_back, subject=name),
                    "module": item.module_limit,
                    "ampacity": item.ampacity,
                    "behind": item.behind.ampacity,
                    "limit": desk.judged(item.limit, subject=name),
                    "needed": Marked({True: "yes", False: "no", None: "unknown"}[item.needed], worst),
                    "fitted": ", ".join(device.id for device in item.devices) or "none",
                    "fitting": " or ".join(rating.show() for rating in item.fitting),
                }
            )
        )
    fields = (
        Field("string", "String"),
        Field("input", "Input"),
        Field("parallel", "In parallel", align="right"),
        Field("imax", "I_max", "A", 2),
        Field("backfeed", "inverter", "A", 2, "Fed into a fault"),
        Field("fed", "in all", "A", 2, "Fed into a fault"),
        Field("module", "modules", "A", 1, "Stands", at_most=True),
        Field("ampacity", "home run", "A", 2, "Stands", at_most=True),
        Field("behind", "array wire", "A", 2, "Stands", at_most=True),
        Field("limit", "least", "A", 2, "Stands", at_most=True),
        Field("needed", "Needed"),
        Field("fitted", "Fitted"),
        Field("fitting", "Would fit"),
    )
    notes = (
        "In parallel: strings that share an input, or that links and closed poles join on the way, this one counted.",
        "Home run: the lower of its terminals' column and its ampacity in the worst stretch; where a string has several circuits, the least of them. "
        "Array wire: behind the modules, a lower bound where the code's table for free air decides. Least: of modules and home run; "
        "above the array wire's figure the finding asks. Tails outside the raceways are not judged.",
        "What would fit is worked out where a device is needed or fitted: standard ratings and those of this folder, between floor and ceilings; others are permitted where they can be had.",
    )
    return Schedule("overcurrent", "Need of a device in each string", fields, tuple(lines), notes, wide=True)


def _fitted(desk: Desk) -> Schedule:
    lines = []
    for item in desk.design.facts.overcurrent.strings:
        lines += [_device(desk, item, device) for device in item.devices]
    fields = (
        Field("string", "String"),
        Field("device", "Device"),
        Field("rating", "Rating", "A", 1),
        Field("floor", "at least", "A", 2, "Rating", at_most=False),
        Field("module", "module", "A", 1, "Rating at most", at_most=True),
        Field("conductor", "home run", "A", 1, "Rating at most", at_most=True),
        Field("behind", "array wire", "A", 1, "Rating at most", at_most=True),
        Field("cold", "cold", "V", 1, "Direct voltage"),
        Field("voltage", "rated", "V", 0, "Direct voltage", at_most=True),
        Field("listed", "Listed for PV"),
        Field("breaking", "Breaking capacity"),
        Field("legs", "Leg"),
    )
    one = desk.design.facts.overcurrent.one_pole
    notes = (
        f"A device in one leg alone is {one.answer} by {one.clause.text or 'the edition adopted'}"
        f"{', recalled' if one.recalled else ''}: the same leg throughout, and ground-fault protection behind it.",
        "Not above the conductor: the next standard size above its ampacity where that is no standard rating, never above the cap for small conductors.",
    )
    return Schedule("fuses", "Devices fitted", fields, tuple(lines), notes, wide=True)


def _device(desk: Desk, item: StringProtection, device: Device) -> Line:
    name = item.string.id
    worst = {
        code: min(
            (found.outcome for found in desk.findings(code, subject=name) if found.part in {"", device.id}),
            key=lambda outcome: outcome.rank,
            default=None,
        )
        for code in _DEVICE_CODES
    }
    breaking = "not stated" if device.breaking is None else device.breaking.show()
    return Line(
        {
            "string": name,
            "device": device.id,
            "rating": device.rating,
            "floor": _marked(desk, item.floor, worst["fuse-floor"]),
            "module": _marked(desk, item.module_limit, worst["fuse-module"]),
            "conductor": _marked(desk, item.conductor_limit, worst["device-conductor"]),
            "behind": _marked(desk, item.behind.ceiling, worst["device-array-wire"]),
            "cold": item.string.governing,
            "voltage": _marked(desk, device.voltage, worst["fuse-voltage"]),
            "listed": Marked(_yes_no(device.listed), desk.worst("fuse-listing", subject=device.id)),
            "breaking": Marked(breaking, worst["fuse-breaking"]),
            "legs": Marked(item.pole or "unknown", worst["fuse-poles"]),
        }
    )


def _marked(desk: Desk, value: Known | None, outcome: Outcome | None) -> Marked:
    link = desk.anchors.get(value, "") if isinstance(value, Quantity) else ""
    return Marked(value, outcome, link)


def _yes_no(stated: bool | None) -> str:
    return {True: "yes", False: "no", None: "unknown"}[stated]


def _declared(desk: Desk) -> Schedule:
    lines = []
    for key, inverter in desk.design.project.inverters.items():
        backfeed = inverter.backfeed_current or Missing(
            f"backfeed_current of inverter type {key}", inverter.span
        )
        lines.append(
            Line(
                {
                    "inverter": key,
                    "units": ", ".join(map(str, inverter.units)),
                    "backfeed": Marked(backfeed, desk.worst("backfeed", subject=key)),
                    "ground": Marked(
                        _yes_no(inverter.ground_fault_protection), desk.worst("ground-fault", subject=key)
                    ),
                    "arc": Marked(
                        _yes_no(inverter.arc_fault_protection), desk.worst("arc-fault", subject=key)
                    ),
                    "surge": Marked(
                        _yes_no(inverter.surge_protection), desk.worst("surge-protection", subject=key)
                    ),
                }
            )
        )
    fields = (
        Field("inverter", "Inverter type"),
        Field("units", "Units"),
        Field("backfeed", "Feeds back", "A", 2),
        Field("ground", "Ground-fault detection"),
        Field("arc", "Arc-fault function"),
        Field("surge", "Surge protection at the inputs"),
    )
    notes = (
        "Declared by its maker. What is not declared is unknown, never absent. Surge protection makes no work in a thunderstorm safe.",
    )
    return Schedule("declared", "What the inverters declare", fields, tuple(lines), notes)
