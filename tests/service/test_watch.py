"""The loop against what editors, version control and disks do to a folder. Numbers are those of the fault list."""

from __future__ import annotations

import errno
import os
import shutil
import signal
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from service_fakes import QUICK, Running, contents, leftovers

from reportgen.service import folder_reader, hints, publish
from reportgen.service.events import EventKind
from reportgen.service.recipe import Timing
from reportgen.service.status import WatchMode

Start = Callable[..., Running]


def settled(running: Running, seconds: float = 0.6) -> int:
    """Builds so far, once nothing more comes for a while."""
    time.sleep(seconds)
    return running.builds()


def test_first_build_then_a_change_is_published_with_what_changed(start: Start, project: Path) -> None:
    (project / "a.yaml").write_text("finding: drop thin\nfinding: fill meets\n")
    (project / "gone.yaml").write_text("say: two\n")
    running = start()
    running.wait_published()
    first = running.last(EventKind.PUBLISHED)
    assert first.changes.added == ("a.yaml", "gone.yaml")
    assert [change.id for change in first.gained] == ["drop"]

    (project / "a.yaml").write_text("finding: drop fails\nfinding: fill meets\n")
    (project / "new.yaml").write_text("say: three\n")
    (project / "gone.yaml").unlink()
    running.wait(lambda: running.ended >= 2)
    running.wait_published()
    second = running.last(EventKind.PUBLISHED)
    assert (second.changes.added, second.changes.changed, second.changes.removed) == (
        ("new.yaml",),
        ("a.yaml",),
        ("gone.yaml",),
    )
    assert [(change.before, change.after) for change in second.gained] == [("thin", "fails")]
    assert second.seconds is not None
    assert second.seconds > 0

    (project / "a.yaml").write_text("finding: drop meets\nfinding: fill meets\n")
    running.wait(lambda: running.ended >= 3)
    assert [change.id for change in running.last(EventKind.PUBLISHED).lost] == ["drop"]
    assert running.whole()
    assert running.builds() == 3


def test_restart_on_unchanged_inputs_builds_nothing(start: Start) -> None:
    one = start()
    one.wait_published()
    one.end()
    two = start()
    two.wait_kind(EventKind.UP_TO_DATE)
    assert settled(two) == 1


def test_stop_after_ends_the_loop(start: Start) -> None:
    running = start(stop_after=1)
    running.wait_kind(EventKind.STOPPED)
    assert running.count(EventKind.PUBLISHED) == 1


def test_fault_01_truncate_pause_write_gives_one_build_and_never_the_empty_state(
    start: Start, project: Path
) -> None:
    running = start(timing=Timing(quiet_s=0.1, longest_s=2.0, rescan_s=0.3))
    running.wait_published()
    with (project / "a.yaml").open("w") as stream:
        time.sleep(0.6)
        stream.write("say: half\n")
        stream.flush()
        time.sleep(0.4)
        stream.write("say: all\n")
    running.wait(lambda: running.ended >= 2)
    assert settled(running) == 2
    assert running.count(EventKind.REFUSED) == 0
    assert b"say: all" in running.html()


def test_fault_01_emptied_and_closed_then_written_gives_one_build(start: Start, project: Path) -> None:
    running = start(timing=Timing(quiet_s=0.1, longest_s=2.0, rescan_s=0.3))
    running.wait_published()
    (project / "a.yaml").write_text("")
    time.sleep(0.6)
    (project / "a.yaml").write_text("say: all\n")
    running.wait(lambda: running.ended >= 2)
    assert settled(running) == 2
    assert running.count(EventKind.REFUSED) == 0


def test_a_file_that_stays_empty_is_believed_after_the_longest_wait(start: Start, project: Path) -> None:
    running = start()
    running.wait_published()
    (project / "a.yaml").write_text("")
    running.wait_kind(EventKind.REFUSED)
    assert running.status.errors[0].file == "a.yaml"


@pytest.mark.parametrize("inside", [True, False])
def test_fault_02_temporary_file_and_rename_is_one_build(
    start: Start, project: Path, tmp_path: Path, inside: bool
) -> None:
    running = start()
    running.wait_published()
    draft = (project if inside else tmp_path) / "a.yaml.tmp"
    draft.write_text("say: two\n")
    draft.replace(project / "a.yaml")
    running.wait(lambda: running.ended >= 2)
    assert settled(running) == 2
    assert b"say: two" in running.html()


