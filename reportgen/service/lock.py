"""One watcher for one output folder, on one machine and for one user.

The lock is the kernel's (``flock``): it goes with its process, however that ends, so there is no stale lock to judge.
The file lies in a private cache folder and is named after the path of the output folder. Beside the output it would
be lost when the project folder is deleted and made again under a running watcher.
"""

from __future__ import annotations

import fcntl
import hashlib
import os
from pathlib import Path
from types import TracebackType

from reportgen.service.exit_codes import ExitCode
from reportgen.service.places import private_folder


class AlreadyWatched(Exception):
    """Raised when another process holds the lock of an output folder.

    Attributes
    ----------
    target : Path
        The output folder.
    pid : int or None
        The holder's process id, where it could be read.
    exit_code : ExitCode
        What a command ends with.
    """

    exit_code = ExitCode.ALREADY_WATCHED

    def __init__(self, target: Path, pid: int | None) -> None:
        holder = "another process" if pid is None else f"process {pid}"
        super().__init__(f"`{target}` is already watched by {holder}")
        self.target = target
        self.pid = pid


class FolderLock:
    """Lock of one output folder, held from ``acquire`` to ``release`` or between ``with`` and its end.

    Parameters
    ----------
    target : Path
        The output folder; it need not exist.
    """

    def __init__(self, target: Path) -> None:
        self.target = target.resolve()
        self._handle: int | None = None

    @property
    def path(self) -> Path:
        """Where the lock file lies."""
        name = hashlib.blake2b(os.fsencode(self.target), digest_size=16).hexdigest()
        return private_folder("locks") / f"{name}.lock"

    def acquire(self) -> None:
        """Take the lock, without waiting.

        Raises
        ------
        AlreadyWatched
            If another process (or another holder in this one) has it.
        OSError
            If the lock file cannot be made.
        """
        handle = os.open(self.path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC, 0o600)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            pid = _pid(os.pread(handle, 32, 0))
            os.close(handle)
            raise AlreadyWatched(self.target, pid) from None
        except BaseException:
            os.close(handle)
            raise
        os.ftruncate(handle, 0)
        os.pwrite(handle, f"{os.getpid()}\n".encode(), 0)
        self._handle = handle

    def release(self) -> None:
        """Give the lock back; the file stays, for deleting it would let two processes lock two files."""
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None

    def __enter__(self) -> FolderLock:
        self.acquire()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.release()


def _pid(text: bytes) -> int | None:
    try:
        return int(text)
    except ValueError:
        return None
