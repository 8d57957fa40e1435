"""File events of a folder, taken as hints that it is time to look; what changed is for the snapshot to say.

Events get lost (full queues, too few watches, links, network folders, mapped files) and come without a change (the
build's own reading, ``touch``, the same bytes again), so nothing is ever decided by them alone.

Each input folder is watched by itself and not the tree as one: the output folder is exchanged with each publication,
and the library's bookkeeping of a recursive watch does not survive an exchange of folders (its reading thread dies of
a KeyError, seen with watchdog 7.1). It also spares the watches that ``.git`` and the like would take.
"""

from __future__ import annotations

import contextlib
import errno
import logging
import os
import select
import threading
import time
from collections.abc import Mapping
from pathlib import Path

from watchdog.events import (
    EVENT_TYPE_CLOSED,
    EVENT_TYPE_CLOSED_NO_WRITE,
    EVENT_TYPE_DELETED,
    EVENT_TYPE_MODIFIED,
    EVENT_TYPE_MOVED,
    EVENT_TYPE_OPENED,
    FileSystemEvent,
    FileSystemEventHandler,
)
from watchdog.observers import Observer
from watchdog.observers.api import BaseObserver, ObservedWatch

from reportgen.service.scope import Scope

# The library logs a warning when its reading thread is stopped while an event comes in. It means nothing to a user,
# and without any handler Python would print it among our own lines.
logging.getLogger("watchdog").addHandler(logging.NullHandler())

MOST_FOLDERS = 200
"""Folders with events of their own (each takes a thread); what lies in further ones is found by the periodic look."""

_STOP_S = 2.0  # longest wait for the observer's threads


class Wake:
    """A bell that threads and signal handlers may ring and one loop waits for.

    A pipe, because ``threading.Event.set`` in a signal handler can deadlock with the very thread it interrupts.
    """

    def __init__(self) -> None:
        self._out, self._in = os.pipe()
        os.set_blocking(self._out, False)
        os.set_blocking(self._in, False)

    def ring(self) -> None:
        """Wake the loop; ringing twice is ringing once."""
        with contextlib.suppress(BlockingIOError, OSError):
            os.write(self._in, b"x")

    def wait(self, timeout_s: float) -> None:
        """Sleep until the bell rings, at most so long; a ring from before counts."""
        ready, _, _ = select.select([self._out], [], [], max(0.0, timeout_s))
        if ready:
            with contextlib.suppress(BlockingIOError):
                os.read(self._out, 1 << 20)  # all that a pipe can hold

    def __del__(self) -> None:
        # not sooner: a thread that rang a closed pipe could write into a file that got its number meanwhile
        for handle in (self._in, self._out):
            os.close(handle)


class Debounce:
    """When to look after a burst of hints: after a quiet period, but no later than a longest wait.

    A file that is open and written to holds the quiet period back, so that an editor which empties a file, pauses
    and fills it again is seen once it has closed the file.

    Parameters
    ----------
    quiet_s, longest_s : float
        Quiet period, and longest wait from the first hint. [s]

    Examples
    --------
    >>> debounce = Debounce(quiet_s=0.25, longest_s=2.0)
    >>> debounce.hint(now=10.0)
    >>> debounce.due_in(now=10.1)
    0.15
    """

    def __init__(self, quiet_s: float, longest_s: float) -> None:
        self.quiet_s = quiet_s
        self.longest_s = longest_s
        self._lock = threading.Lock()
        self._first: float | None = None
        self._last = 0.0
        self._open: dict[str, int] = {}
        self._written: set[str] = set()

    def hint(self, now: float) -> None:
        """Note that something may have changed."""
        with self._lock:
            if self._first is None:
                self._first = now
            self._last = now

    def opened(self, path: str) -> None:
        """Note that a file was opened, by whomever and for whatever."""
        with self._lock:
            self._open[path] = self._open.get(path, 0) + 1

    def modified(self, path: str) -> None:
        """Note that a file's content or attributes changed; only while it is open does it hold back."""
        with self._lock:
            if self._open.get(path):
                self._written.add(path)

    def closed(self, path: str, *, gone: bool = False) -> None:
        """Note that a file was closed, or that its name is gone."""
        with self._lock:
            left = 0 if gone else self._open.get(path, 1) - 1
            if left > 0:
                self._open[path] = left
            else:
                self._open.pop(path, None)
                self._written.discard(path)

    def due_in(self, now: float) -> float | None:
        """Time [s] until the look is due, zero when it is; None without a hint."""
        with self._lock:
            if self._first is None:
                return None
            latest = self._first + self.longest_s
            due = latest if self._written else min(self._last + self.quiet_s, latest)
            return max(0.0, due - now)

    def settle(self) -> None:
        """Forget the hints: the folder is looked at now. Events that come during the look count anew."""
        with self._lock:
            self._first = None
            self._open.clear()
            self._written.clear()


