"""One build in a child process of its own group, from a fork server that has the heavy modules loaded.

The child gets bytes and gives bytes back. It opens no input and publishes nothing, so it can be killed at any moment.
A thread of the parent feeds from its pipes, keeps the time limit, and ends it; the watch loop only asks ``done``.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import multiprocessing.connection
import multiprocessing.forkserver
import multiprocessing.spawn
import os
import pickle
import signal
import threading
import time
import traceback
from collections.abc import Callable, Sequence
from multiprocessing.connection import Connection
from typing import Any

from reportgen.service import warm
from reportgen.service.ahead import Ahead
from reportgen.service.child import AHEAD, HEADER, Ending, JobResult, run_child
from reportgen.service.snapshot import Snapshot

HEAVY = ("reportgen.service.build", "numpy", "pandas", "pvlib", "weasyprint", "reportgen.service.ready")
"""Modules that the fork server loads once."""

_LOG_HALF = 8192  # bytes kept from the beginning, and as many from the end, of what a build prints


def start_server(preload: Sequence[str] = HEAVY) -> None:
    """Start the fork server, or start it again when it died; cheap when it runs."""
    os.environ[warm.VARIABLE] = ",".join(preload)
    main = multiprocessing.spawn.get_preparation_data("server").get("init_main_from_path")
    if main is not None:
        os.environ[warm.MAIN] = main
    # the server inherits the mask: Ctrl-C in a terminal reaches the whole group, but is for the watcher to answer
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        context = multiprocessing.get_context("forkserver")
        context.set_forkserver_preload([warm.__name__])
        multiprocessing.forkserver.ensure_running()
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
        os.environ.pop(warm.VARIABLE, None)
        os.environ.pop(warm.MAIN, None)


class Job:
    """One build, started at once.

    Parameters
    ----------
    build : str
        The build function as ``module:name``; imported in the child only.
    snapshot : Snapshot
        All that it gets of the inputs.
    options : object
        Second argument of the build function; anything that can be pickled.
    timeout_s : float
        Time after which the build is killed. [s]
    grace_s : float
        Time between asking the group to end and killing it. [s]
    preload : sequence of str
        Modules that the fork server loads.
    on_ahead : callable, optional
        Called from the thread of the job when the pages are there before the PDF; without it none are sent ahead.
    on_end : callable
        Called from the thread of the job when the result is there.
    """

    def __init__(
        self,
        build: str,
        snapshot: Snapshot,
        options: object,
        *,
        timeout_s: float = 120.0,
        grace_s: float = 3.0,
        preload: Sequence[str] = HEAVY,
        on_ahead: Callable[[], object] | None = None,
        on_end: Callable[[], object] = lambda: None,
    ) -> None:
        self.snapshot = snapshot
        self._arguments = (build, snapshot, options)
        self._timeout_s = timeout_s
        self._grace_s = grace_s
        self._preload = tuple(preload)
        self._on_ahead = on_ahead
        self._on_end = on_end
        self._ahead: Ahead | None = None
        self._result: JobResult | None = None
        self._cancelled = False
        self._started = time.monotonic()
        self._asked, self._ask = os.pipe()
        self._pid: int | None = None
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run, name="reportgen-build", daemon=True)
        self._thread.start()

    @property
    def done(self) -> bool:
        """True once the result is there and the child is gone."""
        return self._ended.is_set()

    @property
    def ahead(self) -> Ahead | None:
        """Pages that the build has while it lays out the PDF; None before, and for a build that sends none ahead."""
        return self._ahead

    @property
    def result(self) -> JobResult:
        """The result.

        Raises
        ------
        RuntimeError
            If the job is not done.
        """
        if self._result is None:
            raise RuntimeError("the build has not ended")
        return self._result

    def cancel(self) -> None:
        """Ask the build's process group to end, and kill it when it does not; returns at once."""
        if not self._cancelled and not self.done:
            self._cancelled = True
            with contextlib.suppress(BrokenPipeError):  # it ended in this instant
                os.write(self._ask, b"x")

    def kill(self) -> None:
        """Kill the build's process group now; safe in a signal handler."""
        if self._pid is not None and not self.done:
            _signal_group(self._pid, signal.SIGKILL)

    def wait(self, timeout_s: float | None = None) -> bool:
        """Wait for the end; False when it has not come in time."""
        self._thread.join(timeout_s)
        return not self._thread.is_alive()

    # the thread

    def _run(self) -> None:
        try:
            result = self._attend()
        except Exception as error:  # noqa: BLE001  (whatever fails here, the loop must learn of it)
            result = JobResult(
                Ending.SHORT_OF_RESOURCES if isinstance(error, OSError | EOFError) else Ending.DEFECT,
                summary=f"the build could not be started: {error}",
                detail=traceback.format_exc(),
            )
        os.close(self._asked)
        self._result = result
        self._ended.set()
        self._on_end()

    def __del__(self) -> None:
        with contextlib.suppress(AttributeError, OSError):
            os.close(self._ask)

    def _attend(self) -> JobResult:
        start_server(self._preload)
        context = multiprocessing.get_context("forkserver")
        result_in, result_out = context.Pipe(duplex=False)
        log_in, log_out = context.Pipe(duplex=False)
        arguments = (result_out, log_out, *self._arguments, self._on_ahead is not None)
        process = context.Process(target=run_child, args=arguments, daemon=True)
        with result_in, log_in:
            with result_out, log_out:
                process.start()
            self._pid = process.pid
            pipes = _Pipes(result_in, log_in)
            ending = self._wait(process, pipes)
            # the result is here, or none will come: nothing of the group may live on
            if process.pid is not None:
                _signal_group(process.pid, signal.SIGKILL)
            process.join()
            pipes.drain()
        seconds = time.monotonic() - self._started
        code = process.exitcode
        process.close()
        log = pipes.log()
        if ending is Ending.CANCELLED:
            return JobResult(ending, seconds, summary="cancelled", log=log)
        if ending is Ending.TIMED_OUT:
            return JobResult(ending, seconds, summary=f"killed after {self._timeout_s:g} s", log=log)
        if pipes.result is None:
            return JobResult(Ending.CRASHED, seconds, summary=_death(code), log=log)
        received: JobResult = pickle.loads(pipes.result)  # from our own child, over our own pipe
        return JobResult(
            received.ending,
            seconds,
            received.outputs,
            received.exit_code,
            received.diagnostics,
            received.summary,
            received.findings,
            received.detail,
            log,
        )

    def _wait(self, process: multiprocessing.process.BaseProcess, pipes: _Pipes) -> Ending:
        deadline = self._started + self._timeout_s
        ending = Ending.BUILT
        while True:
            now = time.monotonic()
            if now >= deadline:
                # past the time limit, or past the grace after it was asked to end
                return Ending.TIMED_OUT if ending is Ending.BUILT else ending
            watched: list[Any] = [process.sentinel, *pipes.open]
            if ending is Ending.BUILT:
                watched.append(self._asked)
            ready = multiprocessing.connection.wait(watched, deadline - now)
            if self._asked in ready and ending is Ending.BUILT:
                ending = Ending.CANCELLED
                deadline = time.monotonic() + self._grace_s
                if process.pid is not None:
                    _signal_group(process.pid, signal.SIGTERM)
            pipes.feed(ready)
            if pipes.ahead is not None and self._on_ahead is not None and ending is Ending.BUILT:
                self._ahead = pickle.loads(pipes.ahead)  # from our own child, over our own pipe
                pipes.ahead = None
                self._on_ahead()
            if pipes.result is not None or process.sentinel in ready:
                return ending


