"""The conductor chapter: terminals, outputs and sizes as tables and files, recomputed from what they print."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from reportgen.binder.chapters import conductors
from reportgen.binder.chapters.base import Desk
from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

SAMPLE = Path(__file__).parents[2] / "sample_project"
OUTPUT = b"""circuits:
  AC-1: {kind: output, inverter: INV-1, cable: THWN10, size: 8 AWG, conductors: 3, path: [R2/hall], phases: single phase,
         voltage: 240 V, current: 32 A, power_factor: 1, device: 40 A, tails: {start: 1 m, end: 2 m}}
"""


@pytest.fixture(scope="module")
def desk() -> Desk:
    files = {path.name: path.read_bytes() for path in sorted(SAMPLE.glob("*.yaml"))} | {"output.yaml": OUTPUT}
    project = load_project(files)
    made = Desk(assemble(project, load(str(project.project.rulebook)), "test"), files)
    assert conductors.chapter(made).id == "conductors"
    return made


def rows(desk: Desk, schedule: str) -> list[dict[str, str]]:
    lines = desk.schedules[schedule].csv("test").decode().splitlines()
    return list(csv.DictReader(lines[1:]))


def test_the_output_row_can_be_recomputed(desk) -> None:
    (row,) = rows(desk, "outputs")
    # 1 + 3.5 + 2 = 6.5 m = 21.325 ft; 2 · 0.021325 · 0.78 · 32 = 1.0645 V; / 240 = 0.4436 %; 1.0645 · 32 = 34.06 W.
    assert float(row["length [m]"]) == pytest.approx(6.5)
    assert float(row["share [%]"]) == pytest.approx(0.4436, abs=0.0001)
    assert float(row["loss [W]"]) == pytest.approx(34.06, abs=0.01)
    # 13 conductors in the hall at 38 °C: 55 · 0.91 · 0.5 = 25.03 A, which 32 A are too much for.
    assert float(row["ampacity [A]"]) == pytest.approx(25.025)
    assert row["stretch"] == "R2/hall"


def test_a_row_of_sizes_can_be_recomputed(desk) -> None:
    sizes = rows(desk, "wire-sizes")
    (row,) = [one for one in sizes if one["circuit"] == "PV-E1" and one["size"] == "10 AWG"]
    # Three output wires more in the hall only: the riser governs still, 40 · 0.87 · 0.5 = 17.4 A.
    assert (row["use [A]"], row["stretch"], row["chosen"]) == ("17.4", "R2/riser-yard", "")
    # 42 + 48 · (12.2 / 17.4)² = 65.60 °C; 1.20234 Ω/kft · 2 · 0.336286 kft = 0.80866 Ω; · 12.2² = 120.36 W.
    assert float(row["loss [W]"]) == pytest.approx(120.36, abs=0.01)
    assert {one["circuit"] for one in sizes} >= {"PV-E1", "PV-W1", "AC-1"}
    assert sum(one["chosen"] == "yes" for one in sizes) == len({one["circuit"] for one in sizes})


def test_every_terminal_has_a_row_and_one_governs(desk) -> None:
    terminals = [one for one in rows(desk, "circuit-terminals") if one["circuit"] == "PV-W1"]
    assert [one["unit"] for one in terminals] == ["the joint of PV-W1", "SW-W1", "INV-2"]
    # The second inverter states no marking: the lowest column.
    (governing,) = [one for one in terminals if one["governs"] == "yes"]
    assert (governing["unit"], governing["stated"], governing["ampacity [A]"]) == ("INV-2", "no", "30")
