"""Numbers from outside name their source: the rule for tests under ``outside`` folders, and the list of sources.

``@pytest.mark.source(title, locator=..., read="read" | "memory")`` says where a test's expected values stand.
Below a folder named ``outside`` it is required; ``pytest --list-sources`` prints all of them and runs nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from hypothesis import HealthCheck, settings

# A property says what is true, not how fast it is shown: a deadline would fail on a busy machine alone.
settings.register_profile("untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("untimed")

READ = ("read", "memory")


@dataclass(frozen=True, order=True)
class Source:
    """One source of one test."""

    title: str
    locator: str
    read: str
    test: str

    def line(self) -> str:
        return "\t".join((self.title, self.locator, self.read, self.test))


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--list-sources",
        action="store_true",
        help="print title, locator, read or memory, and test of every number from outside; run no test",
    )


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    faults = [fault for item in items for fault in _faults(config, item)]
    if faults:
        raise pytest.UsageError("\n".join(faults))


@pytest.hookimpl(tryfirst=True)
def pytest_runtestloop(session: pytest.Session) -> bool | None:
    if not session.config.getoption("list_sources"):
        return None
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    assert isinstance(reporter, pytest.TerminalReporter)
    found = sorted({source for item in session.items for source in _sources(item)})
    for source in found:
        reporter.write_line(source.line())
    recalled = sum(source.read == "memory" for source in found)
    reporter.write_line(f"{len(found)} sources of tests, {recalled} of them from memory")
    return True


def _faults(config: pytest.Config, item: pytest.Item) -> Iterator[str]:
    folders = (
        item.path.relative_to(config.rootpath).parent.parts
        if item.path.is_relative_to(config.rootpath)
        else ()
    )
    marks = list(item.iter_markers("source"))
    if "outside" in folders and not marks:
        yield (
            f"{item.nodeid}: a test under `outside` must say where its numbers stand: "
            '@pytest.mark.source("title, edition", locator="where in it", read="read")'
        )
    for mark in marks:
        if len(mark.args) != 1 or set(mark.kwargs) - {"locator", "read"}:
            yield f"{item.nodeid}: source takes a title, `locator` and `read`"
        elif not (str(mark.args[0]).strip() and str(mark.kwargs.get("locator", "")).strip()):
            yield f"{item.nodeid}: source needs a title and a `locator`, neither of them empty"
        elif mark.kwargs.get("read", READ[0]) not in READ:
            yield f"{item.nodeid}: `read` of a source is one of {', '.join(READ)}"


def _sources(item: pytest.Item) -> Iterator[Source]:
    # One test with many parameters is one line.
    test = item.nodeid.partition("[")[0]
    for mark in item.iter_markers("source"):
        yield Source(str(mark.args[0]), str(mark.kwargs["locator"]), mark.kwargs.get("read", READ[0]), test)
