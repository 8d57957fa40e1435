"""Messages to a service manager, read from a real socket, and the unit file that is printed."""

from __future__ import annotations

import os
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest
from service_fakes import QUICK

from reportgen.service.recipe import Recipe
from reportgen.service.supervisor import Supervisor, unit_file
from reportgen.service.watcher import Watcher


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as ear:
        ear.bind(str(tmp_path / "notify"))
        ear.settimeout(5)
        yield ear


def heard(manager: socket.socket) -> list[str]:
    manager.setblocking(False)
    found = []
    while True:
        try:
            found.append(manager.recv(4096).decode())
        except BlockingIOError:
            return found


def test_a_watcher_tells_ready_what_it_does_that_it_turns_and_that_it_ends(
    project: Path, tmp_path: Path, manager: socket.socket
) -> None:
    environment = {"NOTIFY_SOCKET": str(tmp_path / "notify"), "WATCHDOG_USEC": "60000000"}
    recipe = Recipe("1", "t", "service_fakes:build", {"log": str(tmp_path / "log")}, preload=())
    Watcher(
        project,
        project / "binder",
        recipe,
        lambda event: None,
        timing=QUICK,
        stop_after=1,
        supervisor=Supervisor(environment),
    ).run()
    said = heard(manager)
    assert said[1].startswith("READY=1\nSTATUS=watching ")
    assert "STATUS=published: built" in said
    assert said.count("WATCHDOG=1") == 1  # half of 60 s has not passed since the first
    assert said.index("STOPPING=1") > said.index("STATUS=published: built")


def test_nobody_listens_and_nothing_is_sent(tmp_path: Path) -> None:
    Supervisor({}).ready("x")
    gone = Supervisor({"NOTIFY_SOCKET": str(tmp_path / "gone"), "WATCHDOG_USEC": "1"})
    gone.ready("x")
    gone.beat()


@pytest.mark.parametrize(
    ("microseconds", "pid", "beats"), [("2000", None, 1), ("2000", 1, 0), ("soon", None, 0), ("", None, 0)]
)
def test_beats_only_where_the_manager_asks_this_process(
    tmp_path: Path, manager: socket.socket, microseconds: str, pid: int | None, beats: int
) -> None:
    environment = {"NOTIFY_SOCKET": str(tmp_path / "notify"), "WATCHDOG_USEC": microseconds}
    environment["WATCHDOG_PID"] = str(pid or os.getpid())
    Supervisor(environment).beat()
    assert heard(manager) == ["WATCHDOG=1"] * beats


def test_an_abstract_address_is_reached() -> None:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as ear:
        ear.bind(f"\0reportgen-{os.getpid()}")
        Supervisor({"NOTIFY_SOCKET": f"@reportgen-{os.getpid()}"}).stopping()
        assert heard(ear) == ["STOPPING=1"]


@pytest.mark.source(
    "systemd.service(5) and systemd.unit(5)", locator="Command lines, Specifiers", read="memory"
)
def test_unit_file_takes_odd_paths_literally(tmp_path: Path) -> None:
    folder = tmp_path / 'north 50 % "field" $HOME'
    text = unit_file(folder, tmp_path / "out", ("--no-pdf",), "/opt/reportgen")
    lines = dict(line.partition("=")[::2] for line in text.splitlines() if "=" in line)
    quoted = str(folder).replace("%", "%%").replace('"', '\\"').replace("$", "$$")
    assert lines["ExecStart"] == f'/opt/reportgen watch "{quoted}" --output {tmp_path / "out"} --no-pdf'
    assert lines["RestartPreventExitStatus"] == "2 3"
    assert f"ReadWritePaths={tmp_path}\n" in text
    assert lines["Description"].endswith('north 50 %% "field" $HOME')


def test_unit_file_leaves_the_usual_output_folder_out(tmp_path: Path) -> None:
    assert "--output" not in unit_file(tmp_path, tmp_path / "binder")
