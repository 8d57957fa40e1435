"""Many folders with real child processes: bad ones among them, an interruption, and going on afterwards."""

from __future__ import annotations

import dataclasses
import json
import shutil
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from service_fakes import FakeOptions

from reportgen.service.batch import Came, LocalRunner, Record, batch, exit_code, read_records
from reportgen.service.exit_codes import ExitCode
from reportgen.service.lock import FolderLock
from reportgen.service.manifest import verify


@pytest.fixture
def options(tmp_path: Path) -> FakeOptions:
    return FakeOptions(log=str(tmp_path / "builds.log"))


@pytest.fixture
def runner() -> LocalRunner:
    return LocalRunner(timeout_s=4.0, build="service_fakes:build_many")


def built(options: FakeOptions) -> int:
    path = Path(options.log)
    return len(path.read_text().splitlines()) if path.exists() else 0


@pytest.fixture
def folders(tmp_path: Path) -> Callable[[int], list[Path]]:
    def make(count: int) -> list[Path]:
        found = []
        for number in range(count):
            folder = tmp_path / f"p{number:04}"
            folder.mkdir()
            (folder / "a.yaml").write_text(f"say: {number}\n")
            found.append(folder)
        return found

    return make


def spoil(folders: list[Path]) -> None:
    """One invalid, one hanging, one crashing; the fourth goes away when its turn comes."""
    (folders[3] / "a.yaml").write_text("")
    (folders[7] / "a.yaml").write_text("do: hang\n")
    (folders[11] / "a.yaml").write_text("do: die 11\n")


def _fault_68(
    folders: list[Path], options: FakeOptions, runner: LocalRunner, results: Path, cut: int
) -> None:
    spoil(folders)
    stop = threading.Event()
    seen: list[str] = []

    def count(record: Record, again: bool) -> None:
        seen.append(record.folder)
        if len(seen) == cut:
            stop.set()

    first = batch(folders, runner, options, jobs=4, results=results, on_record=count, stop=stop)
    assert cut <= len(first) < len(folders) - 1
    with results.open("a") as out:
        out.write('{"came": "bui')  # killed in the middle of a line
    shutil.rmtree(folders[-1])  # deleted midway
    before = built(options)
    kept = [record for record in first if record.came in {Came.BUILT, Came.REFUSED}]
    records = batch(folders, runner, options, jobs=4, results=results)
    assert [record.folder for record in records] == [str(folder) for folder in folders]
    bad = {record.folder: record.came for record in records if record.came is not Came.BUILT}
    assert bad == {
        str(folders[3]): Came.REFUSED,
        str(folders[7]): Came.TIMED_OUT,
        str(folders[11]): Came.CRASHED,
        str(folders[-1]): Came.UNREADABLE,
    }
    assert all(record.summary for record in records)
    # nothing that was finished was built again
    assert built(options) - before == len(folders) - 1 - len(kept)
    assert all(verify(folder / "binder") == [] for folder in folders if str(folder) not in bad)
    assert exit_code(records) == ExitCode.DEFECT
    lines = [
        line
        for line in results.read_text().splitlines()
        if line.startswith('{"came": "bui') and line[-1] != "}"
    ]
    assert len(lines) == 1  # the half line stays by itself
    assert read_records(results).keys() == {str(folder) for folder in folders}


def test_fault_68_bad_ones_among_forty_interrupted_and_resumed(
    folders: Callable[[int], list[Path]], options: FakeOptions, runner: LocalRunner, tmp_path: Path
) -> None:
    _fault_68(folders(40), options, runner, tmp_path / "results.jsonl", 20)


@pytest.mark.slow
def test_fault_68_bad_ones_among_a_thousand_interrupted_and_resumed(
    folders: Callable[[int], list[Path]], options: FakeOptions, runner: LocalRunner, tmp_path: Path
) -> None:
    _fault_68(folders(1000), options, runner, tmp_path / "results.jsonl", 500)


