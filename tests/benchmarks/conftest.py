"""Shares and ratios of the benchmarks under their table of times."""

from __future__ import annotations

import pytest


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    session = getattr(config, "_benchmarksession", None)
    for one in session.benchmarks if session is not None else ():
        told = "; ".join(f"{name} {value}" for name, value in one.extra_info.items())
        if told:
            terminalreporter.write_line(f"{one.name}: {told}")
