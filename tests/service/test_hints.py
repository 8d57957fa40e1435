"""When a burst of hints is answered."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from watchdog.events import (
    DirModifiedEvent,
    FileClosedNoWriteEvent,
    FileModifiedEvent,
    FileMovedEvent,
    FileOpenedEvent,
)

from reportgen.service import hints
from reportgen.service.folder_reader import FolderReader
from reportgen.service.hints import Debounce, HintSource, Wake
from reportgen.service.scope import Scope


@pytest.fixture
def debounce() -> Debounce:
    return Debounce(quiet_s=0.25, longest_s=2.0)


def test_no_hint_nothing_due(debounce: Debounce) -> None:
    assert debounce.due_in(1.0) is None


def test_quiet_period_runs_from_the_last_hint_and_the_longest_wait_from_the_first(debounce: Debounce) -> None:
    debounce.hint(10.0)
    assert debounce.due_in(10.25) == 0.0
    debounce.hint(10.2)
    assert debounce.due_in(10.25) == pytest.approx(0.2)
    for step in range(100):
        debounce.hint(10.2 + step * 0.05)
    assert debounce.due_in(11.95) == pytest.approx(0.05)
    assert debounce.due_in(12.0) == 0.0
    debounce.settle()
    assert debounce.due_in(12.0) is None


def test_file_being_written_holds_back_until_closed_or_the_longest_wait(debounce: Debounce) -> None:
    debounce.opened("a")
    debounce.modified("a")
    debounce.hint(10.0)
    assert debounce.due_in(10.5) == pytest.approx(1.5)
    debounce.closed("a")
    assert debounce.due_in(10.5) == 0.0


def test_attributes_changed_after_closing_do_not_hold_back(debounce: Debounce) -> None:
    debounce.opened("a")
    debounce.closed("a")
    debounce.modified("a")
    debounce.hint(10.0)
    assert debounce.due_in(10.25) == 0.0


def test_deleted_while_written_does_not_hold_back(debounce: Debounce) -> None:
    debounce.opened("a")
    debounce.modified("a")
    debounce.hint(10.0)
    debounce.closed("a", gone=True)
    assert debounce.due_in(10.25) == 0.0


@pytest.mark.parametrize(
    ("event", "answer"),
    [
        (FileOpenedEvent("a.yaml"), False),
        (FileClosedNoWriteEvent("a.yaml"), False),
        (DirModifiedEvent(""), False),
        (FileModifiedEvent("a.yaml"), True),
        (FileModifiedEvent("a.txt"), False),
        (FileMovedEvent("draft.tmp", "a.yaml"), True),
        (FileMovedEvent("a.yaml", "draft.tmp"), True),
        (FileModifiedEvent("binder/x.csv"), False),
        (FileModifiedEvent(".status.json.0123"), False),
        (FileModifiedEvent("status.json"), False),
    ],
)
def test_which_events_are_hints(
    tmp_path: Path, debounce: Debounce, event: FileModifiedEvent, answer: bool
) -> None:
    source = HintSource(Scope.of(tmp_path), debounce, Wake())
    event.src_path = str(tmp_path / os.fsdecode(event.src_path))
    if event.dest_path:
        event.dest_path = str(tmp_path / os.fsdecode(event.dest_path))
    source.dispatch(event)
    assert (debounce.due_in(time.monotonic()) is not None) is answer


def test_bell_rung_often_wakes_once() -> None:
    wake = Wake()
    for _ in range(200_000):
        wake.ring()
    begun = time.monotonic()
    wake.wait(5.0)
    assert time.monotonic() - begun < 1.0
    begun = time.monotonic()
    wake.wait(0.05)
    assert time.monotonic() - begun > 0.04


def test_too_many_folders_are_left_to_the_periodic_look(
    project: Path, debounce: Debounce, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(5):
        (project / f"f{number}").mkdir()
    reader = FolderReader(project)
    reader.take()
    source = HintSource(reader.scope, debounce, Wake())
    assert source.arm()
    assert source.follow(reader.folders)
    assert source.complete
    monkeypatch.setattr(hints, "MOST_FOLDERS", 4)
    source.follow(reader.folders)
    assert not source.complete
    assert source.sound()
    source.disarm()


def test_fault_17_limit_reached_at_a_folder_below_is_known(
    project: Path, debounce: Debounce, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fake: the limit of the machine is not for a test to change."""
    (project / "sub").mkdir()
    reader = FolderReader(project)
    reader.take()
    source = HintSource(reader.scope, debounce, Wake())
    assert source.arm()
    assert source._observer is not None

    def spent(*arguments: object, **keywords: object) -> None:
        raise OSError(28, "inotify watch limit reached")

    monkeypatch.setattr(source._observer, "schedule", spent)
    assert not source.follow(reader.folders)
    assert source.armed
    assert not source.complete
    source.disarm()


def test_folder_replaced_by_another_of_the_same_name_is_watched_anew(
    project: Path, debounce: Debounce
) -> None:
    (project / "sub").mkdir()
    reader = FolderReader(project)
    reader.take()
    source = HintSource(reader.scope, debounce, Wake())
    source.arm()
    source.follow(reader.folders)
    (project / "sub").rename(project / "old")
    (project / "sub").mkdir()
    reader.take()
    assert source.follow(reader.folders)
    assert source._watched.keys() == {"", "sub", "old"}
    debounce.settle()
    (project / "sub" / "a.yaml").write_text("x")
    deadline = time.monotonic() + 5
    while debounce.due_in(time.monotonic()) is None:
        assert time.monotonic() < deadline
        time.sleep(0.01)
    source.disarm()
