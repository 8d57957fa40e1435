"""The vocabulary of a chapter: tables, workings, findings, cautions, figures and forms as plain records.

Everything a record holds is plain text and is printed as text: no markup gets from data to a page. The one
exception is a drawing, whose markup is made by :mod:`reportgen.binder.drawings.svg`.
"""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.binder.elements.anchors import (
    PRINTED,
    anchor,
    cell_anchor,
    chapter_anchor,
    finding_anchor,
    line_anchor,
    rule_anchor,
)
from reportgen.binder.elements.fieldwork import Fields, Steps, TaskCard
from reportgen.binder.elements.plain import (
    Caution,
    Facts,
    Figure,
    Heading,
    Listing,
    Paragraph,
    Pointers,
)
from reportgen.binder.elements.printed import LineUse, SourceText
from reportgen.binder.elements.tables import (
    Bar,
    BarTable,
    Blank,
    Column,
    Entry,
    EntryRow,
    EntryTable,
    FormTable,
    Row,
    Table,
    TableCell,
    row,
)
from reportgen.binder.elements.told import (
    FindingList,
    FindingView,
    ListedCheck,
    ListedFinding,
    finding_view,
    margin_text,
)
from reportgen.binder.elements.worked import (
    CLAUSE_RECALLED,
    RECALLED,
    WorkingStep,
    WorkingTable,
    WorkingTerm,
    WorkingView,
)
from reportgen.binder.label_sheets import LabelSheets

__all__ = [
    "CLAUSE_RECALLED",
    "PRINTED",
    "RECALLED",
    "Bar",
    "BarTable",
    "Blank",
    "Caution",
    "Chapter",
    "Column",
    "Element",
    "Entry",
    "EntryRow",
    "EntryTable",
    "Facts",
    "Fields",
    "Figure",
    "FindingList",
    "FindingView",
    "FormTable",
    "Heading",
    "LabelSheets",
    "LineUse",
    "ListedCheck",
    "ListedFinding",
    "Listing",
    "Paragraph",
    "Pointers",
    "Row",
    "SourceText",
    "Steps",
    "Table",
    "TableCell",
    "TaskCard",
    "WorkingStep",
    "WorkingTable",
    "WorkingTerm",
    "WorkingView",
    "anchor",
    "cell_anchor",
    "chapter_anchor",
    "finding_anchor",
    "finding_view",
    "line_anchor",
    "margin_text",
    "row",
    "rule_anchor",
]


Element = (
    Table
    | BarTable
    | EntryTable
    | WorkingView
    | WorkingTable
    | FindingView
    | FindingList
    | Caution
    | Paragraph
    | Listing
    | Pointers
    | Facts
    | SourceText
    | Figure
    | Heading
    | FormTable
    | Fields
    | Steps
    | TaskCard
    | LabelSheets
)


@dataclass(frozen=True, slots=True)
class Chapter:
    """A chapter: what it holds, in order of printing.

    Parameters
    ----------
    id : str
        Unique; :func:`chapter_anchor` makes its anchor.
    title, summary : str
        The summary is one or two sentences under the title.
    elements : tuple
        What it holds.
    landscape : bool
        Whether all its sheets lie on their side.
    page_break : bool
        Whether it starts on a new sheet: what is carried about by itself does, all else runs on.
    field : bool
        Whether its sheets are those of task cards.
    """

    id: str
    title: str
    summary: str
    elements: tuple[Element, ...]
    landscape: bool = False
    page_break: bool = False
    field: bool = False
