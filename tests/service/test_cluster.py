"""Builds on a real cluster on this machine: a scheduler, two workers, one of them killed midway."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from service_fakes import FakeOptions

from reportgen.service.batch import Came, batch
from reportgen.service.cluster import ClusterMissing, ClusterRunner
from reportgen.service.manifest import verify

HERE = Path(__file__).parent


def _free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    port = _free_port()
    address = f"tcp://127.0.0.1:{port}"
    environment = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join([str(HERE), str(HERE.parents[1]), os.environ.get("PYTHONPATH", "")]),
        "DASK_TEMPORARY_DIRECTORY": str(tmp_path),
        "PYTHONWARNINGS": "ignore",
        "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "3",
    }

    def start(*words: str) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-m", "distributed.cli." + words[0], *words[1:]]
        quiet = subprocess.DEVNULL
        return subprocess.Popen(command, env=environment, cwd=tmp_path, stdout=quiet, stderr=quiet)

    scheduler = start(
        "dask_scheduler", "--host", "127.0.0.1", "--port", str(port), "--no-dashboard", "--no-show"
    )
    workers = [
        start("dask_worker", address, "--no-nanny", "--nthreads", "1", "--no-dashboard") for _ in range(2)
    ]
    yield address, workers
    for process in (*workers, scheduler):
        process.kill()
        process.wait()


def _runner(address: str) -> ClusterRunner:
    deadline = time.monotonic() + 30
    while True:
        try:
            runner = ClusterRunner(address, timeout_s=60, build="service_fakes:build_many")
        except ClusterMissing:
            assert time.monotonic() < deadline
            continue
        while runner.width < 2 and time.monotonic() < deadline:
            time.sleep(0.1)
        return runner


def test_a_killed_worker_costs_no_folder(
    cluster: tuple[str, list[subprocess.Popen[bytes]]], tmp_path: Path
) -> None:
    address, workers = cluster
    folders = []
    for number in range(12):
        folder = tmp_path / f"p{number:02}"
        folder.mkdir()
        (folder / "a.yaml").write_text(f"say: {number}\n" if number != 5 else "")
        folders.append(folder)
    runner = _runner(address)
    seen: list[str] = []

    def kill_one(record: object, again: bool) -> None:
        seen.append("x")
        if len(seen) == 3:
            os.kill(workers[0].pid, signal.SIGKILL)

    try:
        assert runner.width == 2
        records = batch(
            folders,
            runner,
            FakeOptions(log=str(tmp_path / "builds.log"), slow_s=0.1),
            jobs=4,
            on_record=kill_one,
        )
    finally:
        runner.close()
    assert [record.came for record in records] == [
        Came.REFUSED if number == 5 else Came.BUILT for number in range(12)
    ]
    assert all(verify(folder / "binder") == [] for number, folder in enumerate(folders) if number != 5)
    assert not (folders[5] / "binder").exists()


def test_nobody_at_the_address_is_told_plainly() -> None:
    with pytest.raises(ClusterMissing, match="no scheduler answers at `tcp://127"):
        ClusterRunner(f"tcp://127.0.0.1:{_free_port()}", answer_s=0.3)
