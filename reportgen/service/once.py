"""One build from the command line: snapshot, run, publish, and a status that tells the truth afterwards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from reportgen.diagnostics.model import Diagnostic, InputRefused, Severity
from reportgen.service.build import BuildOptions, Progress, run, stamped_options
from reportgen.service.exit_codes import ExitCode
from reportgen.service.folder_reader import take
from reportgen.service.lock import AlreadyWatched, FolderLock
from reportgen.service.manifest import read_manifest
from reportgen.service.publish import PublishRefused, check_target, publish, recover
from reportgen.service.snapshot import Snapshot
from reportgen.service.status import State, Status, status_errors, status_path, write_status


@dataclass(frozen=True, slots=True)
class Once:
    """What came of one build.

    Parameters
    ----------
    exit_code : int
        For the shell.
    published : bool
        Whether a new binder was published.
    diagnostics : tuple of Diagnostic
        Messages, in the order of printing.
    summary : str
        Counts of the outcomes, empty where nothing was checked.
    files : mapping of str to bytes
        The inputs, for excerpts.
    """

    exit_code: int
    published: bool
    diagnostics: tuple[Diagnostic, ...] = ()
    summary: str = ""
    files: Mapping[str, bytes] = field(default_factory=dict)


def build_once(
    folder: Path, target: Path, options: BuildOptions, progress: Progress = lambda stage: None
) -> Once:
    """Build a folder and publish the binder; whatever goes wrong, the last good one stays.

    Raises
    ------
    OSError
        If the folder cannot be read or the binder cannot be written.
    """
    try:
        check_target(target, folder)
        with FolderLock(target):
            return _locked(folder, target, options, progress)
    except PublishRefused as refused:
        return Once(ExitCode.CANNOT_READ_OR_WRITE, False, (refused.diagnostic,))
    except AlreadyWatched as held:
        message = Diagnostic(
            "already-watched",
            str(held),
            Severity.ERROR,
            help="let the watcher build, or stop it first",
        )
        return Once(held.exit_code, False, (message,))


def _locked(folder: Path, target: Path, options: BuildOptions, progress: Progress) -> Once:
    recover(target)
    snapshot = take(folder, (target, status_path(target)))
    try:
        built = run(snapshot, stamped_options(options, folder, snapshot), progress)
    except InputRefused as refused:
        _note(target, snapshot, State.FAILED, "the inputs were refused", refused.diagnostics)
        return Once(ExitCode.INPUT_REFUSED, False, tuple(refused.diagnostics), files=snapshot.everything)
    progress("publish")
    publish(built.outputs, target, project=folder)
    _note(target, snapshot, State.IDLE, built.summary, built.diagnostics)
    findings = (
        ()
        if built.design is None
        else tuple(item.diagnostic() for item in built.design.findings if item.outcome != "meets")
    )
    return Once(built.exit_code, True, (*built.diagnostics, *findings), built.summary, snapshot.everything)


def _note(
    target: Path, snapshot: Snapshot, state: State, message: str, diagnostics: Sequence[Diagnostic]
) -> None:
    """Write the status beside the binder: is it the one of these inputs, or older."""
    known = read_manifest(target)
    published = known.input_digest if known else ""
    now = datetime.now(UTC).isoformat(timespec="seconds")
    errors = status_errors(diagnostics)
    status = Status(
        state,
        stale=published != snapshot.digest,
        input_digest=snapshot.digest,
        published_digest=published,
        updated=now,
        message=message,
        errors=errors,
        errors_total=len(diagnostics),
    )
    write_status(status_path(target), status)
