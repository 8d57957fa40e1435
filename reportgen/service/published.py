"""The published binder as a watcher knows it: whose inputs it is of, and which findings it tells."""

from __future__ import annotations

import json
from pathlib import Path

from reportgen.service.manifest import MANIFEST, read_manifest

_LARGEST_RESULTS = 64 * 1024 * 1024  # bytes
_RESULTS = "results.json"


class PublishedBinder:
    """The binder in an output folder, looked at again only where its manifest is another one.

    Parameters
    ----------
    target : Path
        The output folder.

    Attributes
    ----------
    digest : str
        Of the inputs of the binder; empty where none is published.
    """

    def __init__(self, target: Path) -> None:
        self.digest = ""
        self._target = target
        self._mark: tuple[int, ...] | None = None  # the manifest's stat

    def look(self) -> None:
        """Notice that the folder was deleted, or published by another process."""
        try:
            status = (self._target / MANIFEST).stat()
            mark = (status.st_dev, status.st_ino, status.st_size, status.st_mtime_ns, status.st_ctime_ns)
        except OSError:
            mark = None
        if mark != self._mark:
            self._mark = mark
            known = read_manifest(self._target)
            self.digest = known.input_digest if known is not None else ""

    def findings(self) -> dict[str, str]:
        """Outcomes by id of the findings in its ``results.json``; empty when there is none to be read."""
        try:
            path = self._target / _RESULTS
            if path.stat().st_size > _LARGEST_RESULTS:
                return {}
            document = json.loads(path.read_bytes())
            return {str(entry["id"]): str(entry["outcome"]) for entry in document["findings"]}
        except (OSError, ValueError, TypeError, KeyError, RecursionError):
            return {}
