"""From a save to the pages, the watcher at rest, and many folders: shares and ratios formed within one run."""

from __future__ import annotations

import os
import random
import resource
import shutil
import statistics
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from reportgen.service.batch import Came, LocalRunner, Runner, batch
from reportgen.service.build import BuildOptions, recipe
from reportgen.service.cluster import ClusterRunner
from reportgen.service.events import ENDINGS, WatchEvent
from reportgen.service.folder_reader import take
from reportgen.service.recipe import Timing
from reportgen.service.watcher import Watcher

SAMPLE = Path(__file__).parents[2] / "sample_project"
VARIANTS = int(os.environ.get("REPORTGEN_VARIANTS", "60"))


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    target = tmp_path / "works"
    shutil.copytree(SAMPLE, target, ignore=shutil.ignore_patterns("binder", "status.json"))
    return target


class Watching:
    """A real watcher over a copy of the sample, in a thread."""

    def __init__(self, project: Path) -> None:
        self.ended = threading.Event()
        self.started = threading.Event()
        options = BuildOptions(pdf=False, cache=True)
        self.watcher = Watcher(project, project / "binder", recipe(options), self._note)
        self.thread = threading.Thread(target=self.watcher.run)
        self.thread.start()
        assert self.ended.wait(60)

    def _note(self, event: WatchEvent) -> None:
        if event.kind in ENDINGS:
            self.ended.set()

    def close(self) -> None:
        self.watcher.stop()
        self.thread.join()


def test_from_a_save_to_the_pages(benchmark, project: Path) -> None:
    """Energy untouched: a colour changes. The quiet period after the last event is part of the time and named."""
    watching = Watching(project)
    file = project / "circuits.yaml"
    text = file.read_text()
    number = 0

    def change() -> None:
        nonlocal number
        number += 1
        watching.ended.clear()

    def save() -> None:
        file.write_text(text.replace("positive_colour: red", f"positive_colour: red {number}", 1))
        assert watching.ended.wait(60)

    benchmark.pedantic(save, setup=change, rounds=6, warmup_rounds=1)
    benchmark.extra_info["after the quiet period [s]"] = round(
        benchmark.stats.stats.median - Timing().quiet_s, 3
    )
    watching.close()


def test_a_watcher_at_rest(benchmark, project: Path) -> None:
    """Share of one core that the watcher's own process takes while nothing happens."""
    watching = Watching(project)
    shares: list[float] = []

    def rest() -> None:
        before, begin = time.process_time(), time.perf_counter()
        time.sleep(5)
        shares.append((time.process_time() - before) / (time.perf_counter() - begin))

    benchmark.pedantic(rest, rounds=2)
    benchmark.extra_info["share of a core [%]"] = round(100 * max(shares), 3)
    watching.close()


def variants(folder: Path, count: int) -> list[Path]:
    """Copies of the sample that differ in what energy depends on."""
    chance = random.Random(8)
    found = []
    for number in range(count):
        target = folder / f"v{number:04}"
        shutil.copytree(SAMPLE, target, ignore=shutil.ignore_patterns("binder", "status.json"))
        file = target / "arrays.yaml"
        file.write_text(file.read_text().replace("tilt: 30 deg", f"tilt: {chance.uniform(10, 40):.2f} deg"))
        found.append(target)
    return found


def test_many_folders_keep_every_core_busy(benchmark, tmp_path: Path) -> None:
    """Time of the cores that is spent in builds; REPORTGEN_VARIANTS sets how many folders (1000 takes minutes)."""
    folders = variants(tmp_path, VARIANTS)
    cores = len(os.sched_getaffinity(0))
    runner, options = LocalRunner(), BuildOptions(pdf=False)
    batch(folders[:2], runner, options, jobs=cores)  # the fork server is there
    marks: list[tuple[float, float]] = []

    def all_of_them() -> None:
        before, begin = _cpu_of_all(), time.perf_counter()
        records = batch(folders, runner, options, jobs=cores)
        assert all(record.came is Came.BUILT for record in records)
        marks.append((_cpu_of_all() - before, time.perf_counter() - begin))

    benchmark.pedantic(all_of_them, rounds=1)
    busy, wall = marks[-1]
    benchmark.extra_info["cores busy [%]"] = round(100 * busy / (wall * cores), 1)
    benchmark.extra_info["folders a second"] = round(len(folders) / wall, 2)
    benchmark.extra_info["largest process [MiB]"] = round(
        resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    )


def _cpu_of_all() -> float:
    """Busy time of all cores since the machine started, of whichever process: the machine has to be free. [s]"""
    words = Path("/proc/stat").read_text().split("\n", 1)[0].split()[1:]
    ticks = [int(word) for word in words]
    return (sum(ticks[:8]) - ticks[3] - ticks[4]) / os.sysconf("SC_CLK_TCK")


@pytest.mark.parametrize("where", ["processes", "cluster"])
@pytest.mark.parametrize("pdf", [False, True], ids=["pages", "with PDF"])
def test_a_folder_of_many_over_the_bare_build(
    benchmark, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, where: str, pdf: bool
) -> None:
    """Reading, sending, publishing and recording folders one after the other, over what their builds take by themselves."""
    monkeypatch.syspath_prepend(str(Path(__file__).parent))
    folders = variants(tmp_path, 4 if pdf else 14)
    options, name = BuildOptions(pdf=pdf), "timed_build:build"
    bare: list[float] = []
    with _runner(where, name, tmp_path) as runner:
        # The server is there, the typical year is parsed: what a batch does once is no folder's own.
        batch(folders[:2], runner, replace(options, pdf=False), jobs=1)

        def all_of_them() -> None:
            bare.extend(float(record.summary) for record in batch(folders[2:], runner, options, jobs=1))

        benchmark.pedantic(all_of_them, rounds=1)
    benchmark.extra_info["bare build [s]"] = round(statistics.median(bare), 3)
    benchmark.extra_info["ratio"] = round(benchmark.stats.stats.median / sum(bare), 3)


@contextmanager
def _runner(where: str, name: str, folder: Path) -> Iterator[Runner]:
    if where == "processes":
        yield LocalRunner(build=name)
        return
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=1, threads_per_worker=1, dashboard_address=None, local_directory=str(folder)
    ) as local:
        runner = ClusterRunner(str(local.scheduler_address), build=name)
        runner._client.run(sys.path.insert, 0, str(Path(__file__).parent))
        yield runner
        runner.close()


def test_two_revisions_compared_over_two_checks(
    benchmark, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Comparing two states with years at hand, over one check of each without energy, in turn, both warm."""
    from reportgen.service.build import check
    from reportgen.service.differ import compare

    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    sides = [(folder.name, take(folder)) for folder in variants(tmp_path, 2)]
    checks: list[float] = []

    def both() -> None:
        begin = time.perf_counter()
        for _, snapshot in sides:
            check(snapshot)
        checks.append(time.perf_counter() - begin)

    compare(*sides, energy=True)
    both()
    checks.clear()
    benchmark.pedantic(lambda: compare(*sides, energy=False), setup=both, rounds=20)
    ratio = benchmark.stats.stats.median / statistics.median(checks)
    benchmark.extra_info["ratio without years"] = round(ratio, 3)
    years: list[float] = []
    for _ in range(20):
        both()
        begin = time.perf_counter()
        compare(*sides, energy=True)
        years.append(time.perf_counter() - begin)
    benchmark.extra_info["ratio with years at hand"] = round(
        statistics.median(years) / statistics.median(checks), 3
    )
