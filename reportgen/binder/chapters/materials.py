"""Materials: what to buy, rolled up, each line with the ids it is counted from, and money where it is known."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Blank, Caution, Chapter, Column, Element, FormTable, Heading, Listing
from reportgen.binder.elements import Paragraph as Words
from reportgen.binder.schedules import UNKNOWN, Field, Line, Schedule
from reportgen.binder.task_cards import task_cards
from reportgen.design.material_lines import KEPT, PULL, WIRE, MaterialLine
from reportgen.design.materials import MaterialsDesign
from reportgen.design.missing import Missing
from reportgen.working.quantity import Quantity, Working
from reportgen.working.text import fixed

#: Ids and items named in full on the page; the file has all of them.
_SHOWN = 6
_NOT_LISTED = (
    "straps and supports, which go by the spacing of the raceway chapter",
    "module connectors between strings of modules, lugs and bonding jumpers of the arrays",
    "grounding bars, electrodes and what stands on the AC side beyond its conductors",
    "reserve: numbers are what is built in",
)


def chapter(desk: Desk) -> Chapter | None:
    """The list; no chapter where nothing is bought."""
    materials = desk.design.facts.materials
    if not any(line.group != KEPT for line in materials.lines):
        return None
    desk.keep(_schedule(materials, whole=True))
    table = _schedule(materials, whole=False).table()
    elements: list[Element] = [
        Caution(
            "Halves of one make",
            "Buy connector halves of the maker and type of those on the modules, and crimp them with the tool made for them: "
            "halves of two makes burn.",
            "IEC 62852, IEC 62548, recalled",
        ),
        table,
        *_money(materials),
        Words("Not in this list:"),
        Listing(_NOT_LISTED),
    ]
    workings: list[Element] = []
    for line in materials.lines:
        if _is_worked(line):
            workings += desk.working(line.quantity, "materials", line.group, line.item, subject=line.item)
    for line in materials.lines:
        if line.cost is not None:
            workings += desk.working(line.cost, "materials", "cost", line.item, subject=line.item)
    if materials.total is not None:
        workings += desk.working(materials.total, "materials", "total")
    if workings:
        elements += [Heading("Working"), *workings]
    elements += _cards(desk, materials)
    return Chapter(
        "materials",
        "Materials",
        "What to buy, counted from the wires, pipes and terminals of this design.",
        tuple(elements),
    )


def _is_worked(line: MaterialLine) -> bool:
    """Whether there is more to show than a count of the ids beside it."""
    if isinstance(line.quantity, Missing) or not isinstance(line.quantity.origin, Working):
        return False
    terms = line.quantity.origin.terms
    if len(terms) == 1:
        return False
    return line.group in {WIRE, PULL} or any(term.unit or term.origin for _, term in terms)


def _unit(line: MaterialLine) -> str:
    if isinstance(line.quantity, Missing):
        return ""
    return line.quantity.unit_printed or "pieces"


def _number(line: MaterialLine) -> str:
    """Quantity as it is bought: whole pieces, lengths to a tenth, liquids to a hundredth."""
    if isinstance(line.quantity, Missing):
        return UNKNOWN
    places = {"": 0, "gal": 2, "L": 2}.get(line.quantity.unit, 1)
    return fixed(line.quantity.value, places)


def _exact(line: MaterialLine) -> object:
    """Quantity as the file has it, not rounded to what is bought."""
    return UNKNOWN if isinstance(line.quantity, Missing) else line.quantity.value


def _ids(line: MaterialLine, most: int) -> str:
    more = len(line.ids) - most
    return ", ".join(line.ids[:most]) + (f" and {more} more" if more > 0 else "")


def _schedule(materials: MaterialsDesign, *, whole: bool) -> Schedule:
    priced = any(line.price is not None for line in materials.lines)
    most = max((len(line.ids) for line in materials.lines), default=0) if whole else _SHOWN
    lines = tuple(
        Line(
            {
                "item": line.item,
                "quantity": _exact(line) if whole else _number(line),
                "unit": _unit(line),
                "ids": _ids(line, most),
                "remark": line.remark
                or (f"state {line.quantity.what}" if isinstance(line.quantity, Missing) else ""),
                "price": line.price.value if line.price is not None else "",
                "cost": line.cost.value if isinstance(line.cost, Quantity) else "",
            },
            group=line.group,
        )
        for line in materials.lines
    )
    fields = (
        Field("item", "Item"),
        Field("quantity", "Number", align="right"),
        Field("unit", "Unit"),
        Field("ids", "Counted from"),
        Field("remark", "Remark"),
        *(
            (
                Field("price", "One", materials.currency, 2, "Price"),
                Field("cost", "Line", materials.currency, 2, "Price"),
            )
            if priced
            else ()
        ),
    )
    notes = ("Where ids are cut short, the file materials.csv has all of them.",)
    return Schedule("materials", "Materials", fields, lines, notes, wide=True)


def _money(materials: MaterialsDesign) -> Iterator[Element]:
    if materials.total is not None:
        yield Words(f"Total: {fixed(materials.total.value, 2)} {materials.currency}, every line priced.")
    elif materials.lacking:
        count = len(materials.lacking)
        lacking = "; ".join(materials.lacking[:_SHOWN])
        more = f" and {count - _SHOWN} more, whose line has no cost" if count > _SHOWN else ""
        yield Words(f"No total: a price or a number is missing for {lacking}{more}.")
    else:
        yield Words(
            "No total: the folder gives no price of a line. `items` of `prices` takes them, by the name of the line."
        )
    if materials.unused:
        yield Words(f"Prices that belong to no line: {'; '.join(materials.unused)}.")


def _cards(desk: Desk, materials: MaterialsDesign) -> Iterator[Element]:
    rows = tuple(
        (line.item, f"{_number(line)} {_unit(line)}".strip(), Blank(tick=True), Blank(tick=True))
        for line in materials.lines
        if line.group != KEPT
    )
    columns = (Column("Item"), Column("Number"), Column("Ordered"), Column("On site"))
    yield from task_cards(
        "materials",
        "Buy and check in",
        tall=desk.tall,
        purpose="Have everything on site, of the right make and size, before the work begins.",
        stop=(
            "a number is printed as unknown: state what the list names first",
            "what is delivered differs in make, size or rating: the checks no longer hold",
        ),
        cautions=(
            Caution(
                "Halves of one make",
                "Connector halves are of the maker and type of those on the modules.",
                "IEC 62852, recalled",
            ),
        ),
        form=FormTable("materials", "Materials", columns, rows),
        remarks=3,
        twice=True,
    )
