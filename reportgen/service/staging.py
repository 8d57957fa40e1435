"""Folders in which a new generation is made ready beside the published one, and what becomes of the old one.

A staging folder is locked by its owner: one without an owner is left over from a process that was killed.
"""

from __future__ import annotations

import contextlib
import errno
import fcntl
import os
import re
import secrets
import shutil
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from reportgen.service.manifest import MANIFEST, Manifest, files_below, read_manifest

_AT_ONCE = 8  # files written at the same time


def _staging_name(target: Path) -> re.Pattern[str]:
    return re.compile(re.escape(f".{target.name}.staging-") + r"[0-9a-f]{16}")


def is_staging(entry: Path, target: Path) -> bool:
    """Tell whether what stands in a folder is a staging folder of an output folder."""
    return bool(_staging_name(target).fullmatch(entry.name)) and entry.is_dir() and not entry.is_symlink()


def below_staging(path: str, target: Path) -> bool:
    """Tell whether a relative path lies in a staging folder of an output folder."""
    return bool(_staging_name(target).fullmatch(path.split("/")[0]))


@contextlib.contextmanager
def staging(target: Path, inside: Path | None = None) -> Iterator[Path]:
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
            discard(stage, target)
    finally:
        os.close(handle)


def in_use(stage: Path) -> bool:
    """Tell whether the owner of a staging folder still runs."""
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


def write_files(outputs: Mapping[str, bytes], folder: Path, *, fsync: bool) -> None:
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
            sync_folder(place)


def sync_folder(folder: Path) -> None:
    """Write the names in a folder through to the disk, where the file system can."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno != errno.EINVAL:  # some file systems cannot sync a folder
            raise
    finally:
        os.close(handle)


def link_into(source: Path, place: Path) -> None:
    """Make a file of others stand in the staged folder too: the same file where links are possible, else a copy."""
    place.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.link(source, place, follow_symlinks=False)
    except OSError:
        shutil.copy2(source, place, follow_symlinks=False)


def discard(folder: Path, target: Path) -> None:
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
