"""A finding: what a check came to, how close it was, and what cures it.

Five outcomes and no more. A verdict is made in one place, :func:`judge`, so that ``meets``, ``thin`` and
``fails`` mean the same in every discipline; a missing input is ``unknown`` and never a pass.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from reportgen.diagnostics.model import Diagnostic, Label, Severity, Span
from reportgen.working.quantity import Cell, Quantity, cells_of, spans_of


class Outcome(StrEnum):
    """How a check ended, worst first."""

    FAILS = "fails"
    UNKNOWN = "unknown"
    ASK = "ask"
    THIN = "thin"
    MEETS = "meets"

    @property
    def rank(self) -> int:
        """Order in lists: what fails comes first."""
        return _RANKS[self]


_RANKS = {outcome: rank for rank, outcome in enumerate(Outcome)}

#: How each outcome counts for a terminal or a machine: only ``fails`` is an error.
SEVERITY = {
    Outcome.FAILS: Severity.ERROR,
    Outcome.THIN: Severity.WARNING,
    Outcome.UNKNOWN: Severity.NOTE,
    Outcome.ASK: Severity.NOTE,
    Outcome.MEETS: Severity.NOTE,
}


@dataclass(frozen=True, slots=True)
class Finding:
    """Result of one check on one thing.

    Parameters
    ----------
    code : str
        Key of the catalogue; its entry names the rule.
    subject : str
        Id of the thing judged, for instance a string or a circuit.
    outcome : Outcome
        meets, thin, fails, unknown or ask.
    headline : str
        The fact with its numbers, one sentence without the full stop.
    part : str
        Where the thing is judged in parts (a segment, an input), the part.
    value, limit : Quantity, optional
        What was compared, with their working.
    at_most : bool
        True where the value must not exceed the limit, False where it must reach it.
    margin : float, optional
        Room left as a share of the limit; negative when it fails. [-]
    break_even : str
        Up to where it would still meet, in words with numbers.
    cure : str
        The one thing to do.
    cure_span : Span, optional
        The input line to change.
    missing : tuple of str
        For ``unknown``: what has to be stated.
    question : str
        For ``ask``: the question to put to the authority.
    clause : str
        Rule of the edition in force.
    clause_recalled : bool
        The clause or its text was recalled, not read.
    needs_run : str
        Command that evaluates it, where this run left it out.
    missing_at : tuple of Span or None
        Place of each thing missing, in the same order; shorter where places are not known.
    beside : tuple of Quantity
        Further limits that the value was held against and keeps.
    rules : tuple of str
        Rules that it rests on, where they are narrower than the rule of its code: those of the kinds of raceway.
    """

    code: str
    subject: str
    outcome: Outcome
    headline: str
    part: str = ""
    value: Quantity | None = None
    limit: Quantity | None = None
    at_most: bool = True
    margin: float | None = None
    break_even: str = ""
    cure: str = ""
    cure_span: Span | None = None
    missing: tuple[str, ...] = ()
    question: str = ""
    clause: str = ""
    clause_recalled: bool = False
    notes: tuple[str, ...] = ()
    needs_run: str = ""
    missing_at: tuple[Span | None, ...] = ()
    beside: tuple[Quantity, ...] = ()
    rules: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """Stable id: code, subject and part."""
        return ":".join(part for part in (self.code, self.subject, self.part) if part)

    @property
    def sources(self) -> tuple[Span, ...]:
        """Input lines the finding rests on, the one that cures it first."""
        first = (self.cure_span,) if self.cure_span else ()
        return tuple(dict.fromkeys((*first, *spans_of(self.value, self.limit))))

    @property
    def cells(self) -> tuple[Cell, ...]:
        """Table cells the finding rests on."""
        return cells_of(self.value, self.limit, *self.beside)

    @property
    def recalled(self) -> bool:
        """True where the verdict rests on a value recalled from memory."""
        return self.clause_recalled or any(cell.recalled for cell in self.cells)

    def diagnostic(self) -> Diagnostic:
        """The finding as a message of the terminal."""
        labels = tuple(Label(span, "", primary=not i) for i, span in enumerate(self.sources[:3]))
        notes = [self.break_even] if self.break_even else []
        notes += [f"missing: {item}" for item in self.missing]
        notes += [self.question] if self.question else []
        message = f"{self.headline} ({self.outcome})"
        return Diagnostic(
            self.code,
            message,
            SEVERITY[self.outcome],
            labels,
            self.cure or None,
            (*notes, *self.notes),
            self.clause or None,
            str(self.outcome),
        )


@dataclass(frozen=True, slots=True)
class Verdict:
    """Outcome and margin of a comparison."""

    outcome: Outcome
    margin: float


def judge(value: Quantity, limit: Quantity, thin_below: float, *, at_most: bool = True) -> Verdict:
    """Outcome of comparing a value with its limit; exactly at the limit meets, with no margin left.

    Parameters
    ----------
    value, limit : Quantity
        In the same unit.
    thin_below : float
        Margin under which a pass is called thin. [-]
    at_most : bool
        Whether the value must stay at or below the limit, or reach it.

    Raises
    ------
    ValueError
        If the units differ, the value is not finite, or the limit is not a positive finite number.

    Examples
    --------
    >>> judge(Quantity(17.24, "A"), Quantity(17.4, "A"), 0.02).outcome
    <Outcome.THIN: 'thin'>
    >>> judge(Quantity(17.4, "A"), Quantity(17.4, "A"), 0.0).outcome
    <Outcome.MEETS: 'meets'>
    """
    if value.unit != limit.unit:
        msg = f"{value.unit!r} compared with {limit.unit!r}"
        raise ValueError(msg)
    if not (0 < limit.value < math.inf and math.isfinite(value.value)):
        msg = f"value {value.value!r} against limit {limit.value!r}: nothing to judge"
        raise ValueError(msg)
    room = (limit.value - value.value) / limit.value
    margin = (room if at_most else -room) + 0.0  # no minus zero
    if margin < 0:
        return Verdict(Outcome.FAILS, margin)
    return Verdict(Outcome.THIN if margin < thin_below else Outcome.MEETS, margin)
