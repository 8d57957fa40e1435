"""Private folders of the user that the service keeps things in, outside every project."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def private_folder(name: str) -> Path:
    """Folder of that name which only this user can enter, made where it is missing.

    It lies in the user's cache folder, else in the folder for temporary files; always the same one for a user, or two
    processes would not meet in it.

    Raises
    ------
    PermissionError
        If neither can be had.
    """
    base = os.environ.get("XDG_CACHE_HOME", "")
    cache = Path(base) if base.startswith("/") else Path.home() / ".cache"
    temporary = Path(tempfile.gettempdir()) / f"reportgen-{os.getuid()}"
    for folder in (cache / "reportgen" / name, temporary / name):
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError:
            continue
        if _own(folder) and (folder.parent != temporary or _own(temporary)):
            return folder
    raise PermissionError(13, f"no private folder for {name}", str(cache))


def _own(folder: Path) -> bool:
    status = folder.lstat()
    return status.st_uid == os.getuid() and os.access(folder, os.W_OK | os.X_OK)
