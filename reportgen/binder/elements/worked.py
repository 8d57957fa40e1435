"""Workings as a page shows them: one by one as a chapter yields them, and gathered in tables."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from reportgen.binder.elements.tables import Table, TableCell

#: Printed wherever a table cell or a clause was recalled and not read.
RECALLED = "value recalled, check the adopted code"
CLAUSE_RECALLED = "clause recalled, check the adopted code"


@dataclass(frozen=True, slots=True)
class WorkingTerm:
    """Number put into a formula: its symbol, value, unit, what it is and where it comes from.

    ``elsewhere`` says that ``link`` leads out of this working; on paper the page is named. ``origin`` is the row of the
    appendix that holds a number read from a table, or the printed line that holds one typed in.
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
    origin: str = ""


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
