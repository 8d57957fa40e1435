"""Work order: what is isolated in which order, how much voltage can be touched at each step, what stays live."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import (
    Blank,
    Caution,
    Chapter,
    Column,
    Element,
    Facts,
    FormTable,
    Heading,
    Listing,
    Paragraph,
    TaskCard,
)
from reportgen.binder.schedules import UNKNOWN, Field, Line, Schedule
from reportgen.binder.task_cards import task_cards
from reportgen.design.findings import Outcome
from reportgen.design.isolation import IsolationDesign, Opened, OpenTerminal
from reportgen.design.missing import Known, Missing
from reportgen.working.quantity import Quantity
from reportgen.working.text import fixed

_LIVE = Caution(
    "Live in light",
    "Modules make voltage whenever light falls on them; no switch stops it. Treat every pole as live until it is measured "
    "dead with a meter that was proved before and after.",
    "IEC 60364-7-712; IEC 61140 limit of 120 V DC, recalled",
)
_REVERSED = Caution(
    "A minus sign stops the work",
    "On a reversed reading operate nothing: no switch, no fuse holder, no connector under current. An arc under reverse "
    "current may not go out. Wait for darkness, or open the string at the array with no current flowing.",
    "IEC 62446-1, 6.2, recalled",
)
_LOCK = Caution(
    "A lock for each worker, and every source",
    "Each worker hangs a lock and a tag with name and time. More than one source may feed a board: isolate and lock all of them.",
    "OSHA 1910.147 and NEC 705, recalled",
)
_CONNECTOR = Caution(
    "Never part a connector while current flows",
    "Prove with a clamp meter for direct current that nothing flows, then open. With the inverter off a second string in "
    "parallel can still drive current.",
    "IEC 62852; makers' manuals, recalled",
)


def chapter(desk: Desk) -> Chapter | None:
    """Steps in order, then the voltages and terminals behind them; no chapter where there is no string."""
    isolation = desk.design.isolation
    if not isolation.opened:
        return None
    workings: list[Element] = []
    for item in isolation.opened:
        workings += desk.working(item.halved, "isolation", item.string)
    elements: list[Element] = [
        _LIVE,
        _REVERSED,
        _CONNECTOR,
        _LOCK,
        Paragraph(
            "Highest voltages are those at the record low, whichever temperature the design is judged by; on a milder day less is read, "
            "and it is just as dangerous. Between two different strings nothing is promised: a fault to ground in each can put "
            "their voltages in series, so measure before touching both."
        ),
        desk.keep(_steps(desk, isolation)).table(),
        desk.keep(_opened(isolation)).table(),
        Heading("What stays live while a switch is open"),
    ]
    if isolation.switches:
        elements += [desk.keep(_terminals(isolation)).table("terminal", "switch")]
    else:
        elements += [Paragraph("No conductor is landed on a switch: every leg is live up to its input.")]
    if any(item.through for item in isolation.switches):
        elements += [
            Caution(
                "Live wires in an open switch",
                "Wires that only pass a switch are neither cut nor switched there: inside its housing they are live in light with it "
                "open and locked. They are dead only by what the work order does at the array.",
                "common practice, no source",
            )
        ]
    if isolation.not_landed:
        elements += [
            Paragraph("The landing does not name these wires, so they are taken as live at both ends:"),
            Listing(isolation.not_landed),
        ]
    if workings:
        elements += [Heading("Working"), *workings]
    elements += _card(desk, isolation)
    return Chapter(
        "work-order",
        "Isolation and work order",
        "Which voltage is present at each step, and what stays live when a switch is open.",
        tuple(elements),
    )


def _highest(found: Iterator[tuple[Known, str]]) -> tuple[Known, str]:
    """Highest of some voltages and whose it is; missing as soon as one of them is, because it could be the highest."""
    worst: tuple[Known, str] = (Missing("a string"), "")
    for value, name in found:
        if isinstance(value, Missing):
            return value, name
        if isinstance(worst[0], Missing) or value.value > worst[0].value:
            worst = (value, name)
    return worst


def _wait(desk: Desk) -> str:
    """Longest stated wait for the capacitors, and the units whose maker states none."""
    kinds = [
        (list(map(str, kind.units)), kind.discharge_wait) for kind in desk.design.project.inverters.values()
    ]
    stated = [wait.to("min") for units, wait in kinds if wait is not None and units]
    silent = [unit for units, wait in kinds if wait is None for unit in units]
    words = []
    if stated:
        words.append(f"wait {max(stated, key=lambda item: item.value).show()}")
    if silent:
        words.append(f"{', '.join(silent)}: wait not stated, take it from the manual")
    return "; ".join(words) or "no inverter is described"


def _steps(desk: Desk, isolation: IsolationDesign) -> Schedule:
    whole = _highest((item.whole, item.string) for item in isolation.opened)
    halved = _highest((item.halved, item.string) for item in isolation.opened)
    fed = desk.design.facts.predictions.live_with_all_open
    no_load = sorted(
        {
            finding.subject if finding.code == "switch-load-break" else finding.part
            for code in ("switch-load-break", "cold-voltage-switch")
            for finding in desk.findings(code)
            if finding.outcome in {Outcome.FAILS, Outcome.ASK, Outcome.UNKNOWN}
        }
        - {""}
    )
    opening = "Open and lock every direct-current switch; tag it with name and time."
    if no_load:
        opening += f" Not under load: {', '.join(no_load)}."
    rows: list[tuple[str, str, tuple[Known, str]]] = [
        ("Prove the meter on a known source; leads, gloves and meter rated for this voltage.", "all", whole),
        ("Shut the inverters down and isolate their alternating-current side.", "all, unchanged", whole),
        (opening, "array side of every switch", whole),
        (
            f"At the inverters: {_wait(desk)}. Then measure each input pole to pole and to ground.",
            "inverter side until it is measured dead"
            + (f"; live with every switch open: {', '.join(fed)}" if fed else ""),
            whole,
        ),
        ("Clamp meter on each home run: no current flows.", "all array wires", whole),
        (
            "Open each string at its middle connector; cap both halves.",
            "each half and its leg, up to the longer half" + _together(isolation),
            halved,
        ),
        (
            "Work on modules, home runs, boxes and terminals; go no further on a piece above the limit of contact without insulated tools and gloves.",
            "each piece",
            halved,
        ),
        (
            "Before anything is landed: close one string's middle connector, measure it at its landing point, red lead on +. A minus sign stops the work.",
            "that string",
            whole,
        ),
        (
            "Open its middle connector again, then land it: no wire is landed whole. Take the next string.",
            "each half and its leg",
            halved,
        ),
        (
            "Close every middle connector; polarity and voltage of every string at the array side of its switch.",
            "array side of every switch",
            whole,
        ),
        ("Close the switches one at a time, each input read before the next.", "all", whole),
        ("Inverters on.", "all", whole),
    ]
    lines = tuple(
        Line({"number": str(number), "step": step, "where": where, "volts": volts, "string": string})
        for number, (step, where, (volts, string)) in enumerate(rows, start=1)
    )
    fields = (
        Field("number", "No.", align="right"),
        Field("step", "Step"),
        Field("where", "Voltage present at"),
        Field("volts", "at most", "V", 1, "To be touched", at_most=False),
        Field("string", "on", group="To be touched"),
    )
    notes = (
        "Order: common practice, no source. Where the maker's manual or local rules ask for another order, they hold.",
    )
    return Schedule("work-order", "Steps, and the highest voltage that can be touched", fields, lines, notes)


def _together(isolation: IsolationDesign) -> str:
    """What an opened string still meets of strings that run in parallel with it."""
    return "".join(
        f"; the legs of {' and '.join(strings)} stay whole until the last of them is open"
        for strings in isolation.together
    )


def _opened(isolation: IsolationDesign) -> Schedule:
    contact = isolation.contact
    lines = tuple(
        Line(
            {
                "string": item.string,
                "count": float(item.count),
                "whole": item.whole,
                "at": _middle(item),
                "piece": float(item.piece),
                "halved": item.halved,
                "harmless": str(item.harmless) if item.harmless is not None else UNKNOWN,
            }
        )
        for item in isolation.opened
    )
    fields = (
        Field("string", "String"),
        Field("count", "N", "", 0, align="right"),
        Field("whole", "Whole, cold", "V", 1, at_most=False),
        Field("at", "Middle connector"),
        Field("piece", "modules", "", 0, "Longer half", "right"),
        Field("halved", "cold", "V", 1, "Longer half", at_most=False),
        Field("harmless", f"Modules in one piece up to {contact.show()}", align="right"),
    )
    notes = (
        "Modules are counted from the positive end. To stay within the limit of contact everywhere, part the string into "
        "pieces of no more modules than the last column says.",
    )
    return Schedule("opened-strings", "Strings opened in the middle", fields, lines, notes)


def _middle(item: Opened) -> str:
    return f"between {item.piece} and {item.piece + 1}" if item.count > 1 else "none: one module"


def _terminals(isolation: IsolationDesign) -> Schedule:
    # Terminals of a switch that bear nothing and are alike share a line.
    rows: dict[tuple[str, ...], list[str]] = {}
    for switch in isolation.switches:
        if switch.through:
            # Not landed there, so no terminal of it says anything of them: live inside its housing all the same.
            key = (switch.unit, ", ".join(switch.through), "live: only passing", "live: only passing")
            rows[key] = ["none"]
        for terminal in switch.terminals:
            behind = f"live: {', '.join(terminal.behind)}" if terminal.behind else _dead(terminal)
            key = (switch.unit, terminal.landed or "nothing", _state(terminal), behind)
            rows.setdefault(key if not terminal.landed else (*key, terminal.terminal), []).append(
                terminal.terminal
            )
    lines = [
        Line(
            {
                "switch": unit,
                "terminal": ", ".join(terminals),
                "landed": landed,
                "alone": alone,
                "all": every,
            }
        )
        for (unit, landed, alone, every, *_), terminals in rows.items()
    ]
    fields = (
        Field("switch", "Switch"),
        Field("terminal", "Terminal"),
        Field("landed", "Landed"),
        Field("alone", "With this switch alone open"),
        Field("all", "With every switch open"),
    )
    notes = (
        "Inside an inverter the poles of its inputs may be joined; what hangs on an input is called dead only once measured.",
    )
    return Schedule(
        "live-terminals", "Terminals of each switch while it is open", fields, tuple(lines), notes
    )


def _state(terminal: OpenTerminal) -> str:
    if terminal.legs:
        fed = f", fed from behind over {', '.join(terminal.inputs)}" if terminal.inputs else ""
        return f"live: {', '.join(terminal.legs)}{fed}"
    return _dead(terminal)


def _dead(terminal: OpenTerminal) -> str:
    return f"{', '.join(terminal.inputs)}: after the wait, measure" if terminal.inputs else "measure"


def _card(desk: Desk, isolation: IsolationDesign) -> tuple[TaskCard, ...]:
    whole, string = _highest((item.whole, item.string) for item in isolation.opened)
    highest = (
        f"{whole.show(1, at_most=False)} ({string})"
        if isinstance(whole, Quantity)
        else f"unknown, state {whole.what}"
    )
    columns = (
        Column("String"),
        Column("Whole, at most", "V", "right"),
        Column("Half, at most", "V", "right"),
        Column("Middle connector"),
        Column("Locked"),
        Column("Current, clamp", "A"),
        Column("Opened"),
        Column("Sign before landing"),
    )
    rows = tuple(
        (
            item.string,
            _volts(item.whole),
            _volts(item.halved),
            _middle(item),
            Blank(tick=True),
            Blank(),
            Blank(tick=True),
            Blank(),
        )
        for item in isolation.opened
    )
    waits = tuple(
        (
            f"{', '.join(map(str, kind.units))}: wait",
            kind.discharge_wait.to("min").show() if kind.discharge_wait else "not stated, see the manual",
        )
        for kind in desk.design.project.inverters.values()
        if kind.units
    )
    return task_cards(
        "isolation",
        "Isolation",
        tall=desk.tall,
        purpose="Make the strings safe to work on, and prove it, before anything is touched.",
        stop=(
            "a reading shows a minus sign: operate nothing, not the switch either",
            "the clamp meter shows current in a home run that is to be opened",
            "a terminal that should be dead reads any voltage after the wait",
            "thunder is heard, or the modules or boxes are wet inside",
        ),
        cautions=(_LIVE, _CONNECTOR),
        steps=(
            "Meter proved on a known source.",
            "Inverters shut down, alternating-current side isolated and locked.",
            "Every direct-current switch opened, locked and tagged.",
            "Wait as stated; every input measured dead, pole to pole and to ground. Meter proved again.",
            "No current in any home run; then each string opened at its middle connector, both halves capped.",
        ),
        facts=Facts((("Highest voltage", highest), *waits), "To have at hand"),
        form=FormTable("isolation-card", "Strings", columns, rows),
        remarks=1,
    )


def _volts(value: Known) -> str:
    return fixed(value.value, 1, at_most=False) if isinstance(value, Quantity) else UNKNOWN
