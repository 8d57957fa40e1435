"""The watch loop: look when hinted, build what changed, publish what is still true, keep the last good binder.

One thread decides. File events and ends of builds only ring a bell; what is to be done follows from the folder's
snapshot, the digest that is published and the build that runs. So a lost, late or needless event costs time, never truth.
"""

from __future__ import annotations

import errno
import os
import time
from collections.abc import Callable, Mapping
from pathlib import Path

from reportgen.diagnostics.model import Severity
from reportgen.service.ahead import Ahead, Lent
from reportgen.service.child import Ending, JobResult
from reportgen.service.ended import publish_ended
from reportgen.service.events import EventKind, WatchEvent
from reportgen.service.exit_codes import ExitCode
from reportgen.service.folder_reader import FolderReader
from reportgen.service.hints import Debounce, HintSource, Wake
from reportgen.service.job import Job
from reportgen.service.lock import FolderLock
from reportgen.service.manifest import read_manifest, verify
from reportgen.service.publish import check_target, recover
from reportgen.service.published import PublishedBinder
from reportgen.service.recipe import Recipe, Timing
from reportgen.service.snapshot import Snapshot, changes
from reportgen.service.status import State, WatchMode, status_path
from reportgen.service.supervisor import Supervisor
from reportgen.service.told import Standing, Teller, ToldFindings

#: Builds in a row that a newer change may cut short; the next one ends, so that steady saving starves nobody.
_MOST_CANCELS = 3
_MOST_CRASHES = 6  # tries on the same inputs: a crash that comes back each time is not for waiting out


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
        self._timing = timing or Timing()
        self._stop_after = stop_after
        self._supervisor = supervisor or Supervisor({})
        self._teller = Teller(status_path(self.target), self._supervisor, on_event)
        self._findings = ToldFindings(lent or Lent())
        self._wake = Wake()
        self._debounce = Debounce(self._timing.quiet_s, self._timing.longest_s)
        self._reader = FolderReader(self.root, (self.target,))
        self._source = HintSource(self._reader.scope, self._debounce, self._wake)
        self._exit_code: ExitCode | None = None

        self._wanted = Snapshot.of({})  # the inputs as last accepted
        self._built: Mapping[str, bytes] = {}  # inputs of the last build that ended
        self._failed = ""  # digest of inputs whose build ended without a binder
        self._published = PublishedBinder(self.target)
        self._begun = 0.0
        self._foreseen: Job | None = None  # the build whose pages were told before their PDF
        self._job: Job | None = None
        self._cancels = 0
        self._missing = False
        self._emptied_since: float | None = None
        self._next_rescan = 0.0
        self._next_rearm = 0.0
        self._retries = 0
        self._retry_at: float | None = None

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
        self._emit(WatchEvent(EventKind.STARTED, f"watching by {self._standing.mode}"))
        self._supervisor.ready(f"watching {self.root}")
        self._next_rescan = time.monotonic() + self._timing.rescan_s
        known = read_manifest(self.target)
        self._published.look()
        self._findings.start(self._published.findings())
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
        self._teller.state = State.STOPPED
        self._emit(WatchEvent(EventKind.STOPPED, "stopped", stale=self._standing.stale))

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
        self._published.look()
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
            if self._job.snapshot.digest != digest and self._cancels < _MOST_CANCELS:
                self._job.cancel()
        elif digest == self._published.digest and not self._wanted.refused:
            if self._teller.state is not State.IDLE:
                self._built = self._wanted.files
                self._rest("the binder is up to date again")
        elif digest != self._failed:
            self._begin(self._wanted)
        elif self._teller.state is State.MISSING:
            self._teller.state = State.FAILED
            self._teller.write_status(self._standing)

    def _lose(self, now: float, error: OSError) -> None:
        """Answer to a project folder that is gone: keep what is published, wait for its return."""
        self._next_rescan = now + min(self._timing.rescan_s, self._timing.missing_s)
        self._source.disarm()
        if self._missing:
            return
        self._missing = True
        if self._job is not None:
            self._job.cancel()
        self._teller.state = State.MISSING
        why = (error.strerror or "cannot be read").lower()
        self._emit(WatchEvent(EventKind.MISSING, f"the project folder is gone: {why}", stale=True))

    def _arm(self) -> None:
        self._next_rearm = time.monotonic() + self._timing.rearm_s
        self._source.arm()

    # building

    def _begin(self, snapshot: Snapshot) -> None:
        self._teller.begin()
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
        gained, lost = self._findings.foresee(job.snapshot.digest, ahead)
        words = f"{ahead.summary}; the PDF follows"
        changed, seconds = changes(self._built, job.snapshot.everything), time.monotonic() - self._begun
        stale = self._standing.stale
        self._emit(WatchEvent(EventKind.PAGES, words, changed, seconds, gained, lost, stale=stale))

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
            if self._cancels < _MOST_CANCELS:
                self._discard("the inputs changed during the build", result)
                return
        self._cancels = 0
        self._teller.duration_s = result.seconds
        event = self._conclude(result, snapshot, outdated=outdated)
        self._built = snapshot.everything
        self._teller.problems = event.diagnostics
        self._emit(event)
        if self._stop_after is not None and self._teller.ended >= self._stop_after:
            self.stop()

    def _discard(self, why: str, result: JobResult) -> None:
        self._cancels += 1
        self._emit(WatchEvent(EventKind.CANCELLED, why, seconds=result.seconds, stale=self._standing.stale))

    def _conclude(self, result: JobResult, snapshot: Snapshot, *, outdated: bool) -> WatchEvent:
        kind, message, found = publish_ended(result, snapshot, self.target, self.root)
        published = kind is EventKind.PUBLISHED
        gained, lost = self._findings.settle(result.findings if published else None)
        if published:
            self._published.look()
            self._teller.state, self._failed, self._retries = State.IDLE, "", 0
            if outdated:
                message += "; the inputs have changed since"
        else:
            self._teller.state, self._failed = State.FAILED, snapshot.digest
            crashed = kind is EventKind.CRASHED
            if (crashed and self._retries < _MOST_CRASHES) or kind is EventKind.CANNOT_WRITE:
                wait_s = min(self._timing.retry_s * 2**self._retries, self._timing.retry_longest_s)
                self._retries = min(self._retries + 1, 30)
                self._retry_at = time.monotonic() + wait_s
        return WatchEvent(
            kind,
            message,
            changes(self._built, snapshot.everything),
            result.seconds,
            gained,
            lost,
            found,
            self._published.digest != snapshot.digest or outdated,
            result.detail,
            result.log,
            result.exit_code,
            snapshot.everything,
        )

    # telling

    @property
    def _standing(self) -> Standing:
        mode = WatchMode.EVENTS if self._source.complete else WatchMode.POLLING
        return Standing(self._wanted.digest, self._published.digest, mode)

    def _rest(self, message: str) -> None:
        self._teller.state = State.IDLE
        self._teller.problems = ()
        gained, lost = self._findings.return_to_published()
        self._emit(WatchEvent(EventKind.UP_TO_DATE, message, gained=gained, lost=lost))

    def _emit(self, event: WatchEvent) -> None:
        self._teller.emit(event, self._standing)
