"""``status.json`` beside the binder: what the watcher does, and whether the binder is older than the inputs.

The published folder itself is never touched to say so. This is the only file of the tool that names a clock.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import Any

from reportgen.diagnostics.model import Diagnostic

_LARGEST_STATUS = 4 * 1024 * 1024  # bytes
_MOST_ERRORS = 50


class State(StrEnum):
    """What a watcher does."""

    IDLE = "idle"
    BUILDING = "building"
    FAILED = "failed"
    MISSING = "missing"
    STOPPED = "stopped"


class WatchMode(StrEnum):
    """How changes are noticed: by file events with a periodic look, by the look alone, or not at all."""

    EVENTS = "events"
    POLLING = "polling"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class StatusError:
    """One error as a place and a sentence; line and column are 0 where it has no place."""

    code: str
    message: str
    file: str = ""
    line: int = 0
    column: int = 0
    severity: str = "error"
    help: str = ""


@dataclass(frozen=True, slots=True)
class Status:
    """Content of ``status.json``.

    Parameters
    ----------
    state : State
        What the watcher does.
    stale : bool
        True when the published binder is not the one of the inputs as they are, or none is published.
    input_digest, published_digest : str
        Digest of the inputs as last seen, and of those that the published binder came from; "" where there is none.
    watch_mode : WatchMode
        How changes are noticed.
    pid : int
        The watcher's process id.
    updated, started : str
        Time of this record and of the start of the last build, ISO 8601 in UTC; "" before the first build.
    duration_s : float or None
        Time that the last build took. [s]
    message : str
        One sentence on the last event.
    errors : tuple of StatusError
        What kept the last build from being published, at most 50, and warnings of it.
    errors_total : int
        How many there were.
    counters : mapping of str to int
        Events by kind since the start of the watcher.
    """

    state: State
    stale: bool
    input_digest: str = ""
    published_digest: str = ""
    watch_mode: WatchMode = WatchMode.NONE
    pid: int = 0
    updated: str = ""
    started: str = ""
    duration_s: float | None = None
    message: str = ""
    errors: tuple[StatusError, ...] = ()
    errors_total: int = 0
    counters: Mapping[str, int] = field(default_factory=dict)


def status_errors(diagnostics: Iterable[Diagnostic]) -> tuple[StatusError, ...]:
    """Diagnostics in the short form of the status file, at most 50."""
    found = []
    for item in diagnostics:
        span = item.span
        found.append(
            StatusError(
                item.code,
                item.message,
                span.file if span else "",
                span.line if span else 0,
                span.column if span else 0,
                str(item.severity),
                item.help or "",
            )
        )
    return tuple(found[:_MOST_ERRORS])


def status_path(target: Path) -> Path:
    """Where the status of an output folder lies: beside it, whatever the folder's name."""
    return target.parent / "status.json"


def write_status(path: Path, status: Status) -> None:
    """Write the status in one step; a reader sees the old record or the new one.

    Raises
    ------
    OSError
        If it cannot be written; the old record stays.
    """
    data = (json.dumps(asdict(status), sort_keys=True, indent=1, ensure_ascii=False) + "\n").encode()
    draft = path.with_name(f".{path.name}.{secrets.token_hex(8)}")
    try:
        handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, 0o666)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        draft.replace(path)
    except BaseException:
        draft.unlink(missing_ok=True)
        raise


def clear_drafts(path: Path) -> None:
    """Delete drafts of a status that a killed process left; to be called with the folder's lock held."""
    drafts = re.compile(rf"\.{re.escape(path.name)}\.[0-9a-f]{{16}}")
    with contextlib.suppress(OSError):
        for entry in list(path.parent.iterdir()):
            if drafts.fullmatch(entry.name) and entry.is_file() and not entry.is_symlink():
                entry.unlink(missing_ok=True)


def read_status(path: Path) -> Status | None:
    """Last written status; None when there is none, or it is damaged, or not one of ours."""
    try:
        handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_NOFOLLOW)
        with os.fdopen(handle, "rb") as stream:
            document = json.loads(stream.read(_LARGEST_STATUS).decode("utf-8"))
        return _from_json(document)
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None


def _from_json(document: Any) -> Status:
    values = dict(document)
    values["state"] = State(values["state"])
    values["watch_mode"] = WatchMode(values["watch_mode"])
    values["errors"] = tuple(StatusError(**entry) for entry in values["errors"])
    values["counters"] = {str(key): int(count) for key, count in values["counters"].items()}
    if not isinstance(values["stale"], bool):
        raise TypeError("stale is no truth value")
    return Status(**values)
