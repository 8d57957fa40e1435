"""Imported by the fork server alone: brings in the heavy modules once, so that each build starts with them loaded.

The names come in environment variables, for the server runs its own program and takes no arguments of ours.
A module that cannot be loaded here (a system library is missing, say) is left to the build, which says so properly.
"""

from __future__ import annotations

import contextlib
import importlib
import multiprocessing.process
import multiprocessing.spawn
import os
from typing import Final

VARIABLE: Final = "REPORTGEN_WARM"
"""Environment variable with the names of the modules, separated by commas."""
MAIN: Final = "REPORTGEN_MAIN"
"""Environment variable with the file of the parent's main program, where it was started from one."""


def load(names: str) -> list[str]:
    """Import each named module; return those that were loaded.

    Examples
    --------
    >>> load("json,no.such.module")
    ['json']
    """
    loaded = []
    for name in filter(None, names.split(",")):
        # whatever an import raises, the server must live
        with contextlib.suppress(Exception):
            importlib.import_module(name)
            loaded.append(name)
    return loaded


def load_main(path: str) -> None:
    """Run the parent's main program as a module, as each child would otherwise do for itself.

    The standard library's own way, a server told to load ``__main__``, does nothing before Python 3.12.8 and 3.13.1.
    """
    current = multiprocessing.process.current_process()
    current._inheriting = True  # type: ignore[attr-defined]  # a program without the usual guard must start nothing
    try:
        with contextlib.suppress(Exception):
            multiprocessing.spawn.import_main_path(path)
    finally:
        del current._inheriting  # type: ignore[attr-defined]


if VARIABLE in os.environ:
    load(os.environ[VARIABLE])
    if MAIN in os.environ:
        load_main(os.environ[MAIN])
