"""The watcher as a process: signals, kills, locks. Numbers are those of the fault list."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from service_fakes import Running, contents, leftovers, outputs_of

from reportgen.service.events import EventKind
from reportgen.service.exit_codes import ExitCode
from reportgen.service.folder_reader import take
from reportgen.service.lock import AlreadyWatched, FolderLock
from reportgen.service.manifest import read_manifest
from reportgen.service.publish import publish
from reportgen.service.status import State, Status, StatusError, read_status, status_errors, write_status

DRIVER = Path(__file__).parent / "drive_watch.py"


class Driven:
    """A watcher in a process of its own."""

    def __init__(self, root: Path, log: Path, slow_s: float) -> None:
        self.target, self.log = root / "binder", log
        self.process = subprocess.Popen(
            [sys.executable, str(DRIVER), str(root), str(self.target), str(log), str(slow_s)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )

    def until(self, kind: str) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            if json.loads(line)["kind"] == kind:
                return
        raise AssertionError(f"{kind} did not happen: {self.process.stderr.read()}")  # type: ignore[union-attr]

    def until_build(self, number: int) -> int:
        """Wait for the n-th build to run; return its process id."""
        for _ in range(1000):
            lines = self.log.read_text().splitlines() if self.log.exists() else []
            if len(lines) >= number:
                return int(lines[number - 1].split()[0])
            time.sleep(0.01)
        raise AssertionError("the build did not start")

    def end(self, timeout_s: float = 10.0) -> tuple[int, str]:
        _, errors = self.process.communicate(timeout=timeout_s)
        return self.process.returncode, errors


@pytest.fixture
def drive(project: Path, tmp_path: Path) -> Iterator[Callable[..., Driven]]:
    driven: list[Driven] = []

    def begin(slow_s: float = 0.0) -> Driven:
        driven.append(Driven(project, tmp_path / "builds.log", slow_s))
        return driven[-1]

    yield begin
    for one in driven:
        if one.process.poll() is None:
            one.process.kill()
        one.process.communicate()


def alive(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"


def gone(pid: int, within_s: float = 5.0) -> bool:
    deadline = time.monotonic() + within_s
    while alive(pid):
        if time.monotonic() > deadline:
            return False
        time.sleep(0.01)
    return True


def session_members(session: int) -> list[int]:
    """Processes of a watcher: it, its fork server and its builds all belong to one session."""
    found = []
    for place in Path("/proc").iterdir():
        if place.name.isdigit():
            try:
                words = (place / "stat").read_text().rpartition(")")[2].split()
            except OSError:
                continue
            if int(words[3]) == session and words[0] != "Z":
                found.append(int(place.name))
    return found


def all_gone(session: int) -> bool:
    for _ in range(300):
        if not session_members(session):
            return True
        time.sleep(0.01)
    return False


@pytest.mark.parametrize(("number", "code"), [(signal.SIGTERM, 143), (signal.SIGINT, 130)])
def test_fault_25_signal_while_idle(
    drive: Callable[..., Driven], project: Path, number: int, code: int
) -> None:
    driven = drive()
    driven.until("published")
    before = contents(driven.target)
    driven.process.send_signal(number)
    assert driven.end() == (code, "")
    assert contents(driven.target) == before
    assert leftovers(project) == []
    status = read_status(project / "status.json")
    assert status is not None
    assert (status.state, status.stale) == (State.STOPPED, False)
    assert all_gone(driven.process.pid)


def test_fault_25_signal_during_a_build(drive: Callable[..., Driven], project: Path) -> None:
    driven = drive()
    driven.until("published")
    before = contents(driven.target)
    (project / "a.yaml").write_text("do: hang\n")  # ignores SIGTERM too
    pid = driven.until_build(2)
    driven.process.send_signal(signal.SIGTERM)
    assert driven.end() == (143, "")
    assert gone(pid)
    assert contents(driven.target) == before
    assert leftovers(project) == []
    status = read_status(project / "status.json")
    assert status is not None
    assert status.stale
    assert all_gone(driven.process.pid)


def test_fault_26_second_interrupt_ends_at_once(drive: Callable[..., Driven], project: Path) -> None:
    driven = drive()
    driven.until("published")
    before = contents(driven.target)
    (project / "a.yaml").write_text("do: hang\n")
    pid = driven.until_build(2)
    driven.process.send_signal(signal.SIGINT)
    time.sleep(0.1)  # less than the grace that the hanging build has
    begun = time.monotonic()
    driven.process.send_signal(signal.SIGINT)
    assert driven.process.wait(5) == 130
    assert time.monotonic() - begun < 0.4
    assert gone(pid)
    assert contents(driven.target) == before


@pytest.mark.parametrize("hanging", [False, True])
def test_fault_27_kill_of_the_watcher_during_a_build(
    drive: Callable[..., Driven], start: Callable[..., Running], project: Path, hanging: bool
) -> None:
    driven = drive()
    driven.until("published")
    before = contents(driven.target)
    (project / "a.yaml").write_text("do: hang\n" if hanging else "do: slow 0.5\nsay: two\n")
    pid = driven.until_build(2)
    driven.process.kill()
    driven.process.wait()
    assert gone(pid)
    assert all_gone(driven.process.pid)
    assert contents(driven.target) == before
    (project / "a.yaml").write_text("say: three\n")
    running = start()
    running.wait_published()
    assert b"say: three" in running.html()
    assert leftovers(project) == []


def test_fault_27_next_start_clears_what_a_killed_publication_left(
    start: Callable[..., Running], project: Path
) -> None:
    stale = project / ".binder.staging-0123456789abcdef"
    (stale / "schedules").mkdir(parents=True)
    (stale / "binder.html").write_text("half")
    running = start()
    running.wait_published()
    assert leftovers(project) == []


@pytest.mark.parametrize("kills", [5, pytest.param(150, marks=pytest.mark.slow)])
def test_fault_27_kill_at_random_moments_of_watching(
    drive: Callable[..., Driven], start: Callable[..., Running], project: Path, kills: int
) -> None:
    chance = random.Random(27)
    first = drive()
    first.until("published")
    first.process.kill()
    first.process.wait()
    states = {take(project).digest: dict(take(project).files)}
    for number in range(kills):
        driven = drive()
        driven.until("started")
        for edit in range(3):
            (project / "a.yaml").write_text(f"say: {number} {edit}\n")
            states[take(project).digest] = dict(take(project).files)
            time.sleep(chance.random() * 0.25)
        driven.process.kill()
        driven.process.wait()
        published = read_manifest(driven.target)
        assert published is not None
        digest = published.input_digest
        assert contents(driven.target) == outputs_of(states[digest], digest)
    running = start()
    running.wait_published()
    assert contents(running.target) == outputs_of(take(project).files, take(project).digest)
    assert leftovers(project) == []


def test_fault_27_a_draft_of_the_status_is_cleared_at_the_next_start(
    start: Callable[..., Running], project: Path
) -> None:
    (project / f".status.json.{'0a' * 8}").write_text("half")
    (project / ".status.json.mine").write_text("another's")
    running = start()
    running.wait_published()
    assert leftovers(project) == [".status.json.mine"]


def test_fault_29_second_watcher_ends_with_3_and_names_the_first(
    drive: Callable[..., Driven], project: Path
) -> None:
    first = drive()
    first.until("published")
    before = contents(first.target)
    second = drive()
    code, errors = second.end()
    assert code == 3
    assert f"process {first.process.pid}" in errors
    assert contents(first.target) == before
    first.process.kill()
    first.process.wait()
    third = drive()
    third.until("up-to-date")


def test_fault_29_lock_is_one_for_one_output_folder(project: Path, tmp_path: Path) -> None:
    (tmp_path / "alias").symlink_to(project)
    with FolderLock(project / "binder") as lock:
        assert lock.path.stat().st_mode & 0o77 == 0
        assert not lock.path.is_relative_to(project)
        with pytest.raises(AlreadyWatched) as caught:
            FolderLock(tmp_path / "alias" / "binder").acquire()
        assert caught.value.pid == os.getpid()
        assert caught.value.exit_code is ExitCode.ALREADY_WATCHED
        with FolderLock(project / "other"):
            pass
    with FolderLock(project / "binder"):
        pass


def test_fault_29_lock_survives_the_deletion_of_the_project(project: Path) -> None:
    with FolderLock(project / "binder"):
        (project / "a.yaml").unlink()
        project.rmdir()
        project.mkdir()
        with pytest.raises(AlreadyWatched):
            FolderLock(project / "binder").acquire()


def test_fault_29_damaged_lock_file_still_locks(project: Path) -> None:
    with FolderLock(project / "binder") as lock:
        lock.path.write_bytes(b"\xff nonsense")
        with pytest.raises(AlreadyWatched, match="another process"):
            FolderLock(project / "binder").acquire()


def test_fault_35_watcher_refuses_a_folder_of_others_before_it_builds(
    start: Callable[..., Running], project: Path
) -> None:
    (project / "binder").mkdir()
    (project / "binder" / "thesis.txt").write_text("mine")
    running = start()
    running._thread.join(5)
    assert type(running.failure).__name__ == "PublishRefused"
    assert running.builds() == 0
    assert contents(project / "binder") == {"thesis.txt": b"mine"}


def test_watcher_of_a_missing_folder_does_not_start(start: Callable[..., Running], tmp_path: Path) -> None:
    running = start(root=tmp_path / "nowhere")
    running._thread.join(5)
    assert isinstance(running.failure, OSError)


@pytest.mark.parametrize(
    "text",
    ["", "{", "[]", "null", '{"state": "idle"}', '{"state": "odd", "stale": true}', "[" * 100_000, "\x00"],
)
def test_fault_33_damaged_status_is_no_status(tmp_path: Path, text: str) -> None:
    (tmp_path / "status.json").write_text(text)
    assert read_status(tmp_path / "status.json") is None


def test_fault_33_stale_status_of_a_killed_watcher_is_replaced(
    start: Callable[..., Running], project: Path
) -> None:
    write_status(project / "status.json", Status(State.BUILDING, True, "x", "y", pid=1))
    running = start()
    running.wait_kind(EventKind.PUBLISHED)
    running.wait(lambda: running.status.state is State.IDLE)
    assert running.status.pid == os.getpid()


def test_status_comes_back_as_written(tmp_path: Path) -> None:
    errors = (StatusError("c", "m é", "a.yaml", 3, 4, "error", "h"),)
    status = Status(State.FAILED, True, "a", "b", errors=errors, errors_total=1, counters={"published": 2})
    write_status(tmp_path / "status.json", status)
    assert read_status(tmp_path / "status.json") == status
    assert list(tmp_path.iterdir()) == [tmp_path / "status.json"]


def test_status_that_cannot_be_written_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fake: the last step fails."""
    path = tmp_path / "status.json"
    write_status(path, Status(State.IDLE, False))

    def refuse(self: Path, goal: Path) -> Any:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(OSError, match="No space"):
        write_status(path, Status(State.FAILED, True))
    assert read_status(path) == Status(State.IDLE, False)
    assert list(tmp_path.iterdir()) == [path]


def test_refused_build_tells_the_place_of_the_error(start: Callable[..., Running], project: Path) -> None:
    running = start()
    running.wait_published()
    before = contents(running.target)
    (project / "b.yaml").write_text("")
    event = running.wait_kind(EventKind.REFUSED)
    assert event.errors == 1
    assert event.stale
    status = running.status
    assert (status.state, status.stale) == (State.FAILED, True)
    assert status.errors == status_errors(event.diagnostics)
    assert (status.errors[0].file, status.errors[0].line, status.errors[0].column) == ("b.yaml", 3, 5)
    assert status.published_digest != status.input_digest
    assert contents(running.target) == before


def test_publication_by_another_process_is_noticed(start: Callable[..., Running], project: Path) -> None:
    running = start()
    running.wait_published()
    publish(outputs_of({}, "other"), running.target)
    running.wait(lambda: running.count(EventKind.PUBLISHED) == 2)
    running.wait_published()
