"""The project folder out of an archive PDF, proved against the digest that the binder was made from."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from reportgen.service.folder_reader import ALL_DATA, ALL_YAML
from reportgen.service.snapshot import Snapshot

INPUTS = "inputs/"
RESULTS = "results.json"
_MOST_FILES = 5000


class UnpackRefused(Exception):
    """Raised when an archive cannot be unpacked; the message is one line for a person, without full stop."""


def inputs_of(archive: bytes) -> Snapshot:
    """The inputs that an archive PDF encloses, proved whole.

    Raises
    ------
    UnpackRefused
        If it is no archive of this tool, names a file outside of a folder, or its files are not those that the binder
        was made from.
    """
    enclosed = _enclosed(archive)
    files = {name.removeprefix(INPUTS): data for name, data in enclosed.items() if name.startswith(INPUTS)}
    if not files or RESULTS not in enclosed:
        raise UnpackRefused(
            "the file encloses no inputs of a binder; make it with `reportgen build DIR --archive`"
        )
    for name in files:
        path = PurePosixPath(name)
        if path.is_absolute() or ".." in path.parts or "\\" in name or "\0" in name or not path.parts:
            raise UnpackRefused(f"the file encloses `{name[:80]}`, which lies outside of a folder")
    snapshot = Snapshot.of(files)
    try:
        digest = json.loads(enclosed[RESULTS])["inputs"]
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise UnpackRefused("the enclosed results cannot be read") from error
    if digest != snapshot.digest:
        raise UnpackRefused(
            f"the enclosed inputs have the digest {snapshot.digest[:12]}, the binder was made from {str(digest)[:12]}"
        )
    return snapshot


def unpack(archive: bytes, folder: Path) -> Snapshot:
    """Write the inputs that an archive encloses into a folder that is new or empty.

    Raises
    ------
    UnpackRefused
        If the archive is none, or the folder holds anything.
    OSError
        If the folder cannot be written.
    """
    snapshot = inputs_of(archive)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise UnpackRefused(f"`{folder}` is not empty; name a folder that is new")
    for name, data in snapshot.everything.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("xb") as stream:
            stream.write(data)
    return snapshot


def _enclosed(archive: bytes) -> Mapping[str, bytes]:
    """Enclosed files by name."""
    from pypdf import PdfReader  # noqa: PLC0415 - only where an archive is opened
    from pypdf.errors import PyPdfError  # noqa: PLC0415

    found: dict[str, bytes] = {}
    total = 0
    try:
        for name, versions in PdfReader(io.BytesIO(archive)).attachments.items():
            if len(versions) != 1 or len(found) >= _MOST_FILES:
                raise UnpackRefused("the file encloses one name twice, or too many files")
            total += len(versions[0])
            if total > ALL_DATA + ALL_YAML:
                raise UnpackRefused("the enclosed files are too large for a project")
            found[str(name)] = bytes(versions[0])
    except (PyPdfError, ValueError, KeyError, TypeError, AttributeError, RecursionError, OSError) as error:
        raise UnpackRefused("the file is no PDF that can be read") from error
    return found
