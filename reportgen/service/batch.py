"""Many folders: each is read, built in a process of its own, published, and recorded as one line of JSON.

One bad folder never stops the rest: whatever happens to it becomes its record. Results are appended as they come, so a
batch that was interrupted goes on where it stopped, and folders that were built from the same inputs are left alone.
"""

from __future__ import annotations

import json
import os
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import asdict, dataclass, fields
from enum import StrEnum
from pathlib import Path
from typing import Protocol, TextIO

from reportgen.diagnostics.model import Severity
from reportgen.service.build import BuildOptions, tables_digest, tool_version
from reportgen.service.child import Ending, JobResult
from reportgen.service.exit_codes import ExitCode
from reportgen.service.folder_reader import take
from reportgen.service.job import Job
from reportgen.service.lock import AlreadyWatched, FolderLock
from reportgen.service.manifest import check_names_inputs, read_manifest, verify
from reportgen.service.publish import PublishRefused, check_target, publish, recover
from reportgen.service.snapshot import Snapshot
from reportgen.service.status import status_path

BUILD = "reportgen.service.build:build"


class Came(StrEnum):
    """What came of one folder."""

    BUILT = "built"
    REFUSED = "refused"
    DEFECT = "defect"
    CRASHED = "crashed"
    TIMED_OUT = "timed-out"
    UNREADABLE = "unreadable"
    CANNOT_WRITE = "cannot-write"
    WATCHED = "already-watched"


_ENDINGS = {
    Ending.REFUSED: (Came.REFUSED, ExitCode.INPUT_REFUSED),
    Ending.DEFECT: (Came.DEFECT, ExitCode.DEFECT),
    Ending.CRASHED: (Came.CRASHED, ExitCode.DEFECT),
    Ending.SHORT_OF_RESOURCES: (Came.CRASHED, ExitCode.CANNOT_READ_OR_WRITE),
    Ending.TIMED_OUT: (Came.TIMED_OUT, ExitCode.DEFECT),
}
#: What the same inputs would give again; all else is worth another try.
_SETTLED = frozenset({Came.BUILT, Came.REFUSED, Came.DEFECT})
#: Exit codes from the least to the most serious; the batch ends with the most serious of its folders.
_RANK = (
    ExitCode.DONE,
    ExitCode.WITHOUT_PDF,
    ExitCode.FAILS_A_CHECK,
    ExitCode.INPUT_REFUSED,
    ExitCode.ALREADY_WATCHED,
    ExitCode.CANNOT_READ_OR_WRITE,
    ExitCode.DEFECT,
)


@dataclass(frozen=True, slots=True)
class Record:
    """What came of one folder: one line of the results.

    Parameters
    ----------
    folder : str
        As given on the command line.
    came : Came
        What came of it.
    exit_code : int
        What ``reportgen build`` of this folder alone would end with.
    digest : str
        Of the inputs; "" where they could not be read.
    made_by : str
        Tool, tables and options; a record of other ones counts for nothing.
    seconds : float
        Time of the build. [s]
    summary : str
        Counts of the outcomes, or what went wrong in one line.
    messages : tuple of str
        Errors, as ``file:line:column: [code] message``.
    """

    folder: str
    came: Came
    exit_code: int
    digest: str = ""
    made_by: str = ""
    seconds: float = 0.0
    summary: str = ""
    messages: tuple[str, ...] = ()

    def line(self) -> str:
        """The record as one line of JSON, keys sorted, without the line end."""
        return json.dumps(asdict(self), sort_keys=True, ensure_ascii=False)


class Runner(Protocol):
    """Whatever can build a snapshot somewhere."""

    def run(self, snapshot: Snapshot, options: BuildOptions, stop: threading.Event) -> JobResult:
        """Result of one build; ``CANCELLED`` soon after ``stop`` is set. Never raises for a bad folder."""


