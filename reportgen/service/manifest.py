"""What a published folder holds: its list of files with their hashes, and the proof that nothing changed since.

A manifest says which inputs, which version of the tool and which tables a binder came from. It names no clock, no
host and no path outside the folder, so that equal inputs give equal bytes. It is not a signature: it finds damage and
mixtures of two generations, not a forger.
"""

from __future__ import annotations

import hashlib
import json
import os
import stat
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from reportgen.diagnostics.model import Diagnostic, Label, Severity, Span

MANIFEST = "manifest.json"
"""Name of the manifest inside a published folder."""

FORMAT = "reportgen-binder/1"
"""Mark by which a folder is known as one that this tool wrote."""

_LARGEST_MANIFEST = 16 * 1024 * 1024  # bytes; a manifest has about 150 bytes a file
_VERIFY_TRIES = 5


@dataclass(frozen=True, slots=True)
class Manifest:
    """What ``manifest.json`` of a published folder says.

    Parameters
    ----------
    files : mapping of str to str
        SHA-256 (hex) of each published file but the manifest itself, by relative path with forward slashes.
    input_digest, tool_version, tables_digest : str
        What the binder came from.
    options : str
        Options of the build that change its outputs, in any stable form; empty where there are none.
    """

    files: Mapping[str, str]
    input_digest: str
    tool_version: str
    tables_digest: str
    options: str = ""

    def comes_from(self, input_digest: str, tool_version: str, tables_digest: str, options: str = "") -> bool:
        """Tell whether the same inputs, tool, tables and options would be built again."""
        return (self.input_digest, self.tool_version, self.tables_digest, self.options) == (
            input_digest,
            tool_version,
            tables_digest,
            options,
        )


