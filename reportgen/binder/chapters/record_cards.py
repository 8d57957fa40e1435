"""Cards of the record: visual inspection, functions with instruments and conditions, corrections and signatures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Blank, Caution, Column, Fields, FormTable, TaskCard
from reportgen.project.handover import Handover, Signature
from reportgen.working.units import UNITS

Row = tuple[str | Blank, ...]
_FEW = 10  # names in a row on a card

#: What is looked at, and where the binder says how it has to be.
_LOOKED_AT = (
    ("Modules: model, count, none cracked, none shaded by what was added", "Equipment; Site"),
    ("Strings run as drawn, polarity marked at both ends", "Landing; Labels"),
    ("Connector halves of one maker and type, no plug on the ground or in water", "Kept and replaced"),
    (
        "Wire behind modules tied, clear of edges and of the ground, marked for sun and wet",
        "Kept and replaced",
    ),
    ("Frames and rails bonded as listed, jumpers at every break", "Equipment grounding"),
    ("Pipe: kind, size, straps, fittings, bushings, sealed and drained as drawn", "Raceways"),
    ("Trench open: depth measured, bedding, warning tape, no stones on the pipe", "Raceways"),
    ("Boxes: covers, glands, unused openings closed, room for the wires", "Boxes and terminals"),
    ("Conductors: size, marking and colour on the jacket as in the schedule", "Conductor schedule"),
    ("Switches: type, poles and links as drawn, marked for direct current, lockable", "Landing"),
    ("Overcurrent devices: direct-current rating, none above the module's", "Overcurrent protection"),
    (
        "Terminals: torque sheet signed, one wire a clamp unless listed, no copper seen",
        "Torque and terminations",
    ),
    ("No PV pole on a ground bar where the inverter lets it float", "Equipment grounding"),
    ("Labels and placards: words, figures, places, letters", "Labels and placards"),
    ("Working space free, nothing that burns beneath or beside inverters", "maker's manual"),
    ("Alternating-current side isolated by its own device; emergency sheet hangs at the door", "Operation"),
)


def few(names: Sequence[str]) -> str:
    """Names in a row; of many the first ones and how many more there are, so that a card stays one sheet.

    Examples
    --------
    >>> few([f"S{k}" for k in range(40)])
    'S0, S1, S2, S3, S4, S5, S6, S7, S8, S9 and 30 more'
    """
    more = f" and {len(names) - _FEW} more" if len(names) > _FEW else ""
    return ", ".join(names[:_FEW]) + more


def cards(desk: Desk, handover: Handover) -> Iterator[TaskCard]:
    """The three cards, each one page."""
    if not desk.design.facts.strings:
        return
    yield _inspection()
    yield _functions(desk)
    yield _signatures(handover)


def _inspection() -> TaskCard:
    rows: tuple[Row, ...] = tuple(
        (str(number), what, where, Blank(tick=True), Blank())
        for number, (what, where) in enumerate(_LOOKED_AT, start=1)
    )
    columns = (
        Column("No.", align="right"),
        Column("Looked at"),
        Column("As the binder says under"),
        Column("In order"),
        Column("Remark"),
    )
    return TaskCard(
        "card-inspection",
        "Visual inspection",
        (
            FormTable(
                "inspection",
                "Before anything is switched on; what is to be covered, before it is covered",
                columns,
                rows,
                ("Subjects after IEC 62446-1, 5.2 and IEC 60364-6, recalled.",),
            ),
            Fields("inspection-signed", (Blank("Remarks", lines=2), Blank("Inspected by"), Blank("Date"))),
        ),
        "Look at everything once with open eyes, and before it is out of sight.",
        (
            "a terminal or wire end is bare and not proved dead",
            "the trench is deeper than 1.5 m and not shored",
        ),
    )


def _functions(desk: Desk) -> TaskCard:
    project = desk.design.project
    switches = few([item.unit for item in desk.design.isolation.switches]) or "each switch"
    inverters = few([str(unit) for kind in project.inverters.values() for unit in kind.units])
    tests = (
        (
            "Every direct-current switch opened under load once, if rated for it",
            "current falls to nothing",
            switches,
        ),
        ("Inverter starts by itself in light", "starts, no alarm", inverters),
        ("Settings: network rules, limits, insulation alarm", "as agreed with the network", inverters),
        (
            "Mains lost: alternating-current switch opened while it feeds",
            "stops at once; waits before it feeds again",
            inverters,
        ),
        ("Rapid shutdown or emergency switch, where there is one", "voltage falls as stated", "its device"),
    )
    rows: tuple[Row, ...] = tuple(
        (what, good, where, Blank(), Blank(tick=True)) for what, good, where in tests
    )
    meters: tuple[Row, ...] = tuple((name, *(Blank() for _ in range(4))) for name in _METERS)
    return TaskCard(
        "card-functions",
        "Functions, instruments and conditions",
        (
            Caution(
                "Live in light",
                "The array side of every switch stays live. Only a switch rated for it is opened under load.",
                "IEC 60364-7-712, recalled",
            ),
            FormTable(
                "functions-conditions",
                "Conditions",
                _conditions(UNITS[desk.units.temperature].printed),
                (("1", *(Blank(),) * 6), ("2", *(Blank(),) * 6)),
            ),
            FormTable(
                "functions-instruments",
                "Instruments",
                (
                    Column("Instrument"),
                    Column("Maker, type"),
                    Column("Serial number"),
                    Column("Category"),
                    Column("Calibration due"),
                ),
                meters,
            ),
            FormTable(
                "functions-tests",
                "Functions",
                (Column("Tried"), Column("Good"), Column("On"), Column("Seen"), Column("Passed")),
                rows,
                (
                    "Subjects after IEC 62446-1, 6.6, recalled. Times of stopping and waiting: those of the network's rules.",
                ),
            ),
            Fields("functions-signed", (Blank("Remarks", lines=2), Blank("Tested by"), Blank("Date"))),
        ),
        "Try what has to work before it is relied on, and write down with what and under which sky.",
        ("a reading of the commissioning sheet is still open", "a switch is not rated to open under load"),
    )


def _conditions(temperature: str) -> tuple[Column, ...]:
    return (
        Column("Series"),
        Column("Date, time"),
        Column("Sky"),
        Column("Light", "W/m²"),
        Column("Module", temperature),
        Column("Air", temperature),
        Column("First, rewired, periodic"),
    )


_METERS = (
    "Voltmeter",
    "Clamp meter, direct current",
    "Insulation tester",
    "Light and temperature",
    "Torque driver",
)


def _signatures(handover: Handover) -> TaskCard:
    columns = (
        Column("Sheet, circuit"),
        Column("As designed"),
        Column("As built, measured"),
        Column("Reason"),
        Column("Affects a figure"),
        Column("By, date"),
    )
    rows: tuple[Row, ...] = tuple(
        (
            f"{number}.",
            Blank("as designed"),
            Blank("as built"),
            Blank("reason"),
            Blank(tick=True),
            Blank("by"),
        )
        for number in range(1, 9)
    )
    signed: tuple[Row, ...] = tuple(
        (
            role,
            answers,
            str(person.name) if person else Blank("Name"),
            str(person.licence) if person and person.licence else Blank("Licence"),
            str(person.date) if person and person.date else Blank("Date"),
            Blank("Signature"),
        )
        for role, answers, person in _roles(handover)
    )
    next_test = handover.operation.next_test if handover.operation else None
    return TaskCard(
        "card-signatures",
        "Corrections and signatures",
        (
            FormTable("corrections", "Built otherwise than drawn; then typed under `asbuilt`", columns, rows),
            FormTable(
                "signatures",
                "Who answers for what",
                (
                    Column("Part"),
                    Column("Signs that"),
                    Column("Name"),
                    Column("Licence"),
                    Column("Date"),
                    Column("Signature"),
                ),
                signed,
                ("Three roles after IEC 62446-1, annex A, recalled.",),
            ),
            Fields(
                "signatures-next",
                (
                    Blank("Deviations and points left open, by the ids of their findings", lines=4),
                    Blank("Remarks", lines=2),
                    *(() if next_test else (Blank("Next test, date"),)),
                ),
                f"Next test: {next_test}" if next_test else "",
            ),
        ),
        "Write down what differs from the drawing while it can still be seen, and sign for what was done.",
        (
            "a finding of outcome fails or unknown has no answer",
            "a correction affects a figure and was not recalculated",
        ),
    )


def _roles(handover: Handover) -> tuple[tuple[str, str, Signature | None], ...]:
    return (
        ("Design", "figures follow from inputs read from data sheets and tape", handover.design),
        ("Construction", "it stands as drawn but for the corrections", handover.construction),
        (
            "Inspection, test",
            "it was inspected and tested, with the results written down",
            handover.inspection,
        ),
    )
