"""The vocabulary of a chapter: tables, workings, findings, cautions, figures and forms as plain records.

Everything a record holds is plain text and is printed as text: no markup gets from data to a page. The one
exception is a drawing, whose markup is made by :mod:`reportgen.binder.drawings.svg`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup

from reportgen.binder.label_sheets import LabelSheets
from reportgen.design.findings import Finding, Outcome
from reportgen.working.quantity import Cell
from reportgen.working.text import significant

#: Printed wherever a table cell or a clause was recalled and not read.
RECALLED = "value recalled, check the adopted code"
CLAUSE_RECALLED = "clause recalled, check the adopted code"

_UNSAFE = re.compile(r"[^A-Za-z0-9.]")


def anchor(*parts: str) -> str:
    """Name of a place that links can point at; different parts never share one.

    Examples
    --------
    >>> anchor("string", "S 1")
    'string-S_20_1'
    """
    return "-".join(_UNSAFE.sub(lambda match: f"_{ord(match[0]):x}_", part) for part in parts)


def finding_anchor(finding: Finding) -> str:
    """Name of the place where a finding is told in full."""
    return anchor("finding", finding.id)


def cell_anchor(cell: Cell) -> str:
    """Name of the row of the appendix that holds a table cell."""
    return anchor("cell", cell.table, cell.row, cell.column)


def rule_anchor(rule: str) -> str:
    """Name of the row of the appendix that names the clause of a rule."""
    return anchor("rule", rule) if rule else ""


def chapter_anchor(chapter_id: str) -> str:
    """Name of the first line of a chapter."""
    return anchor("chapter", chapter_id)


@dataclass(frozen=True, slots=True)
class Column:
    """Column of a table: ``unit`` stands under the title, ``group`` spans neighbours that share it.

    A title may hold symbols such as ``V_oc``; they print with a subscript. ``symbol`` is that of a formula and
    stands over the title.
    """

    title: str
    unit: str = ""
    align: Literal["left", "right"] = "left"
    group: str = ""
    symbol: str = ""


@dataclass(frozen=True, slots=True)
class TableCell:
    """Cell of a table: its text, and in this order an outcome before it and a small note under it.

    ``link`` names the anchor that the text leads to; where no such place exists in the binder the text
    stands alone. ``page`` has the page of that anchor printed behind the text.
    """

    text: str = ""
    outcome: Outcome | None = None
    link: str = ""
    strong: bool = False
    note: str = ""
    page: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """Row of a table; its first cell names the row. Neighbours that share a ``group`` stand under its name.

    ``changed`` rows carry a mark: they are not as in the earlier state that the binder is compared with.
    """

    cells: tuple[TableCell, ...]
    anchor: str = ""
    group: str = ""
    changed: bool = False


def row(*cells: str | TableCell, anchor: str = "", group: str = "") -> Row:
    """Row from texts and cells."""
    made = tuple(cell if isinstance(cell, TableCell) else TableCell(cell) for cell in cells)
    return Row(made, anchor, group)


@dataclass(frozen=True, slots=True)
class Table:
    """Table with a caption; ``wide`` lets it lie on a landscape sheet where it does not fit upright.

    Outcomes of a ``trial`` are of things that are not in the design: the contents do not count them.

    Raises
    ------
    ValueError
        If a row has another number of cells than there are columns.
    """

    id: str
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()
    wide: bool = False
    trial: bool = False

    def __post_init__(self) -> None:
        for item in self.rows:
            if len(item.cells) != len(self.columns):
                msg = f"row with {len(item.cells)} cells in table {self.id!r} of {len(self.columns)} columns"
                raise ValueError(msg)


@dataclass(frozen=True, slots=True)
class Bar:
    """Row of a :class:`BarTable`: ``length`` as a share of the longest, 0 to 1 [-]; a gain prints hollow."""

    label: str
    text: str
    length: float
    share: str = ""
    gain: bool = False


@dataclass(frozen=True, slots=True)
class BarTable:
    """Table in which a bar stands for each number; made by :func:`reportgen.binder.charts.loss_bars`."""

    id: str
    caption: str
    label_title: str
    value_title: str
    unit: str
    share_title: str
    bars: tuple[Bar, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WorkingTerm:
    """Number put into a formula: its symbol, value, unit, what it is and where it comes from.

    ``elsewhere`` says that ``link`` leads out of this working; on paper the page is named. ``cell`` is the row of the
    appendix that holds a number read from a table.
    """

    symbol: str
    value: str
    unit: str
    name: str
    source: str
    kind: Literal["input", "table", "assumed", "worked", "plain"]
    link: str = ""
    recalled: bool = False
    elsewhere: bool = False
    cell: str = ""


@dataclass(frozen=True, slots=True)
class WorkingStep:
    """One formula with its numbers: each line of it can be keyed into a pocket calculator.

    ``results`` holds the number with its unit, and again in another unit where it was converted.
    """

    id: str
    name: str
    symbols: str
    numbers: str
    results: tuple[str, ...]
    terms: tuple[WorkingTerm, ...]


@dataclass(frozen=True, slots=True)
class WorkingView:
    """A value with all its steps, the intermediate ones first and each once.

    Made by :func:`reportgen.binder.workings.working_view`. The page prints the workings of a chapter in tables, see
    :mod:`reportgen.binder.working_tables`. ``subject`` is what it is worked out for and ``purpose`` what as; a view
    without steps says that its subject shares the working that stands at ``id``. ``rule`` is the row of the appendix
    that names its clause.
    """

    id: str
    name: str
    clause: str
    steps: tuple[WorkingStep, ...]
    clause_recalled: bool = False
    subject: str = ""
    purpose: str = ""
    rule: str = ""

    @property
    def recalled(self) -> bool:
        """True where a number put in was recalled from memory."""
        return any(term.recalled for step in self.steps for term in step.terms)


@dataclass(frozen=True, slots=True)
class WorkingTable:
    """One formula with everything it is worked out for; made by :func:`reportgen.binder.working_tables.gathered`.

    Parameters
    ----------
    id : str
        Anchor; of a single line its own, else the lines have theirs.
    name, symbols : str
        What is worked out, and the formula.
    given : tuple of WorkingTerm
        What is the same for every line.
    clause, rule : str
        Rule that asks for it, and the row of the appendix that names it.
    table : Table, optional
        The lines with what differs between them; None where there is but one line.
    number, label, numbers, results, judged
        Of a single line: its number, what it is for, the formula with the numbers put in, the result, the verdict.
    """

    id: str
    name: str
    symbols: str
    given: tuple[WorkingTerm, ...]
    clause: str = ""
    clause_recalled: bool = False
    table: Table | None = None
    number: str = ""
    label: str = ""
    numbers: str = ""
    results: tuple[str, ...] = ()
    judged: TableCell | None = None
    rule: str = ""


@dataclass(frozen=True, slots=True)
class FindingView:
    """A finding told in full, with a link to its working."""

    id: str
    outcome: Outcome
    subject: str
    headline: str
    margin: str = ""
    break_even: str = ""
    cure: str = ""
    cure_place: str = ""
    places: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    question: str = ""
    clause: str = ""
    recalled: bool = False
    notes: tuple[str, ...] = ()
    needs_run: str = ""
    working: str = ""
    rule: str = ""


def margin_text(finding: Finding) -> str:
    """Room left or lacking in words, with enough digits never to print as nothing.

    Examples
    --------
    >>> margin_text(Finding("c", "S1", Outcome.THIN, "h", margin=0.0093))
    '0.93 % to spare'
    >>> margin_text(Finding("c", "S1", Outcome.FAILS, "h", margin=-0.031, at_most=False))
    '3.1 % short'
    """
    if finding.margin is None:
        return ""
    if finding.margin == 0:
        return "exactly at the limit"
    share = f"{significant(abs(finding.margin) * 100, 2)} %"
    if finding.margin > 0:
        return f"{share} to spare"
    return f"{share} over" if finding.at_most else f"{share} short"


def finding_view(finding: Finding, working: str = "", rule: str = "") -> FindingView:
    """A finding as it is printed; ``working`` and ``rule`` are the anchors of its working and of its clause."""
    return FindingView(
        id=finding_anchor(finding),
        outcome=finding.outcome,
        subject=", ".join(part for part in (finding.subject, finding.part) if part),
        headline=finding.headline,
        margin=margin_text(finding),
        break_even=finding.break_even,
        cure=finding.cure,
        cure_place=finding.cure_span.short if finding.cure_span else "",
        places=tuple(dict.fromkeys(span.short for span in finding.sources)),
        missing=finding.missing,
        question=finding.question,
        clause=finding.clause,
        recalled=finding.recalled,
        notes=finding.notes,
        needs_run=finding.needs_run,
        working=working,
        rule=rule,
    )


@dataclass(frozen=True, slots=True)
class ListedFinding:
    """A finding named in a list: its anchor, what tells it from the others, its margin, and its working."""

    anchor: str
    text: str
    margin: str = ""
    break_even: str = ""
    link: str = ""
    changed: bool = False


@dataclass(frozen=True, slots=True)
class ListedCheck:
    """A check with its findings of one outcome; ``common`` holds the words that they share.

    ``rule`` is the anchor of its rule among the references.
    """

    title: str
    clause: str
    common: str
    items: tuple[ListedFinding, ...]
    rule: str = ""


@dataclass(frozen=True, slots=True)
class FindingList:
    """Findings of one outcome set close: a row for each check, in it every finding with its anchor."""

    id: str
    caption: str
    outcome: Outcome
    groups: tuple[ListedCheck, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Caution:
    """Warning at the place where the hazard is; ``basis`` says what it rests on."""

    title: str
    text: str
    basis: str = ""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text; ``small`` where it only explains marks."""

    text: str
    small: bool = False


