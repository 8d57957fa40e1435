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
from reportgen.design.pieces import Piece
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
    ring = design_ring_out(facts.graph, facts.circuits, desk.design.commissioning.tests, facts.pieces)
    if not ring.pieces:
        return None
    desk.keep(_every(ring))
    elements: list[Element] = [
        _DEAD,
        _ELECTRONICS,
        Listing(_steps(ring), numbered=True),
        Heading("Continuity"),
        *_untold(ring),
    ]
    seen: set[tuple[str, ...]] = set()
    for number, group in enumerate(ring.groups, start=1):
        matrix = desk.keep(_matrix(number, group, ring))
        columns = tuple(_short(piece, group) for piece in group.pieces)
        # The pattern of the other side of a switch is the same; its file has it.
        if columns not in seen:
            seen.add(columns)
            elements.append(matrix.table())
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


_LAID = "laid along"
_DEVICES = (
    "A switch stays open and locked and is no part of any piece: the wire on its array side and the one on its inverter "
    "side are rung out each by itself, off the switch."
)


def _untold(ring: RingOut) -> Iterator[Element]:
    missing = dict.fromkeys(item.what for group in ring.groups for item in group.missing)
    if missing:
        yield Paragraph(
            "Where these wires are cut is not told, so their pieces may be others than those listed:"
        )
        yield Listing(tuple(f"state {what}" for what in missing))


def _steps(ring: RingOut) -> tuple[str, ...]:
    cut = any(not piece.whole for piece in ring.pieces)
    return (
        "Every piece off its terminals and joints at both ends, none touching another; each proved dead with a voltmeter."
        + (f" {_DEVICES}" if cut else ""),
        "The return stands beside each piece: the ground wire that runs along with it, off its terminals too, else a wire laid "
        "along for the test. Prove it first: join it to any piece at one end, and to no other.",
        "At its start, the end named first, join one piece at a time to the return: the one that the second person names by its label.",
        "At its other end probe every piece of the group to the return: the one named beeps, every other one stays silent.",
        "A piece that beeps under another name is labelled wrong at one end: put both labels right, then go on.",
        "Then the insulation test, piece by piece; discharge each after.",
    )


def _name(group: RingGroup) -> str:
    return f"{group.name}, {group.side}" if group.side else group.name


def _short(piece: Piece, group: RingGroup) -> str:
    """The wire, which tells the pieces of a group apart unless a wire has several between devices."""
    twice = sum(other.wire.id == piece.wire.id for other in group.pieces) > 1
    return piece.id if twice else piece.wire.id


def _beside(ring: RingOut, group: RingGroup) -> int:
    """Pieces of other groups on the same side: they end at the same places and stay silent too."""
    return sum(len(one.pieces) for one in ring.groups if one.side == group.side) - len(group.pieces)


def _matrix(number: int, group: RingGroup, ring: RingOut) -> Schedule:
    """Expected pattern: rows are joined to the return at their start, columns probed at their end."""
    others = _beside(ring, group)
    lines = tuple(
        Line(
            {"joined": _short(joined, group)}
            | {f"near_{i}": group.expected(joined, probed) for i, probed in enumerate(group.pieces)}
            | ({"others": OPEN} if others else {})
        )
        for joined in group.pieces
    )
    fields = (
        Field("joined", "Joined at its start"),
        *(
            Field(f"near_{i}", _short(piece, group), group="Probed at its end")
            for i, piece in enumerate(group.pieces)
        ),
        *([Field("others", f"{others} others", group="Probed at its end")] if others else []),
    )
    notes = (
        ("The pieces on the inverter side of the switches beep in the same pattern.",) if group.side else ()
    )
    return Schedule(
        f"ring-out-{number}", f"{_name(group)}: which piece beeps", fields, lines, notes, wide=True
    )


def _every(ring: RingOut) -> Schedule:
    lines = tuple(
        Line(
            {
                "piece": piece.id,
                "group": _name(group),
                "size": piece.wire.size,
                "colour": piece.wire.colour,
                "from": str(piece.start) or UNKNOWN,
                "to": str(piece.end) or UNKNOWN,
                "back": back or _LAID,
                "own": BEEP,
                "others": f"{OPEN}, all {others}"
                if (others := _beside(ring, group) + len(group.pieces) - 1)
                else "",
            }
        )
        for group in ring.groups
        for piece, back in zip(group.pieces, group.backs, strict=True)
    )
    fields = (
        Field("piece", "Piece"),
        Field("group", "Group"),
        Field("size", "Size"),
        Field("colour", "Colour"),
        Field("from", "Joined at"),
        Field("to", "Probed at"),
        Field("back", "Return"),
        Field("own", "Itself"),
        Field("others", "Every other piece there"),
    )
    return Schedule("ring-out", "Expected continuity of every piece", fields, lines, wide=True)


