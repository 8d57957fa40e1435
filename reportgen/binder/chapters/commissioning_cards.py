"""Cards of the commissioning: tests in order, and sheets for readings with the expected values on them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.curve_form import curve_form
from reportgen.binder.elements import (
    Blank,
    Caution,
    Column,
    Fields,
    FormTable,
    Row,
    Table,
    TableCell,
    TaskCard,
)
from reportgen.binder.schedules import UNKNOWN
from reportgen.design.commissioning import ExpectedRow, InsulationTest
from reportgen.design.missing import Missing
from reportgen.working.quantity import Quantity
from reportgen.working.text import fixed
from reportgen.working.unit_system import UnitSystem
from reportgen.working.units import UNITS

#: Strings on one task card, so that it stays one sheet: letter, and A4, which is higher.
_ON_A_CARD, _ON_A_TALL_CARD = 4, 5
#: Most pairs of light and temperature that stand abreast on a card; the sheet of expected readings has all.
_ABREAST = 10


def order_card(desk: Desk) -> TaskCard:
    """Tests in order; each is done before the next begins."""
    return TaskCard(
        "card-order-of-tests",
        "Order of tests",
        (
            Caution(
                "Live in light",
                "Both poles are live until measured dead. A minus sign stops the work: close nothing, operate no switch.",
                "IEC 62446-1, 6.2, recalled",
            ),
            _order(desk, "tests"),
            *curve_form(desk, "order-of-tests-curves"),
            Fields("order-of-tests-signed", (Blank("Remarks", lines=2),)),
        ),
    )


def _order(desk: Desk, id: str) -> FormTable:
    """Tests in order; each is done before the next begins."""
    bands = desk.design.commissioning.bands
    ends, alike = bands.ends_share.show(), bands.alike_share.show()
    steps = (
        (
            "Meter proved on a known source; leads and meter rated for the cold voltage",
            "reads right",
            "it does not",
        ),
        (
            "Inverters off, switches open and locked; wait as above",
            "no voltage on the inverter side",
            "any voltage",
        ),
        (
            "Bond of every frame and rail to the ground bar, leads nulled",
            f"up to {bands.continuity_good.show()}",
            f"above {bands.continuity_stop.show()}",
        ),
        ("Polarity of every string at the array, red on +", "no minus sign", "a minus sign"),
        (
            "Open-circuit voltage of every string at the array, with cell temperature, irradiance and time",
            "within the band of the sheet",
            f"off by more than {bands.voltage_stop.show()} module",
        ),
        (
            "Strings of one kind read in the same minutes",
            f"alike within {alike}, module for module",
            f"more than {bands.voltage_good.show()} module",
        ),
        (
            "The same strings at the switch, array side",
            f"sign and value as at the array within {ends}",
            "another value or sign",
        ),
        (
            "Both legs of every floating string to ground, until they stand still",
            f"together up to {bands.leg_settled.show()} of the open-circuit voltage",
            "a steady split: fault to ground",
        ),
        (
            f"Insulation of every string at its test voltage; discharge after{_above_modules(desk)}",
            f"least value of the card; from {bands.insulation_good.show()} no dry repeat",
            "below the least",
        ),
        (
            "Switch closed, inverter off: polarity and voltage at every input",
            "its own string, plus sign",
            "anything else: see the table of predictions",
        ),
        (
            "Like strings told apart: no current flowing by the clamp meter, one opened at the array, every input read",
            "its own input alone falls to nothing",
            "another input falls: two strings are exchanged",
        ),
        (
            "Short-circuit current, with a tester made for it; never by parting a connector",
            f"alike within {bands.current_good.show()}, light taken out",
            f"off by more than {bands.current_stop.show()}",
        ),
        (
            "Inverter on: operating voltage and current of every string",
            "near the sheet, unless it clips or is held back",
            "one string far below the others",
        ),
        (
            "Terminals by infrared after an hour, and after thirty days",
            "none warmer than its neighbours",
            "a warm terminal",
        ),
    )
    return FormTable(
        id,
        "Order of tests",
        (
            Column("No.", align="right"),
            Column("Test"),
            Column("Good"),
            Column("Stop"),
            Column("Done"),
            Column("Initials"),
        ),
        tuple(
            (str(number), what, good, stop, Blank(tick=True), Blank())
            for number, (what, good, stop) in enumerate(steps, start=1)
        ),
        (
            "Bands are common practice without a source; the insulation test is that of IEC 62446-1, recalled.",
        ),
        wide=True,
    )


def _above_modules(desk: Desk) -> str:
    """Strings whose insulation test is above the system voltage of their modules, which its maker has to allow."""
    tests = {item.string: item.test for item in desk.design.commissioning.tests}
    above = []
    for string in desk.design.facts.strings:
        test, most = tests.get(string.id), string.module.maximum_system_voltage if string.module else None
        if isinstance(test, Quantity) and most is not None and test.value > most.value:
            above.append(string.id)
    return (
        f"; above the system voltage of the modules of {', '.join(above)}: ask their maker first"
        if above
        else ""
    )


def reading_cards(desk: Desk) -> Iterator[TaskCard]:
    """Sheets to carry outside: every string with its fields, a few strings on each."""
    strings = desk.design.facts.strings
    tests = {item.string: item for item in desk.design.commissioning.tests}
    most = _ON_A_TALL_CARD if desk.tall else _ON_A_CARD
    for number, start in enumerate(range(0, len(strings), most), start=1):
        part = strings[start : start + most]
        id, span = f"card-commissioning-{number}", f"{part[0].id} to {part[-1].id}"
        voltages: list[tuple[str | TableCell | Blank, ...]] = [
            (
                string.id,
                fixed(string.count.value, 0),
                string.input or "not stated",
                *(Blank() for _ in range(6)),
            )
            for string in part
        ]
        grounds: list[tuple[str | TableCell | Blank, ...]] = [
            (string.id, Blank(), Blank(), _test(tests[string.id]), Blank(), Blank(), Blank())
            for string in part
        ]
        yield TaskCard(
            id,
            f"Commissioning readings, {span}" if len(part) > 1 else "Commissioning readings",
            (
                Caution(
                    "Stop on a minus sign",
                    "Red on +. A minus sign or a value of another string: close nothing, operate no switch, find the wires. "
                    "The array side is live in any light.",
                    "IEC 62446-1, 6.2, recalled",
                ),
                FormTable(
                    f"{id}-voltages",
                    "Polarity and open-circuit voltage",
                    _voltages(desk.units),
                    tuple(voltages),
                    called="card-commissioning-voltages",
                ),
                *_expected(desk, [string.id for string in part], f"{id}-expected"),
                FormTable(
                    f"{id}-grounds",
                    "Legs to ground, insulation, current",
                    _GROUNDS,
                    tuple(grounds),
                    called="card-commissioning-grounds",
                ),
                Fields(
                    f"{id}-signed",
                    (
                        Blank("Measured by"),
                        Blank("Date"),
                        Blank("Instrument"),
                        Blank("Error of the meter, %"),
                        Blank("Remarks", lines=2),
                    ),
                ),
            ),
        )


def _expected(desk: Desk, strings: Sequence[str], id: str) -> Iterator[Table]:
    """Expected open-circuit voltage of the strings of a card over light and cell temperature, with its good band."""
    groups = [
        (group, names)
        for group in desk.design.commissioning.groups
        if (names := [name for name in group.strings if name in strings])
    ]
    if not groups or len(groups[0][0].rows) > _ABREAST:
        return
    units = desk.units
    heads = [(row.irradiance.to("W/m2"), row.cell.to(units.temperature)) for row in groups[0][0].rows]
    columns = (
        Column("String"),
        *(
            Column(fixed(cell.value, 0), UNITS[units.temperature].printed, "right", light.show(0))
            for light, cell in heads
        ),
    )
    rows = tuple(
        Row((TableCell(", ".join(names)), *(_band(row) for row in group.rows))) for group, names in groups
    )
    notes = ("Expected [V] for light and cell temperature, under it from where to where it is good.",)
    yield Table(id, "Expected open-circuit voltage", columns, rows, notes)


def _band(row: ExpectedRow) -> TableCell:
    if isinstance(row.voltage, Missing) or isinstance(row.low, Missing) or isinstance(row.high, Missing):
        return TableCell(UNKNOWN)
    good = (
        f"{fixed(row.low.value, 0, at_most=False)}–{fixed(row.high.value, 0, at_most=True)}"
        if row.judged
        else "not judged"
    )
    return TableCell(fixed(row.voltage.value, 1), note=good)


def _voltages(units: UnitSystem) -> tuple[Column, ...]:
    return (
        Column("String"),
        Column("N", align="right"),
        Column("Input"),
        Column("Time"),
        Column("Cell", UNITS[units.temperature].printed),
        Column("Light", "W/m²"),
        Column("array", "V", group="V_oc"),
        Column("switch", "V", group="V_oc"),
        Column("input", "V", group="V_oc"),
    )


_GROUNDS = (
    Column("String"),
    Column("+", "V", group="To ground"),
    Column("−", "V", group="To ground"),
    Column("test at, least", group="Insulation"),
    Column("read", "MΩ", group="Insulation"),
    Column("I_sc", "A"),
    Column("Initials"),
)


def _test(test: InsulationTest) -> str:
    if isinstance(test.test, Missing) or isinstance(test.least, Missing):
        return UNKNOWN
    return f"{test.test.show(0)}, {test.least.show()}"