def test_fault_03_backup_and_swap_files_of_editors_are_no_inputs(start: Start, project: Path) -> None:
    running = start()
    running.wait_published()
    (project / ".a.yaml.swp").write_bytes(b"b0VIM")
    (project / "4913").write_text("")
    (project / "4913").unlink()
    (project / "a.yaml").rename(project / "a.yaml~")
    (project / "a.yaml").write_text("say: two\n")
    (project / "a.yaml").chmod(0o644)
    (project / "a.yaml~").unlink()
    (project / ".a.yaml.swp").unlink()
    (project / "sedAbC123").write_text("say: three\n")
    (project / "sedAbC123").rename(project / "a.yaml")
    running.wait(lambda: running.ended >= 2)
    assert settled(running) == 2
    assert b"say: three" in running.html()
    assert running.last(EventKind.PUBLISHED).changes.changed == ("a.yaml",)


def test_fault_04_same_bytes_touch_and_chmod_build_nothing(start: Start, project: Path) -> None:
    running = start()
    running.wait_published()
    (project / "a.yaml").write_text("say: one\n")
    os.utime(project / "a.yaml")
    (project / "a.yaml").chmod(0o600)
    assert settled(running, 1.0) == 1


def test_fault_05_two_hundred_files_at_once_are_one_build(start: Start, project: Path) -> None:
    # Writing them takes a busy machine longer than the quick quiet period, and a pause in it is rightly two builds.
    running = start(timing=replace(QUICK, quiet_s=0.8, longest_s=8.0, rescan_s=4.0))
    running.wait_published()
    for number in range(200):
        folder = project / f"f{number % 7}"
        folder.mkdir(exist_ok=True)
        (folder / f"{number}.yaml").write_text(f"say: {number}\n")
    running.wait(lambda: running.ended >= 2)
    running.wait_published()
    assert settled(running, 1.6) == 2
    assert len(running.last(EventKind.PUBLISHED).changes.added) == 200


@pytest.mark.slow
def test_fault_06_saving_all_the_time_still_builds_and_ends_on_the_last_state(
    start: Start, project: Path
) -> None:
    running = start(slow_s=0.3)
    running.wait_published()
    for number in range(200):
        (project / "a.yaml").write_text(f"say: {number}\n")
        time.sleep(0.05)
    assert running.count(EventKind.PUBLISHED) >= 2  # while the saving went on
    running.wait_published()
    assert b"say: 199" in running.html()


def test_fault_07_change_during_a_build_cuts_it_short(start: Start, project: Path) -> None:
    running = start()
    running.wait_published()
    before = contents(running.target)
    (project / "a.yaml").write_text("do: slow 5\nsay: old\n")
    running.wait(lambda: running.builds() == 2)
    assert contents(running.target) == before
    (project / "a.yaml").write_text("say: new\n")
    running.wait_published()
    assert running.count(EventKind.CANCELLED) == 1
    assert b"say: new" in running.html()
    assert running.last(EventKind.PUBLISHED).seconds < 5  # type: ignore[operator]


