"""Reading a project folder: every file once, never through a link that leaves it, never blocked by a pipe.

What cannot be read is a problem with its place, and counts in the digest.
"""

from __future__ import annotations

import os
import stat
import time
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from reportgen.diagnostics.model import Diagnostic, Label, Severity, Span
from reportgen.service.manifest import MANIFEST, read_manifest
from reportgen.service.scope import YAML_SUFFIXES, Scope, is_wanted, suffix_of
from reportgen.service.snapshot import VARIANTS, Snapshot, digest_of, hash_of

MEGABYTE: Final = 1_000_000
LARGEST_YAML: Final = 2 * MEGABYTE
LARGEST_DATA: Final = 64 * MEGABYTE
ALL_YAML: Final = 20 * MEGABYTE
ALL_DATA: Final = 512 * MEGABYTE
DEEPEST_FOLDER: Final = 40

_TRIES = 3  # takes, when a file vanishes between the listing and the reading
_TRUST_AFTER_S = 3.0  # longer than the coarsest time stamp of a common file system (2 s)


def take(root: Path, exclude: Iterable[Path] = (), *, variants: bool = True) -> Snapshot:
    """Inputs of a project folder, read once.

    Parameters
    ----------
    root : Path
        The project folder.
    exclude : iterable of Path
        Output folders and files that are no inputs. ``binder/``, ``status.json``, names that begin with a dot and
        folders that hold a binder of this tool are left out in any case.
    variants : bool
        Whether to take the files under ``variants/`` too, into ``Snapshot.variants``.

    Returns
    -------
    Snapshot
        Everything that could be read, and a problem for everything that could not.

    Raises
    ------
    OSError
        If the folder itself is missing, no folder, or cannot be listed.
    """
    return FolderReader(root, exclude, variants=variants).take()


@dataclass(frozen=True, slots=True)
class _Seen:
    """One file as it was last read; ``since`` and ``settled`` say whether its time stamps can be trusted."""

    signature: tuple[int, int, int, int, int]
    data: bytes
    hash: bytes
    since: float
    settled: bool


class FolderReader:
    """Takes snapshots of one folder again and again, and cheaply when nothing moved.

    Parameters
    ----------
    root, exclude, variants
        As for :func:`take`.
    """

    def __init__(self, root: Path, exclude: Iterable[Path] = (), *, variants: bool = True) -> None:
        self.scope = Scope.of(root, exclude, variants=variants)
        self.folders: dict[str, tuple[int, int] | None] = {}
        """Device and inode of each folder that the last snapshot looked into, by relative path; "" is the top."""
        self._seen: dict[str, _Seen] = {}

    def take(self, *, trust_stat: bool = False) -> Snapshot:
        """Inputs of the folder now.

        Parameters
        ----------
        trust_stat : bool
            Do not read a file again whose inode, size and both time stamps are unchanged, provided that it was read
            at least 3 s (monotonic) after these were first seen: within one tick of the file system's clock a
            second change of equal size would leave them as they are. For the periodic look only.

        Raises
        ------
        OSError
            If the folder itself is missing, no folder, or cannot be listed.
        """
        for attempt in range(_TRIES):
            walk = _Walk(self.scope, self._seen, trust_stat, last=attempt == _TRIES - 1)
            walk.run()
            if not walk.vanished:
                break
        self._seen, self.folders = walk.read, walk.folders
        base = {path: seen for path, seen in walk.read.items() if not path.startswith(VARIANTS + "/")}
        extra = {path: seen for path, seen in walk.read.items() if path not in base}
        found = tuple(sorted([*walk.problems, *_collisions(walk.read)], key=Diagnostic.sort_key))
        return Snapshot(
            {path: base[path].data for path in sorted(base)},
            digest_of({path: seen.hash for path, seen in walk.read.items()}, found),
            found,
            {path: extra[path].data for path in sorted(extra)},
        )


