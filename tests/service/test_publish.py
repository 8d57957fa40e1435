"""Publication against kills, full disks, foreign files and odd targets. Numbers are those of the fault list."""

from __future__ import annotations

import errno
import itertools
import multiprocessing
import os
import random
import shutil
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from publisher import count_steps, publish_and_die, publish_forever
from service_fakes import contents, leftovers, outputs_of

from reportgen.service import exchange
from reportgen.service.exchange import Method
from reportgen.service.manifest import manifest, read_manifest, verify
from reportgen.service.publish import PublishRefused, publish, recover
from reportgen.service.staging import staging


def generation(number: int, extra: dict[str, bytes] | None = None) -> dict[str, bytes]:
    outputs = {"binder.html": b"%d" % number * 1000, "schedules/x.csv": b"%d" % number, **(extra or {})}
    return {**outputs, "manifest.json": manifest(outputs, f"d{number}", "1", "t")}


@pytest.fixture
def target(project: Path) -> Path:
    return project / "binder"


def test_first_and_second_generation(target: Path) -> None:
    assert publish(generation(1), target).method is Method.FIRST
    assert contents(target) == generation(1)
    assert publish(generation(2), target).method is Method.EXCHANGE
    assert contents(target) == generation(2)
    assert leftovers(target.parent) == []
    assert verify(target) == []


def test_empty_folder_is_filled(target: Path) -> None:
    target.mkdir()
    assert publish(generation(1), target).method is Method.FIRST
    assert verify(target) == []


def test_files_of_an_older_generation_go(target: Path) -> None:
    publish(generation(1, {"old/page.html": b"old"}), target)
    publish(generation(2), target)
    assert contents(target) == generation(2)
    assert not (target / "old").exists()


def test_mode_of_the_folder_stays(target: Path) -> None:
    publish(generation(1), target)
    target.chmod(0o750)
    publish(generation(2), target)
    assert target.stat().st_mode & 0o777 == 0o750


def test_files_of_others_are_kept(target: Path) -> None:
    publish(generation(1), target)
    (target / "mine").mkdir()
    (target / "mine" / "notes.txt").write_text("ask Jo")
    (target / "link").symlink_to("mine")
    done = publish(generation(2), target)
    assert done.carried == ("link", "mine/notes.txt")
    assert contents(target) == {**generation(2), "mine/notes.txt": b"ask Jo"}
    assert (target / "link").is_symlink()
    assert [item.code for item in verify(target)] == ["output-foreign"] * 2


