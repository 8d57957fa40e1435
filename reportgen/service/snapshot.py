"""The inputs of a project folder at one moment: every file as bytes, and one digest over them all.

Whatever is built is built from these bytes and nothing else. So a file that changes while a build runs cannot give a
binder of one state under the digest of another, not even when it changes back before the build ends.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from reportgen.diagnostics.model import Diagnostic, Severity

VARIANTS: Final = "variants"


@dataclass(frozen=True, slots=True)
class Snapshot:
    """The inputs of a folder at one moment.

    Parameters
    ----------
    files : mapping of str to bytes
        Content of each input by its path relative to the folder, with forward slashes, in sorted order.
    digest : str
        BLAKE2b (hex, 32 bytes) over paths and contents; files that could not be read count with their reason.
    problems : tuple of Diagnostic
        What could not be taken in, in the order of printing. With an error among them the input is to be refused.
    variants : mapping of str to bytes
        Files under ``variants/``, which are no base input.
    """

    files: Mapping[str, bytes]
    digest: str
    problems: tuple[Diagnostic, ...] = ()
    variants: Mapping[str, bytes] = field(default_factory=dict)

    @classmethod
    def of(cls, files: Mapping[str, bytes], problems: Iterable[Diagnostic] = ()) -> Snapshot:
        """Make a snapshot of bytes that lie in memory already, from an older revision for instance.

        Examples
        --------
        >>> Snapshot.of({"a.yaml": b"x"}).digest == Snapshot.of({"a.yaml": b"y"}).digest
        False
        """
        ordered = dict(sorted(files.items()))
        found = tuple(sorted(problems, key=Diagnostic.sort_key))
        base = {path: data for path, data in ordered.items() if not path.startswith(f"{VARIANTS}/")}
        extra = {path: data for path, data in ordered.items() if path not in base}
        return cls(
            base, digest_of({path: hash_of(data) for path, data in ordered.items()}, found), found, extra
        )

    @property
    def everything(self) -> Mapping[str, bytes]:
        """Base inputs and variants together."""
        return {**self.files, **self.variants}

    @property
    def refused(self) -> bool:
        """True when a problem among these is an error: nothing may be built from it."""
        return any(problem.severity is Severity.ERROR for problem in self.problems)


@dataclass(frozen=True, slots=True)
class Changes:
    """Paths that differ between two snapshots, each list sorted."""

    added: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.added or self.changed or self.removed)


def changes(before: Mapping[str, bytes], after: Mapping[str, bytes]) -> Changes:
    """Paths added, changed and removed from one set of files to the next.

    Examples
    --------
    >>> changes({"a": b"1", "b": b"2"}, {"b": b"3", "c": b"4"})
    Changes(added=('c',), changed=('b',), removed=('a',))
    """
    return Changes(
        tuple(sorted(after.keys() - before.keys())),
        tuple(sorted(path for path in after.keys() & before.keys() if after[path] != before[path])),
        tuple(sorted(before.keys() - after.keys())),
    )


def hash_of(data: bytes) -> bytes:
    """Hash of the content of one file."""
    return hashlib.blake2b(data, digest_size=32).digest()


def digest_of(hashes: Mapping[str, bytes], problems: Iterable[Diagnostic]) -> str:
    """Digest of a folder, from the hash of each file by its path and what could not be read."""
    whole = hashlib.blake2b(digest_size=32)
    for path, digest in sorted(hashes.items()):
        name = path.encode("utf-8")
        whole.update(len(name).to_bytes(8, "big") + name + digest)
    # a file that cannot be read must not look like a file that is not there
    for problem in problems:
        if problem.severity is Severity.ERROR:
            whole.update(b"\0" + f"{problem.code}\0{problem.message}".encode())
    return whole.hexdigest()
