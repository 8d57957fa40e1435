"""The one type behind every message, and the sink that gathers messages of a whole run.

A :class:`Diagnostic` states a fact (``message``), points at places (``labels``) and offers one cure (``help``).
It knows nothing of YAML, terminals or pages; renderers are its only readers.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum


class Severity(StrEnum):
    """How much a message weighs: an error stops the run, a warning or a note does not."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """A stretch of one input file; lines and columns count from 1, the end column is exclusive.

    Parameters
    ----------
    file : str
        Path relative to the project folder, with forward slashes.
    line, column : int
        First character.
    end_line, end_column : int
        One past the last character.
    """

    file: str
    line: int = 1
    column: int = 1
    end_line: int = 1
    end_column: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"

    @property
    def short(self) -> str:
        """The place as a reader looks it up: ``file:line``."""
        return f"{self.file}:{self.line}"

    @property
    def is_whole_file(self) -> bool:
        """True for the empty place at the top, which stands for the file as a whole."""
        return self.line == self.column == self.end_line == self.end_column == 1


@dataclass(frozen=True, slots=True, order=True)
class Label:
    """A place with a few words on what is there; exactly one label of a diagnostic is primary."""

    span: Span
    text: str = ""
    primary: bool = True


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """One message.

    Parameters
    ----------
    code : str
        Key of the catalogue, for instance ``unknown-key``; never reused for something else.
    message : str
        The fact, understandable alone: lower case, no full stop, identifiers in backticks.
    severity : Severity
        Error, warning or note.
    labels : tuple of Label
        The primary place first; further ones may lie in other files.
    help : str, optional
        The one thing to do.
    notes : tuple of str
        Numbers, limits, what had been understood so far.
    clause : str, optional
        Rule the message rests on, for design findings.
    outcome : str, optional
        How the check ended, for design findings: meets, thin, fails, unknown or ask.
    """

    code: str
    message: str
    severity: Severity = Severity.ERROR
    labels: tuple[Label, ...] = ()
    help: str | None = None
    notes: tuple[str, ...] = ()
    clause: str | None = None
    outcome: str | None = None

    @property
    def span(self) -> Span | None:
        """The primary place, or None where a message has none (an empty folder, say)."""
        return next((label.span for label in self.labels if label.primary), None)

    def sort_key(self) -> tuple[str, int, int, str, str]:
        """Stable order of printing: file, line, column, code, message; what has no place comes last."""
        span = self.span or Span("\uffff")
        return (span.file, span.line, span.column, self.code, self.message)


@dataclass(slots=True)
class Sink:
    """Gathers the diagnostics of one run, so that all errors of all files come at once."""

    items: list[Diagnostic] = field(default_factory=list)

    def add(self, diagnostic: Diagnostic) -> None:
        """Keep one diagnostic."""
        self.items.append(diagnostic)

    def error(
        self,
        code: str,
        message: str,
        span: Span | None = None,
        *,
        text: str = "",
        help: str | None = None,
        notes: Iterable[str] = (),
        related: Iterable[tuple[Span, str]] = (),
        severity: Severity = Severity.ERROR,
    ) -> None:
        """Keep one diagnostic made from its parts; ``related`` are further places with their words."""
        labels: tuple[Label, ...] = () if span is None else (Label(span, text),)
        labels += tuple(Label(place, words, primary=False) for place, words in related)
        self.items.append(Diagnostic(code, message, severity, labels, help, tuple(notes)))

    @property
    def has_errors(self) -> bool:
        """True when anything gathered so far stops the run."""
        return any(item.severity is Severity.ERROR for item in self.items)

    def sorted(self) -> list[Diagnostic]:
        """Everything gathered, in the order of printing and without repetitions."""
        return sorted(dict.fromkeys(self.items), key=Diagnostic.sort_key)


class InputRefused(Exception):
    """Raised when the inputs of a folder cannot become a project; carries every diagnostic of the run.

    Attributes
    ----------
    diagnostics : list of Diagnostic
        In the order of printing, at least one of them an error.
    """

    def __init__(self, diagnostics: list[Diagnostic]) -> None:
        super().__init__(f"{len(diagnostics)} diagnostics")
        self.diagnostics = diagnostics
