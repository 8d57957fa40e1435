"""The watch loop: look when hinted, build what changed, publish what is still true, keep the last good binder.

One thread decides. File events and ends of builds only ring a bell; what is to be done follows from the folder's
snapshot, the digest that is published and the build that runs. So a lost, late or needless event costs time, never truth.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import signal
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path
from types import FrameType

from reportgen.diagnostics.model import Diagnostic, Severity
from reportgen.service.ahead import Ahead, Lent
from reportgen.service.child import Ending, JobResult
from reportgen.service.events import ENDINGS, EventKind, WatchEvent, finding_changes
from reportgen.service.exit_codes import ExitCode
from reportgen.service.folder_reader import FolderReader
from reportgen.service.hints import Debounce, HintSource, Wake
from reportgen.service.job import Job
from reportgen.service.lock import FolderLock
from reportgen.service.manifest import MANIFEST, check_names_inputs, read_manifest, verify
from reportgen.service.publish import PublishRefused, check_target, publish, recover
from reportgen.service.recipe import Recipe, Timing
from reportgen.service.snapshot import Snapshot, changes
from reportgen.service.status import State, Status, WatchMode, status_errors, status_path, write_status
from reportgen.service.supervisor import Supervisor

MOST_CANCELS = 3
"""Builds in a row that a newer change may cut short; the next one ends, so that steady saving starves nobody."""

_MOST_CRASHES = 6  # tries on the same inputs: a crash that comes back each time is not for waiting out
_LARGEST_RESULTS = 64 * 1024 * 1024  # bytes
_RESULTS = "results.json"


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


class Watcher:
    """The loop over one project folder.

    Parameters
    ----------
    root : Path
        The project folder.
    target : Path
        The output folder.
    recipe : Recipe
        What is built.
    on_event : callable
        Told of each :class:`~reportgen.service.events.WatchEvent`, in the loop's thread.
    timing : Timing, optional
        Times of the loop.
    stop_after : int, optional
        End after so many builds that ended, published or not.
    supervisor : Supervisor, optional
        Service manager to keep informed; by default there is none.
    lent : Lent, optional
        Where pages are laid that wait for their PDF, for a preview to show.
    """

    def __init__(
        self,
        root: Path,
        target: Path,
        recipe: Recipe,
        on_event: Callable[[WatchEvent], object],
        *,
        timing: Timing | None = None,
        stop_after: int | None = None,
        supervisor: Supervisor | None = None,
        lent: Lent | None = None,
    ) -> None:
        self.root = Path(os.path.abspath(root))  # noqa: PTH100  (links stay, ".." goes)
        self.target = target.resolve()
        self._recipe = recipe
        self._on_event = on_event
        self._timing = timing or Timing()
        self._stop_after = stop_after
        self._supervisor = supervisor or Supervisor({})
        self._lent = lent or Lent()
        self._status_path = status_path(self.target)
        self._wake = Wake()
        self._debounce = Debounce(self._timing.quiet_s, self._timing.longest_s)
        self._reader = FolderReader(self.root, (self.target,))
        self._source = HintSource(self._reader.scope, self._debounce, self._wake)
        self._exit_code: ExitCode | None = None
        self._counters: Counter[str] = Counter()

        self._wanted = Snapshot.of({})  # the inputs as last accepted
        self._built: Mapping[str, bytes] = {}  # inputs of the last build that ended
        self._failed = ""  # digest of inputs whose build ended without a binder
        self._published = ""  # digest of the inputs of the published binder
        self._begun = 0.0
        self._mark: tuple[int, ...] | None = (
            None  # the manifest's stat, to notice that someone else changed it
        )
        self._findings: Mapping[str, str] = {}
        self._told: Mapping[str, str] | None = None  # findings told with pages whose PDF is still to come
        self._foreseen: Job | None = None  # the build that they came from
        self._job: Job | None = None
        self._cancels = 0
        self._missing = False
        self._emptied_since: float | None = None
        self._next_rescan = 0.0
        self._next_rearm = 0.0
        self._retries = 0
        self._retry_at: float | None = None

        self._state = State.IDLE
        self._message = ""
        self._problems: tuple[Diagnostic, ...] = ()
        self._started = ""
        self._duration_s: float | None = None

    # for other threads and signal handlers

    @property
    def stopping(self) -> bool:
        """True once ``stop`` was called."""
        return self._exit_code is not None

    def stop(self, code: ExitCode = ExitCode.DONE) -> None:
        """Ask the loop to end in order; safe in a signal handler and from any thread."""
        self._exit_code = code
        self._wake.ring()

    def kill_build(self) -> None:
        """Kill the build that runs, if one does; safe in a signal handler."""
        if self._job is not None:
            self._job.kill()

    # the loop

    def run(self) -> ExitCode:
        """Watch until told to stop.

        Returns
        -------
        ExitCode
            The one given to ``stop``; ``DONE`` after ``stop_after`` builds.

        Raises
        ------
        AlreadyWatched
            If another process watches with the same output folder.
        PublishRefused
            If the output folder may not be written.
        OSError
            If the project folder is missing at the start, or the lock cannot be had.
        """
        if not self.root.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, "no such project folder", str(self.root))
        check_target(self.target, self.root)
        with FolderLock(self.target):
            recover(self.target)
            try:
                self._start()
                while not self.stopping:
                    self._turn()
            finally:
                self._end()
        return self._exit_code or ExitCode.DONE

    def _start(self) -> None:
        self._arm()
        snapshot = self._wanted = self._reader.take()  # after arming, or a change between would be lost
        if self._source.follow(self._reader.folders):
            snapshot = self._wanted = self._reader.take()
            self._source.follow(self._reader.folders)
        self._emit(WatchEvent(EventKind.STARTED, f"watching by {self._mode}"))
        self._supervisor.ready(f"watching {self.root}")
        self._next_rescan = time.monotonic() + self._timing.rescan_s
        known = read_manifest(self.target)
        self._look_at_published()
        self._findings = _published_findings(self.target)
        recipe = self._recipe
        current = known is not None and known.comes_from(
            snapshot.digest, recipe.tool_version, recipe.tables_digest, recipe.of(snapshot)[1]
        )
        whole = not any(item.severity is Severity.ERROR for item in verify(self.target))
        if current and whole and not snapshot.refused:
            self._built = snapshot.everything
            self._rest("the binder is up to date")
        else:
            self._begin(snapshot)

    def _turn(self) -> None:
        self._supervisor.beat()
        self._wake.wait(self._pause(time.monotonic()))
        if self.stopping:
            return
        now = time.monotonic()
        if self._job is not None and self._job.done:
            job, self._job = self._job, None
            self._finish(job)
        elif self._job is not None and self._job.ahead is not None and self._job is not self._foreseen:
            self._foresee(self._job, self._job.ahead)
        elif self._debounce.due_in(now) == 0.0:
            self._look(now, hinted=True)
        elif now >= self._next_rescan:
            self._look(now, hinted=False)
        elif self._retry_at is not None and now >= self._retry_at:
            self._retry_at = None
            if self._job is None and not self._missing:
                self._begin(self._wanted)

    def _pause(self, now: float) -> float:
        times = [self._next_rescan - now]
        if self._retry_at is not None:
            times.append(self._retry_at - now)
        due = self._debounce.due_in(now)
        if due is not None:
            times.append(due)
        return max(0.0, min(times))

    def _end(self) -> None:
        self._supervisor.stopping()
        self._source.disarm()
        job, self._job = self._job, None
        if job is not None:
            job.cancel()
            if not job.wait(self._timing.grace_s + 1.0):
                job.kill()
        self._state = State.STOPPED
        self._emit(WatchEvent(EventKind.STOPPED, "stopped", stale=self._stale))

    # looking

    def _look(self, now: float, *, hinted: bool) -> None:
        """Compare the folder with what is wanted; a look without a hint reads only what its time stamps give away."""
        self._next_rescan = now + self._timing.rescan_s
        if hinted:
            self._debounce.settle()
        if not self._source.sound():
            self._arm()
            hinted = True
        elif not self._source.armed and now >= self._next_rearm:
            self._arm()
        try:
            snapshot = self._reader.take(trust_stat=not hinted)
        except OSError as error:
            self._lose(now, error)
            return
        if self._missing:
            self._missing = False
            self._emit(WatchEvent(EventKind.BACK, "the project folder is back"))
        if self._source.follow(self._reader.folders):
            self._debounce.hint(now)  # something may have come into a folder before it was watched
        self._look_at_published()
        if snapshot.digest != self._wanted.digest:
            # found without a hint: someone may be writing just now; or emptied, with the content still to come
            if not hinted or self._just_emptied(snapshot, now):
                self._debounce.hint(now)
                return
            self._wanted = snapshot
            self._failed = ""
            self._retries, self._retry_at = 0, None
        self._emptied_since = None
        self._pursue()

    def _just_emptied(self, snapshot: Snapshot, now: float) -> bool:
        """Tell whether a file that had content has none, and not yet for the longest wait."""
        before = self._wanted.files
        if not any(not data and before.get(path) for path, data in snapshot.everything.items()):
            return False
        if self._emptied_since is None:
            self._emptied_since = now
        return now - self._emptied_since < self._timing.longest_s

    def _pursue(self) -> None:
        """Bring the builds in line with what is wanted."""
        digest = self._wanted.digest
        if self._job is not None:
            if self._job.snapshot.digest != digest and self._cancels < MOST_CANCELS:
                self._job.cancel()
        elif digest == self._published and not self._wanted.refused:
            if self._state is not State.IDLE:
                self._built = self._wanted.files
                self._rest("the binder is up to date again")
        elif digest != self._failed:
            self._begin(self._wanted)
        elif self._state is State.MISSING:
            self._state = State.FAILED
            self._write_status()

    def _lose(self, now: float, error: OSError) -> None:
        """Answer to a project folder that is gone: keep what is published, wait for its return."""
        self._next_rescan = now + min(self._timing.rescan_s, self._timing.missing_s)
        self._source.disarm()
        if self._missing:
            return
        self._missing = True
        if self._job is not None:
            self._job.cancel()
        self._state = State.MISSING
        why = (error.strerror or "cannot be read").lower()
        self._emit(WatchEvent(EventKind.MISSING, f"the project folder is gone: {why}", stale=True))

    def _arm(self) -> None:
        self._next_rearm = time.monotonic() + self._timing.rearm_s
        self._source.arm()

    def _look_at_published(self) -> None:
        """Notice that the published folder was deleted, or published by another process."""
        try:
            status = (self.target / MANIFEST).stat()
            mark = (status.st_dev, status.st_ino, status.st_size, status.st_mtime_ns, status.st_ctime_ns)
        except OSError:
            mark = None
        if mark != self._mark:
            self._mark = mark
            known = read_manifest(self.target)
            self._published = known.input_digest if known is not None else ""

    # building

    def _begin(self, snapshot: Snapshot) -> None:
        self._state = State.BUILDING
        self._started = _now()
        self._emit(WatchEvent(EventKind.BUILDING, "building", changes(self._built, snapshot.everything)))
        self._job = Job(
            self._recipe.build,
            snapshot,
            self._recipe.of(snapshot)[0],
            timeout_s=self._timing.build_timeout_s,
            grace_s=self._timing.grace_s,
            preload=self._recipe.preload,
            on_ahead=self._wake.ring,
            on_end=self._wake.ring,
        )
        self._begun = time.monotonic()

    def _foresee(self, job: Job, ahead: Ahead) -> None:
        """Tell the findings of pages whose PDF is still laid out, and lend the pages to the preview."""
        self._foreseen = job
        if job.snapshot.digest != self._wanted.digest:
            return  # a newer change has cut this build short
        gained, lost = finding_changes(self._baseline, ahead.findings)
        self._told = ahead.findings
        self._lent.pages = (job.snapshot.digest, ahead)
        self._emit(
            WatchEvent(
                EventKind.PAGES,
                f"{ahead.summary}; the PDF follows",
                changes(self._built, job.snapshot.everything),
                time.monotonic() - self._begun,
                gained,
                lost,
                stale=self._stale,
            )
        )

    @property
    def _baseline(self) -> Mapping[str, str]:
        """Findings as they were told last."""
        return self._findings if self._told is None else self._told

    def _finish(self, job: Job) -> None:
        """Publish what a build gave, if it is of the inputs as they are; else see to it that they are built."""
        result, snapshot = job.result, job.snapshot
        now = time.monotonic()
        if result.ending is Ending.CANCELLED:
            self._discard("a newer change cut the build short", result)
            if not self._missing:
                self._pursue()
            return
        try:
            current = self._reader.take()
        except OSError as error:
            self._discard("the project folder went away during the build", result)
            self._lose(now, error)
            return
        outdated = current.digest != snapshot.digest
        if outdated:
            self._debounce.hint(now)
            if self._cancels < MOST_CANCELS:
                self._discard("the inputs changed during the build", result)
                return
        self._cancels = 0
        self._duration_s = result.seconds
        event = self._conclude(result, snapshot, outdated=outdated)
        self._built = snapshot.everything
        self._problems = event.diagnostics
        self._emit(event)
        ended = sum(self._counters[kind] for kind in ENDINGS)
        if self._stop_after is not None and ended >= self._stop_after:
            self.stop()

    def _discard(self, why: str, result: JobResult) -> None:
        self._cancels += 1
        self._emit(WatchEvent(EventKind.CANCELLED, why, seconds=result.seconds, stale=self._stale))

    def _conclude(self, result: JobResult, snapshot: Snapshot, *, outdated: bool) -> WatchEvent:
        kind, message, found = self._outcome(result, snapshot)
        gained, lost = finding_changes({}, {})
        if kind is EventKind.PUBLISHED:
            self._state, self._failed, self._retries = State.IDLE, "", 0
            gained, lost = finding_changes(self._baseline, result.findings)
            self._findings = result.findings
            if outdated:
                message += "; the inputs have changed since"
        else:
            self._state, self._failed = State.FAILED, snapshot.digest
            crashed = kind is EventKind.CRASHED
            if (crashed and self._retries < _MOST_CRASHES) or kind is EventKind.CANNOT_WRITE:
                wait_s = min(self._timing.retry_s * 2**self._retries, self._timing.retry_longest_s)
                self._retries = min(self._retries + 1, 30)
                self._retry_at = time.monotonic() + wait_s
        self._told, self._lent.pages = None, None
        return WatchEvent(
            kind,
            message,
            changes(self._built, snapshot.everything),
            result.seconds,
            gained,
            lost,
            found,
            self._published != snapshot.digest or outdated,
            result.detail,
            result.log,
            result.exit_code,
            snapshot.everything,
        )

    def _outcome(
        self, result: JobResult, snapshot: Snapshot
    ) -> tuple[EventKind, str, tuple[Diagnostic, ...]]:
        """Kind, line and messages of a build that ended; publishes when there is something to publish."""
        if result.ending is Ending.REFUSED:
            return EventKind.REFUSED, result.summary, result.diagnostics
        if result.ending is Ending.TIMED_OUT:
            return EventKind.TIMED_OUT, result.summary, (_trouble("build-timed-out", result.summary),)
        if result.ending in (Ending.CRASHED, Ending.SHORT_OF_RESOURCES):
            return EventKind.CRASHED, result.summary, (_trouble("build-crashed", result.summary),)
        if result.ending is Ending.DEFECT:
            return EventKind.DEFECT, result.summary, (_trouble("build-defect", result.summary),)
        if snapshot.refused:  # whatever the build made of the rest
            return EventKind.REFUSED, "input refused", snapshot.problems
        try:
            check_names_inputs(result.outputs, snapshot.digest)
            publish(result.outputs, self.target, project=self.root)
        except PublishRefused as refusal:
            return EventKind.CANNOT_WRITE, str(refusal), (refusal.diagnostic,)
        except OSError as error:
            why = f"the binder cannot be written: {error.strerror or error}"
            return EventKind.CANNOT_WRITE, why, (_trouble("output-not-written", why),)
        except ValueError as error:
            return EventKind.DEFECT, str(error), (_trouble("build-defect", str(error)),)
        self._look_at_published()
        return EventKind.PUBLISHED, result.summary, result.diagnostics

    # telling

    @property
    def _stale(self) -> bool:
        return self._published != self._wanted.digest

    @property
    def _mode(self) -> WatchMode:
        return WatchMode.EVENTS if self._source.complete else WatchMode.POLLING

    def _rest(self, message: str) -> None:
        self._state = State.IDLE
        self._problems = ()
        gained, lost = finding_changes(self._baseline, self._findings)
        self._told, self._lent.pages = None, None
        self._emit(WatchEvent(EventKind.UP_TO_DATE, message, gained=gained, lost=lost))

    def _emit(self, event: WatchEvent) -> None:
        self._counters[event.kind] += 1
        self._message = event.message
        self._write_status()  # first, so that whoever acts on the event finds it there
        self._supervisor.status(f"{event.kind}: {event.message}")
        self._on_event(event)

    def _write_status(self) -> None:
        stopped = self._state is State.STOPPED
        status = Status(
            state=self._state,
            stale=self._stale or self._state is State.MISSING,
            input_digest=self._wanted.digest,
            published_digest=self._published,
            watch_mode=WatchMode.NONE if stopped else self._mode,
            pid=os.getpid(),
            updated=_now(),
            started=self._started,
            duration_s=self._duration_s,
            message=self._message,
            errors=status_errors(self._problems),
            errors_total=len(self._problems),
            counters=dict(sorted(self._counters.items())),
        )
        # a full disk must not end the watcher: the next status that can be written tells
        with contextlib.suppress(OSError):
            write_status(self._status_path, status)


def _trouble(code: str, message: str) -> Diagnostic:
    return Diagnostic(code, message, Severity.ERROR)


def _published_findings(target: Path) -> dict[str, str]:
    """Outcomes by id of the findings in a published ``results.json``; empty when there is none to be read."""
    try:
        path = target / _RESULTS
        if path.stat().st_size > _LARGEST_RESULTS:
            return {}
        document = json.loads(path.read_bytes())
        return {str(entry["id"]): str(entry["outcome"]) for entry in document["findings"]}
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        return {}


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