@dataclass(frozen=True, slots=True)
class Listing:
    """Short texts one under the other, numbered where their order counts."""

    items: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Pointers:
    """Where things stand that belong here: each a text with its anchor, on paper with its page."""

    title: str
    links: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """Names and their values, two columns."""

    pairs: tuple[tuple[str, str], ...]
    caption: str = ""


@dataclass(frozen=True, slots=True)
class SourceText:
    """Text printed line by line with line numbers, for instance an input file."""

    title: str
    text: str
    id: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing with its title and what it says in words.

    ``svg`` comes from :meth:`reportgen.binder.drawings.svg.Drawing.markup`; a plain string prints as text.
    Two neighbours that are ``half`` as wide as the page stand abreast; a ``wide`` one lies on a landscape sheet.
    One with an ``id`` is listed in the index of drawings.
    """

    svg: Markup
    title: str
    description: str = ""
    half: bool = False
    id: str = ""
    wide: bool = False


@dataclass(frozen=True, slots=True)
class Heading:
    """Heading inside a chapter: level 2 is listed among the bookmarks, level 3 stands under it."""

    text: str
    level: Literal[2, 3] = 2
    anchor: str = ""


@dataclass(frozen=True, slots=True)
class Blank:
    """Field to fill in on paper, in the PDF or on the screen.

    Parameters
    ----------
    name : str
        What is to be filled in, for readers that speak; in a table the row and column say it.
    tick : bool
        A box to tick instead of a line to write on.
    lines : int
        Height of the field. [lines]
    """

    name: str = ""
    tick: bool = False
    lines: int = 1


@dataclass(frozen=True, slots=True)
class FormTable:
    """Table with printed cells and cells to fill in; the first cell of a row is printed and names it."""

    id: str
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str | TableCell | Blank, ...], ...]
    notes: tuple[str, ...] = ()
    wide: bool = False


@dataclass(frozen=True, slots=True)
class Fields:
    """Named fields to fill in, one or two abreast: a sheet's head, a sign-off block, remarks."""

    id: str
    fields: tuple[Blank, ...]
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Steps:
    """Work in the order it is done, with a large box to tick before each step."""

    id: str
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TaskCard:
    """What is carried outside for one task: black on white, on one sheet, complete without the rest of the binder.

    :mod:`reportgen.binder.task_cards` makes them and sees to it that each fits its page.

    Parameters
    ----------
    id, title : str
        The title names the task.
    elements : tuple
        The plain ones of a page: no working, finding, heading or other card.
    purpose : str
        What the task is for, one sentence.
    stop : tuple of str
        Conditions under which the work is not begun or not gone on with; printed in a frame before all else.
    """

    id: str
    title: str
    elements: tuple[
        Table | Caution | Paragraph | Listing | Facts | Figure | FormTable | Fields | Steps,
        ...,
    ]
    purpose: str = ""
    stop: tuple[str, ...] = ()


Element = (
    Table
    | BarTable
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