def test_changed_inputs_and_damaged_binders_are_built_again(
    folders: Callable[[int], list[Path]], options: FakeOptions, runner: LocalRunner, tmp_path: Path
) -> None:
    four, results = folders(4), tmp_path / "results.jsonl"
    batch(four, runner, options, jobs=2, results=results)
    (four[0] / "a.yaml").write_text("say: other\n")
    (four[1] / "binder" / "binder.html").write_text("by hand")
    shutil.rmtree(four[2] / "binder")
    before = built(options)
    again: list[str] = []
    batch(
        four,
        runner,
        options,
        jobs=2,
        results=results,
        on_record=lambda r, old: again.append(r.folder) if old else None,
    )
    assert built(options) - before == 3
    assert again == [str(four[3])]
    before = built(options)
    batch(four, runner, dataclasses.replace(options, strict=True), jobs=2, results=results)
    assert built(options) - before == 4  # another exit code may come of them


def test_a_folder_named_twice_is_built_once_and_order_is_that_of_the_call(
    folders: Callable[[int], list[Path]], options: FakeOptions, runner: LocalRunner
) -> None:
    two = folders(2)
    records = batch([two[1], two[0], two[1] / ".", two[0]], runner, options, jobs=2)
    assert [Path(record.folder) for record in records] == [two[1], two[0]]
    assert built(options) == 2


def test_a_watched_folder_is_left_to_its_watcher(
    folders: Callable[[int], list[Path]], options: FakeOptions, runner: LocalRunner
) -> None:
    two = folders(2)
    with FolderLock(two[0] / "binder"):
        records = batch(two, runner, options, jobs=1)
    assert [record.came for record in records] == [Came.WATCHED, Came.BUILT]
    assert exit_code(records) == ExitCode.ALREADY_WATCHED


def test_an_output_folder_of_others_is_not_touched(
    folders: Callable[[int], list[Path]], options: FakeOptions, runner: LocalRunner
) -> None:
    one = folders(1)
    (one[0] / "binder").mkdir()
    (one[0] / "binder" / "diary.txt").write_text("mine")
    records = batch(one, runner, options, jobs=1)
    assert records[0].came is Came.CANNOT_WRITE
    assert (one[0] / "binder" / "diary.txt").read_text() == "mine"
    assert built(options) == 0


def test_stopping_cuts_running_builds_short_and_begins_no_more(
    folders: Callable[[int], list[Path]], options: FakeOptions
) -> None:
    stop = threading.Event()
    threading.Timer(0.8, stop.set).start()
    begun = time.monotonic()
    slow = dataclasses.replace(options, slow_s=30.0)
    records = batch(folders(6), LocalRunner(build="service_fakes:build_many"), slow, jobs=2, stop=stop)
    assert records == []
    assert time.monotonic() - begun < 15


@pytest.mark.parametrize("text", ["", "\n\n", "[]\n", "{}\n", '{"folder": 1}\n', "null\n", "[[[\n", "\x00\n"])
def test_lines_that_are_none_of_ours_are_passed_over(tmp_path: Path, text: str) -> None:
    path = tmp_path / "results.jsonl"
    record = Record("a", Came.BUILT, 0, "d", "m", 1.0, "s", ("x",))
    path.write_text(text + record.line() + "\n" + text)
    assert read_records(path) == {"a": record}


def test_a_record_is_one_line_of_json_with_its_keys_in_order() -> None:
    line = Record("a\nb", Came.REFUSED, 4, messages=("x\ny",)).line()
    assert "\n" not in line
    assert list(json.loads(line)) == sorted(json.loads(line))


def test_a_build_of_other_inputs_is_not_published(
    folders: Callable[[int], list[Path]], options: FakeOptions, runner: LocalRunner
) -> None:
    one = folders(1)
    (one[0] / "a.yaml").write_text("do: lie\n")
    records = batch(one, runner, options, jobs=1)
    assert records[0].came is Came.DEFECT
    assert not (one[0] / "binder").exists()
