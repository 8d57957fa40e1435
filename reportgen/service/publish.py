"""Atomic publication: a reader sees the whole old binder or the whole new one, and never loses the old one to a fault.

The new folder is staged beside the old one on the same file system, written through to the disk and exchanged with it
in one step. Where the system cannot exchange, the old folder is moved aside and the new one moved in; where the
output is a mount point of its own, files are replaced one by one, the manifest last, so that a mixture of two
generations is found by :func:`~reportgen.service.manifest.verify`. Which way is open is found out by trying.
"""

from __future__ import annotations

import contextlib
import ctypes
import errno
import fcntl
import os
import re
import secrets
import shutil
import stat
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from reportgen.diagnostics.model import Diagnostic, Label, Severity, Span
from reportgen.service.manifest import (
    MANIFEST,
    Manifest,
    checked_path,
    files_below,
    manifest,
    parse_manifest,
    read_manifest,
    verify,
)
from reportgen.service.status import clear_drafts, status_path

__all__ = [
    "Method",
    "PublishRefused",
    "Published",
    "check_target",
    "manifest",
    "publish",
    "recover",
    "verify",
]

_AT_ONCE = 8  # files written at the same time
_AT_FDCWD = -100
_RENAME_EXCHANGE = 2
_CANNOT_EXCHANGE = {errno.EINVAL, errno.ENOSYS, errno.EOPNOTSUPP}
_OTHER_FILE_SYSTEM = {errno.EXDEV, errno.EBUSY}


class Method(StrEnum):
    """How a folder was put in place; only ``IN_PLACE`` lets a reader see two generations at once."""

    FIRST = "first"
    EXCHANGE = "exchange"
    ASIDE = "aside"
    IN_PLACE = "in-place"


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
    with _staging(target) as stage:
        for path in foreign:
            _link(target / path, stage / path)
        _write(outputs, stage, fsync=fsync)
        if target.exists():
            stage.chmod(stat.S_IMODE(target.stat().st_mode))
        method = _swap(stage, target, outputs, fsync=fsync)
        if fsync:
            _sync_folder(target.parent)
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
    if read_manifest(target) is None and any(not _is_ours(entry, target) for entry in target.iterdir()):
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
            _discard(aside, target)
        else:
            aside.rename(target)
    for folder in (target.parent, target):
        if not folder.is_dir():
            continue
        for entry in list(folder.iterdir()):
            if _is_ours(entry, target) and not _in_use(entry):
                _discard(entry, target)
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
        found = [
            path for path in files_below(handle) if path not in mine and not _below_staging(path, target)
        ]
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


# staging


def _staging_name(target: Path) -> re.Pattern[str]:
    return re.compile(re.escape(f".{target.name}.staging-") + r"[0-9a-f]{16}")


def _is_ours(entry: Path, target: Path) -> bool:
    return bool(_staging_name(target).fullmatch(entry.name)) and entry.is_dir() and not entry.is_symlink()


def _below_staging(path: str, target: Path) -> bool:
    return bool(_staging_name(target).fullmatch(path.split("/")[0]))


