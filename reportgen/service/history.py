"""Earlier states of a project folder, out of git, as bytes; and how the present state relates to them.

Only plumbing commands are run, of which none executes what a repository may bring along (hooks, filters, external
diffs, monitors). What a file holds is compared by its blob id with the bytes that were read, never by asking git.
Whatever is amiss with a repository makes the folder "unversioned"; it never keeps a design from being built.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from reportgen.service.folder_reader import LARGEST_DATA
from reportgen.service.scope import Scope
from reportgen.service.snapshot import Snapshot

_TIME_LIMIT_S: Final = 10.0
_MOST_FILES: Final = 5000
_REGULAR = frozenset({"100644", "100755"})
_LINK = "120000"
#: Of the caller's environment nothing that steers git goes along.
_ENVIRONMENT: Final = {
    "GIT_CONFIG_NOSYSTEM": "1",
    "GIT_CONFIG_GLOBAL": os.devnull,
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_PAGER": "cat",
    "LC_ALL": "C",
}


class NoHistory(Exception):
    """Raised when a state cannot be had; the message is one line for a person, without full stop."""


@dataclass(frozen=True, slots=True)
class Revision:
    """How the inputs relate to the repository they lie in.

    Parameters
    ----------
    commit : str
        Id of the commit at HEAD; "" where the folder is not versioned.
    tag : str
        A tag that stands at it; "" where there is none.
    modified : tuple of str
        Inputs that differ from the commit, are not in it, or are missing from the folder.
    only_line_ends : tuple of str
        Those of them that differ in nothing but their line ends.
    reason : str
        Why the folder is not versioned.
    """

    commit: str = ""
    tag: str = ""
    modified: tuple[str, ...] = ()
    only_line_ends: tuple[str, ...] = ()
    reason: str = ""

    @property
    def text(self) -> str:
        """In a few words, for the title block.

        Examples
        --------
        >>> Revision("0123456789abcdef0123", "issued-b", ("a.yaml",)).text
        'commit 0123456789ab (issued-b), with changes to 1 file'
        >>> Revision(reason="no repository").text
        'unversioned'
        """
        if not self.commit:
            return "unversioned"
        tag = f" ({self.tag})" if self.tag else ""
        count = len(self.modified)
        files = f", with changes to {count} file{'s' if count != 1 else ''}" if count else ""
        return f"commit {self.commit[:12]}{tag}{files}"


class History:
    """The repository that a project folder lies in.

    Parameters
    ----------
    folder : Path
        The project folder.

    Raises
    ------
    NoHistory
        If git is missing, or the folder is in no repository that may be read.
    """

    def __init__(self, folder: Path) -> None:
        program = shutil.which("git")
        if program is None:
            raise NoHistory("git is not installed")
        self._program = str(Path(program).absolute())
        self._folder = folder.resolve()
        try:
            self._prefix = (
                self._git("rev-parse", "--show-prefix").decode("utf-8", "surrogateescape").rstrip("\n")
            )
        except NoHistory as error:
            raise NoHistory(f"the folder is in no repository that can be read ({error})") from error

    def head(self, snapshot: Snapshot) -> Revision:
        """How the inputs relate to the commit at HEAD.

        Raises
        ------
        NoHistory
            If there is no commit yet, or it cannot be read.
        """
        commit = self.commit("HEAD")
        tags = self._git(
            "for-each-ref", "--points-at", commit, "--format=%(refname:short)", "refs/tags"
        ).decode("utf-8", "replace")
        tree = {path: blob for path, (_, blob) in self._inputs(commit).items()}
        differ = sorted(
            path
            for path in tree.keys() | snapshot.everything.keys()
            if tree.get(path) != _blob_id(snapshot.everything.get(path), len(commit))
        )
        ends = tuple(
            path
            for path in differ
            if self._differs_in_line_ends(tree.get(path), snapshot.everything.get(path))
        )
        return Revision(commit, next(iter(sorted(tags.split())), ""), tuple(differ), ends)

    def commit(self, name: str) -> str:
        """Full id of the commit that a name stands for.

        Raises
        ------
        NoHistory
            If there is none.
        """
        if name.startswith("-") or not name or "\0" in name:
            raise NoHistory(f"`{name}` is no name of a revision")
        try:
            found = self._git("rev-parse", "--verify", "--quiet", "--end-of-options", f"{name}^{{commit}}")
        except NoHistory as error:
            if name == "HEAD":
                raise NoHistory("the repository has no commit yet") from error
            raise NoHistory(f"there is no revision `{name}`") from error
        return found.decode("ascii", "replace").strip()

    def snapshot(self, name: str) -> Snapshot:
        """The inputs as they stand in a revision.

        Raises
        ------
        NoHistory
            If the revision or one of its files cannot be read, or an input is a link.
        """
        inputs = self._inputs(self.commit(name))
        if not inputs:
            raise NoHistory(f"revision `{name}` has no input of this folder")
        for path, (mode, _) in inputs.items():
            if mode == _LINK:
                raise NoHistory(
                    f"`{path}` is a link in revision `{name}`; links are not followed into the past"
                )
        contents = self._blobs([blob for _, blob in inputs.values()])
        return Snapshot.of({path: contents[blob] for path, (_, blob) in inputs.items()})

    def staged(self) -> Snapshot:
        """The inputs as they stand in the index, for a check before a commit.

        Raises
        ------
        NoHistory
            If the index cannot be read, or holds unmerged inputs.
        """
        scope = Scope.of(self._folder)
        inputs: dict[str, str] = {}
        for entry in self._git("ls-files", "--stage", "-z").split(b"\0")[:-1]:
            head, _, name = entry.partition(b"\t")
            mode, blob, stage = head.decode("ascii", "replace").split()
            path = name.decode("utf-8", "surrogateescape")
            if not scope.can_hold(path, folder=False):
                continue
            if stage != "0":
                raise NoHistory(f"`{path}` is not merged yet")
            if mode not in _REGULAR:
                raise NoHistory(f"`{path}` is staged as something else than a file")
            inputs[path] = blob
        contents = self._blobs(list(inputs.values()))
        return Snapshot.of({path: contents[blob] for path, blob in inputs.items()})

    def commits(self, most: int) -> Iterator[str]:
        """Ids of commits from HEAD back along the first parents, at most so many."""
        # a shallow or damaged history simply ends
        commit: str | None = self.commit("HEAD")
        for _ in range(most):
            if commit is None:
                return
            yield commit
            text = self._git("cat-file", "commit", commit).decode("utf-8", "replace")
            parents = [
                line[7:] for line in text.partition("\n\n")[0].splitlines() if line.startswith("parent ")
            ]
            try:
                commit = self.commit(parents[0]) if parents else None
            except NoHistory:
                return

    def _inputs(self, commit: str) -> Mapping[str, tuple[str, str]]:
        """Mode and blob id of every input of the folder in a commit, by its path relative to the folder."""
        scope = Scope.of(self._folder)
        found: dict[str, tuple[str, str]] = {}
        below = ["--", self._prefix] if self._prefix else []
        for entry in self._git("ls-tree", "-rz", "--full-tree", commit, *below).split(b"\0")[:-1]:
            head, _, name = entry.partition(b"\t")
            mode, kind, blob = head.decode("ascii", "replace").split()
            path = name.decode("utf-8", "surrogateescape")
            if not path.startswith(self._prefix):
                continue
            path = path.removeprefix(self._prefix)
            if kind == "blob" and scope.can_hold(path, folder=False):
                found[path] = (mode, blob)
            if len(found) > _MOST_FILES:
                raise NoHistory(f"the revision has more than {_MOST_FILES} inputs")
        return found

    def _blobs(self, ids: Sequence[str]) -> Mapping[str, bytes]:
        """Contents by blob id."""
        wanted = list(dict.fromkeys(ids))
        data = self._git("cat-file", "--batch", given="".join(f"{blob}\n" for blob in wanted).encode())
        found: dict[str, bytes] = {}
        at = 0
        for blob in wanted:
            end = data.find(b"\n", at)
            head = data[at:end].split()
            if len(head) != 3 or head[1] != b"blob":
                raise NoHistory(f"object {blob[:12]} of the repository is damaged or missing")
            length = int(head[2])
            if length > LARGEST_DATA:
                raise NoHistory(f"object {blob[:12]} of the repository is too large for an input")
            content = data[end + 1 : end + 1 + length]
            if _blob_id(content, len(blob)) != blob:
                raise NoHistory(f"object {blob[:12]} of the repository is damaged")
            found[blob] = content
            at = end + 1 + length + 1
        return found

    def _differs_in_line_ends(self, blob: str | None, content: bytes | None) -> bool:
        if blob is None or content is None:
            return False
        old = self._blobs([blob])[blob]
        return old.replace(b"\r\n", b"\n") == content.replace(b"\r\n", b"\n")

    def _git(self, *arguments: str, given: bytes = b"") -> bytes:
        """Standard output of a plumbing command."""
        kept = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
        try:
            done = subprocess.run(  # no shell; the program is named by its whole path
                [
                    self._program,
                    "-c",
                    "core.fsmonitor=false",
                    "-c",
                    f"core.hooksPath={os.devnull}",
                    *arguments,
                ],
                cwd=self._folder,
                env=kept | _ENVIRONMENT,
                input=given,
                capture_output=True,
                timeout=_TIME_LIMIT_S,
                check=False,
            )
        except subprocess.TimeoutExpired as error:
            raise NoHistory(f"git did not answer within {_TIME_LIMIT_S:.0f} s") from error
        except OSError as error:
            raise NoHistory(f"git cannot be run: {(error.strerror or str(error)).lower()}") from error
        if done.returncode != 0:
            lines = done.stderr.decode("utf-8", "replace").strip().splitlines()
            said = lines[0].removeprefix("fatal: ") if lines else f"git ended with {done.returncode}"
            raise NoHistory(said[:200])
        return done.stdout


def revision_of(folder: Path, snapshot: Snapshot) -> Revision:
    """How the inputs relate to their repository; unversioned, with the reason, where that cannot be told."""
    try:
        return History(folder).head(snapshot)
    except NoHistory as reason:
        return Revision(reason=str(reason))


def _blob_id(content: bytes | None, length: int) -> str | None:
    """Id that git gives a file; the length of an id tells the hash that the repository uses."""
    if content is None:
        return None
    data = b"blob %d\0%s" % (len(content), content)
    # git's name for a content, no safeguard of ours
    return (
        hashlib.sha256(data).hexdigest()
        if length == 64
        else hashlib.sha1(data, usedforsecurity=False).hexdigest()
    )
