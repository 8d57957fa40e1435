"""What the watch loop builds, and the times it keeps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reportgen.service.job import HEAVY
from reportgen.service.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class Recipe:
    """What is built from a snapshot, and by what.

    Parameters
    ----------
    tool_version, tables_digest : str
        Written by the build into its manifest; a published folder with others is built again at the start.
    build : str
        The build function as ``module:name``, called in a child as ``build(snapshot, options)``.
    options : object
        Its second argument; anything that can be pickled.
    options_text : str
        The ``options`` of the manifest, see :class:`~reportgen.service.manifest.Manifest`.
    preload : sequence of str
        Modules that are loaded once, before the first build.
    stamp : callable, optional
        Options and their text for a snapshot, where they depend on it: the state of the folder's history.
    """

    tool_version: str
    tables_digest: str
    build: str = "reportgen.service.build:build"
    options: object = None
    options_text: str = ""
    preload: Sequence[str] = HEAVY
    stamp: Callable[[Snapshot], tuple[object, str]] | None = None

    def of(self, snapshot: Snapshot) -> tuple[object, str]:
        """Options and their text for a snapshot: the same for all, or what the stamp makes of it."""
        return (self.options, self.options_text) if self.stamp is None else self.stamp(snapshot)


@dataclass(frozen=True, slots=True)
class Timing:
    """Times of the loop, all in seconds of the monotonic clock.

    Parameters
    ----------
    quiet_s, longest_s : float
        A look follows so long after the last hint, and no later after the first. [s]
    rescan_s : float
        A look without a hint. [s]
    missing_s : float
        A look for a project folder that is gone. [s]
    rearm_s : float
        A new try to get file events after there were none to be had. [s]
    build_timeout_s, grace_s : float
        A build is killed after so long; one that is asked to end, after so long. [s]
    retry_s, retry_longest_s : float
        Wait before a build that failed for want of resources is tried again, doubled each time, and its limit. [s]
    """

    quiet_s: float = 0.25
    longest_s: float = 2.0
    rescan_s: float = 2.0
    missing_s: float = 0.5
    rearm_s: float = 30.0
    build_timeout_s: float = 120.0
    grace_s: float = 3.0
    retry_s: float = 1.0
    retry_longest_s: float = 60.0