def test_fault_07_a_result_of_older_inputs_is_not_published(
    start: Start, project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # no events and no periodic look: only the comparison before publication can notice
    monkeypatch.setattr(hints.HintSource, "dispatch", lambda self, event: None)
    running = start(timing=Timing(quiet_s=0.1, longest_s=0.5, rescan_s=60.0), slow_s=0.6)
    running.wait(lambda: running.builds() == 1)
    (project / "a.yaml").write_text("say: new\n")
    running.wait_kind(EventKind.PUBLISHED)
    assert running.count(EventKind.CANCELLED) == 1
    assert running.count(EventKind.PUBLISHED) == 1
    assert b"say: new" in running.html()


def test_at_most_three_builds_in_a_row_are_cut_short(start: Start, project: Path) -> None:
    running = start(slow_s=1.0)
    running.wait(lambda: running.builds() == 1)
    for number in range(4):
        (project / "a.yaml").write_text(f"say: {number}\n")
        running.wait(lambda: running.count(EventKind.CANCELLED, EventKind.PUBLISHED) > 0)
        if running.count(EventKind.PUBLISHED):
            break
        wanted = min(number + 2, 4)
        running.wait(lambda wanted=wanted: running.builds() >= wanted)  # type: ignore[misc]
    event = running.wait_kind(EventKind.PUBLISHED)
    assert running.count(EventKind.CANCELLED) == 3
    assert event.stale
    assert "changed since" in event.message
    running.wait_published()
    assert b"say: 3" in running.html()


def test_fault_08_change_and_change_back_during_a_build_publishes_the_state_that_is_named(
    start: Start, project: Path
) -> None:
    running = start(timing=Timing(quiet_s=0.5, longest_s=2.0, rescan_s=5.0), slow_s=0.6)
    running.wait(lambda: running.builds() == 1)
    (project / "a.yaml").write_text("say: two\n")
    time.sleep(0.2)
    (project / "a.yaml").write_text("say: one\n")
    running.wait_published()
    assert b"say: one" in running.html()
    assert settled(running, 1.0) == 1


def test_fault_08_back_to_what_is_published_needs_no_build(start: Start, project: Path) -> None:
    running = start()
    running.wait_published()
    before = contents(running.target)
    (project / "a.yaml").write_text("do: slow 5\n")
    running.wait(lambda: running.builds() == 2)
    (project / "a.yaml").write_text("say: one\n")
    running.wait_kind(EventKind.UP_TO_DATE)
    running.wait_published()
    assert settled(running) == 2
    assert contents(running.target) == before


def test_fault_09_own_outputs_and_status_do_not_rebuild(start: Start, project: Path) -> None:
    (project / "papers").mkdir()
    running = start(target=project / "papers" / "out")
    running.wait_published()
    assert (project / "papers" / "status.json").exists()
    assert settled(running, 1.2) == 1


def test_fault_10_reading_the_inputs_builds_nothing(start: Start, project: Path) -> None:
    running = start()
    running.wait_published()
    for _ in range(20):
        (project / "a.yaml").read_bytes()
        list(project.iterdir())
    assert settled(running, 1.0) == 1


def test_fault_11_root_deleted_and_made_again(start: Start, project: Path, tmp_path: Path) -> None:
    running = start(target=tmp_path / "out")
    running.wait_published()
    before = contents(running.target)
    shutil.rmtree(project)
    running.wait_kind(EventKind.MISSING)
    running.wait(lambda: running.status.state == "missing")
    assert running.status.stale
    assert contents(running.target) == before
    project.mkdir()
    (project / "b.yaml").write_text("say: back\n")
    running.wait(lambda: running.count(EventKind.PUBLISHED) == 2)
    assert running.count(EventKind.BACK) == 1
    (project / "b.yaml").write_text("say: again\n")
    running.wait(lambda: b"say: again" in running.html())
    running.wait(lambda: running.watcher._source.armed)


def test_fault_11_root_with_the_binder_in_it_deleted_and_made_again_alike(
    start: Start, project: Path
) -> None:
    running = start()
    running.wait_published()
    shutil.rmtree(project)
    running.wait_kind(EventKind.MISSING)
    project.mkdir()
    (project / "a.yaml").write_text("say: one\n")
    running.wait(lambda: running.count(EventKind.PUBLISHED) == 2)
    running.wait_published()
    assert running.whole()


def test_fault_12_root_renamed_away_and_a_new_one_in_its_place(
    start: Start, project: Path, tmp_path: Path
) -> None:
    running = start(target=tmp_path / "out")
    running.wait_published()
    project.rename(tmp_path / "elsewhere")
    project.mkdir()
    (project / "a.yaml").write_text("say: new\n")
    running.wait(lambda: b"say: new" in running.html())
    (tmp_path / "elsewhere" / "a.yaml").write_text("say: stray\n")
    (project / "a.yaml").write_text("say: newer\n")
    running.wait(lambda: b"say: newer" in running.html())
    assert settled(running) == 3


def test_fault_13_folder_and_file_in_the_same_instant(start: Start, project: Path) -> None:
    running = start()
    running.wait_published()
    (project / "deep" / "er").mkdir(parents=True)
    (project / "deep" / "er" / "b.yaml").write_text("say: deep\n")
    running.wait(lambda: b"say: deep" in running.html())
    (project / "deep" / "er" / "b.yaml").write_text("say: deeper\n")
    running.wait(lambda: b"say: deeper" in running.html())


def test_fault_14_file_moved_out_of_the_tree(start: Start, project: Path, tmp_path: Path) -> None:
    (project / "b.yaml").write_text("say: two\n")
    running = start()
    running.wait_published()
    (project / "b.yaml").rename(tmp_path / "b.yaml")
    running.wait(lambda: b"say: two" not in running.html())
    running.wait_published()
    assert running.last(EventKind.PUBLISHED).changes.removed == ("b.yaml",)


def test_fault_15_target_of_a_linked_input_edited(start: Start, project: Path) -> None:
    store = project / ".store"
    store.mkdir()
    (store / "real").write_text("say: one\n")
    (project / "b.yaml").symlink_to(store / "real")
    running = start()
    running.wait_published()
    (store / "real").write_text("say: linked\n")
    running.wait(lambda: b"say: linked" in running.html())


def test_fault_15_link_leaving_the_project_is_refused_and_the_binder_kept(
    start: Start, project: Path, tmp_path: Path
) -> None:
    running = start()
    running.wait_published()
    before = contents(running.target)
    (tmp_path / "secret.yaml").write_text("say: secret\n")
    (project / "b.yaml").symlink_to(tmp_path / "secret.yaml")
    event = running.wait_kind(EventKind.REFUSED)
    assert next(item.code for item in event.diagnostics) == "link-leaves-folder"
    assert contents(running.target) == before
    running.wait(lambda: running.status.state == "failed")
    assert running.status.stale


@pytest.mark.parametrize(("where", "number"), [("constructor", errno.EMFILE), ("start", errno.ENOSPC)])
def test_faults_17_18_no_watches_left_falls_back_to_looking(
    start: Start, project: Path, monkeypatch: pytest.MonkeyPatch, where: str, number: int
) -> None:
    """A fake: the limits of the machine are not for a test to change."""

    class Spent(hints.Observer):  # type: ignore[misc, valid-type]
        def __init__(self) -> None:
            if where == "constructor":
                raise OSError(number, os.strerror(number))
            super().__init__()

        def start(self) -> None:
            raise OSError(number, os.strerror(number))

    monkeypatch.setattr(hints, "Observer", Spent)
    running = start()
    running.wait_published()
    assert running.status.watch_mode is WatchMode.POLLING
    (project / "a.yaml").write_text("say: two\n")
    running.wait(lambda: b"say: two" in running.html())
    assert settled(running) == 2
    monkeypatch.undo()
    running.wait(lambda: running.watcher._source.armed)


def test_fault_19_lost_events_are_found_by_the_periodic_look(
    start: Start, project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fake: events are dropped as by a full kernel queue."""
    monkeypatch.setattr(hints.HintSource, "dispatch", lambda self, event: None)
    running = start()
    running.wait_published()
    (project / "a.yaml").write_text("say: two\n")
    running.wait(lambda: b"say: two" in running.html())


def test_fault_20_dead_emitter_under_a_living_observer_is_armed_again(start: Start, project: Path) -> None:
    running = start()
    running.wait_published()
    observer = running.watcher._source._observer
    assert observer is not None
    for emitter in observer.emitters:
        emitter.stop()
        emitter.join()
    running.wait(lambda: running.watcher._source._observer is not observer)
    (project / "a.yaml").write_text("say: two\n")
    running.wait(lambda: b"say: two" in running.html())


def test_fault_21_unreadable_input_is_named_and_tried_again(
    start: Start, project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fake: root, as whom tests may run, can read every file."""
    real = folder_reader._read

    def refuse(path: str, limit: int, seen: object) -> object:
        if path.endswith("b.yaml"):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        return real(path, limit, seen)  # type: ignore[arg-type]

    running = start()
    running.wait_published()
    before = contents(running.target)
    monkeypatch.setattr(folder_reader, "_read", refuse)
    (project / "b.yaml").write_text("say: two\n")
    event = running.wait_kind(EventKind.REFUSED)
    assert "`b.yaml` cannot be read: permission denied" in [item.message for item in event.diagnostics]
    assert contents(running.target) == before
    monkeypatch.undo()
    running.wait(lambda: b"say: two" in running.html())


def test_fault_30_hanging_build_is_killed_and_the_next_change_builds(start: Start, project: Path) -> None:
    running = start(timing=Timing(quiet_s=0.1, longest_s=0.5, rescan_s=0.3, build_timeout_s=1.0, grace_s=0.3))
    running.wait_published()
    before = contents(running.target)
    (project / "a.yaml").write_text("do: hang\n")
    running.wait_kind(EventKind.TIMED_OUT)
    pid = int(running.log.read_text().split()[-2])
    assert _gone(pid)
    running.wait(lambda: running.status.state == "failed")
    assert running.status.stale
    assert running.status.errors[0].code == "build-timed-out"
    assert contents(running.target) == before
    (project / "a.yaml").write_text("say: well\n")
    running.wait_published()


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGSEGV])
def test_fault_31_crashing_build_is_named_and_tried_again_with_growing_waits(
    start: Start, project: Path, number: signal.Signals
) -> None:
    """SIGKILL stands in for the kernel's killer when memory runs out."""
    running = start()
    running.wait_published()
    before = contents(running.target)
    (project / "a.yaml").write_text(f"do: die {int(number)}\n")
    begun = time.monotonic()
    event = running.wait_kind(EventKind.CRASHED, 3)
    assert time.monotonic() - begun > 0.1 + 0.2 + 0.4  # the quiet period and two waits
    assert event.message == f"the build crashed (signal {int(number)}, {number.name})"
    assert contents(running.target) == before
    assert running.status.stale
    (project / "a.yaml").write_text("say: well\n")
    running.wait_published()


