"""Drawings: an index of every drawing of the binder with its page, and the one-line diagram."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.one_line_words import blocks, idle
from reportgen.binder.chapters.stated_words import raceway_words
from reportgen.binder.drawings.one_line import one_lines
from reportgen.binder.elements import Chapter, Column, Figure, Paragraph, Row, Table, TableCell

_ID = "drawings"


def chapter(desk: Desk) -> Chapter:
    """The one-line diagram; :func:`indexed` puts the index before it when every other chapter is written."""
    made = blocks(desk)
    told = "What the folder does not state is said to be so and not drawn. Circuits alike in all but their ids are one line."
    return Chapter(
        _ID,
        "Drawings",
        "Where each drawing of this binder is, and the one-line diagram.",
        (*_idle(desk), *one_lines(made, raceway_words(desk), told))
        if made
        else (Paragraph("No one-line diagram is drawn: no inverter and no circuit is stated."),),
    )


def _idle(desk: Desk) -> Iterator[Paragraph]:
    if units := idle(desk):
        yield Paragraph(f"On no circuit, and so not in the one-line diagram: {', '.join(units)}.")


def indexed(chapters: Sequence[Chapter]) -> tuple[Chapter, ...]:
    """The chapters with the index of their drawings in the chapter of drawings."""
    found = list(_drawings(chapters))
    if not found:
        return tuple(chapters)
    cells = [
        (TableCell(str(place)), TableCell(figure.title, link=figure.id, page=True))
        for place, figure in enumerate(found, 1)
    ]
    half = (len(cells) + 1) // 2
    empty = (TableCell(), TableCell())
    rows = tuple(
        Row((*cells[k], *(cells[k + half] if k + half < len(cells) else empty))) for k in range(half)
    )
    columns = (Column("No.", align="right"), Column("Drawing")) * 2
    table = Table("drawing-index", "Index of drawings", columns, rows)
    return tuple(
        replace(chapter, elements=(*chapter.elements, table)) if chapter.id == _ID else chapter
        for chapter in chapters
    )


def _drawings(chapters: Sequence[Chapter]) -> Iterator[Figure]:
    """Every figure with an id."""
    for chapter in chapters:
        for element in chapter.elements:
            if isinstance(element, Figure) and element.id:
                yield element