class LocalRunner:
    """Builds in child processes of this machine, each killed when it takes too long.

    Parameters
    ----------
    timeout_s : float
        Longest time of one build. [s]
    build : str
        The build function as ``module:name``.
    """

    def __init__(self, timeout_s: float = 600.0, build: str = BUILD) -> None:
        self._timeout_s = timeout_s
        self._build = build
        # each child has a core to itself; threads of the numeric libraries would only get in its way
        for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
            os.environ.setdefault(name, "1")

    def run(self, snapshot: Snapshot, options: BuildOptions, stop: threading.Event) -> JobResult:
        """Result of one build in a child process."""
        ended = threading.Event()
        job = Job(self._build, snapshot, options, timeout_s=self._timeout_s, on_end=ended.set)
        while not ended.wait(0.2):
            if stop.is_set():
                job.cancel()
        job.wait()
        return job.result


def made_by(options: BuildOptions) -> str:
    """Tool, tables and options in one line: with the inputs' digest, all that a binder depends on."""
    asked = " ".join(filter(None, (options.text or "all outputs", "strict" if options.strict else "")))
    return "; ".join((tool_version(), f"tables {tables_digest()[:16]}", asked))


def read_records(path: Path) -> dict[str, Record]:
    """Last record of each folder in a file of results; lines that are none of ours are passed over."""
    found: dict[str, Record] = {}
    try:
        text = path.read_text(encoding="utf-8", errors="replace")
    except FileNotFoundError:
        return found
    names = {field.name for field in fields(Record)}
    for line in text.splitlines():
        try:
            values = json.loads(line)
            if values.keys() != names:
                continue
            record = Record(**{**values, "came": Came(values["came"]), "messages": tuple(values["messages"])})
        except (ValueError, TypeError, AttributeError, RecursionError):
            continue
        found[record.folder] = record
    return found


def batch(
    folders: Sequence[Path],
    runner: Runner,
    options: BuildOptions,
    *,
    jobs: int,
    results: Path | None = None,
    on_record: Callable[[Record, bool], object] = lambda record, again: None,
    stop: threading.Event | None = None,
) -> list[Record]:
    """Build many folders, each into its own ``binder``.

    Parameters
    ----------
    folders : sequence of Path
        Project folders; one that is named twice is built once.
    runner : Runner
        Where the builds run.
    options : BuildOptions
        What is asked for.
    jobs : int
        Builds at a time.
    results : Path, optional
        File that a line is appended to for each folder. Folders that it records as settled with the same inputs,
        tool, tables and options are not built again.
    on_record : callable
        Told of each record as it comes, and whether it is an earlier one.
    stop : threading.Event, optional
        Ends the batch when set: running builds are cut short, the others not begun.

    Returns
    -------
    list of Record
        In the order of ``folders``; shorter when stopped.

    Raises
    ------
    OSError
        If the results cannot be written.
    """
    stop = stop or threading.Event()
    unique = {folder.resolve(): str(folder) for folder in reversed(folders)}
    order = [unique[key] for key in dict.fromkeys(folder.resolve() for folder in folders)]
    earlier = read_records(results) if results is not None else {}
    maker = made_by(options)
    found: dict[str, Record] = {}
    # While one folder builds, its neighbour is read or published: the cores need not wait for the disk.
    building = threading.Semaphore(jobs)
    with _appending(results) as out, ThreadPoolExecutor(2 * jobs, "reportgen-batch") as pool:

        def one(folder: str) -> tuple[Record | None, bool]:
            return _one(folder, runner, options, maker, earlier.get(folder), building, stop)

        try:
            for done in _windowed(pool, one, order, jobs, stop):
                record, again = done
                if record is None:
                    continue
                found[record.folder] = record
                if out is not None and not again:
                    out.write(record.line() + "\n")
                    out.flush()
                on_record(record, again)
        except BaseException:
            stop.set()
            raise
    return [found[folder] for folder in order if folder in found]


def exit_code(records: Iterable[Record]) -> ExitCode:
    """The most serious exit code among the folders.

    Examples
    --------
    >>> exit_code([Record("a", Came.BUILT, 1), Record("b", Came.REFUSED, 4), Record("c", Came.BUILT, 0)])
    <ExitCode.INPUT_REFUSED: 4>
    """
    codes = {ExitCode(record.exit_code) for record in records}
    return max(codes, key=_RANK.index, default=ExitCode.DONE)


@contextmanager
def _appending(results: Path | None) -> Iterator[TextIO | None]:
    if results is None:
        yield None
        return
    with results.open("a+", encoding="utf-8") as out:
        # a batch that was killed may have left half a line
        out.seek(0)
        if (text := out.read()) and not text.endswith("\n"):
            out.write("\n")
        yield out


