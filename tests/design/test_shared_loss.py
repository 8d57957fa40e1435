"""Loss of unlike strings on one input: from the year alone, told as not run without it."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.design.findings import Outcome
from reportgen.service.build import check, with_energy
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot

TWO = Path(__file__).parents[2] / "reportgen" / "examples" / "two-strings"
CODE = "input-shared-loss"


def folder(counts: tuple[int, int], planes: tuple[int, int] = (180, 180), weather: str = "") -> Snapshot:
    """The smallest example with its two strings on one input, in arrays that face as told."""
    text = dict(take(TWO).files)["design.yaml"].decode()
    head, rest = text.split("\narrays:", 1)
    _, tail = rest.split("\nstrings:", 1)
    tail = tail[tail.index("\n\n") :]
    arrays = "".join(
        f"  T{k}: {{module: B410, rows: 1, columns: {n}, tilt: 25 deg, azimuth: {plane} deg, mounting: ground table}}\n"
        for k, (n, plane) in enumerate(zip(counts, planes, strict=True), 1)
    )
    strings = "".join(
        f"  S{k}: {{array: T{k}, count: {n}, input: INV-1/A}}\n" for k, n in enumerate(counts, 1)
    )
    head = head.replace("usable_current: 16 A", "usable_current: 40 A").replace(
        "short_circuit_limit: 20 A", "short_circuit_limit: 50 A"
    )
    head = head.replace("ac_power: 6 kW", "ac_power: 20 kW")
    if weather:
        head = head.replace("weather: {shipped: 723170TYA.CSV}", weather)
    tail = tail.replace("starts_at: TABLE", "starts_at: T1")
    return Snapshot.of({"design.yaml": f"{head}\narrays:\n{arrays}\nstrings:\n{strings}{tail}".encode()})


def judged(snapshot: Snapshot):
    design, _ = with_energy(check(snapshot), snapshot, cached=False, sun=False)
    (found,) = [finding for finding in design.findings if finding.code == CODE]
    return found


def test_a_check_says_that_it_was_not_run() -> None:
    (found,) = [finding for finding in check(folder((8, 6))).findings if finding.code == CODE]
    assert found.outcome is Outcome.UNKNOWN
    assert found.needs_run


# Common practice, no source: eight beside six lose about 11 %, equal strings facing 30° apart either way near nothing.
def test_eight_beside_six_lose_a_tenth() -> None:
    found = judged(folder((8, 6)))
    assert found.outcome is Outcome.THIN
    assert found.value.value == pytest.approx(11, abs=1.2)
    assert "no hazard" in found.headline


def test_equal_strings_east_and_west_lose_near_nothing() -> None:
    found = judged(folder((8, 8), (150, 210)))
    assert found.outcome is Outcome.MEETS
    assert 0.0 <= found.value.value < 0.2


def test_equal_strings_in_one_plane_are_not_judged() -> None:
    assert CODE not in {finding.code for finding in check(folder((8, 8))).findings}


def test_without_a_year_it_stays_unknown_and_names_what_is_missing() -> None:
    snapshot = folder((8, 6))
    text = snapshot.files["design.yaml"].decode().replace("    cells_in_series: 54\n", "")
    found = judged(Snapshot.of({"design.yaml": text.encode()}))
    assert found.outcome is Outcome.UNKNOWN
    assert not found.needs_run
    assert "cells_in_series" in found.missing[0]