def _tests(tests: tuple[WireTest, ...]) -> Schedule:
    lines = tuple(
        Line(
            {
                "circuit": test.circuit,
                "legs": ", ".join(test.legs),
                "apart": "; ".join(test.apart) or "whole",
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
        Field("apart", "Each piece"),
        Field("basis", "Chosen by", "V", 1),
        Field("test", "Test", "V", 0),
        Field("least", "At least", "Mohm", 1, at_most=False),
        Field("marked", "Wire marked", "V", 0),
    )
    notes = (
        "Where the test voltage is above the voltage marked on the wire, ask its maker whether the wire stands it; a "
        "lower test voltage proves less and is written down as such.",
    )
    return Schedule("wire-insulation", "Insulation test of pulled wire, each leg", fields, lines, notes)


def _shown(value: Known, places: int) -> str:
    return value.show(places) if isinstance(value, Quantity) else UNKNOWN


def _by_legs(ring: RingOut) -> dict[str, tuple[list[Piece], str]]:
    """Pieces that lie side by side, the legs of a circuit, by what a card calls them; and their return."""
    found: dict[str, tuple[list[Piece], str]] = {}
    for group in ring.groups:
        for piece, back in zip(group.pieces, group.backs, strict=True):
            wire = piece.wire
            number = wire.id.removeprefix(f"{wire.circuit}{wire.leg}")
            name = f"{wire.circuit}{number} {piece.start.place or UNKNOWN} to {piece.end.place.rstrip('+-') or UNKNOWN}"
            found.setdefault(name, ([], back))[0].append(piece)
    return found


def _terminals(piece: Piece) -> str:
    """Terminals that a piece goes between, where the landing names them; the places are told with its name."""
    lead = piece.end.place.rpartition("/")[2] if piece.last and piece.wire.leg else ""
    start, end = piece.start.terminal, piece.end.terminal or lead
    way = f"{start} to {end}" if start else f"to {end}" if end else "not stated"
    return f"{piece.wire.leg} {way}".strip()


def _row(name: str, pieces: list[Piece], back: str) -> FormRow:
    told = "; ".join(_terminals(piece) for piece in pieces)
    colours = " ".join(dict.fromkeys(piece.wire.colour for piece in pieces if piece.wire.colour))
    second = Blank(tick=True) if any(piece.wire.leg for piece in pieces) else ""
    beeps = (Blank(tick=True), second)
    wire = f"{pieces[0].wire.size} {colours}".strip()
    return (name, wire, told, back or _LAID, *beeps, Blank(tick=True), Blank())


def _cards(desk: Desk, ring: RingOut) -> Iterator[Element]:
    units = desk.units
    cut = any(not piece.whole for piece in ring.pieces)
    rows = tuple(_row(name, found, back) for name, (found, back) in _by_legs(ring).items())
    columns = (
        Column("Piece"),
        Column("Wire"),
        Column("Terminals"),
        Column("Return"),
        Column("+ beeps"),
        Column("− beeps"),
        Column("others silent"),
        Column("Initials"),
    )
    yield from task_cards(
        "ring-out",
        "Ring-out",
        tall=desk.tall,
        purpose="Prove that every piece of wire is the one its label says, before anything is landed.",
        stop=(
            "a voltmeter shows any voltage on a wire: it is not apart from its source",
            "two pieces beep at once: they touch, or are joined somewhere; find the place first",
            "no piece beeps: look whether the piece ends where the card says; then it is broken, or mislabelled",
        ),
        cautions=(_DEAD,),
        steps=(
            f"Both ends of every piece off and apart, each proved dead.{' ' + _DEVICES if cut else ''}",
            "Return: the ground named, off its terminals too, or a wire laid along. Prove it first.",
            "Join one piece at a time to the return at the end named first; probe every piece at the other end.",
        ),
        form=FormTable("ring-out", "Pieces, one at a time", columns, rows),
        remarks=1,
    )
    tests: tuple[FormRow, ...] = tuple(
        (
            f"{test.circuit} {part}".strip(),
            _shown(test.test, 0),
            _shown(test.least, 1),
            Blank(),
            Blank(),
            Blank(),
            Blank(),
            Blank(tick=True),
        )
        for test in ring.tests
        for part in test.apart or ("",)
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