class HintSource(FileSystemEventHandler):
    """Turns the file events of a folder into hints.

    Parameters
    ----------
    scope : Scope
        The folder, and which paths below it matter.
    debounce : Debounce
        Receives the hints.
    wake : Wake
        Rung with each hint.
    """

    def __init__(self, scope: Scope, debounce: Debounce, wake: Wake) -> None:
        super().__init__()
        self._scope = scope
        self._root = os.fspath(scope.root)
        self._debounce = debounce
        self._wake = wake
        self._observer: BaseObserver | None = None
        self._watched: dict[str, tuple[ObservedWatch, tuple[int, int] | None]] = {}
        self._complete = False

    @property
    def armed(self) -> bool:
        """True while an observer runs."""
        return self._observer is not None

    @property
    def complete(self) -> bool:
        """True while an observer runs and every folder has events of its own."""
        return self.armed and self._complete

    def arm(self) -> bool:
        """Start to watch the top folder as it is now; False when the system has no watches left or cannot watch it."""
        self.disarm()
        identity = folder_identity(self._scope.root)
        observer: BaseObserver | None = None
        try:
            observer = Observer()  # raises itself when the limit of instances is reached
            watch = observer.schedule(self, self._root, recursive=False)
            observer.start()
        except (OSError, RuntimeError):
            _stop(observer)
            return False
        self._observer = observer
        self._watched = {"": (watch, identity)}
        return True

    def disarm(self) -> None:
        """Stop to watch."""
        _stop(self._observer)
        self._observer = None
        self._watched = {}

    def follow(self, folders: Mapping[str, tuple[int, int] | None]) -> bool:
        """Watch these folders and no others.

        Parameters
        ----------
        folders : mapping of str to (int, int)
            Device and inode by relative path, the top folder under "" among them.

        Returns
        -------
        bool
            True when a folder is watched that was not: what changed in it before is to be looked for again.
        """
        observer = self._observer
        if observer is None:
            return False
        alive = {emitter.watch for emitter in observer.emitters if emitter.is_alive()}
        for path, (watch, identity) in list(self._watched.items()):
            if path and (watch not in alive or path not in folders or folders[path] != identity):
                del self._watched[path]
                with contextlib.suppress(KeyError, OSError):
                    observer.unschedule(watch)
        added = False
        self._complete = len(folders) <= MOST_FOLDERS
        for path in sorted(folders.keys() - self._watched.keys())[: MOST_FOLDERS - len(self._watched)]:
            try:
                watch = observer.schedule(self, f"{self._root}/{path}", recursive=False)
            except OSError as error:
                if error.errno == errno.ENOENT:
                    continue
                self._complete = False
                break
            self._watched[path] = (watch, folders[path])
            added = True
        return added

    def sound(self) -> bool:
        """Tell whether the top folder is still the one that is watched, and every thread for it lives."""
        observer = self._observer
        if observer is None:
            return True
        watch, identity = self._watched[""]
        if identity is None or folder_identity(self._scope.root) != identity:
            return False
        # the thread that reads from the kernel may die of a defect while observer and emitters live on
        reader = getattr(observer, "_inotify_fd", None)
        if isinstance(reader, threading.Thread) and not reader.is_alive():
            return False
        # an emitter whose folder was deleted ends while its observer lives on
        living = {emitter.watch for emitter in observer.emitters if emitter.is_alive()}
        return observer.is_alive() and watch in living

    def dispatch(self, event: FileSystemEvent) -> None:
        """Take one event; called from the observer's thread."""
        source, goal = os.fsdecode(event.src_path), os.fsdecode(event.dest_path or "")
        kind, folder = event.event_type, event.is_directory
        if kind in (EVENT_TYPE_CLOSED_NO_WRITE, EVENT_TYPE_OPENED):
            if not folder and self._matters(source, folder=False):
                note = self._debounce.opened if kind == EVENT_TYPE_OPENED else self._debounce.closed
                note(source)
            return
        if folder and kind == EVENT_TYPE_MODIFIED:
            return
        paths = [path for path in (source, goal) if path and self._matters(path, folder=folder)]
        if not paths:
            return
        if kind == EVENT_TYPE_MODIFIED:
            self._debounce.modified(source)
        elif kind == EVENT_TYPE_CLOSED:
            self._debounce.closed(source)
        elif kind in (EVENT_TYPE_DELETED, EVENT_TYPE_MOVED):
            self._debounce.closed(source, gone=True)
        self._debounce.hint(time.monotonic())
        self._wake.ring()

    def _matters(self, path: str, *, folder: bool) -> bool:
        if path == self._root:
            return True
        if not path.startswith(self._root + "/"):
            return False
        return self._scope.can_hold(path[len(self._root) + 1 :], folder=folder)


def folder_identity(root: Path) -> tuple[int, int] | None:
    """Device and inode of a folder; None when there is none."""
    try:
        status = root.stat()
    except OSError:
        return None
    return (status.st_dev, status.st_ino)


def _stop(observer: BaseObserver | None) -> None:
    if observer is None:
        return
    with contextlib.suppress(OSError, RuntimeError):
        observer.stop()
    if observer.is_alive():
        observer.join(_STOP_S)
