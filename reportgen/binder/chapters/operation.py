"""Operation: the emergency sheet, how the system is started and told to work, what is looked after and when."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.energy import output_words
from reportgen.binder.chapters.record_cards import few
from reportgen.binder.chapters.record_equipment import NOT_STATED, handover
from reportgen.binder.chapters.upper_bounds import is_bound
from reportgen.binder.elements import (
    Blank,
    Caution,
    Chapter,
    Column,
    Element,
    Facts,
    Fields,
    FormTable,
    Listing,
    TaskCard,
)
from reportgen.binder.schedules import Field, Line, Schedule
from reportgen.design.isolation import OpenSwitch
from reportgen.design.missing import highest
from reportgen.design.pieces import WirePieces, way
from reportgen.project.handover import Emergency
from reportgen.working.text import fixed


def chapter(desk: Desk) -> Chapter | None:
    """Emergency sheet, then what the owner needs; no chapter where there is no string."""
    if not desk.design.facts.strings:
        return None
    elements: list[Element] = [
        Facts(tuple(_owner(desk)), "Running it"),
        desk.keep(_maintenance()).table(),
        Caution(
            "Broken module, water",
            "A cracked or flooded module can put voltage on glass, frame, mud and water. Do not touch it: isolate from dry "
            "ground, keep people away, and treat the string as live until it is measured.",
            "IEC 62446-2, recalled; common practice",
        ),
        _emergency(desk),
    ]
    return Chapter(
        "operation",
        "Emergency, operation and maintenance",
        "What stays live when everything is off, whom to call, and what is looked at through the years.",
        tuple(elements),
    )


# The emergency sheet


def _emergency(desk: Desk) -> TaskCard:
    stated = handover(desk).emergency or Emergency.model_construct()
    project = desk.design.project
    known = [(str(item.who), str(item.number)) for item in stated.contacts if item.number]
    blank = [str(item.who) for item in stated.contacts if not item.number]
    if not stated.contacts:
        blank = ["Fire brigade", "Network operator", "Electrician", "Owner"]
    called: list[tuple[str | Blank, ...]] = [
        *known,
        *((name, Blank("Telephone number")) for name in blank),
    ]
    return TaskCard(
        "card-emergency",
        "Emergency sheet",
        (
            Facts(
                (
                    ("Place", str(project.project.address or NOT_STATED)),
                    ("1. Alternating current off", str(stated.ac_isolation or NOT_STATED)),
                    ("2. Direct current off", _switches_told(desk)),
                    (
                        "Rapid shutdown",
                        str(project.project.rapid_shutdown or f"{NOT_STATED}: `project`, `rapid_shutdown`"),
                    ),
                    ("Link to a fire alarm", str(stated.fire_link or NOT_STATED)),
                    ("Smoke detection", str(stated.smoke_system or NOT_STATED)),
                ),
                "Shutting down; this order, where there is time for it",
            ),
            desk.keep(_live(desk)).table(),
            FormTable("emergency-calls", "Telephone", (Column("Who"), Column("Number")), tuple(called)),
            Listing(
                (
                    "Fire: tell the fire service what stays live, above. No array cable is cut, no plug is pulled. Water only from "
                    "the distance that the fire service keeps from live parts.",
                    "Cracked or torn-off module, cable chewed or cut: nobody touches module, frame or ground beneath it; switches "
                    "open, people away, electrician called.",
                    "Flood: do not wade to an inverter, switch or box; have it parted from the network outside; nothing is switched on "
                    "again before it is dry and its insulation measured.",
                    "Smell, hiss or light from a switch or plug: an arc. Do not open that switch by hand; stop the inverters on "
                    "their alternating-current side, keep away, call.",
                    "Somebody hurt: do not touch while a wire touches; part it from the source or move it with something dry that "
                    "does not conduct.",
                )
            ),
            Fields("emergency-remarks", (Blank("Remarks", lines=2),)),
        ),
        "Hang it where the fire service enters: how it is shut down, and what no switch makes dead.",
        ("modules make voltage as long as light falls on them, by floodlight and fire too",),
    )


def _switches_told(desk: Desk) -> str:
    """Direct-current switches with their places, those at one place together."""
    project = desk.design.project
    by_place: dict[str, list[str]] = {}
    for item in desk.design.isolation.switches:
        by_place.setdefault(_place(desk, item), []).append(item.unit)
    told = "; ".join(f"{few(units)}: {place}" for place, units in by_place.items())
    for item in desk.design.isolation.switches:
        if item.through:
            told += f"; with {item.unit} open these stay live inside it: {few(item.through)}"
    if desk.design.isolation.not_landed:
        told = f"{told}; " if told else ""
        told += f"without a switch by the landing: {few(desk.design.isolation.not_landed)}"
    if reached := desk.design.facts.predictions.live_with_all_open:
        told = f"{told}; " if told else ""
        told += f"no switch parts the strings from {few(reached)}"
    if told:
        return told
    return "no switch is landed" if project.switches else "there is no switch"


def _place(desk: Desk, item: OpenSwitch) -> str:
    project = desk.design.project
    for section in (project.switches, project.boxes):
        for kind in section.values():
            if (unit := kind.units.get(item.unit)) is not None:
                return str(unit.place or "place not stated")
    return "place not stated"


def _live(desk: Desk) -> Schedule:
    """Arrays with the highest voltage of their strings, and what their wires run through before and behind a switch."""
    project = desk.design.project
    whole = {item.string: item.whole for item in desk.design.isolation.opened}
    strings: dict[str, list[str]] = {}
    for string in desk.design.facts.strings:
        for array in string.arrays:
            strings.setdefault(array, []).append(string.id)
    ways: dict[str, list[str]] = {}
    behind: dict[str, list[str]] = {}
    by_circuit: dict[str, list[WirePieces]] = defaultdict(list)
    for one in desk.design.facts.pieces:
        by_circuit[one.wire.circuit].append(one)
    open_at = {
        (switch.unit, terminal.terminal): terminal.behind
        for switch in desk.design.isolation.switches
        for terminal in switch.terminals
    }
    for circuit in desk.design.facts.circuits:
        order = way(desk.design.facts.graph, circuit.id)
        for one in by_circuit[circuit.id]:
            always, opened = _either_side(one, open_at)
            always.sort(key=lambda item: order.index(item) if item in order else len(order))
            ways.setdefault(circuit.string.id, []).extend(always)
            behind.setdefault(circuit.string.id, []).extend(opened)
    lines = [
        Line(
            {
                "array": array,
                "place": str(project.arrays[array].place or NOT_STATED),
                "strings": few(names),
                "volts": highest(whole[name] for name in names),
                "through": few([*dict.fromkeys(place for name in names for place in ways.get(name, []))])
                or NOT_STATED,
                "behind": few([*dict.fromkeys(place for name in names for place in behind.get(name, []))]),
            }
        )
        for array, names in strings.items()
    ]
    fields = (
        Field("array", "Array"),
        Field("place", "Where it stands"),
        Field("strings", "Strings"),
        Field("volts", "Up to", "V", 1, at_most=False),
        Field("through", "Live whatever is switched off"),
        Field("behind", "Live until every switch is open, the wait over and it is measured dead"),
    )
    notes = (
        "Voltages at the record low. Of a switch the side that the array is on stays live. A raceway named in both columns holds "
        "wires of both kinds. Not stated: write it under `handover`, `emergency`.",
    )
    caption = "Live in light"
    return Schedule("emergency-live", caption, fields, tuple(lines), notes)


def _either_side(
    one: WirePieces, open_at: Mapping[tuple[str, str], tuple[str, ...]]
) -> tuple[list[str], list[str]]:
    """What a wire runs through before the first switch that cuts it off, and behind that.

    Where a landing is not told, or another string feeds the far side from behind, everything counts as before.
    """
    before: list[str] = []
    behind: list[str] = []
    for piece in one.pieces:
        # Joints carry on what they join; only a switch whose far terminal no string reaches cuts it off.
        if not piece.first and open_at.get((piece.start.place, piece.start.terminal)) == ():
            behind.append(f"inverter side of {piece.start.place}")
        told = behind if behind else before
        told += [piece.start.place] if not piece.first and not behind else []
        told += [*dict.fromkeys(segment.raceway for segment in piece.through), *piece.passed]
        if not piece.last and not behind:
            before.append(piece.end.place)
    if one.missing:
        return [*before, *behind], []
    return before, behind


# For the owner


def _owner(desk: Desk) -> Iterator[tuple[str, str]]:
    stated = handover(desk).operation
    yield (
        "It works when",
        str((stated.works if stated else None) or f"{NOT_STATED}: `handover`, `operation`, `works`"),
    )
    yield (
        "When it does not",
        str((stated.failure if stated else None) or f"{NOT_STATED}: `handover`, `operation`, `failure`"),
    )
    energy = desk.design.energy
    year = energy.year if energy is not None else None
    if energy is not None and year is not None:
        # Of a year that is no expectation no month is one either.
        months = "" if is_bound(energy) else ", ".join(fixed(kwh, 0) for kwh in year.ac)
        by_month = f"; by month, January first: {months} kWh" if months else ""
        yield "Expected in a year", f"{output_words(desk.design)}{by_month}"
    else:
        yield "Expected in a year", "not worked out in this run, see Energy and wire loss"
    yield (
        "Start",
        "Switches closed one at a time with the inverters off, then the alternating-current side, then the inverters; after work "
        "on wires only behind the commissioning sheet.",
    )
    yield (
        "Stop",
        "Inverters off, alternating-current side off, then the direct-current switches; wait and prove dead as under Isolation "
        "and work order before a cover is opened.",
    )
    yield (
        "Cleaning",
        str(
            (stated.cleaning if stated else None)
            or f"{NOT_STATED}: `handover`, `operation`, `cleaning`; the maker's manual holds"
        ),
    )
    warranties = "; ".join(map(str, stated.warranties)) if stated else ""
    yield "Warranties", warranties or f"{NOT_STATED}: `handover`, `operation`, `warranties`"
    yield "Next test", str((stated.next_test if stated else None) or NOT_STATED)


def _maintenance() -> Schedule:
    lines = tuple(
        Line({"when": when, "what": what, "how": how})
        for when, what, how in (
            (
                "monthly",
                "yield against the expected, alarms of the inverters",
                "table above; display or portal",
            ),
            (
                "yearly",
                "modules, plugs, ties and wire seen; labels; switches moved once without load; plants; water in boxes",
                "visual inspection card",
            ),
            (
                "every 2 to 5 years",
                "open-circuit voltage and current of every string, insulation, bond of frames",
                "commissioning sheet; compare with the first readings",
            ),
            (
                "every 2 to 5 years",
                "terminals by infrared under load; tightened anew only where the maker says so",
                "torque sheet",
            ),
            (
                "after storm, fault or flood",
                "visual inspection and insulation before it is switched on",
                "both cards",
            ),
            (
                "battery",
                "by the maker's own sheet; its fault current is far larger than that of modules; not covered here",
                "maker's manual",
            ),
        )
    )
    fields = (Field("when", "When"), Field("what", "What is looked at"), Field("how", "By what"))
    notes = (
        "Intervals: common practice, no source; subjects after IEC 62446-2, recalled. Where maker, insurer or authority ask for "
        "shorter ones, they hold. After a change of wires: isolation, ring-out and commissioning anew.",
    )
    return Schedule("maintenance", "Maintenance", fields, lines, notes)