def test_fault_31_a_crash_that_always_comes_back_ends_in_waiting_for_a_change(
    start: Start, project: Path
) -> None:
    (project / "a.yaml").write_text("do: quit 3\n")
    running = start(timing=Timing(quiet_s=0.1, rescan_s=0.3, retry_s=0.01, retry_longest_s=0.02))
    running.wait_kind(EventKind.CRASHED, 7)
    assert settled(running) == 7


@pytest.mark.parametrize(
    ("order", "kind"), [("raise", EventKind.DEFECT), ("exit", EventKind.DEFECT), ("lie", EventKind.DEFECT)]
)
def test_defect_of_a_build_is_reported_once_and_the_binder_kept(
    start: Start, project: Path, order: str, kind: EventKind
) -> None:
    running = start()
    running.wait_published()
    before = contents(running.target)
    (project / "a.yaml").write_text(f"do: {order}\n")
    event = running.wait_kind(kind)
    assert event.errors == 1
    assert ("RuntimeError" in event.detail) == (order == "raise")
    assert contents(running.target) == before
    assert settled(running) == 2


def test_fault_32_build_that_prints_a_hundred_megabytes(start: Start, project: Path) -> None:
    (project / "a.yaml").write_text("do: print 100\n")
    running = start()
    running.wait_published()
    log = running.last(EventKind.PUBLISHED).log
    assert len(log) < 20_000
    assert "bytes left out" in log
    assert log.endswith("the end")


