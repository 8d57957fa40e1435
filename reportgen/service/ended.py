"""What becomes of a build that ended: published when it may be, else why not."""

from __future__ import annotations

from pathlib import Path

from reportgen.diagnostics.model import Diagnostic, Severity
from reportgen.service.child import Ending, JobResult
from reportgen.service.events import EventKind
from reportgen.service.manifest import check_names_inputs
from reportgen.service.publish import PublishRefused, publish
from reportgen.service.snapshot import Snapshot

_FAILED = {
    Ending.TIMED_OUT: (EventKind.TIMED_OUT, "build-timed-out"),
    Ending.CRASHED: (EventKind.CRASHED, "build-crashed"),
    Ending.SHORT_OF_RESOURCES: (EventKind.CRASHED, "build-crashed"),
    Ending.DEFECT: (EventKind.DEFECT, "build-defect"),
}


def publish_ended(
    result: JobResult, snapshot: Snapshot, target: Path, project: Path
) -> tuple[EventKind, str, tuple[Diagnostic, ...]]:
    """Kind, line and messages of a build that ended; publishes when there is something to publish.

    Parameters
    ----------
    result : JobResult
        Of a build that nobody cancelled.
    snapshot : Snapshot
        What it was built from.
    target, project : Path
        The output folder and the project folder.
    """
    if result.ending is Ending.REFUSED:
        return EventKind.REFUSED, result.summary, result.diagnostics
    if result.ending in _FAILED:
        kind, code = _FAILED[result.ending]
        return kind, result.summary, (_trouble(code, result.summary),)
    if snapshot.refused:  # whatever the build made of the rest
        return EventKind.REFUSED, "input refused", snapshot.problems
    try:
        check_names_inputs(result.outputs, snapshot.digest)
        publish(result.outputs, target, project=project)
    except PublishRefused as refusal:
        return EventKind.CANNOT_WRITE, str(refusal), (refusal.diagnostic,)
    except OSError as error:
        why = f"the binder cannot be written: {error.strerror or error}"
        return EventKind.CANNOT_WRITE, why, (_trouble("output-not-written", why),)
    except ValueError as error:
        return EventKind.DEFECT, str(error), (_trouble("build-defect", str(error)),)
    return EventKind.PUBLISHED, result.summary, result.diagnostics


def _trouble(code: str, message: str) -> Diagnostic:
    return Diagnostic(code, message, Severity.ERROR)
