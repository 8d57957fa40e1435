"""Words with a service manager: the unit file to install, and the messages that a running watcher sends.

The protocol is one datagram a message to the socket named in ``NOTIFY_SOCKET`` (sd_notify(3)); without that variable
nobody listens and nothing is sent.
"""

from __future__ import annotations

import contextlib
import os
import shlex
import socket
import sys
import time
from collections.abc import Mapping
from pathlib import Path

from reportgen.service.exit_codes import ExitCode


class Supervisor:
    """Messages to the service manager that started this process, if one did.

    Parameters
    ----------
    environment : mapping of str to str
        Holds ``NOTIFY_SOCKET`` and ``WATCHDOG_USEC`` where a manager listens.
    """

    def __init__(self, environment: Mapping[str, str]) -> None:
        address = environment.get("NOTIFY_SOCKET", "")
        # "@" stands for the zero byte of an abstract address
        self._address = "\0" + address[1:] if address.startswith("@") else address
        self._beat_s = _microseconds(environment) / 2e6
        self._next_beat = 0.0

    def ready(self, status: str) -> None:
        """Tell that the watcher watches."""
        self._send(f"READY=1\nSTATUS={_line(status)}")

    def status(self, text: str) -> None:
        """Tell what the watcher does, in one line."""
        self._send(f"STATUS={_line(text)}")

    def stopping(self) -> None:
        """Tell that the end has begun."""
        self._send("STOPPING=1")

    def beat(self) -> None:
        """Tell that the loop turns; at most twice in the time after which the manager would kill it."""
        now = time.monotonic()
        if self._beat_s > 0.0 and now >= self._next_beat:
            self._next_beat = now + self._beat_s / 2
            self._send("WATCHDOG=1")

    def _send(self, message: str) -> None:
        if not self._address:
            return
        # a manager that went away is no reason to stop watching
        with contextlib.suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as speaker:
            speaker.connect(self._address)
            speaker.send(message.encode())


def _microseconds(environment: Mapping[str, str]) -> float:
    text = environment.get("WATCHDOG_USEC", "")
    mine = environment.get("WATCHDOG_PID", str(os.getpid())) == str(os.getpid())
    return float(text) if text.isascii() and text.isdigit() and mine else 0.0


def _line(text: str) -> str:
    return " ".join(text.split())


def unit_file(folder: Path, target: Path, options: tuple[str, ...] = (), executable: str = "") -> str:
    """Unit file that keeps a watcher running under a user's systemd.

    Parameters
    ----------
    folder, target : Path
        The project and the output folder; both are written absolute.
    options : tuple of str
        Further options of ``reportgen watch``.
    executable : str
        The program; this interpreter's ``reportgen`` by default.

    Notes
    -----
    Directives after systemd.unit(5), systemd.service(5) and systemd.exec(5). The codes in ``RestartPreventExitStatus``
    are those that starting again cannot cure: wrong usage, and a folder that another process watches.
    """
    program = [executable] if executable else [sys.executable, "-m", "reportgen"]
    output = () if target == folder / "binder" else ("--output", str(target.absolute()))
    command = [*program, "watch", str(folder.absolute()), *output, *options]
    # the status file lies beside the binder, and the exchange of folders needs its parent
    writable = _quoted(str(target.absolute().parent), program=False)
    lines = [
        "[Unit]",
        f"Description=Design binder of {_escaped(folder.absolute().name)}",
        "StartLimitIntervalSec=300",
        "StartLimitBurst=5",
        "",
        "[Service]",
        "Type=notify",
        "NotifyAccess=main",
        "ExecStart=" + " ".join(_quoted(word) for word in command),
        "Restart=on-failure",
        "RestartSec=2",
        f"RestartPreventExitStatus={int(ExitCode.USAGE)} {int(ExitCode.ALREADY_WATCHED)}",
        f"SuccessExitStatus={int(ExitCode.INTERRUPTED)} {int(ExitCode.TERMINATED)}",
        "WatchdogSec=60",
        "TimeoutStopSec=15",
        "KillMode=mixed",
        "UMask=0022",
        "NoNewPrivileges=yes",
        "ProtectSystem=strict",
        f"ReadWritePaths={writable}",
        "ReadWritePaths=-%C",  # the lock lies there; made at the first start
        "",
        "[Install]",
        "WantedBy=default.target",
    ]
    return "\n".join(lines) + "\n"


def _escaped(text: str) -> str:
    """Text in which systemd sees neither a specifier nor a line end."""
    return _line(text).replace("\\", "\\\\").replace("%", "%%")


def _quoted(word: str, *, program: bool = True) -> str:
    """One word of a unit's line: quoted as systemd reads it, specifiers taken literally, variables too in a program's line."""
    if shlex.quote(word) == word:
        return word.replace("%", "%%")
    inner = word.replace("%", "%%").replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{inner.replace("$", "$$") if program else inner}"'
