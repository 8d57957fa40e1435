"""Ways to string a site that are kept between builds: the same as searched ones, and searched again where anything differs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from reportgen.design import stringing
from reportgen.design.assemble import Design
from reportgen.service.build import check
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot

SAMPLE = take(Path(__file__).parents[2] / "sample_project")


class Store(dict[str, Mapping[str, Any]]):
    """A cache in memory."""

    put = dict.__setitem__


def design(*, edit: tuple[str, str, str] | None = None) -> Design:
    files = dict(SAMPLE.everything)
    if edit:
        name, old, new = edit
        text = files[name].decode()
        assert old in text
        files[name] = text.replace(old, new, 1).encode()
    return check(Snapshot.of(files))


@pytest.fixture
def searched(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """Each search that is made, with nothing remembered in the process."""
    made: list[object] = []

    def place(*told: object) -> object:
        made.append(told)
        return found(*told)

    found = stringing.place
    monkeypatch.setattr(stringing, "place", place)
    stringing._ways.cache_clear()
    return made


def test_kept_ways_are_the_searched_ones(searched: list[object]) -> None:
    store = Store()
    first = replace(design(), cache=store).stringing
    assert first.ways
    assert searched
    searched.clear()
    stringing._ways.cache_clear()
    assert replace(design(), cache=store).stringing == first
    assert not searched
    stringing._ways.cache_clear()
    assert design().stringing == first
    assert searched


def test_another_limit_is_searched_again(searched: list[object]) -> None:
    store = Store()
    before = replace(design(), cache=store).stringing
    searched.clear()
    stringing._ways.cache_clear()
    other = design(edit=("equipment.yaml", "[THWN-2]\n    voltage: 600 V", "[THWN-2]\n    voltage: 500 V"))
    after = replace(other, cache=store).stringing
    assert searched
    assert after.ways != before.ways
    assert len(store) == 2
