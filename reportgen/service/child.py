"""The child's side of a build: run one build function on bytes, send what came of it, leave no orphan."""

from __future__ import annotations

import contextlib
import ctypes
import errno
import importlib
import multiprocessing
import multiprocessing.connection
import os
import pickle
import signal
import sys
import threading
import traceback
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from multiprocessing.connection import Connection
from typing import Any, Final, Protocol

from reportgen.diagnostics.model import Diagnostic, InputRefused
from reportgen.service.ahead import listen
from reportgen.service.snapshot import Snapshot

HEADER: Final = 9
"""Bytes that go before a message: its kind, and its length."""
AHEAD: Final = b"a"
"""Kind of a message with the pages, which another follows."""
RESULT: Final = b"r"
"""Kind of the last message."""

_TRANSIENT = {errno.ENOSPC, errno.EIO, errno.ENOMEM, errno.EMFILE, errno.ENFILE, errno.EAGAIN, errno.EDQUOT}
_PR_SET_PDEATHSIG = 1


class BuiltLike(Protocol):
    """What a build function returns, as far as the service needs it."""

    @property
    def outputs(self) -> Mapping[str, bytes]:
        """Content of each file to publish, by relative path; ``manifest.json`` among them."""

    @property
    def exit_code(self) -> int:
        """What a command that only builds would end with."""

    @property
    def diagnostics(self) -> Sequence[Diagnostic]:
        """Messages of a build that went through."""

    @property
    def summary(self) -> str:
        """One line."""

    @property
    def findings(self) -> Sequence[Mapping[str, Any]]:
        """``id`` and ``outcome`` of each finding."""


class Ending(StrEnum):
    """How a build ended."""

    BUILT = "built"
    REFUSED = "refused"
    DEFECT = "defect"
    SHORT_OF_RESOURCES = "short-of-resources"
    CRASHED = "crashed"
    TIMED_OUT = "timed-out"
    CANCELLED = "cancelled"


@dataclass(frozen=True, slots=True)
class JobResult:
    """What came of one build.

    Parameters
    ----------
    ending : Ending
        How it ended.
    seconds : float
        Wall time. [s]
    outputs : mapping of str to bytes
        Files to publish, when built.
    exit_code : int
        The build's own, when built.
    diagnostics : tuple of Diagnostic
        The messages of the build, or why the input was refused.
    summary : str
        The build's own line, or what went wrong in one line.
    findings : mapping of str to str
        Outcome by id of the finding.
    detail : str
        Traceback of a defect.
    log : str
        What the build printed, the middle left out when it is long.
    """

    ending: Ending
    seconds: float = 0.0
    outputs: Mapping[str, bytes] = field(default_factory=dict)
    exit_code: int = 0
    diagnostics: tuple[Diagnostic, ...] = ()
    summary: str = ""
    findings: Mapping[str, str] = field(default_factory=dict)
    detail: str = ""
    log: str = ""


def run_child(
    result: Connection, log: Connection, build: str, snapshot: Snapshot, options: object, ahead: bool
) -> None:
    """Run one build and send what came of it, its pages ``ahead`` of the PDF; the body of the child process."""
    os.setpgid(0, 0)
    _die_with_parent()
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    null = os.open(os.devnull, os.O_RDONLY)
    os.dup2(null, 0)
    os.close(null)
    os.dup2(log.fileno(), 1)
    os.dup2(log.fileno(), 2)
    log.close()
    if ahead:
        listen(lambda pages: _send(result, AHEAD, pages))
    came = outcome(build, snapshot, options)
    with contextlib.suppress(OSError, ValueError):
        sys.stdout.flush()
        sys.stderr.flush()
    _send(result, RESULT, came)


def _send(pipe: Connection, kind: bytes, message: object) -> None:
    data = pickle.dumps(message)
    view = memoryview(kind + len(data).to_bytes(HEADER - 1, "big") + data)
    while view:
        view = view[os.write(pipe.fileno(), view) :]


def outcome(build: str, snapshot: Snapshot, options: object) -> JobResult:
    """What comes of one build, whatever it raises; the time it took is for the caller to measure.

    Parameters
    ----------
    build : str
        The build function as ``module:name``.
    snapshot : Snapshot
        All that it gets of the inputs.
    options : object
        Its second argument.
    """
    try:
        module, _, name = build.partition(":")
        function: Callable[[Snapshot, object], BuiltLike] = getattr(importlib.import_module(module), name)
        built = function(snapshot, options)
        return JobResult(
            Ending.BUILT,
            outputs={str(path): bytes(data) for path, data in built.outputs.items()},
            exit_code=int(built.exit_code),
            diagnostics=tuple(built.diagnostics),
            summary=str(built.summary),
            findings={str(entry["id"]): str(entry["outcome"]) for entry in built.findings},
        )
    except InputRefused as refusal:
        return JobResult(Ending.REFUSED, diagnostics=tuple(refusal.diagnostics), summary="input refused")
    except MemoryError:
        return JobResult(Ending.SHORT_OF_RESOURCES, summary="the build ran out of memory")
    except OSError as error:
        ending = Ending.SHORT_OF_RESOURCES if error.errno in _TRANSIENT else Ending.DEFECT
        return JobResult(ending, summary=f"the build failed: {error}", detail=traceback.format_exc())
    except BaseException as error:  # noqa: BLE001  (SystemExit too: a build does not end the service)
        words = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
        return JobResult(Ending.DEFECT, summary=f"defect in the tool: {words}", detail=traceback.format_exc())


def _die_with_parent() -> None:
    """Leave no orphan: the kernel kills this process with the fork server, which ends with the watcher."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_follow, args=(parent.sentinel,), daemon=True).start()


def _follow(sentinel: int) -> None:
    multiprocessing.connection.wait([sentinel])
    os.killpg(0, signal.SIGKILL)
