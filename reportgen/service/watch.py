"""A folder watched until a signal comes."""

from __future__ import annotations

import contextlib
import os
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType

from reportgen.service.ahead import Lent
from reportgen.service.events import WatchEvent
from reportgen.service.exit_codes import ExitCode
from reportgen.service.recipe import Recipe, Timing
from reportgen.service.supervisor import Supervisor
from reportgen.service.watcher import Watcher


def watch(
    root: Path,
    target: Path,
    recipe: Recipe,
    on_event: Callable[[WatchEvent], object],
    *,
    timing: Timing | None = None,
    stop_after: int | None = None,
    supervisor: Supervisor | None = None,
    lent: Lent | None = None,
) -> ExitCode:
    """Watch a folder until a signal comes; to be called from the main thread.

    SIGTERM and SIGINT end it in order; a second signal ends it at once, with the child killed.

    Parameters
    ----------
    root, target, recipe, on_event, timing, stop_after, supervisor
        As for :class:`Watcher`.

    Returns
    -------
    ExitCode
        ``TERMINATED`` or ``INTERRUPTED`` after a signal, else ``DONE``.

    Raises
    ------
    AlreadyWatched, PublishRefused, OSError
        See :meth:`Watcher.run`.
    """
    watcher = Watcher(
        root, target, recipe, on_event, timing=timing, stop_after=stop_after, supervisor=supervisor, lent=lent
    )
    with _signals(watcher):
        return watcher.run()


@contextlib.contextmanager
def _signals(watcher: Watcher) -> Iterator[None]:
    codes = {signal.SIGTERM: ExitCode.TERMINATED, signal.SIGINT: ExitCode.INTERRUPTED}

    def answer(number: int, _frame: FrameType | None) -> None:
        code = codes[signal.Signals(number)]
        if watcher.stopping:
            watcher.kill_build()
            os._exit(code)
        watcher.stop(code)

    before = {number: signal.signal(number, answer) for number in codes}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