@contextlib.contextmanager
def _staging(target: Path, inside: Path | None = None) -> Iterator[Path]:
    """Give a new locked folder beside the target; whatever stands under its name at the end is cleared away."""
    stage = (inside or target.parent) / f".{target.name}.staging-{secrets.token_hex(8)}"
    stage.mkdir()
    handle = os.open(stage, os.O_RDONLY | os.O_DIRECTORY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield stage
    except BaseException:
        shutil.rmtree(stage, ignore_errors=True)
        raise
    else:
        # after an exchange the old generation stands here; what cannot be cleared now is cleared at the next start
        with contextlib.suppress(OSError):
            _discard(stage, target)
    finally:
        os.close(handle)


def _in_use(stage: Path) -> bool:
    try:
        handle = os.open(stage, os.O_RDONLY | os.O_DIRECTORY)
    except OSError:
        return False
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return True
    finally:
        os.close(handle)
    return False


def _write(outputs: Mapping[str, bytes], folder: Path, *, fsync: bool) -> None:
    """Write every file, several at a time: a disk that is asked to sync many at once needs hardly longer than for one."""
    folders = {folder}
    for path in outputs:
        place = folder / path
        place.parent.mkdir(parents=True, exist_ok=True)
        folders.update(parent for parent in place.parents if parent.is_relative_to(folder))

    def one(path: str) -> None:
        handle = os.open(folder / path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, 0o666)
        with os.fdopen(handle, "wb") as stream:
            stream.write(outputs[path])
            stream.flush()
            if fsync:
                os.fsync(handle)

    with ThreadPoolExecutor(_AT_ONCE, "reportgen-publish") as pool:
        # Leaving the pool waits for files under way, so that nothing is written any more once an error is told.
        for _ in pool.map(one, sorted(outputs)):
            pass
    if fsync:
        for place in sorted(folders, reverse=True):
            _sync_folder(place)


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno != errno.EINVAL:  # some file systems cannot sync a folder
            raise
    finally:
        os.close(handle)


def _link(source: Path, place: Path) -> None:
    """Make a file of others stand in the staged folder too: the same file where links are possible, else a copy."""
    place.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.link(source, place, follow_symlinks=False)
    except OSError:
        shutil.copy2(source, place, follow_symlinks=False)


def _discard(folder: Path, target: Path) -> None:
    """Delete an old generation or a half-written one; move to the published folder what is neither ours nor there."""
    known = read_manifest(folder)
    if known is not None:
        _rescue(folder, target, known)
    shutil.rmtree(folder, ignore_errors=True)


def _rescue(folder: Path, target: Path, known: Manifest) -> None:
    """Move files that came into the old folder after its files were listed, in the instant before the exchange."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        others = [path for path in files_below(handle) if path not in known.files and path != MANIFEST]
    finally:
        os.close(handle)
    for path in others:
        place = target / path
        if not os.path.lexists(place):
            place.parent.mkdir(parents=True, exist_ok=True)
            (folder / path).rename(place)


# the step itself


def _exchange(first: Path, second: Path) -> None:
    """Exchange two folders in one step; OSError ENOSYS or EINVAL where the system or file system cannot."""
    libc = ctypes.CDLL(None, use_errno=True)
    try:
        renameat2 = libc.renameat2
    except AttributeError:
        raise OSError(errno.ENOSYS, os.strerror(errno.ENOSYS)) from None
    renameat2.argtypes = (ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_uint)
    renameat2.restype = ctypes.c_int
    if renameat2(_AT_FDCWD, os.fsencode(first), _AT_FDCWD, os.fsencode(second), _RENAME_EXCHANGE) != 0:
        number = ctypes.get_errno()
        raise OSError(number, os.strerror(number), str(first), None, str(second))


def _swap(stage: Path, target: Path, outputs: Mapping[str, bytes], *, fsync: bool) -> Method:
    try:
        if not target.exists() or not any(target.iterdir()):
            stage.rename(target)  # over an empty folder this is one step too
            return Method.FIRST
        try:
            _exchange(stage, target)
        except OSError as error:
            if error.errno not in _CANNOT_EXCHANGE:
                raise
        else:
            return Method.EXCHANGE
        return _swap_aside(stage, target)
    except OSError as error:
        if error.errno not in _OTHER_FILE_SYSTEM:
            raise
    return _swap_in_place(target, outputs, fsync=fsync)


def _swap_aside(stage: Path, target: Path) -> Method:
    """Two renames with an instant between in which the target is absent; ``recover`` closes it after a kill."""
    aside = target.parent / f".{target.name}.old"
    target.rename(aside)
    try:
        stage.rename(target)
    except BaseException:
        aside.rename(target)
        raise
    with contextlib.suppress(OSError):
        _discard(aside, target)
    return Method.ASIDE


def _swap_in_place(target: Path, outputs: Mapping[str, bytes], *, fsync: bool) -> Method:
    """Replace file by file inside a mount point; until the manifest, which comes last, the folder does not verify."""
    known = read_manifest(target)
    with _staging(target, inside=target) as stage:
        _write(outputs, stage, fsync=fsync)
        for path in sorted(outputs, key=lambda name: (name == MANIFEST, name)):
            (target / path).parent.mkdir(parents=True, exist_ok=True)
            (stage / path).replace(target / path)
        for path in sorted(set(known.files if known else ()) - set(outputs)):
            (target / path).unlink(missing_ok=True)
    if fsync:
        _sync_folder(target)
    return Method.IN_PLACE
