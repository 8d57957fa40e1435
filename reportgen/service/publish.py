"""Atomic publication: a reader sees the whole old binder or the whole new one, and never loses the old one to a fault.

The new folder is staged beside the old one on the same file system (:mod:`~reportgen.service.staging`), written through
to the disk and exchanged with it in one step, or in the next best way (:mod:`~reportgen.service.exchange`); where that way
shows a reader a mixture of two generations, :func:`~reportgen.service.manifest.verify` finds it.
"""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from reportgen.diagnostics.model import Diagnostic, Label, Severity, Span
from reportgen.service.exchange import Method, swap
from reportgen.service.manifest import (
    MANIFEST,
    checked_path,
    files_below,
    manifest,
    parse_manifest,
    read_manifest,
)
from reportgen.service.staging import (
    below_staging,
    discard,
    in_use,
    is_staging,
    link_into,
    staging,
    sync_folder,
    write_files,
)
from reportgen.service.status import clear_drafts, status_path


@dataclass(frozen=True, slots=True)
class Published:
    """What a publication did.

    Parameters
    ----------
    target : Path
        The folder, links resolved.
    method : Method
        How it was put in place.
    carried : tuple of str
        Files of others found in the folder and kept there.
    """

    target: Path
    method: Method
    carried: tuple[str, ...] = ()


class PublishRefused(Exception):
    """Raised when an output folder may not be written; nothing was changed.

    Attributes
    ----------
    diagnostic : Diagnostic
        Why, and what to do.
    """

    def __init__(self, code: str, target: Path, why: str, cure: str) -> None:
        super().__init__(f"output folder `{target}` {why}")
        self.diagnostic = Diagnostic(
            code,
            f"output folder `{target}` {why}",
            Severity.ERROR,
            (Label(Span(str(target))),),
            cure,
        )


def publish(
    outputs: Mapping[str, bytes], target: Path, *, project: Path | None = None, fsync: bool = True
) -> Published:
    """Put a set of files in place of the last published one, whole or not at all.

    Parameters
    ----------
    outputs : mapping of str to bytes
        Content by relative path with forward slashes; ``manifest.json`` among them, made by
        :func:`~reportgen.service.manifest.manifest` from the others.
    target : Path
        The output folder; absent, empty, or one that this tool wrote.
    project : Path, optional
        The project folder, which the output folder may not be and may not hold.
    fsync : bool
        Write through to the disk before the exchange, against a loss of power.

    Returns
    -------
    Published
        The folder and the method.

    Raises
    ------
    PublishRefused
        If the output folder may not be written.
    OSError
        If the disk is full, or a file cannot be written; the last published folder is as it was.
    ValueError
        If the outputs are not what their manifest says, or a path leaves the folder: a defect of the caller.

    Notes
    -----
    Callers hold the lock of the folder (:mod:`reportgen.service.lock`). Files of others in the output folder are
    kept; one that stands where an output has to go makes the publication refuse.
    """
    _check_outputs(outputs)
    target = check_target(target, project)
    recover(target)
    foreign = _foreign(target, outputs)
    with staging(target) as stage:
        for path in foreign:
            link_into(target / path, stage / path)
        write_files(outputs, stage, fsync=fsync)
        if target.exists():
            stage.chmod(stat.S_IMODE(target.stat().st_mode))
        method = swap(stage, target, outputs, fsync=fsync)
        if fsync:
            sync_folder(target.parent)
    return Published(target, method, tuple(foreign))


def check_target(target: Path, project: Path | None = None) -> Path:
    """Return the resolved output folder, once it is known that it may be written.

    Raises
    ------
    PublishRefused
        If it is ``/``, the home folder, the project folder or one above it, a file, read-only, or a folder with
        files in it and no manifest of ours.
    OSError
        If the folder above it does not exist.
    """
    elsewhere = "name another output folder"
    if target.is_symlink() and not target.exists():
        raise PublishRefused("output-link-broken", target, "is a link that leads nowhere", elsewhere)
    target = target.resolve()
    home = Path.home().resolve()
    if target in (Path(target.anchor), home) or target in home.parents:
        raise PublishRefused("output-is-home", target, "is the home folder or one above it", elsewhere)
    if project is not None:
        folder = project.resolve()
        if target == folder or target in folder.parents:
            raise PublishRefused(
                "output-is-project", target, "is the project folder or one above it", elsewhere
            )
    if not target.exists():
        if not target.parent.is_dir():
            raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(target.parent))
        return target
    if not target.is_dir():
        raise PublishRefused("output-is-file", target, "is a file, not a folder", elsewhere)
    # the mode says it even to root, who could write all the same
    if not target.stat().st_mode & 0o222 or not os.access(target, os.W_OK | os.X_OK):
        raise PublishRefused("output-read-only", target, "is read-only", "make it writable, or " + elsewhere)
    if read_manifest(target) is None and any(not is_staging(entry, target) for entry in target.iterdir()):
        raise PublishRefused(
            "output-not-ours",
            target,
            f"has files in it and no `{MANIFEST}` of this tool, so it is left alone",
            elsewhere + ", or empty this one yourself",
        )
    return target


def recover(target: Path) -> None:
    """Clear what a killed publication left beside an output folder, and put a folder moved aside back.

    A staging folder still in use (its owner holds a lock on it) is left alone. Nothing outside our own names is
    touched, and files of others in an old generation are moved back to the published folder.
    """
    target = target.resolve()
    aside = target.parent / f".{target.name}.old"
    if aside.is_dir() and not aside.is_symlink() and read_manifest(aside) is not None:
        if target.exists():
            discard(aside, target)
        else:
            aside.rename(target)
    for folder in (target.parent, target):
        if not folder.is_dir():
            continue
        for entry in list(folder.iterdir()):
            if is_staging(entry, target) and not in_use(entry):
                discard(entry, target)
    clear_drafts(status_path(target))


def _check_outputs(outputs: Mapping[str, bytes]) -> None:
    for path in outputs:
        checked_path(path)
    known = parse_manifest(outputs.get(MANIFEST, b""))
    if known is None:
        raise ValueError(f"outputs hold no {MANIFEST} of this tool")
    made = manifest(outputs, known.input_digest, known.tool_version, known.tables_digest, known.options)
    if parse_manifest(made) != known:
        raise ValueError(f"outputs are not what their {MANIFEST} lists")


def _foreign(target: Path, outputs: Mapping[str, bytes]) -> list[str]:
    """Files in the output folder that its manifest does not list; they belong to someone else."""
    known = read_manifest(target)
    if known is None:
        return []
    handle = os.open(target, os.O_RDONLY | os.O_DIRECTORY)
    try:
        mine = {*known.files, MANIFEST}
        found = [path for path in files_below(handle) if path not in mine and not below_staging(path, target)]
    finally:
        os.close(handle)
    places = {*outputs, *(str(parent) for path in outputs for parent in Path(path).parents)}
    above = {str(parent) for path in found for parent in Path(path).parents}
    for path in sorted(found):
        if path in places:
            raise _in_the_way(target, path)
    for path in sorted(outputs):
        if path in above:
            raise _in_the_way(target, path)
    return sorted(found)


def _in_the_way(target: Path, path: str) -> PublishRefused:
    return PublishRefused(
        "output-in-the-way",
        target,
        f"holds `{path}`, which was not published with the binder and stands where a file of the binder goes",
        f"move `{path}` away",
    )
