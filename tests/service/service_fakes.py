"""A tiny build that the watcher's children import, and a watcher in a thread that tests can ask."""

from __future__ import annotations

import json
import os
import re
import signal
import sys
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from html import unescape
from pathlib import Path
from typing import Any

from reportgen.diagnostics.model import Diagnostic, InputRefused, Label, Span
from reportgen.service.ahead import Ahead, Lent, tell
from reportgen.service.events import ENDINGS, EventKind, WatchEvent
from reportgen.service.folder_reader import take
from reportgen.service.manifest import manifest, read_manifest, verify
from reportgen.service.recipe import Recipe, Timing
from reportgen.service.snapshot import Snapshot
from reportgen.service.status import State, Status, read_status
from reportgen.service.watcher import Watcher

QUICK = Timing(
    quiet_s=0.1,
    longest_s=0.8,
    rescan_s=0.3,
    missing_s=0.1,
    rearm_s=0.5,
    build_timeout_s=20.0,
    grace_s=0.5,
    retry_s=0.2,
    retry_longest_s=0.4,
)


@dataclass(frozen=True)
class FakeBuilt:
    outputs: Mapping[str, bytes]
    exit_code: int = 0
    diagnostics: list[Diagnostic] = field(default_factory=list)
    summary: str = "built"
    findings: list[dict[str, str]] = field(default_factory=list)


def outputs_of(files: Mapping[str, bytes], digest: str, *, big: int = 0) -> dict[str, bytes]:
    """What the fake build makes of a state of the folder: the text of its YAML files, in two files."""
    text = b"".join(
        b"# %s\n%s" % (path.encode(), files[path]) for path in sorted(files) if path.endswith("yaml")
    )
    outputs = {"binder.html": text, "schedules/conductors.csv": text + b"0" * big}
    outputs["results.json"] = json.dumps({"findings": findings_of(files)}).encode()
    outputs["manifest.json"] = manifest(outputs, digest, "1", "t")
    return outputs


def findings_of(files: Mapping[str, bytes]) -> list[dict[str, str]]:
    found = []
    for data in files.values():
        for line in data.decode("utf-8", "replace").splitlines():
            if line.startswith("finding: "):
                name, outcome = line.removeprefix("finding: ").split()
                found.append({"id": name, "outcome": outcome})
    return found


def build(snapshot: Snapshot, options: object) -> FakeBuilt:
    """Build as the files say: each line ``do: WORD`` is an order."""
    assert isinstance(options, dict)
    with Path(options["log"]).open("a") as stream:
        stream.write(f"{os.getpid()} {snapshot.digest}\n")
    time.sleep(options.get("slow_s", 0.0))
    if any(not data for data in snapshot.files.values()) or snapshot.refused:
        span = Span(next((path for path, data in snapshot.files.items() if not data), ""), 3, 5)
        raise InputRefused([*snapshot.problems, Diagnostic("empty", "file is empty", labels=(Label(span),))])
    if any(b"ahead: " in data for data in snapshot.files.values()):
        outputs = outputs_of(snapshot.files, snapshot.digest)
        found = {item["id"]: item["outcome"] for item in findings_of(snapshot.files)}
        tell(Ahead({"binder.html": outputs["binder.html"]}, "pages built", found))
    for data in snapshot.files.values():
        for line in data.decode("utf-8", "replace").splitlines():
            if line.startswith("do: "):
                _do(line.removeprefix("do: "))
    digest = "0" * 64 if b"do: lie" in b"".join(snapshot.files.values()) else snapshot.digest
    return FakeBuilt(outputs_of(snapshot.files, digest), findings=findings_of(snapshot.files))


def _do(order: str) -> None:
    word, _, rest = order.partition(" ")
    if word == "slow":
        time.sleep(float(rest))
    elif word == "hang":
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
        time.sleep(600)
    elif word == "die":
        os.kill(os.getpid(), int(rest))
    elif word == "quit":
        os._exit(int(rest))
    elif word == "raise":
        raise RuntimeError("the fake build has a defect")
    elif word == "exit":
        sys.exit(9)
    elif word == "print":
        block = b"x" * 1_000_000
        for _ in range(int(rest)):
            os.write(2, block)
        os.write(1, b"the end")
    elif word == "short":
        raise OSError(int(rest), os.strerror(int(rest)))