def test_file_of_others_that_comes_in_the_last_instant_is_kept(
    target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish(generation(1), target)
    real = exchange._exchange

    def late(first: Path, second: Path) -> None:
        (target / "late.txt").write_text("late")
        real(first, second)

    monkeypatch.setattr(exchange, "_exchange", late)
    publish(generation(2), target)
    assert contents(target) == {**generation(2), "late.txt": b"late"}


@pytest.mark.parametrize("path", ["binder.pdf", "schedules2", "notes/x"])
def test_file_of_others_in_the_way_refuses(target: Path, path: str) -> None:
    publish(generation(1), target)
    (target / path).parent.mkdir(exist_ok=True)
    (target / path).write_text("theirs")
    outputs = generation(
        2, {{"binder.pdf": path, "schedules2": "schedules2/a.csv"}.get(path, "notes"): b"ours"}
    )
    before = contents(target)
    with pytest.raises(PublishRefused, match="stands where"):
        publish(outputs, target)
    assert contents(target) == before
    assert leftovers(target.parent) == []


@pytest.mark.parametrize("path", ["/x", "../x", "a/../x", "a//x", "./x", "a\\x", "a\nx", ""])
def test_outputs_cannot_leave_the_folder(target: Path, path: str) -> None:
    with pytest.raises(ValueError, match="not a path inside"):
        publish({**generation(1), path: b"x"}, target)
    assert not target.exists()


def test_outputs_must_be_what_their_manifest_says(target: Path) -> None:
    with pytest.raises(ValueError, match="not what"):
        publish({**generation(1), "binder.html": b"other"}, target)
    with pytest.raises(ValueError, match=r"no manifest.json"):
        publish({"binder.html": b"x"}, target)


def test_manifest_names_no_clock_host_or_path(tmp_path: Path) -> None:
    first = manifest({"b": b"1", "a": b"2"}, "d", "1", "t")
    assert first == manifest({"a": b"2", "b": b"1"}, "d", "1", "t")
    assert b"\r" not in first
    assert os.uname().nodename.encode() not in first
    assert str(tmp_path).encode() not in first


# faults


@pytest.mark.parametrize("step", range(6))
def test_fault_34_disk_full_while_staging_keeps_the_old_one(
    target: Path, monkeypatch: pytest.MonkeyPatch, step: int
) -> None:
    """A fake: the n-th write through to the disk says that it is full."""
    publish(generation(1), target)
    calls = itertools.count(1)
    real = os.fsync

    def full(handle: int) -> None:
        if next(calls) == step + 1:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(handle)

    monkeypatch.setattr(os, "fsync", full)
    if step < 5:  # three files, the folder below, the staged folder; then comes the exchange
        with pytest.raises(OSError, match="No space left"):
            publish(generation(2), target)
        assert contents(target) == generation(1)
    else:
        with pytest.raises(OSError, match="No space left"):
            publish(generation(2), target)
        assert contents(target) == generation(2)
    assert leftovers(target.parent) == []


def test_fault_35_read_only_folder_is_refused(target: Path) -> None:
    publish(generation(1), target)
    target.chmod(0o555)
    try:
        with pytest.raises(PublishRefused, match="read-only"):
            publish(generation(2), target)
        assert contents(target) == generation(1)
    finally:
        target.chmod(0o755)


def test_fault_35_file_is_refused(target: Path) -> None:
    target.write_text("mine")
    with pytest.raises(PublishRefused, match="is a file"):
        publish(generation(1), target)
    assert target.read_text() == "mine"


@pytest.mark.parametrize("what", [None, b"{}", b"not json", b'{"format": "other"}'])
def test_fault_35_folder_without_our_manifest_is_refused(target: Path, what: bytes | None) -> None:
    target.mkdir()
    (target / "thesis.txt").write_text("mine")
    if what is not None:
        (target / "manifest.json").write_bytes(what)
    before = contents(target)
    with pytest.raises(PublishRefused, match=r"no `manifest\.json` of this tool") as caught:
        publish(generation(1), target)
    assert caught.value.diagnostic.code == "output-not-ours"
    assert contents(target) == before


@pytest.mark.parametrize("number", [errno.EINVAL, errno.ENOSYS])
def test_fault_36_no_exchange_falls_back_to_two_renames(
    target: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    """A fake: the file system at hand can exchange."""
    _no_exchange(monkeypatch, number)
    publish(generation(1), target)
    (target / "notes.txt").write_text("x")
    assert publish(generation(2), target).method is Method.ASIDE
    assert contents(target) == {**generation(2), "notes.txt": b"x"}
    assert leftovers(target.parent) == []


def test_fault_36_second_rename_fails_and_the_old_one_is_back(
    target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _no_exchange(monkeypatch, errno.ENOSYS)
    publish(generation(1), target)
    real = Path.rename

    def refuse(self: Path, goal: Path) -> Path:
        if ".staging-" in self.name:
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        return real(self, goal)

    monkeypatch.setattr(Path, "rename", refuse)
    with pytest.raises(OSError, match="Input/output"):
        publish(generation(2), target)
    assert contents(target) == generation(1)
    assert leftovers(target.parent) == []


def test_fault_36_killed_between_the_two_renames_is_put_right_at_the_next_start(target: Path) -> None:
    publish(generation(1), target)
    target.rename(target.parent / ".binder.old")
    recover(target)
    assert contents(target) == generation(1)
    # and after the second rename, before the old one was cleared
    shutil.copytree(target, target.parent / ".binder.old")
    recover(target)
    assert contents(target) == generation(1)
    assert leftovers(target.parent) == []


@pytest.mark.parametrize("number", [errno.EXDEV, errno.EBUSY])
def test_fault_36_target_that_is_a_mount_point_is_filled_in_place(
    target: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    """A fake: no file system is mounted by a test."""
    publish(generation(1, {"old/page.html": b"old"}), target)
    (target / "notes.txt").write_text("x")
    real = Path.rename

    def other_system(self: Path, goal: Path) -> Path:
        if target in (self, Path(goal)):
            raise OSError(number, os.strerror(number))
        return real(self, goal)

    _no_exchange(monkeypatch, number)
    monkeypatch.setattr(Path, "rename", other_system)
    assert publish(generation(2), target).method is Method.IN_PLACE
    assert contents(target) == {**generation(2), "notes.txt": b"x"}
    assert leftovers(target.parent) == []


def test_fault_36_other_errors_of_the_exchange_are_told(
    target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish(generation(1), target)
    _no_exchange(monkeypatch, errno.EACCES)
    with pytest.raises(PermissionError):
        publish(generation(2), target)
    assert contents(target) == generation(1)
    assert leftovers(target.parent) == []


def test_fault_37_reader_with_an_open_file_reads_to_its_end(target: Path) -> None:
    publish(generation(1), target)
    with (target / "binder.html").open("rb") as stream:
        start = stream.read(10)
        publish(generation(2), target)
        assert start + stream.read() == generation(1)["binder.html"]


def test_fault_37_reader_never_sees_two_generations(target: Path) -> None:
    publish(generation(0), target)
    wrong: list[object] = []
    done = threading.Event()

    def read() -> None:
        while not done.is_set():
            wrong.extend(verify(target))

    reader = threading.Thread(target=read)
    reader.start()
    for number in range(150):
        publish(generation(number), target, fsync=False)
    done.set()
    reader.join()
    assert wrong == []


def test_fault_38_damage_is_named(target: Path) -> None:
    publish(generation(1), target)
    (target / "binder.html").write_text("edited")
    (target / "schedules" / "x.csv").unlink()
    (target / "new.txt").write_text("x")
    assert [(item.code, item.span.file) for item in verify(target) if item.span] == [
        ("output-changed", "binder.html"),
        ("output-missing", "schedules/x.csv"),
        ("output-foreign", "new.txt"),
    ]
    publish(generation(1), target)
    assert [item.code for item in verify(target)] == ["output-foreign"]
    (target / "manifest.json").write_text("{}")
    assert [item.code for item in verify(target)] == ["manifest-missing"]
    assert [item.code for item in verify(target / "nowhere")] == ["manifest-missing"]


def test_fault_38_output_swapped_for_a_link_or_pipe_does_not_verify(target: Path) -> None:
    publish(generation(1), target)
    (target / "elsewhere").write_bytes(generation(1)["binder.html"])
    (target / "binder.html").unlink()
    (target / "binder.html").symlink_to("elsewhere")
    (target / "schedules" / "x.csv").unlink()
    os.mkfifo(target / "schedules" / "x.csv")
    assert [item.code for item in verify(target)][:2] == ["output-missing"] * 2


@pytest.mark.parametrize(
    "place", ["project", "above", "home", "above home", "root", "link to project", "broken link"]
)
def test_fault_39_targets_that_are_refused(
    project: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    home = tmp_path / "people" / "jo"
    home.mkdir(parents=True)
    monkeypatch.setenv("HOME", str(home))
    (tmp_path / "link").symlink_to(project)
    (tmp_path / "broken").symlink_to("nowhere")
    goal = {
        "project": project,
        "above": project.parent,
        "home": home,
        "above home": home.parent,
        "root": Path("/"),
        "link to project": tmp_path / "link",
        "broken link": tmp_path / "broken",
    }[place]
    before = contents(tmp_path)
    with pytest.raises(PublishRefused):
        publish(generation(1), goal, project=project)
    assert contents(tmp_path) == before


def test_fault_39_folder_above_must_exist(project: Path) -> None:
    with pytest.raises(FileNotFoundError):
        publish(generation(1), project / "no" / "binder", project=project)


def test_target_reached_through_a_link_is_exchanged_behind_it(target: Path, tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    target.symlink_to(tmp_path / "real")
    publish(generation(1), target)
    publish(generation(2), target)
    assert target.is_symlink()
    assert contents(tmp_path / "real") == generation(2)


def test_recover_leaves_a_staging_folder_in_use_and_names_of_others(target: Path) -> None:
    publish(generation(1), target)
    for name in (
        ".binder.staging-x",
        ".binder.staging",
        ".binder.staging-0123456789ABCDEF",
        ".other.staging-0123456789abcdef",
    ):
        (target.parent / name).mkdir()
    (target.parent / ".binder.staging-00000000000000aa").mkdir()
    with staging(target) as used:
        recover(target)
        assert used.exists()
    assert len(leftovers(target.parent)) == 4


# kills


def killed_at(target: Path, numbers: list[int], flags: str = "") -> None:
    """Kill a publication at the given steps of its code, one after the other, and judge what a reader finds."""
    context = multiprocessing.get_context("forkserver")
    old, new = (
        outputs_of({"a.yaml": b"old"}, "old", big=5000),
        outputs_of({"a.yaml": b"new"}, "new", big=9000),
    )
    for number in numbers:
        if flags != "first":
            publish(old, target)
            (target / "mine.txt").write_text("mine")
        process = context.Process(target=publish_and_die, args=(str(target), new, number, flags))
        process.start()
        process.join()
        assert process.exitcode in (-9, 0)
        if flags == "aside" or (flags == "first" and not target.exists()):
            recover(target)  # what the next start does first
        if flags == "first" and not target.exists():
            assert leftovers(target.parent) == []
            continue
        found = contents(target)
        if flags != "first":
            assert found.pop("mine.txt") == b"mine"
        assert found in (old, new), number
        assert [item.code for item in verify(target)] in ([], ["output-foreign"])
        recover(target)
        assert leftovers(target.parent) == []
        assert contents(target).keys() - {"mine.txt"} == found.keys()
        if flags == "first":
            shutil.rmtree(target)


@pytest.fixture(scope="module")
def steps(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], int]:
    """How many lines of the publication's code a publication runs."""
    known: dict[str, int] = {}

    def count(flags: str) -> int:
        if flags not in known:
            place = tmp_path_factory.mktemp("steps") / "binder"
            if flags != "first":
                publish(outputs_of({"a.yaml": b"old"}, "old"), place)
                (place / "mine.txt").write_text("mine")
            known[flags] = count_steps(place, outputs_of({"a.yaml": b"new"}, "new"), flags)
        return known[flags]

    return count


@pytest.mark.parametrize(("flags", "times"), [("", 40), ("first", 10), ("aside", 20)])
def test_fault_28_kill_at_random_points_of_a_publication(
    target: Path, steps: Callable[[str], int], flags: str, times: int
) -> None:
    last = steps(flags)
    assert last > 100
    killed_at(target, random.Random(28).sample(range(1, last + 1), times), flags)


@pytest.mark.slow
@pytest.mark.parametrize("flags", ["", "first", "aside"])
def test_fault_28_kill_at_150_random_points_of_a_publication(
    target: Path, steps: Callable[[str], int], flags: str
) -> None:
    last = steps(flags)
    killed_at(target, random.Random(150).sample(range(1, last + 1), min(150, last)), flags)


@pytest.mark.slow
def test_fault_28_kill_at_150_random_moments_of_a_publishing_loop(target: Path, tmp_path: Path) -> None:
    context = multiprocessing.get_context("forkserver")
    chance = random.Random(28)
    ready = tmp_path / "ready"
    for _ in range(150):
        ready.unlink(missing_ok=True)
        process = context.Process(target=publish_forever, args=(str(target), str(ready)))
        process.start()
        while not ready.exists():
            process.join(0.002)
        process.join(chance.random() * 0.05)
        process.kill()
        process.join()
        if target.exists():
            assert verify(target) == []
        recover(target)
        assert leftovers(target.parent) == []
    assert read_manifest(target) is not None


def _no_exchange(monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    def refuse(first: Path, second: Path) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(exchange, "_exchange", refuse)
