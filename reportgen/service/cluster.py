"""Builds on the workers of an existing Dask cluster, through its futures: bytes go there, bytes come back.

Nothing is read or written on a worker, so it needs no share of the disk. A scheduler runs what it is sent; use one that
only trusted machines can reach.
"""

from __future__ import annotations

import threading
import time
from typing import TYPE_CHECKING, Any

from reportgen.service.batch import BUILD
from reportgen.service.build import tool_version
from reportgen.service.child import Ending, JobResult, outcome

if TYPE_CHECKING:
    from reportgen.service.build import BuildOptions
    from reportgen.service.snapshot import Snapshot


class ClusterMissing(Exception):
    """Raised when the optional library for clusters is not installed, or the scheduler does not answer."""


class ClusterRunner:
    """Builds on the workers of the cluster behind a scheduler.

    Parameters
    ----------
    address : str
        Of the scheduler, for instance ``tcp://10.0.0.5:8786``.
    timeout_s : float
        Longest time of one build, its wait for a free worker included. [s]
    build : str
        The build function as ``module:name``; imported on the worker.
    answer_s : float
        Longest wait for the scheduler to answer. [s]

    Raises
    ------
    ClusterMissing
        If ``distributed`` is not installed, nobody answers, or a worker has another version than this machine.
    """

    def __init__(
        self, address: str, timeout_s: float = 3600.0, build: str = BUILD, answer_s: float = 10.0
    ) -> None:
        try:
            import distributed  # noqa: PLC0415 - an optional extra, half a second to load
        except ImportError as error:
            message = "the library for clusters is not installed; `pip install 'reportgen[cluster]'`"
            raise ClusterMissing(message) from error
        try:
            library: Any = distributed
            self._client: Any = library.Client(address, timeout=answer_s, set_as_default=False)
        except (OSError, TimeoutError, ValueError) as error:
            message = f"no scheduler answers at `{address}`"
            raise ClusterMissing(message) from error
        self._timeout_s = timeout_s
        self._build = build
        self._check_versions()

    def _check_versions(self) -> None:
        """Refuse workers that would build with another tool or other solar models than this machine."""
        mine = tool_version()
        others = {worker: found for worker, found in self._client.run(tool_version).items() if found != mine}
        if others:
            worker, found = min(others.items())
            self.close()
            message = f"worker `{worker}` has {found}, this machine has {mine}; install the same on both"
            raise ClusterMissing(message)

    @property
    def width(self) -> int:
        """Builds that the cluster can run at a time, at least one."""
        return max(1, int(sum(self._client.ncores().values())))

    def run(self, snapshot: Snapshot, options: BuildOptions, stop: threading.Event) -> JobResult:
        """Result of one build on a worker; a worker that dies has its build begun again on another."""
        # equal inputs in two folders are two tasks, each with its own result
        future = self._client.submit(outcome, self._build, snapshot, options, pure=False)
        begun, ended = time.monotonic(), threading.Event()
        future.add_done_callback(lambda _: ended.set())
        try:
            while not ended.wait(0.05):
                if stop.is_set():
                    return JobResult(Ending.CANCELLED)
                if (waited := time.monotonic() - begun) > self._timeout_s:
                    return JobResult(Ending.TIMED_OUT, waited, summary=f"no result after {waited:.0f} s")
            if future.status == "finished":
                result: JobResult = future.result()
                return result
            error = future.exception()
            waited = time.monotonic() - begun
            return JobResult(Ending.CRASHED, waited, summary=f"the cluster gave the build up: {error}")
        finally:
            future.cancel()

    def close(self) -> None:
        """Leave the cluster as it was found."""
        self._client.close()
