"""A batch in a process of its own, as a user starts one, with what it took as one line of JSON.

Run by the benchmarks: a child forked inside pytest carries pytest's modules, which no user's child does.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from reportgen.service.batch import BUILD, Came, LocalRunner, Record, Runner, batch
from reportgen.service.build import BuildOptions

HERE = Path(__file__).parent
TIMED = "timed_build:build"


@dataclass(frozen=True)
class Mark:
    """What the batch holds in memory after so many folders."""

    folders: int
    largest_mib: float
    total_mib: float


@contextmanager
def runner_of(where: str, build: str, jobs: int) -> Iterator[Runner]:
    """Children of this machine, or as many workers of a cluster of its own."""
    if where == "processes":
        yield LocalRunner(build=build)
        return
    import dask
    from distributed import LocalCluster

    from reportgen.service.cluster import ClusterRunner

    with (
        # The library's record of where a worker spends its time grows with each build, and is none of ours.
        dask.config.set({"distributed.worker.profile.enabled": False}),
        tempfile.TemporaryDirectory() as spill,
        LocalCluster(
            n_workers=jobs, threads_per_worker=1, dashboard_address=None, local_directory=spill
        ) as local,
    ):
        runner = ClusterRunner(str(local.scheduler_address), build=build)
        runner._client.run(sys.path.insert, 0, str(HERE))
        yield runner
        runner.close()


def resident() -> list[float]:
    """Resident memory of this process and of every descendant. [MiB]"""
    parents, sizes = {}, {}
    for status in Path("/proc").glob("[0-9]*/status"):
        try:
            lines = dict(line.split(":", 1) for line in status.read_text().splitlines() if ":" in line)
        except OSError:  # ended meanwhile
            continue
        if "VmRSS" in lines:
            parents[int(lines["Pid"])] = int(lines["PPid"])
            sizes[int(lines["Pid"])] = int(lines["VmRSS"].split()[0]) / 1024

    def ours(pid: int) -> bool:
        return pid == os.getpid() or (pid in parents and ours(parents[pid]))

    return [size for pid, size in sizes.items() if ours(pid)]


def main() -> None:
    """Build the folders named and print what it took."""
    parser = argparse.ArgumentParser()
    parser.add_argument("where", choices=("processes", "cluster"))
    parser.add_argument("--pdf", action="store_true")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--timed", action="store_true", help="each build's own time as its summary")
    parser.add_argument("folders", nargs="+", type=Path)
    asked = parser.parse_args()
    options, marks = BuildOptions(pdf=asked.pdf), list[Mark]()
    left, every = len(asked.folders), max(1, len(asked.folders) // 10)

    def on_record(record: Record, again: bool) -> None:
        nonlocal left
        left -= 1
        if not asked.timed and left % every == 0:
            sizes = resident()
            marks.append(Mark(len(asked.folders) - left, round(max(sizes), 1), round(sum(sizes), 1)))

    with runner_of(asked.where, TIMED if asked.timed else BUILD, asked.jobs) as runner:
        # The server is there, the typical year is parsed: what a batch does once is no folder's own.
        warm = batch(asked.folders[: 2 * asked.jobs], runner, replace(options, pdf=False), jobs=asked.jobs)
        begin = time.perf_counter()
        records = batch(
            asked.folders[2 * asked.jobs :], runner, options, jobs=asked.jobs, on_record=on_record
        )
        wall = time.perf_counter() - begin
    assert {record.came for record in (*warm, *records)} == {Came.BUILT}
    own = [float(record.summary) if asked.timed else record.seconds for record in records]
    json.dump({"wall": wall, "own": own, "marks": [vars(mark) for mark in marks]}, sys.stdout)


if __name__ == "__main__":
    main()
