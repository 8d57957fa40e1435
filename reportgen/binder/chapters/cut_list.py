"""Cut list: how each length was made up, which spools to buy, what is cut from each and in which order."""

from __future__ import annotations

from dataclasses import replace

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import (
    Blank,
    Caution,
    Chapter,
    Column,
    Element,
    FormTable,
    Heading,
    Paragraph,
    TaskCard,
)
from reportgen.binder.schedules import UNKNOWN, Field, Line, Marked, Schedule
from reportgen.binder.task_cards import task_cards
from reportgen.design.cutting import CutGroup, CutWire
from reportgen.design.findings import Outcome
from reportgen.engineering.cutting.spools import CutPlan
from reportgen.working.quantity import Quantity


def chapter(desk: Desk) -> Chapter | None:
    """Lengths, spools and order of cuts; no chapter where no wire is new."""
    groups = desk.design.facts.cuts
    if not groups:
        return None
    unit = desk.units.length
    step = "1 ft" if unit == "ft" else "0.1 m"
    elements: list[Element] = [
        Caution(
            "Measure twice",
            "A length is cut once. Draw a tape through the pipe before the first cut, and leave the wire on its spool until then.",
            "common practice, no source",
        ),
        _on_page(desk.keep(_lengths(desk, groups, unit))).table(),
        Paragraph(
            "A wire that lands on a device is cut there, and each of its pieces has a line; a piece ends inside the device by what "
            "`in_devices` of its circuit states. Where no raceway ends at the device the tail may lie on either side of it, and both pieces "
            "have it. A ground is taken in one piece through every box and switch, tapped there. Head and "
            "trim are added for each pull that a piece goes through: each section between two pull points is one. "
            f"Pieces of one pull and one colour are cut alike, to the longest of them, rounded up to the next {step}. The pipe is "
            "measured along its centre line, elbows included. The tolerance is not added: it has to stay in reserve on the spool. "
            "All pieces are cut before the pull, and laid out in long loops at its feed end: nothing is pulled from a spool."
        ),
    ]
    for schedule in (_spools(groups, unit), _cuts(groups, unit)):
        if schedule.lines:
            elements.append(desk.keep(schedule).table())
    workings: list[Element] = []
    for group in groups:
        seen: set[float] = set()
        for item in group.wires:
            if isinstance(item.length, Quantity) and item.length.value not in seen:
                seen.add(item.length.value)
                workings += desk.working(item.length, "cut", group.name, item.id)
    if workings:
        elements += [Heading("Working"), *workings]
    elements += _cards(desk, groups, unit)
    return Chapter(
        "cut-list",
        "Cut list",
        "One number to cut for each piece of wire, and the order in which to cut them.",
        tuple(elements),
    )


def _lengths(desk: Desk, groups: tuple[CutGroup, ...], unit: str) -> Schedule:
    lines = []
    stock = desk.design.project.stock
    each = [stock.head, stock.trim] if stock is not None else []
    for group in groups:
        for item in group.wires:
            lines.append(
                Line(
                    {
                        "conductor": item.id,
                        "circuit": item.wire.circuit,
                        "wire": group.name,
                        "mark": _mark(desk, item),
                        "start": item.start,
                        "pipe": item.pipe,
                        "elbows": item.elbows if isinstance(item.elbows, Quantity) else UNKNOWN,
                        "extra": item.extra if item.extra is not None else "",
                        "end": item.end,
                        "installed": item.installed,
                        "pulls": str(item.pulls),
                        "own": item.own,
                        "length": Marked(item.length, desk.worst("cut-length", subject=group.name)),
                        "tolerance": item.tolerance,
                    }
                )
            )
    fields = (
        Field("conductor", "Piece"),
        Field("circuit", "Circuit"),
        Field("wire", "Wire"),
        Field("mark", "Marked by"),
        Field("start", "at its start", unit, 2, "Stays"),
        Field("pipe", "pipe", unit, 2, "Stays"),
        Field("elbows", "of it elbows", unit, 2, "Stays"),
        Field("extra", "in boxes", unit, 2, "Stays"),
        Field("end", "at its end", unit, 2, "Stays"),
        Field("installed", "together", unit, 2, "Stays"),
        Field("pulls", "Pulls", align="right"),
        Field("own", "with heads and trims", unit, 2),
        Field("length", "Cut", unit, 1),
        Field("tolerance", "Tolerance", unit, 1),
    )
    told = [value.to(unit).show(2) if value is not None else UNKNOWN for value in each]
    notes = (
        "Together: start, pipe, in boxes and end; the elbows are within the pipe."
        + (f" For each pull a head of {told[0]} and a trim of {told[1]} are added." if told else ""),
    )
    return Schedule("cut-lengths", "Lengths to cut", fields, tuple(lines), notes, wide=True)


def _on_page(schedule: Schedule) -> Schedule:
    """The lengths without the column of marks, which are told once below them."""
    marks = dict.fromkeys(
        str(line.values["mark"]).replace(str(line.values["circuit"]), "the id of its circuit")
        for line in schedule.lines
    )
    fields = tuple(field for field in schedule.fields if field.key not in {"mark", "circuit"})
    return replace(
        schedule, fields=fields, notes=(*schedule.notes, f"Each piece is marked: {', or '.join(marks)}.")
    )