class _Pipes:
    """The two pipes of a child, read without ever waiting for the rest of a message."""

    def __init__(self, result: Connection, log: Connection) -> None:
        self._result, self._log = result, log
        self.open = [result, log]
        for pipe in self.open:
            os.set_blocking(pipe.fileno(), False)
        self.ahead: bytes | None = None
        self.result: bytes | None = None
        self._received = bytearray()
        self._head = bytearray()
        self._tail = bytearray()
        self._printed = 0

    def feed(self, ready: Sequence[Any]) -> None:
        """Take what is there, at most a megabyte a pipe."""
        for pipe in [pipe for pipe in self.open if pipe in ready]:
            try:
                data = os.read(pipe.fileno(), 1 << 20)
            except BlockingIOError:
                continue
            if not data:
                self.open.remove(pipe)
            elif pipe is self._result:
                self._received += data
                self._take()
            else:
                self._keep(data)

    def _take(self) -> None:
        """Whole messages out of what was received; the rest of one waits for more."""
        while len(self._received) >= HEADER:
            end = HEADER + int.from_bytes(self._received[1:HEADER], "big")
            if len(self._received) < end:
                return
            kind, message = bytes(self._received[:1]), bytes(self._received[HEADER:end])
            del self._received[:end]
            if kind == AHEAD:
                self.ahead = message
            else:
                self.result = message

    def drain(self) -> None:
        """Take what is still in the pipes of a dead child."""
        while ready := [pipe for pipe in self.open if pipe.poll(0)]:
            self.feed(ready)

    def _keep(self, data: bytes) -> None:
        self._printed += len(data)
        room = _LOG_HALF - len(self._head)
        self._head += data[:room]
        self._tail += data[room:]
        del self._tail[:-_LOG_HALF]

    def log(self) -> str:
        """What the build printed, shortened."""
        dropped = self._printed - len(self._head) - len(self._tail)
        middle = f"\n[{dropped} bytes left out]\n".encode() if dropped else b""
        return bytes(self._head + middle + self._tail).decode("utf-8", "backslashreplace")


def _signal_group(pid: int, number: int) -> None:
    """Signal a child's group; the child alone in the instant before it has made its group."""
    try:
        os.killpg(pid, number)
    except ProcessLookupError:
        with contextlib.suppress(ProcessLookupError):
            os.kill(pid, number)
    except PermissionError:
        return


def _death(code: int | None) -> str:
    if code is not None and code < 0:
        try:
            name = signal.Signals(-code).name
        except ValueError:
            name = "unknown"
        return f"the build crashed (signal {-code}, {name})"
    return f"the build ended without a result (exit code {code})"