class _Walk:
    """One pass over the folder."""

    def __init__(self, scope: Scope, seen: Mapping[str, _Seen], trust: bool, *, last: bool) -> None:
        self.scope = scope
        self.base = os.fspath(scope.root)
        self.real = os.path.realpath(scope.root)
        self.seen = seen
        self.trust = trust
        self.last = last
        self.read: dict[str, _Seen] = {}
        self.folders: dict[str, tuple[int, int] | None] = {}
        self.problems: list[Diagnostic] = []
        self.vanished = False
        self.total = {True: 0, False: 0}  # bytes of YAML, bytes of data
        self.waiting = [""]

    def run(self) -> None:
        while self.waiting:
            folder = self.waiting.pop()
            try:
                status = Path(self.base, folder).stat()
                self.folders[folder] = (status.st_dev, status.st_ino)
                with os.scandir(f"{self.base}/{folder}") as listing:
                    entries = sorted(listing, key=lambda entry: entry.name)
            except OSError as error:
                if not folder:
                    raise
                self.failed(folder, error)
                continue
            for entry in entries:
                self.entry(f"{folder}/{entry.name}" if folder else entry.name, entry)

    def entry(self, relative: str, entry: os.DirEntry[str]) -> None:
        if entry.name.startswith(".") or relative in self.scope.excluded:
            return
        if relative == VARIANTS and not self.scope.variants:
            return
        try:
            if entry.is_symlink():
                self.link(relative, entry)
            elif entry.is_dir(follow_symlinks=False):
                self.folder(relative)
            elif is_wanted(relative) and self.good_name(relative):
                self.file(relative, entry.path, entry.stat(follow_symlinks=False))
        except OSError as error:
            self.failed(relative, error)

    def folder(self, relative: str) -> None:
        if suffix_of(relative) in YAML_SUFFIXES:
            self.problem("special-file", relative, "is a folder, not a file", "rename the folder")
        elif relative.count("/") >= DEEPEST_FOLDER:
            self.problem(
                "folder-too-deep", relative, f"lies more than {DEEPEST_FOLDER} folders deep", "move it up"
            )
        elif Path(self.base, relative, MANIFEST).is_file() and read_manifest(Path(self.base, relative)):
            self.problem(
                "output-folder",
                relative,
                "holds a published binder, so nothing in it is read as input",
                "move it out of the project folder",
                Severity.NOTE,
            )
        elif self.good_name(relative):
            self.waiting.append(relative)

    def link(self, relative: str, entry: os.DirEntry[str]) -> None:
        wanted = is_wanted(relative)
        try:
            real = os.path.realpath(entry.path, strict=True)
            status = Path(real).stat()
        except OSError:
            if wanted:
                self.problem(
                    "link-broken", relative, "is a link that leads nowhere", "remove or mend the link"
                )
            return
        is_folder = stat.S_ISDIR(status.st_mode)
        if not (wanted or is_folder) or not self.good_name(relative):
            return
        inside = real == self.real or real.startswith(self.real + "/")
        if not inside:
            self.problem(
                "link-leaves-folder",
                relative,
                "is a link that leaves the project folder",
                "copy what it points to into the folder",
            )
        elif is_folder:
            self.problem(
                "link-to-folder",
                relative,
                "is a link to a folder and is not followed; what it points to is read at its own place",
                "remove the link",
                Severity.WARNING,
            )
        elif self.scope.leaves_out(real[len(self.real) + 1 :]):
            self.problem("link-to-output", relative, "is a link into the output folder", "remove the link")
        else:
            self.file(relative, real, status)

    def file(self, relative: str, path: str, status: os.stat_result) -> None:
        if not stat.S_ISREG(status.st_mode):
            self.problem(
                "special-file", relative, "is a pipe, socket or device, not a file", "remove it, or rename it"
            )
            return
        yaml = suffix_of(relative) in YAML_SUFFIXES
        limit, whole = (LARGEST_YAML, ALL_YAML) if yaml else (LARGEST_DATA, ALL_DATA)
        seen = self.seen.get(relative)
        if not (self.trust and seen and seen.settled and seen.signature == _signature(status)):
            seen = _read(path, limit, seen)
        if seen is None:
            self.problem(
                "file-too-large",
                relative,
                f"is larger than {limit // MEGABYTE} MB",
                "split the file" if yaml else "keep a smaller copy in the folder",
            )
            return
        before = self.total[yaml]
        self.total[yaml] += len(seen.data)
        if self.total[yaml] <= whole:
            self.read[relative] = seen
        elif before <= whole:
            kind = "YAML files" if yaml else "data files"
            self.problem(
                "folder-too-large",
                relative,
                f"brings the {kind} of the folder to more than {whole // MEGABYTE} MB",
                "move what the project does not need out of the folder",
            )

    def good_name(self, relative: str) -> bool:
        name = relative.rpartition("/")[2]
        try:
            name.encode("utf-8")
        except UnicodeEncodeError:
            self.problem("name-not-utf8", relative, "has a name that is not UTF-8", "rename it")
            return False
        if not name.isprintable():
            self.problem(
                "name-control-character", relative, "has a control character in its name", "rename it"
            )
            return False
        return True

    def failed(self, relative: str, error: OSError) -> None:
        if isinstance(error, FileNotFoundError) and not self.last:
            self.vanished = True
            return
        why = (error.strerror or type(error).__name__).lower()
        self.problem(
            "file-unreadable", relative, f"cannot be read: {why}", "make it readable, or move it away"
        )

    def problem(
        self, code: str, relative: str, what: str, cure: str, severity: Severity = Severity.ERROR
    ) -> None:
        shown = printable(relative)
        self.problems.append(Diagnostic(code, f"`{shown}` {what}", severity, (Label(Span(shown)),), cure))


