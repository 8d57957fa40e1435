"""What the watch loop tells its caller: one event for each thing that a person at a terminal would want a line on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from reportgen.diagnostics.model import Diagnostic, Severity
from reportgen.service.snapshot import Changes


class EventKind(StrEnum):
    """What happened; the counters of the status file have these names."""

    STARTED = "started"
    UP_TO_DATE = "up-to-date"
    BUILDING = "building"
    PAGES = "pages"
    PUBLISHED = "published"
    REFUSED = "refused"
    DEFECT = "defect"
    CRASHED = "crashed"
    TIMED_OUT = "timed-out"
    CANNOT_WRITE = "cannot-write"
    CANCELLED = "cancelled"
    MISSING = "missing"
    BACK = "back"
    STOPPED = "stopped"


ENDINGS = frozenset(
    {
        EventKind.PUBLISHED,
        EventKind.REFUSED,
        EventKind.DEFECT,
        EventKind.CRASHED,
        EventKind.TIMED_OUT,
        EventKind.CANNOT_WRITE,
    }
)
"""Kinds that end a build: one line a rebuild."""


@dataclass(frozen=True, slots=True)
class FindingChange:
    """One finding whose outcome differs between two binders; None where it does not exist."""

    id: str
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True)
class WatchEvent:
    """One thing that happened.

    Parameters
    ----------
    kind : EventKind
        What.
    message : str
        One line on it, lower case, no full stop.
    changes : Changes
        Paths that differ from the inputs of the last build that ended.
    seconds : float or None
        Time that the build took. [s]
    gained, lost : tuple of FindingChange
        Findings that need attention and did not before, or in another way; findings that no longer do.
    diagnostics : tuple of Diagnostic
        The messages of the build, or why it was not published.
    stale : bool
        True when the published binder is not the one of the inputs as they are.
    detail, log : str
        Traceback of a defect; what the build printed, shortened.
    exit_code : int
        The build's own exit code, when published.
    files : mapping of str to bytes
        The inputs that the diagnostics point into.
    """

    kind: EventKind
    message: str = ""
    changes: Changes = field(default_factory=Changes)
    seconds: float | None = None
    gained: tuple[FindingChange, ...] = ()
    lost: tuple[FindingChange, ...] = ()
    diagnostics: tuple[Diagnostic, ...] = ()
    stale: bool = False
    detail: str = ""
    log: str = ""
    exit_code: int = 0
    files: Mapping[str, bytes] = field(default_factory=dict, repr=False)

    @property
    def errors(self) -> int:
        """How many of the diagnostics are errors."""
        return sum(item.severity is Severity.ERROR for item in self.diagnostics)


def finding_changes(
    before: Mapping[str, str], after: Mapping[str, str]
) -> tuple[tuple[FindingChange, ...], tuple[FindingChange, ...]]:
    """Findings gained and findings lost from one binder to the next, each sorted by id.

    Every outcome but ``meets`` needs attention: ``unknown`` and ``ask`` too are no pass.

    Examples
    --------
    >>> gained, lost = finding_changes({"a": "thin", "b": "fails"}, {"a": "fails", "b": "meets"})
    >>> gained
    (FindingChange(id='a', before='thin', after='fails'),)
    >>> lost
    (FindingChange(id='b', before='fails', after='meets'),)
    """
    gained, lost = [], []
    for key in sorted(before.keys() | after.keys()):
        old, new = before.get(key), after.get(key)
        if old == new:
            continue
        if new not in (None, "meets"):
            gained.append(FindingChange(key, old, new))
        elif old not in (None, "meets"):
            lost.append(FindingChange(key, old, new))
    return tuple(gained), tuple(lost)
