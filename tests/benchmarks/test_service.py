"""From a save to the pages, the watcher at rest, and many folders: shares and ratios formed within one run."""

from __future__ import annotations

import json
import os
import random
import shutil
import statistics
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from reportgen.service.build import BuildOptions, recipe
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


def alone(folders: list[Path], where: str, *flags: str) -> dict[str, Any]:
    """What a batch of these folders took, run by a process of its own as a user runs one."""
    script = Path(__file__).parent / "batch_alone.py"
    done = subprocess.run(
        [sys.executable, str(script), where, *flags, *map(str, folders)],
        env={**os.environ, "PYTHONPATH": os.pathsep.join((str(SAMPLE.parent), str(script.parent)))},
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    return json.loads(done.stdout)


@pytest.mark.parametrize("where", ["processes", "cluster"])
def test_many_folders_keep_every_core_busy(benchmark, tmp_path: Path, where: str) -> None:
    """Share of the cores' time that is no idling; REPORTGEN_VARIANTS sets how many folders (1000 takes minutes)."""
    folders = variants(tmp_path, VARIANTS)
    cores = len(os.sched_getaffinity(0))
    marks: list[dict[str, Any]] = []

    def all_of_them() -> None:
        before, begin = _cpu_of_all(), time.perf_counter()
        marks.append(alone(folders, where, f"--jobs={cores}"))
        busy = (_cpu_of_all() - before) / (time.perf_counter() - begin)
        benchmark.extra_info["cores busy [%]"] = round(100 * busy / cores, 1)

    benchmark.pedantic(all_of_them, rounds=1)
    took = marks[-1]
    benchmark.extra_info["folders a second"] = round(len(took["own"]) / took["wall"], 2)
    for mark in took["marks"]:
        benchmark.extra_info[f"after {mark['folders']} folders, largest process and all [MiB]"] = (
            mark["largest_mib"],
            mark["total_mib"],
        )


def _cpu_of_all() -> float:
    """Busy time of all cores since the machine started, of whichever process: the machine has to be free. [s]"""
    words = Path("/proc/stat").read_text().split("\n", 1)[0].split()[1:]
    ticks = [int(word) for word in words]
    return (sum(ticks[:8]) - ticks[3] - ticks[4]) / os.sysconf("SC_CLK_TCK")


@pytest.mark.parametrize("where", ["processes", "cluster"])
@pytest.mark.parametrize("pdf", [False, True], ids=["pages", "with PDF"])
def test_a_folder_of_many_over_the_bare_build(benchmark, tmp_path: Path, where: str, pdf: bool) -> None:
    """Reading, sending, publishing and recording folders one after the other, over what their builds take by themselves."""
    folders = variants(tmp_path, 4 if pdf else 14)
    marks: list[dict[str, Any]] = []
    flags = ("--timed", "--pdf") if pdf else ("--timed",)
    benchmark.pedantic(lambda: marks.append(alone(folders, where, *flags)), rounds=1)
    took = marks[-1]
    benchmark.extra_info["bare build [s]"] = round(statistics.median(took["own"]), 3)
    benchmark.extra_info["ratio"] = round(took["wall"] / sum(took["own"]), 3)


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
