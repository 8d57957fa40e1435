"""The exit codes of every command, in one place."""

from __future__ import annotations

from enum import IntEnum


class ExitCode(IntEnum):
    """What a command says to the shell when it ends.

    Examples
    --------
    >>> int(ExitCode.ALREADY_WATCHED)
    3
    """

    DONE = 0
    FAILS_A_CHECK = 1
    USAGE = 2
    ALREADY_WATCHED = 3
    INPUT_REFUSED = 4
    CANNOT_READ_OR_WRITE = 5
    WITHOUT_PDF = 6
    DEFECT = 70
    INTERRUPTED = 130
    TERMINATED = 143