def test_fault_33_corrupt_status_at_start(start: Start, project: Path) -> None:
    (project / "status.json").write_bytes(b'{"state": \xff nonsense')
    running = start()
    running.wait_published()
    assert running.status.published_digest == running.status.input_digest


def test_fault_34_disk_full_keeps_the_binder_and_tries_again(
    start: Start, project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fake: writing through to the disk says that it is full."""
    running = start()
    running.wait_published()
    before = contents(running.target)

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(publish.os, "fsync", full)
    (project / "a.yaml").write_text("say: two\n")
    event = running.wait_kind(EventKind.CANNOT_WRITE)
    assert "No space left" in event.message
    assert contents(running.target) == before
    assert leftovers(project) == []
    running.wait(lambda: running.status.state == "failed" and running.status.stale)
    monkeypatch.undo()
    running.wait_published()
    assert b"say: two" in running.html()


def test_fault_38_damaged_binder_is_restored_by_the_next_start(start: Start, project: Path) -> None:
    one = start()
    one.wait_published()
    one.end()
    good = contents(one.target)
    (project / "binder" / "binder.html").write_text("edited")
    (project / "binder" / "schedules" / "conductors.csv").unlink()
    two = start()
    two.wait_kind(EventKind.PUBLISHED)
    assert contents(two.target) == good


def test_binder_deleted_under_the_watcher_comes_back(start: Start, project: Path) -> None:
    running = start()
    running.wait_published()
    shutil.rmtree(project / "binder")
    running.wait(lambda: running.count(EventKind.PUBLISHED) == 2)
    assert running.whole()


def test_failed_then_mended_back_to_the_published_state(start: Start, project: Path) -> None:
    running = start()
    running.wait_published()
    (project / "a.yaml").write_text("do: raise\n")
    running.wait_kind(EventKind.DEFECT)
    (project / "a.yaml").write_text("say: one\n")
    running.wait_kind(EventKind.UP_TO_DATE)
    running.wait_published()
    assert running.status.errors == ()
    assert settled(running) == 2


def test_child_short_of_resources_is_tried_again(start: Start, project: Path) -> None:
    (project / "a.yaml").write_text(f"do: short {errno.ENOMEM}\n")
    running = start()
    running.wait_kind(EventKind.CRASHED, 2)


def test_no_thread_of_ours_is_left(start: Start) -> None:
    before = set(threading.enumerate())
    running = start(timing=QUICK)
    running.wait_published()
    running.end()
    assert set(threading.enumerate()) <= before


def _gone(pid: int) -> bool:
    for _ in range(100):
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.02)
    return False