def _windowed(
    pool: ThreadPoolExecutor,
    one: Callable[[str], tuple[Record | None, bool]],
    order: Sequence[str],
    jobs: int,
    stop: threading.Event,
) -> Iterator[tuple[Record | None, bool]]:
    """Results as they come, with no more begun than two for each job: one that builds and its neighbour."""
    waiting: set[Future[tuple[Record | None, bool]]] = set()
    left = iter(order)
    while True:
        while len(waiting) < 2 * jobs and not stop.is_set():
            folder = next(left, None)
            if folder is None:
                break
            waiting.add(pool.submit(one, folder))
        if not waiting:
            return
        done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
        for future in done:
            yield future.result()


def _one(
    name: str,
    runner: Runner,
    options: BuildOptions,
    maker: str,
    earlier: Record | None,
    building: threading.Semaphore,
    stop: threading.Event,
) -> tuple[Record | None, bool]:
    """Record of one folder, and whether it is the earlier one; None when stopped."""
    folder, target = Path(name), Path(name) / "binder"
    if stop.is_set():
        return None, False
    try:
        check_target(target, folder)
        with FolderLock(target):
            recover(target)
            snapshot = take(folder, (target, status_path(target)))
            if earlier is not None and _still_holds(earlier, snapshot, maker, target):
                return earlier, True
            with building:
                if stop.is_set():
                    return None, False
                result = runner.run(snapshot, options, stop)
            if result.ending is Ending.CANCELLED:
                return None, False
            return _conclude(name, target, snapshot, result, maker), False
    except AlreadyWatched as held:
        return Record(name, Came.WATCHED, held.exit_code, summary=str(held)), False
    except PublishRefused as refused:
        return Record(name, Came.CANNOT_WRITE, ExitCode.CANNOT_READ_OR_WRITE, summary=str(refused)), False
    except OSError as error:
        why = f"{(error.strerror or str(error)).lower()}: {error.filename or name}"
        return Record(name, Came.UNREADABLE, ExitCode.CANNOT_READ_OR_WRITE, summary=why), False


def _still_holds(earlier: Record, snapshot: Snapshot, maker: str, target: Path) -> bool:
    """Whether building again would give what is recorded, and what is recorded is still published."""
    if earlier.came not in _SETTLED or (earlier.digest, earlier.made_by) != (snapshot.digest, maker):
        return False
    if earlier.came is not Came.BUILT:
        return True
    known = read_manifest(target)
    whole = not any(item.severity is Severity.ERROR for item in verify(target))
    return known is not None and known.input_digest == snapshot.digest and whole


def _conclude(name: str, target: Path, snapshot: Snapshot, result: JobResult, maker: str) -> Record:
    messages = tuple(_messages(result))
    seconds = round(result.seconds, 3)
    if result.ending is not Ending.BUILT:
        came, code = _ENDINGS[result.ending]
        return Record(name, came, code, snapshot.digest, maker, seconds, result.summary, messages)
    try:
        check_names_inputs(result.outputs, snapshot.digest)
        publish(result.outputs, target, project=Path(name))
    except ValueError as error:
        return Record(name, Came.DEFECT, ExitCode.DEFECT, snapshot.digest, maker, seconds, str(error))
    except OSError as error:
        why = f"the binder cannot be written: {(error.strerror or str(error)).lower()}"
        code = ExitCode.CANNOT_READ_OR_WRITE
        return Record(name, Came.CANNOT_WRITE, code, snapshot.digest, maker, seconds, why)
    code = ExitCode(result.exit_code)
    return Record(name, Came.BUILT, code, snapshot.digest, maker, seconds, result.summary, messages)


def _messages(result: JobResult) -> Iterator[str]:
    for item in result.diagnostics:
        span = item.span
        place = f"{span.file}:{span.line}:{span.column}: " if span else ""
        yield f"{place}[{item.code}] {item.message}"


def counts(records: Iterable[Record]) -> Mapping[str, int]:
    """How many folders came to what, in the order of :class:`Came`, those that none came to left out."""
    found = list(records)
    numbers = {str(came): sum(record.came is came for record in found) for came in Came}
    return {came: number for came, number in numbers.items() if number}
