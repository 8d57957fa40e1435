"""Where to look first: pages by reader, sheets that are carried outside, revisions, cautions and where they stand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.record_equipment import NOT_STATED, handover
from reportgen.binder.elements import (
    Caution,
    Chapter,
    Column,
    Element,
    Row,
    Table,
    TableCell,
    TaskCard,
    chapter_anchor,
)
from reportgen.binder.typeset import identifier

#: What each reader looks at first, and the chapters that hold it, the best one first.
_READERS = (
    ("Plan reviewer", "highest voltage against every device", ("strings",)),
    ("Plan reviewer", "overcurrent devices, and why there is none", ("overcurrent",)),
    ("Plan reviewer", "conductors with every correction shown", ("conductors",)),
    ("Plan reviewer", "route, depth and pipes", ("raceways",)),
    ("Plan reviewer", "grounding and bonding", ("grounding",)),
    ("Plan reviewer", "labels and placards", ("labels",)),
    ("Plan reviewer", "data sheets and listings", ("record",)),
    ("Plan reviewer", "edition, clauses, what was recalled", ("references",)),
    ("Electrician", "one page that shows it all", ("drawings", "one-line", "inputs")),
    ("Electrician", "what to pull, how long, from where", ("cut-list", "pull-plan")),
    ("Electrician", "what lands where, how tight", ("terminations",)),
    ("Electrician", "order of isolation", ("work-order",)),
    ("Electrician", "polarity and voltage to expect", ("commissioning",)),
    ("Field inspector", "built otherwise than approved", ("record",)),
    ("Field inspector", "trench, supports, cover", ("raceways",)),
    ("Field inspector", "labels", ("labels",)),
    ("Field inspector", "bonding", ("grounding",)),
    ("Owner", "emergency, running it, upkeep", ("operation",)),
    ("Owner", "what it yields", ("energy",)),
    ("Owner", "what is assumed, open, not covered", ("assumptions",)),
)


def chapter(desk: Desk, chapters: Sequence[Chapter]) -> Chapter:
    """Made after all others, because it names their pages."""
    elements: list[Element] = [_readers(chapters), *_cards(chapters), _revisions(desk), _cautions(chapters)]
    return Chapter(
        "start",
        "Where to look first",
        "Pages by reader, sheets to carry outside, revisions, and every caution with the place of its hazard.",
        tuple(elements),
    )


def _readers(chapters: Sequence[Chapter]) -> Table:
    titles = {item.id: item.title for item in chapters}
    by_reader: dict[str, list[TableCell]] = {}
    for reader, what, places in _READERS:
        place = next((item for item in places if item in titles), None)
        if place is not None:
            by_reader.setdefault(reader, []).append(
                TableCell(titles[place], link=chapter_anchor(place), page=True, note=what)
            )
    depth = max((len(cells) for cells in by_reader.values()), default=0)
    columns = tuple(Column(reader) for reader in by_reader)
    rows = tuple(
        Row(tuple(cells[k] if k < len(cells) else TableCell() for cells in by_reader.values()))
        for k in range(depth)
    )
    return Table("start-readers", "What to look at first, from the top; findings before all", columns, rows)


def _cards(chapters: Sequence[Chapter]) -> Iterator[Table]:
    """Cards to carry outside, those of one task once, two abreast."""
    first: dict[str, tuple[str, int]] = {}
    for item in chapters:
        for element in item.elements:
            if isinstance(element, TaskCard):
                task = element.title.partition(", card ")[0]
                place, count = first.get(task, (element.id, 0))
                first[task] = (place, count + 1)
    cells = [
        (TableCell(task, link=identifier(place), page=True), TableCell(str(count)))
        for task, (place, count) in first.items()
    ]
    if not cells:
        return
    half = (len(cells) + 1) // 2
    empty = (TableCell(), TableCell())
    rows = tuple(
        Row((*cells[k], *(cells[k + half] if k + half < len(cells) else empty))) for k in range(half)
    )
    columns = (Column("Card"), Column("Sheets", align="right")) * 2
    yield Table("start-cards", "Sheets to carry outside", columns, rows)


def _revisions(desk: Desk) -> Table:
    info = desk.design.project.project
    listed = handover(desk).revisions
    rows = [
        Row(
            (
                TableCell(str(item.mark)),
                TableCell(str(item.date or NOT_STATED)),
                TableCell(str(item.what)),
                TableCell(str(item.by or NOT_STATED)),
            )
        )
        for item in listed
    ]
    current = str(info.revision or "")
    if not listed or current not in {str(item.mark) for item in listed}:
        told = "this binder; not in the list under `handover`, `revisions`"
        rows.append(
            Row(
                (
                    TableCell(current or NOT_STATED),
                    TableCell(str(info.date or NOT_STATED)),
                    TableCell(told),
                    TableCell(),
                )
            )
        )
    columns = (Column("Revision"), Column("Date"), Column("What changed"), Column("By"))
    notes = (
        f"Inputs of this binder: {desk.design.digest[:16]}. A paper copy with another digest is not this revision.",
    )
    return Table("start-revisions", "Revisions", columns, tuple(rows), notes)


def _cautions(chapters: Sequence[Chapter]) -> Table:
    """Every caution by its title, under the chapter where its hazard is."""
    rows = []
    for item in chapters:
        inside = (one for element in item.elements for one in _within(element))
        titles = dict.fromkeys(one.title for one in inside if isinstance(one, Caution))
        if titles:
            place = TableCell(item.title, link=chapter_anchor(item.id), page=True)
            rows.append(Row((place, TableCell("; ".join(titles)))))
    columns = (Column("Chapter"), Column("Cautions"))
    return Table("start-cautions", "Cautions, each at its hazard", columns, tuple(rows))


def _within(element: Element) -> tuple[Element, ...]:
    return element.elements if isinstance(element, TaskCard) else (element,)
