"""A staged folder put in place of the published one, in one step where the system can.

Where it cannot exchange two folders, the old one is moved aside and the new one moved in; where the output is a mount
point of its own, files are replaced one by one, the manifest last. Which way is open is found out by trying.
"""

from __future__ import annotations

import contextlib
import ctypes
import errno
import os
from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path

from reportgen.service.manifest import MANIFEST, read_manifest
from reportgen.service.staging import discard, staging, sync_folder, write_files

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


def swap(stage: Path, target: Path, outputs: Mapping[str, bytes], *, fsync: bool) -> Method:
    """Put a staged folder in place of the target in the best way that the system has.

    Raises
    ------
    OSError
        If none of the ways is open; the target is as it was, but for a mount point filled in part.
    """
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
        discard(aside, target)
    return Method.ASIDE


def _swap_in_place(target: Path, outputs: Mapping[str, bytes], *, fsync: bool) -> Method:
    """Replace file by file inside a mount point; until the manifest, which comes last, the folder does not verify."""
    known = read_manifest(target)
    with staging(target, inside=target) as stage:
        write_files(outputs, stage, fsync=fsync)
        for path in sorted(outputs, key=lambda name: (name == MANIFEST, name)):
            (target / path).parent.mkdir(parents=True, exist_ok=True)
            (stage / path).replace(target / path)
        for path in sorted(set(known.files if known else ()) - set(outputs)):
            (target / path).unlink(missing_ok=True)
    if fsync:
        sync_folder(target)
    return Method.IN_PLACE
