"""Ring-out: continuity matrix with the expected pattern, and the insulation test of pulled wire."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import (
    Blank,
    Caution,
    Chapter,
    Column,
    Element,
    FormTable,
    Heading,
    Listing,
    Paragraph,
    TableCell,
)
from reportgen.binder.schedules import UNKNOWN, Field, Line, Schedule
from reportgen.binder.task_cards import task_cards
from reportgen.design.missing import Known
from reportgen.design.ring_out import BEEP, OPEN, RingGroup, RingOut, WireTest, design_ring_out
from reportgen.working.quantity import Quantity
from reportgen.working.units import UNITS

FormRow = tuple[str | TableCell | Blank, ...]

_ELECTRONICS = Caution(
    "Megohmmeter and electronics",
    "The test voltage destroys what is made for less: disconnect inverters, surge protection, monitoring and modules "
    "from the wire first. Keep clear of both ends while it is on; discharge each wire to ground after, and wait.",
    "IEC 62446-1, 6.7, recalled; makers' manuals",
)
_DEAD = Caution(
    "Only on dead wire",
    "Both ends are off their terminals and apart from the array: modules make voltage in any light. A meter set to "
    "continuity must never meet a live wire. Prove each wire dead with a voltmeter first.",
    "IEC 60364-7-712, recalled; common practice, no source",
)


def chapter(desk: Desk) -> Chapter | None:
    """Continuity and insulation of every wire pulled; no chapter without one."""
    facts = desk.design.facts
    ring = design_ring_out(facts.graph, facts.circuits, desk.design.commissioning.tests)
    if not ring.wires:
        return None
    desk.keep(_every(ring))
    elements: list[Element] = [
        _DEAD,
        _ELECTRONICS,
        Listing(_steps(ring), numbered=True),
        Heading("Continuity"),
    ]
    for number, group in enumerate(ring.groups, start=1):
        elements.append(desk.keep(_matrix(number, group, ring)).table())
    elements += [
        Heading("Insulation of pulled wire"),
        Paragraph(
            "The test voltage and the least resistance are those of the table for the string that the wire will carry, chosen by "
            "1.25 times its open-circuit voltage at standard conditions. No correction for temperature is applied, "
            "because no factor with a source is held: measure dry wire, and write the temperature beside the reading. "
            "New wire reads far above the least; one wire far below its neighbours is damaged, whatever the limit says."
        ),
        desk.keep(_tests(ring.tests)).table(),
        *(
            view
            for test in ring.tests
            for view in desk.working(test.basis, "ring-out", test.circuit, "basis")
        ),
        *_cards(desk, ring),
    ]
    return Chapter(
        "ring-out",
        "Ring-out of pulled wire",
        "Each wire proved to be the one its label says, and its insulation whole, before anything is landed.",
        tuple(elements),
    )


def _return(ring: RingOut) -> str:
    if ring.grounds:
        return (
            f"the ground wire {ring.grounds[0].id}" if len(ring.grounds) == 1 else "the ground wire beside it"
        )
    return "a wire laid along for the test, since no ground wire is pulled"


def _steps(ring: RingOut) -> tuple[str, ...]:
    back = _return(ring)
    return (
        "Every wire off its terminals at both ends, none touching another; each proved dead with a voltmeter.",
        f"The return is {back}. Prove it first: join it to any wire at the far end, and to no other.",
        "At the far end join one wire at a time to the return, the one that the second person names by its label.",
        "At the near end probe every wire to the return: the one named beeps, every other one stays silent.",
        "A wire that beeps under another name is labelled wrong at one end: put both labels right, then go on.",
        "Then the insulation test, wire by wire; discharge each after.",
    )


def _matrix(number: int, group: RingGroup, ring: RingOut) -> Schedule:
    """Expected pattern: rows are joined to the return at the far end, columns probed at the near end."""
    others = len(ring.wires) - len(group.wires)
    lines = tuple(
        Line(
            {"joined": joined.id}
            | {f"near_{i}": group.expected(joined, probed) for i, probed in enumerate(group.wires)}
            | ({"others": OPEN} if others else {})
        )
        for joined in group.wires
    )
    fields = (
        Field("joined", "Joined at far end"),
        *(Field(f"near_{i}", wire.id, group="Probed at near end") for i, wire in enumerate(group.wires)),
        *([Field("others", f"{others} others", group="Probed at near end")] if others else []),
    )
    return Schedule(f"ring-out-{number}", f"{group.name}: which wire beeps", fields, lines, wide=True)


def _every(ring: RingOut) -> Schedule:
    total = len(ring.wires)
    lines = tuple(
        Line(
            {
                "wire": wire.id,
                "group": group.name,
                "size": wire.size,
                "colour": wire.colour,
                "from": wire.start,
                "to": wire.end,
                "own": BEEP,
                "others": f"{OPEN}, all {total - 1}" if total > 1 else "",
            }
        )
        for group in ring.groups
        for wire in group.wires
    )
    fields = (
        Field("wire", "Wire"),
        Field("group", "Group"),
        Field("size", "Size"),
        Field("colour", "Colour"),
        Field("from", "From"),
        Field("to", "To"),
        Field("own", "Its own other end"),
        Field("others", "Every other wire"),
    )
    return Schedule("ring-out", "Expected continuity of every wire", fields, lines)


def _tests(tests: tuple[WireTest, ...]) -> Schedule:
    lines = tuple(
        Line(
            {
                "circuit": test.circuit,
                "legs": ", ".join(test.legs),
                "basis": test.basis,
                "test": test.test,
                "least": test.least,
                "marked": test.marked,
            }
        )
        for test in tests
    )
    fields = (
        Field("circuit", "Circuit"),
        Field("legs", "Wires"),
        Field("basis", "Chosen by", "V", 1),
        Field("test", "Test", "V", 0),
        Field("least", "At least", "Mohm", 1),
        Field("marked", "Wire marked", "V", 0),
    )
    notes = (
        "Where the test voltage is above the voltage marked on the wire, ask its maker whether the wire stands it; a "
        "lower test voltage proves less and is written down as such.",
    )
    return Schedule("wire-insulation", "Insulation test of pulled wire, each leg", fields, lines, notes)


def _shown(value: Known, places: int) -> str:
    return value.show(places) if isinstance(value, Quantity) else UNKNOWN


def _cards(desk: Desk, ring: RingOut) -> Iterator[Element]:
    units = desk.units
    total = len(ring.wires)
    silent = f"{total - 1} others silent" if total > 1 else "no other wire"
    rows: tuple[FormRow, ...] = tuple(
        (
            wire.id,
            f"{wire.size} {wire.colour}".strip(),
            f"{wire.start or UNKNOWN} to {wire.end or UNKNOWN}",
            Blank(tick=True),
            Blank(tick=True),
            Blank(),
        )
        for wire in ring.wires
    )
    columns = (
        Column("Joined at far end"),
        Column("Wire"),
        Column("Route"),
        Column("It beeps"),
        Column(silent),
        Column("Initials"),
    )
    yield from task_cards(
        "ring-out",
        "Ring-out",
        tall=desk.tall,
        purpose="Prove that every wire is the one its label says, before anything is landed.",
        stop=(
            "a voltmeter shows any voltage on a wire: it is not apart from its source",
            "two wires beep at once: they touch, or are joined somewhere; find the place first",
            "no wire beeps: broken, or mislabelled at the far end",
        ),
        cautions=(_DEAD,),
        steps=_steps(ring)[:5],
        form=FormTable("ring-out", "Wires, one at a time", columns, rows),
        remarks=1,
    )
    tests: tuple[FormRow, ...] = tuple(
        (
            test.circuit,
            _shown(test.test, 0),
            _shown(test.least, 1),
            Blank(),
            Blank(),
            Blank(),
            Blank(),
            Blank(tick=True),
        )
        for test in ring.tests
    )
    heads = (
        Column("Circuit"),
        Column("Test"),
        Column("At least"),
        Column("+ to ground", "MΩ"),
        Column("− to ground", "MΩ"),
        Column("+ to −", "MΩ"),
        Column("Wire", UNITS[units.temperature].printed),
        Column("Discharged"),
    )
    yield from task_cards(
        "wire-insulation",
        "Insulation test of pulled wire",
        tall=desk.tall,
        purpose="Prove that the pull has not hurt the insulation of any wire.",
        stop=(
            "electronics, surge protection or modules are still connected to the wire",
            "somebody is at the far end and does not know that the test is on",
            "the circuit's test voltage is printed as unknown",
        ),
        cautions=(_ELECTRONICS,),
        form=FormTable("wire-insulation", "Readings", heads, tests),
        remarks=1,
    )