def manifest(
    outputs: Mapping[str, bytes],
    input_digest: str,
    tool_version: str,
    tables_digest: str,
    options: str = "",
) -> bytes:
    r"""Bytes of ``manifest.json`` for a set of outputs.

    Parameters
    ----------
    outputs : mapping of str to bytes
        Relative path with forward slashes to content; an entry ``manifest.json`` is left out of the list.
    input_digest, tool_version, tables_digest, options : str
        See :class:`Manifest`.

    Returns
    -------
    bytes
        JSON with sorted keys, one value a line, LF, UTF-8.

    Raises
    ------
    ValueError
        If a path is absolute, climbs out of the folder, or holds a backslash or a control character.

    Examples
    --------
    >>> manifest({"binder.html": b"<p>"}, "ab", "1.0", "cd").count(b"\n")
    12
    """
    files = {
        checked_path(path): {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
        for path, data in outputs.items()
        if path != MANIFEST
    }
    document: dict[str, object] = {
        "format": FORMAT,
        "input_digest": input_digest,
        "tables_digest": tables_digest,
        "tool_version": tool_version,
        "files": files,
    }
    if options:
        document["options"] = options
    return (json.dumps(document, sort_keys=True, indent=1, ensure_ascii=False) + "\n").encode()


def checked_path(path: str) -> str:
    """Return the same relative path, once it is known to stay inside its folder.

    Raises
    ------
    ValueError
        If it is empty, absolute, not in its plain form, climbs out, or holds a backslash or a control character.

    Examples
    --------
    >>> checked_path("schedules/conductors.csv")
    'schedules/conductors.csv'
    """
    parts = path.split("/")
    plain = path and path.isprintable() and "\\" not in path and not path.startswith("/")
    if not plain or any(part in ("", ".", "..") for part in parts) or str(PurePosixPath(path)) != path:
        raise ValueError(f"not a path inside the output folder: {path!r}")
    return path


def parse_manifest(data: bytes) -> Manifest | None:
    """Read the bytes of a manifest; None when they are not one of ours."""
    try:
        document = json.loads(data.decode("utf-8"))
    except (UnicodeDecodeError, ValueError, RecursionError):
        return None
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        return None
    files = document.get("files")
    words = [document.get(key, "") for key in ("input_digest", "tool_version", "tables_digest", "options")]
    if not isinstance(files, dict) or not all(isinstance(word, str) for word in words):
        return None
    hashes: dict[str, str] = {}
    for path, entry in files.items():
        digest = entry.get("sha256") if isinstance(entry, dict) else None
        if not isinstance(digest, str):
            return None
        try:
            hashes[checked_path(path)] = digest
        except ValueError:
            return None
    return Manifest(hashes, *words)


def check_names_inputs(outputs: Mapping[str, bytes], input_digest: str) -> None:
    """Refuse outputs that say they came from other inputs than those that were given.

    Raises
    ------
    ValueError
        If their manifest is missing, damaged, or names another digest.
    """
    known = parse_manifest(outputs.get(MANIFEST, b""))
    if known is None or known.input_digest != input_digest:
        raise ValueError(f"the build's {MANIFEST} does not name the inputs it was given")


def read_manifest(target: Path) -> Manifest | None:
    """Manifest of a published folder; None when there is none, or none of ours."""
    try:
        folder = _open_folder(target)
    except OSError:
        return None
    try:
        data = _content(folder, MANIFEST, _LARGEST_MANIFEST)
    except OSError:
        return None
    finally:
        os.close(folder)
    return parse_manifest(data)


def verify(target: Path) -> list[Diagnostic]:
    """Everything that keeps a published folder from being whole; an empty list proves it whole.

    Parameters
    ----------
    target : Path
        The published folder.

    Returns
    -------
    list of Diagnostic
        Errors ``manifest-missing``, ``output-missing``, ``output-changed``; warnings ``output-foreign`` for files
        that the manifest does not list. In the order of the paths.

    Notes
    -----
    All files are read through one handle of the folder, so a publication in the same moment cannot mix two
    generations; when the folder was exchanged meanwhile, the check starts again on the new one.
    """
    found: list[Diagnostic] = []
    for _ in range(_VERIFY_TRIES):
        try:
            folder = _open_folder(target)
        except OSError as error:
            return [_manifest_missing(target, error.strerror or "cannot be opened")]
        try:
            found = _verify_folder(folder, target)
            same = _same_folder(folder, target)
        finally:
            os.close(folder)
        if not found or same:
            break
    return found


def files_below(folder: int) -> Iterator[str]:
    """Relative paths of everything below an open folder that is not a folder itself; links are not followed."""
    for place, folders, names, handle in os.fwalk(".", dir_fd=folder, follow_symlinks=False):
        prefix = "" if place == "." else place.removeprefix("./") + "/"
        # fwalk counts a link to a folder among the folders, though it does not enter it
        links = [name for name in folders if _is_link(handle, name)]
        yield from (prefix + name for name in sorted(names + links))


def _is_link(folder: int, name: str) -> bool:
    try:
        return stat.S_ISLNK(os.stat(name, dir_fd=folder, follow_symlinks=False).st_mode)
    except OSError:
        return False


def _verify_folder(folder: int, target: Path) -> list[Diagnostic]:
    try:
        known = parse_manifest(_content(folder, MANIFEST, _LARGEST_MANIFEST))
    except OSError as error:
        return [_manifest_missing(target, error.strerror or "cannot be read")]
    if known is None:
        return [_manifest_missing(target, "not a manifest of this tool")]
    found = []
    for path, digest in sorted(known.files.items()):
        try:
            actual = hashlib.sha256(_content(folder, path)).hexdigest()
        except OSError as error:
            found.append(
                _finding("output-missing", f"`{path}` is missing or cannot be read: {error.strerror}", path)
            )
            continue
        if actual != digest:
            found.append(_finding("output-changed", f"`{path}` is not what was published", path))
    for path in sorted(files_below(folder)):
        if path != MANIFEST and path not in known.files:
            found.append(
                Diagnostic(
                    "output-foreign",
                    f"`{_printable(path)}` was not published with this binder",
                    Severity.WARNING,
                    (Label(Span(_printable(path))),),
                    "move the file out of the output folder",
                )
            )
    return found


def _finding(code: str, message: str, path: str) -> Diagnostic:
    return Diagnostic(code, message, Severity.ERROR, (Label(Span(path)),), "build the binder again")


def _manifest_missing(target: Path, why: str) -> Diagnostic:
    return Diagnostic(
        "manifest-missing",
        f"`{_printable(str(target))}` has no readable `{MANIFEST}` of this tool: {why.lower()}",
        Severity.ERROR,
        (Label(Span(MANIFEST)),),
        "name the folder that a build wrote, or build the binder again",
    )


def _printable(path: str) -> str:
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in path)


def _open_folder(target: Path) -> int:
    return os.open(target, os.O_RDONLY | os.O_DIRECTORY)


def _same_folder(folder: int, target: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(folder), target.stat())
    except OSError:
        return False


def _content(folder: int, path: str, limit: int | None = None) -> bytes:
    handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK, dir_fd=folder)
    with os.fdopen(handle, "rb") as stream:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise OSError(0, "Not a regular file")
        return stream.read() if limit is None else stream.read(limit)