class Running:
    """A watcher in a thread of the test, with everything that it said."""

    def __init__(
        self,
        root: Path,
        log: Path,
        *,
        target: Path | None = None,
        timing: Timing = QUICK,
        slow_s: float = 0.0,
        stop_after: int | None = None,
    ) -> None:
        self.root, self.log = root, log
        self.target = target or root / "binder"
        self.events: list[WatchEvent] = []
        self._changed = threading.Condition()
        recipe = Recipe(
            "1",
            "t",
            "service_fakes:build",
            {"log": str(log), "slow_s": slow_s},
            preload=("reportgen.service.watch",),
        )
        self.lent = Lent()
        self.watcher = Watcher(
            root, self.target, recipe, self._note, timing=timing, stop_after=stop_after, lent=self.lent
        )
        self.failure: BaseException | None = None
        self.code: int | None = None
        self._thread = threading.Thread(target=self._run)
        self._thread.start()

    def _run(self) -> None:
        try:
            self.code = self.watcher.run()
        except Exception as error:  # noqa: BLE001  (the test looks at it)
            self.failure = error
        with self._changed:
            self._changed.notify_all()

    def _note(self, event: WatchEvent) -> None:
        with self._changed:
            self.events.append(event)
            self._changed.notify_all()

    def count(self, *kinds: EventKind) -> int:
        return sum(event.kind in kinds for event in self.events)

    @property
    def ended(self) -> int:
        return self.count(*ENDINGS)

    def last(self, kind: EventKind) -> WatchEvent:
        return next(event for event in reversed(self.events) if event.kind is kind)

    def wait(self, when: Callable[[], Any], timeout_s: float = 15.0) -> None:
        deadline = time.monotonic() + timeout_s
        with self._changed:
            while not when():
                left = deadline - time.monotonic()
                if left <= 0 or not self._thread.is_alive():
                    said = [(event.kind.value, event.message) for event in self.events]
                    raise AssertionError(f"did not happen: {said}, failure {self.failure!r}")
                self._changed.wait(min(left, 0.05))

    def wait_published(self) -> None:
        """Wait until the binder holds the folder's present state, the watcher is at rest and its event was told.

        The status is written before the event is told, so the one alone does not say that the other is there.
        """
        self.wait(
            lambda: (
                self.is_current()
                and self.status.state == "idle"
                and not self.status.stale
                and self.count(EventKind.PUBLISHED) >= self.status.counters.get(EventKind.PUBLISHED.value, 0)
            )
        )

    def wait_kind(self, kind: EventKind, times: int = 1) -> WatchEvent:
        self.wait(lambda: self.count(kind) >= times)
        return self.last(kind)

    def is_current(self) -> bool:
        known = read_manifest(self.target)
        return known is not None and known.input_digest == take(self.root, (self.target,)).digest

    def builds(self) -> int:
        return len(self.log.read_text().splitlines()) if self.log.exists() else 0

    @property
    def status(self) -> Status:
        status = read_status(self.target.parent / "status.json")
        return status or Status(State.STOPPED, True)

    def html(self) -> bytes:
        return (self.target / "binder.html").read_bytes()

    def whole(self) -> bool:
        return verify(self.target) == []

    def end(self) -> None:
        self.watcher.stop()
        self._thread.join(10)
        assert not self._thread.is_alive()


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its bytes."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.is_symlink()
    }


def leftovers(folder: Path) -> list[str]:
    """Staging folders and drafts of ours in a folder."""
    return sorted(path.name for path in folder.iterdir() if path.name.startswith("."))


@dataclass(frozen=True)
class FakeOptions:
    """Stands for the options of the real build, whose module the children need not load; and what the fake one is told."""

    log: str = ""
    slow_s: float = 0.0
    strict: bool = False
    text: str = ""


def build_many(snapshot: Snapshot, options: FakeOptions) -> FakeBuilt:
    """The same build for options that are no mapping."""
    return build(snapshot, {"log": options.log, "slow_s": options.slow_s})


def put_often(folder: Path) -> None:
    """Keep sixty different arrays under one key, one after the other; the body of a process."""
    import numpy as np

    from reportgen.service.cache import FolderCache

    for number in range(60):
        FolderCache(folder).put("k", {"a": np.full(2000, float(number))})


def unmarked(page: str) -> str:
    """The text of a page without its markup: a sentence in it may be tied together by spans."""
    return unescape(re.sub(r"<[^>]*>", "", page))
