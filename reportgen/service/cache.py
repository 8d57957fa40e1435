"""Arrays kept from one build to the next, by content: sun, planes, whole years, ways to string a site.

An entry is a digest and the arrays as NumPy's own archive, without pickles. It is checked on every read, and whatever is
wrong with it makes it a miss: a damaged, foreign or full cache costs time, never a number. Keys hold the versions of the
tool and of the libraries, and the text of the modules that compute what is kept, so that no other code's result is served.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import secrets
import zipfile
from collections.abc import Mapping
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reportgen import __version__
from reportgen.service.places import private_folder

Arrays = Mapping[str, NDArray[np.float64]]

_PACKAGE = Path(__file__).parents[1]
_CODE = ("engineering/energy/*.py", "engineering/stringing.py", "design/stringing.py")
_DIGEST = 32  # bytes before the archive
_LARGEST = 64 * 1024 * 1024  # bytes of one entry
_SUFFIX = ".arrays"
_RECENT = (
    8  # entries read that stay in memory: weather, years and row orders of two designs beside each other
)


class FolderCache:
    """Arrays by key in a private folder, the longest unused ones dropped when it grows too large.

    Parameters
    ----------
    folder : Path
        Where the entries lie; private to the user.
    most_bytes : int
        Size beyond which entries are dropped. [bytes]
    """

    def __init__(self, folder: Path, most_bytes: int = 200 * 1024 * 1024) -> None:
        self._folder = folder
        self._most = most_bytes
        self._recent: dict[str, Arrays] = {}

    def get(self, key: str) -> Arrays | None:
        """The arrays kept under a key, read-only; None where there are none that are whole."""
        path = self._path(key)
        if path.name in self._recent:
            return self._recent[path.name]
        try:
            handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK)
            with os.fdopen(handle, "rb") as stream:
                data = stream.read(_LARGEST + 1)
        except OSError:
            return None
        arrays = _unpacked(data)
        with contextlib.suppress(OSError):
            if arrays is None:
                path.unlink()
            else:
                os.utime(path)  # used now: the last to be dropped
        if arrays is not None:
            while len(self._recent) >= _RECENT:
                del self._recent[next(iter(self._recent))]
            self._recent[path.name] = arrays
        return arrays

    def put(self, key: str, arrays: Arrays) -> None:
        """Keep arrays under a key; where that cannot be done, nothing is kept."""
        data = _packed(arrays)
        if len(data) > _LARGEST:
            return
        path = self._path(key)
        draft = path.with_name(f".{secrets.token_hex(8)}")
        try:
            handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, 0o600)
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
            draft.replace(path)
            self._make_room()
        except OSError:
            with contextlib.suppress(OSError):
                draft.unlink(missing_ok=True)

    def _path(self, key: str) -> Path:
        salted = hashlib.blake2b(f"{_salt()} {key}".encode(), digest_size=20).hexdigest()
        return self._folder / f"{salted}{_SUFFIX}"

    def _make_room(self) -> None:
        """Drop the longest unused entries, and drafts that a killed process left."""
        found = []
        for entry in os.scandir(self._folder):
            status = entry.stat(follow_symlinks=False)
            found.append((status.st_mtime, status.st_size, entry.path))
        total = sum(size for _, size, _ in found)
        for _, size, path in sorted(found):
            if total <= self._most:
                return
            Path(path).unlink(missing_ok=True)
            total -= size


def user_cache() -> FolderCache | None:
    """The cache of this user; None where there is no private folder to be had."""
    try:
        return _store(private_folder("arrays"))
    except OSError:
        return None


@cache
def _store(folder: Path) -> FolderCache:
    return FolderCache(folder)


@cache
def _salt() -> str:
    """Everything beside its own key that an entry depends on."""
    code = hashlib.blake2b(digest_size=16)
    for path in sorted(path for place in _CODE for path in _PACKAGE.glob(place)):
        code.update(path.read_bytes())
    libraries = " ".join(f"{name} {version(name)}" for name in ("numpy", "pandas", "pvlib", "scipy"))
    return f"{__version__} {libraries} {code.hexdigest()}"


def _packed(arrays: Arrays) -> bytes:
    store = io.BytesIO()
    content: dict[str, Any] = dict(arrays)
    np.savez(store, **content)
    body = store.getvalue()
    return hashlib.blake2b(body, digest_size=_DIGEST).digest() + body


def _unpacked(data: bytes) -> Arrays | None:
    body = data[_DIGEST:]
    if len(data) > _LARGEST or hashlib.blake2b(body, digest_size=_DIGEST).digest() != data[:_DIGEST]:
        return None
    try:
        with np.load(io.BytesIO(body), allow_pickle=False) as archive:
            arrays = {name: archive[name] for name in archive.files}
    except (ValueError, OSError, zipfile.BadZipFile, KeyError, EOFError):
        return None
    for values in arrays.values():
        values.setflags(write=False)
    return arrays