def printable(path: str) -> str:
    r"""Path as it can be shown anywhere: bytes that are no UTF-8 and control characters as escapes.

    Examples
    --------
    >>> printable("a" + chr(0xDCFF) + chr(10))
    'a\\xff\\n'
    """
    text = os.fsencode(path).decode("utf-8", "backslashreplace")
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


def _signature(status: os.stat_result) -> tuple[int, int, int, int, int]:
    return (status.st_dev, status.st_ino, status.st_size, status.st_mtime_ns, status.st_ctime_ns)


def _read(path: str, limit: int, seen: _Seen | None) -> _Seen | None:
    """Content of one regular file; None when it is larger than the limit. Never blocks on a pipe."""
    now = time.monotonic()
    handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_NOCTTY | os.O_CLOEXEC)
    try:
        status = os.fstat(handle)
        if not stat.S_ISREG(status.st_mode):
            raise OSError(0, "not a regular file any more")
        if status.st_size > limit:
            return None
        pieces, size = [], 0
        while piece := os.read(handle, min(1 << 20, limit + 1 - size) if size else status.st_size + 1):
            pieces.append(piece)
            size += len(piece)
            if size > limit:
                return None
    finally:
        os.close(handle)
    data, signature = b"".join(pieces), _signature(status)
    same = seen is not None and seen.signature == signature
    since = seen.since if seen is not None and same else now
    if seen is not None and seen.data == data:  # keep one copy in memory, and its hash
        return _Seen(signature, seen.data, seen.hash, since, settled=now - since >= _TRUST_AFTER_S)
    return _Seen(signature, data, hash_of(data), since, settled=now - since >= _TRUST_AFTER_S)


def _collisions(paths: Iterable[str]) -> list[Diagnostic]:
    """Names that differ only in case or Unicode form: one of them is lost on many file systems."""
    spellings: dict[str, set[str]] = {}
    for path in paths:
        parts = path.split("/")
        for count in range(1, len(parts) + 1):
            place = "/".join(parts[:count])
            plain = unicodedata.normalize("NFC", unicodedata.normalize("NFC", place).casefold())
            spellings.setdefault(plain, set()).add(place)
    found = []
    for same in spellings.values():
        if len(same) > 1 and len({place.rpartition("/")[0] for place in same}) == 1:
            first, *others = sorted(same)
            labels = tuple(Label(Span(place), primary=place == first) for place in [first, *others])
            names = " and ".join(f"`{place}`" for place in [first, *others])
            found.append(
                Diagnostic(
                    "name-collision",
                    f"{names} differ only in upper and lower case or in Unicode form",
                    Severity.ERROR,
                    labels,
                    "rename one of them",
                )
            )
    return found
