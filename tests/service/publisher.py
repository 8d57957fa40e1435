"""Bodies of the processes that the tests of publication kill."""

from __future__ import annotations

import errno
import itertools
import os
import signal
import sys
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from types import FrameType
from typing import Any

from service_fakes import outputs_of

from reportgen.service import exchange, staging
from reportgen.service import publish as publication
from reportgen.service.publish import publish


def publish_and_die(target: str, outputs: Mapping[str, bytes], step: int, flags: str) -> None:
    """Publish, and die by SIGKILL before the n-th line of the publication's code."""
    _stepping(
        Path(target), outputs, flags, lambda at: os.kill(os.getpid(), signal.SIGKILL) if at == step else None
    )


def count_steps(target: Path, outputs: Mapping[str, bytes], flags: str) -> int:
    """How many lines of the publication's code one publication runs."""
    return _stepping(target, outputs, flags, lambda at: None)


def _stepping(
    target: Path, outputs: Mapping[str, bytes], flags: str, at_step: Callable[[int], object]
) -> int:
    code = {module.__file__ for module in (exchange, publication, staging)}
    steps = itertools.count(1)  # one step to each line, though files are written in several threads

    def trace(frame: FrameType, event: str, argument: Any) -> Any:
        if frame.f_code.co_filename not in code:
            return None
        if event == "line":
            at_step(next(steps))
        return trace

    real, before, before_in_threads = exchange._exchange, sys.gettrace(), threading.gettrace()
    if flags == "aside":
        exchange._exchange = _cannot
    threading.settrace(trace)
    sys.settrace(trace)
    try:
        publish(outputs, target)
    finally:
        sys.settrace(before)
        threading.settrace(before_in_threads)  # type: ignore[arg-type]
        exchange._exchange = real
    return next(steps) - 1


def _cannot(first: Path, second: Path) -> None:
    raise OSError(errno.ENOSYS, os.strerror(errno.ENOSYS))


def publish_forever(target: str, ready: str) -> None:
    """Publish one generation after the other until killed."""
    Path(ready).touch()
    for number in itertools.count():
        publish(outputs_of({"a.yaml": b"%d" % number}, f"{number}", big=200_000), Path(target))
