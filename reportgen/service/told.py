"""What a watcher tells, and remembers of it: the status file, its events, findings gained and lost."""

from __future__ import annotations

import contextlib
import os
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from reportgen.diagnostics.model import Diagnostic
from reportgen.service.ahead import Ahead, Lent
from reportgen.service.events import ENDINGS, FindingChange, WatchEvent, finding_changes
from reportgen.service.status import State, Status, WatchMode, status_errors, write_status
from reportgen.service.supervisor import Supervisor

Changed = tuple[tuple[FindingChange, ...], tuple[FindingChange, ...]]


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a watcher stands.

    Parameters
    ----------
    inputs, published : str
        Digest of the inputs as they are, and of those that the published binder is of.
    mode : WatchMode
        How changes are noticed.
    """

    inputs: str
    published: str
    mode: WatchMode

    @property
    def stale(self) -> bool:
        """True when the published binder is not the one of the inputs as they are."""
        return self.published != self.inputs


class Teller:
    """Tells each event to the status file, the service manager and the caller, in this order.

    Parameters
    ----------
    path : Path
        The status file.
    supervisor : Supervisor
        Service manager to keep informed.
    on_event : callable
        Told of each event last.

    Attributes
    ----------
    state : State
        What the watcher does.
    problems : tuple of Diagnostic
        Of the last build that ended.
    duration_s : float or None
        That it took. [s]
    """

    def __init__(self, path: Path, supervisor: Supervisor, on_event: Callable[[WatchEvent], object]) -> None:
        self.state = State.IDLE
        self.problems: tuple[Diagnostic, ...] = ()
        self.duration_s: float | None = None
        self._path, self._supervisor, self._on_event = path, supervisor, on_event
        self._counters: Counter[str] = Counter()
        self._message = ""
        self._started = ""

    @property
    def ended(self) -> int:
        """Builds that ended so far, published or not."""
        return sum(self._counters[kind] for kind in ENDINGS)

    def begin(self) -> None:
        """A build begins now."""
        self.state = State.BUILDING
        self._started = _now()

    def emit(self, event: WatchEvent, standing: Standing) -> None:
        """Tell an event."""
        self._counters[event.kind] += 1
        self._message = event.message
        self.write_status(standing)  # first, so that whoever acts on the event finds it there
        self._supervisor.status(f"{event.kind}: {event.message}")
        self._on_event(event)

    def write_status(self, standing: Standing) -> None:
        """Bring the status file up to date."""
        status = Status(
            state=self.state,
            stale=standing.stale or self.state is State.MISSING,
            input_digest=standing.inputs,
            published_digest=standing.published,
            watch_mode=WatchMode.NONE if self.state is State.STOPPED else standing.mode,
            pid=os.getpid(),
            updated=_now(),
            started=self._started,
            duration_s=self.duration_s,
            message=self._message,
            errors=status_errors(self.problems),
            errors_total=len(self.problems),
            counters=dict(sorted(self._counters.items())),
        )
        # a full disk must not end the watcher: the next status that can be written tells
        with contextlib.suppress(OSError):
            write_status(self._path, status)


class ToldFindings:
    """Findings as they were told last: those of the published binder, or of pages that wait for their PDF.

    Parameters
    ----------
    lent : Lent
        Where pages are laid that wait for their PDF.
    """

    def __init__(self, lent: Lent) -> None:
        self._published: Mapping[str, str] = {}
        self._ahead: Mapping[str, str] | None = None
        self._lent = lent

    def start(self, published: Mapping[str, str]) -> None:
        """Begin with the findings of a binder that is published already."""
        self._published = published

    def foresee(self, digest: str, ahead: Ahead) -> Changed:
        """Findings gained and lost with pages whose PDF is still to come; the pages are lent."""
        changed = finding_changes(self._last, ahead.findings)
        self._ahead = ahead.findings
        self._lent.pages = (digest, ahead)
        return changed

    def settle(self, findings: Mapping[str, str] | None) -> Changed:
        """Findings gained and lost with a binder published now, none where none came; pages lent are taken back."""
        changed: Changed = ((), ())
        if findings is not None:
            changed = finding_changes(self._last, findings)
            self._published = findings
        self._ahead, self._lent.pages = None, None
        return changed

    def return_to_published(self) -> Changed:
        """Findings gained and lost where the published binder is the one of the inputs again."""
        return self.settle(self._published)

    @property
    def _last(self) -> Mapping[str, str]:
        return self._published if self._ahead is None else self._ahead


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
