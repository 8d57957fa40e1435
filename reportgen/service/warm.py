"""Imported by the fork server alone: brings in the heavy modules once, so that each build starts with them loaded.

The names come in an environment variable, for the server runs its own program and takes no arguments of ours.
A module that cannot be loaded here (a system library is missing, say) is left to the build, which says so properly.
"""

from __future__ import annotations

import contextlib
import importlib
import os
from typing import Final

VARIABLE: Final = "REPORTGEN_WARM"
"""Environment variable with the names of the modules, separated by commas."""


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


if VARIABLE in os.environ:
    load(os.environ[VARIABLE])