def _mark(desk: Desk, item: CutWire) -> str:
    """How the wire is told from the others before it has a label."""
    circuit = desk.design.project.circuits[item.wire.circuit]
    number = f"{item.wire.circuit} at both ends"
    if circuit.kind != "string":
        return number
    sign = "positive" if item.wire.leg == "+" else "negative"
    colours = {
        str(circuit.positive_colour or circuit.colour or ""),
        str(circuit.negative_colour or circuit.colour or ""),
    }
    if len(colours) == 2 and "" not in colours:
        return f"{item.wire.colour} insulation; {number}"
    return f"phase tape: {sign} and {number}, and in every box"


def _spools(groups: tuple[CutGroup, ...], unit: str) -> Schedule:
    lines = []
    for group in groups:
        plan = group.plan
        if not isinstance(plan, CutPlan):
            continue
        for key, count in plan.shopping.items():
            alike = [spool for spool in plan.spools if spool.offer.id == key]
            price = alike[0].offer.price
            lines.append(
                Line(
                    {
                        "wire": group.name,
                        "spool": key,
                        "length": alike[0].offer.length,
                        "count": str(count),
                        "pieces": str(sum(len(spool.pieces) for spool in alike)),
                        "left": sum(spool.left.value for spool in alike),
                        "price": "" if price is None else price * count,
                        "aim": f"{plan.aim}, {'proved' if plan.proved else f'within {100 * plan.gap:.1f} %'}",
                    }
                )
            )
    fields = (
        Field("wire", "Wire"),
        Field("spool", "Spool"),
        Field("length", "Holds", unit, 0),
        Field("count", "Buy", align="right"),
        Field("pieces", "Pieces", align="right"),
        Field("left", "Left over", unit, 1),
        Field("price", "Price", "", 2, align="right"),
        Field("aim", "Chosen for"),
    )
    return Schedule("cut-spools", "Spools to buy", fields, tuple(lines))


def _cuts(groups: tuple[CutGroup, ...], unit: str) -> Schedule:
    lines = []
    for group in groups:
        if not isinstance(group.plan, CutPlan):
            continue
        for number, spool in enumerate(group.plan.spools, start=1):
            enough = {None: None, True: Outcome.MEETS, False: Outcome.THIN}[spool.enough]
            for order, (piece, mark) in enumerate(zip(spool.pieces, spool.marks, strict=True), start=1):
                last = order == len(spool.pieces)
                lines.append(
                    Line(
                        {
                            "wire": group.name,
                            "spool": f"{spool.offer.id} no. {number}",
                            "order": str(order),
                            "conductor": piece.id,
                            "length": piece.length,
                            "mark": mark,
                            "left": Marked(spool.left, enough) if last else "",
                            "needed": (spool.needed if spool.needed is not None else UNKNOWN) if last else "",
                        }
                    )
                )
    fields = (
        Field("wire", "Wire"),
        Field("spool", "Spool"),
        Field("order", "Cut", align="right"),
        Field("conductor", "Piece"),
        Field("length", "Length", unit, 1),
        Field("mark", "Counted from the free end", unit, 1),
        Field("left", "Left on the spool", unit, 1),
        Field("needed", "Tolerance of its pieces", unit, 1, at_most=False),
    )
    notes = ("The longest pieces come first: one that turns out too short can still become a shorter one.",)
    return Schedule("cuts", "Order of cuts", fields, tuple(lines), notes)


def _cards(desk: Desk, groups: tuple[CutGroup, ...], unit: str) -> tuple[TaskCard, ...]:
    rows: list[tuple[str | Blank, ...]] = []
    colours = {group.name: group.colour for group in groups}
    for line in _cuts(groups, unit).lines:
        values = line.values
        length, mark = values["length"], values["mark"]
        assert isinstance(length, Quantity) and isinstance(mark, Quantity)
        rows.append(
            (
                str(values["conductor"]),
                f"{values['spool']} {colours[str(values['wire'])]}, cut {values['order']}",
                length.to(unit).show(1),
                mark.to(unit).show(1),
                Blank(tick=True),
                Blank(tick=True),
            )
        )
    if not rows:
        return ()
    columns = (
        Column("Piece"),
        Column("Spool"),
        Column("Length", align="right"),
        Column("From free end", align="right"),
        Column("Marked"),
        Column("Cut"),
    )
    return task_cards(
        "cuts",
        "Cut the wire",
        tall=desk.tall,
        purpose="Cut every piece once, before the pull, marked at both ends before it leaves the spool.",
        stop=(
            "the tape drawn through the pipe disagrees with the cut list by more than the tolerance",
            "a spool holds less than its label says, or the wire is not the one of the list",
        ),
        steps=(
            "Read make, size and colour off the jacket. Mark the free end, measure, mark again behind the cut, then cut.",
            "Lay each piece out in long loops at the feed end of its pull, none under another.",
        ),
        form=FormTable("cuts-card", "Cuts in order", columns, tuple(rows)),
        remarks=2,
    )
