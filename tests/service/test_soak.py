"""Edits of every kind and kills at any moment: what is published is always a clean build of one state of the folder.

At rest it is the build of the last state. The edits are drawn by hypothesis; every second one is followed by kill -9 of
the watcher after a time that is drawn as well, and by a new start. The long run makes more than five hundred edits.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import ClassVar

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    precondition,
    rule,
    run_state_machine_as_test,
)
from service_fakes import contents, leftovers, outputs_of

from reportgen.service.folder_reader import take
from reportgen.service.manifest import MANIFEST, read_manifest
from reportgen.service.status import read_status

DRIVER = Path(__file__).parent / "drive_watch.py"
FILES = st.sampled_from(["a.yaml", "b.yaml", "deep/down/c.yaml", "notes.txt"])
WAYS = st.sampled_from(
    ["in place", "rename", "in two pieces", "delete", "empty", "touch", "bad link", "away and back"]
)
PAUSES = st.floats(0.0, 0.5)


EDITS = 40  # of one run; hypothesis keeps no longer stories


class Soak(RuleBasedStateMachine):
    """A project folder, a watcher over it in a process of its own, and every state that the folder has been in."""

    whole: ClassVar[list[int]]

    def __init__(self) -> None:
        super().__init__()
        self.room = tempfile.TemporaryDirectory()
        self.base = Path(self.room.name)
        self.root = self.base / "project"
        self.target = self.root / "binder"
        self.root.mkdir()
        self.states: dict[str, dict[str, bytes]] = {}
        self.count = 0
        self.kills = 0
        self.process: subprocess.Popen[bytes] | None = None

    @initialize()
    def begin(self) -> None:
        (self.root / "a.yaml").write_text("say: first\n")
        self._note()
        self._start()

    @rule(file=FILES, way=WAYS, pause=PAUSES)
    @precondition(lambda self: self.count % 2 == 0)
    def edit(self, file: str, way: str, pause: float) -> None:
        self._edit(file, way)
        time.sleep(pause)
        self._look()

    @rule(file=FILES, way=WAYS, pause=PAUSES)
    @precondition(lambda self: self.count % 2 == 1)
    def edit_and_kill(self, file: str, way: str, pause: float) -> None:
        self._edit(file, way)
        time.sleep(pause)
        assert self.process is not None
        self.process.kill()
        self.process.wait()
        self.kills += 1
        self._look()
        self._start()

    def teardown(self) -> None:
        try:
            if self.count >= EDITS:
                self._rest()
        finally:
            if self.process is not None:
                self.process.kill()
                self.process.wait()
            self.room.cleanup()

    def _start(self) -> None:
        log = self.base / "builds.log"
        with (self.base / "said.log").open("ab") as said:
            self.process = subprocess.Popen(
                [sys.executable, str(DRIVER), str(self.root), str(self.target), str(log), "0.05"],
                stdout=said,
                stderr=said,
                env={**os.environ, "XDG_CACHE_HOME": str(self.base / "cache")},
            )

    def _note(self) -> None:
        snapshot = take(self.root, (self.target,))
        self.states[snapshot.digest] = dict(snapshot.files)

    def _edit(self, name: str, way: str) -> None:
        self.count += 1
        path = self.root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        text = f"say: {self.count}\n"
        if way == "in place":
            path.write_text(text)
        elif way == "rename":
            draft = path.with_name(f".{path.name}.swp")
            draft.write_text(text)
            draft.replace(path)
        elif way == "in two pieces":
            with path.open("w") as stream:
                stream.write("say:")
                stream.flush()
                self._note()  # a state of the folder like any other, if somebody looks just now
                time.sleep(0.15)
                stream.write(f" {self.count}\n")
        elif way == "delete":
            path.unlink(missing_ok=True)
        elif way == "empty":
            path.write_text("")
        elif way == "touch":
            path.touch()
        elif way == "bad link":
            path.unlink(missing_ok=True)
            path.symlink_to("/etc/hostname")
        else:
            aside = self.base / "aside"
            if path.exists():
                path.replace(aside)
                self._note()
                time.sleep(0.05)
                aside.replace(path)
        self._note()

    def _look(self) -> None:
        """The published folder is one whole build of one of the states; looked at again if another came meanwhile."""
        for _ in range(50):
            known = read_manifest(self.target)
            if known is None:
                assert not (self.target / MANIFEST).exists()
                return
            try:
                found = contents(self.target)
            except OSError:
                found = {}
            if read_manifest(self.target) == known:
                assert found == outputs_of(self.states[known.input_digest], known.input_digest)
                return
        raise AssertionError("the published folder does not stand still")

    def _rest(self) -> None:
        """Mend what is refused, wait until nothing is left to be done, and compare with a clean build."""
        for path in self.root.rglob("*.yaml"):
            if path.is_symlink() or not path.read_bytes():
                path.unlink()
        (self.root / "a.yaml").write_text("say: last\n")
        self._note()
        last = take(self.root, (self.target,))
        deadline = time.monotonic() + 30
        while True:
            known, status = read_manifest(self.target), read_status(self.root / "status.json")
            if (
                known
                and status
                and known.input_digest == last.digest
                and status.state == "idle"
                and not status.stale
            ):
                break
            assert time.monotonic() < deadline, (status, (self.base / "said.log").read_text()[-2000:])
            time.sleep(0.05)
        assert contents(self.target) == outputs_of(dict(last.files), last.digest)
        assert leftovers(self.root) == []
        assert self.kills == EDITS // 2
        self.whole.append(self.count)


@pytest.mark.parametrize("runs", [1, pytest.param(13, marks=pytest.mark.slow)])
def test_what_is_published_is_always_a_clean_build_of_some_state_and_at_rest_of_the_last(runs: int) -> None:
    class Machine(Soak):
        whole: ClassVar[list[int]] = []

    run_state_machine_as_test(
        Machine,
        settings=settings(
            max_examples=1 + runs,  # the first is always the plainest: one file, no pause
            stateful_step_count=EDITS + 1,  # the first step is the beginning
            phases=[Phase.generate],
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
        ),
        _min_steps=EDITS + 1,
    )
    assert sum(Machine.whole) >= EDITS * (1 + runs)
