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
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"
OUTPUT = b"""circuits:
  AC-1: {kind: output, inverter: INV-1, cable: THWN10, size: 8 AWG, conductors: 3, path: [R2/hall, R2/riser-yard, R2/trench-yard], phases: single phase,
         voltage: 240 V, current: 32 A, power_factor: 1, device: 40 A, tails: {start: 1 m, end: 2 m}}
"""


@pytest.fixture(scope="module")
def desk() -> Desk:
    files = dict(take(SAMPLE).everything) | {"output.yaml": OUTPUT}
    project = load_project(files)
    made = Desk(assemble(project, load(str(project.project.rulebook)), "test"), files)
    assert conductors.chapter(made).id == "conductors"
    return made


def rows(desk: Desk, schedule: str) -> list[dict[str, str]]:
    lines = desk.schedules[schedule].csv("test").decode().splitlines()
    return list(csv.DictReader(lines[1:]))


def test_the_output_row_can_be_recomputed(desk) -> None:
    (row,) = rows(desk, "outputs")
    # 1 + 3.5 + 1.2 + 38 + 2 = 45.7 m = 149.934 ft; 2 · 0.149934 · 0.78 · 32 = 7.4847 V; / 240 = 3.1186 %;
    # 7.4847 · 32 = 239.51 W.
    assert float(row["length [m]"]) == pytest.approx(45.7)
    assert float(row["share [%]"]) == pytest.approx(3.1186, abs=0.0001)
    assert float(row["loss [W]"]) == pytest.approx(239.51, abs=0.01)
    # 13 conductors in the riser at 42 °C: 55 · 0.87 · 0.5 = 23.925 A, which 32 A are too much for.
    assert float(row["ampacity [A]"]) == pytest.approx(23.925)
    assert row["stretch"] == "R2/riser-yard"


def test_a_row_of_sizes_can_be_recomputed(desk) -> None:
    sizes = rows(desk, "wire-sizes")
    (row,) = [one for one in sizes if one["circuit"] == "PV-E1" and one["size"] == "10 AWG"]
    # Three output wires more leave the factor for the count as it was; the riser governs, 40 · 0.87 · 0.5 = 17.4 A.
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


def test_an_ambient_is_printed_as_finely_as_its_factor_needs() -> None:
    files = dict(take(SAMPLE).everything)
    # 40.4 °C takes the factor of 41 to 45 °C; printed as 40 it would seem to take that of 36 to 40 °C.
    files["raceways.yaml"] = files["raceways.yaml"].replace(
        b"indoors, ambient: 38 degC", b"indoors, ambient: 40.4 degC"
    )
    made = Desk(assemble(load_project(files), load("nec2023"), "test"), files)
    assert conductors.chapter(made).id == "conductors"
    (ambient,) = (field for field in made.schedules["stretches"].fields if field.key == "ambient")
    assert ambient.places == 1
    assert (
        next(line for line in made.schedules["stretches"].lines if line.values["stretch"] == "R2/hall")
        .values["ambient_factor"]
        .value
        == 0.87
    )


def test_whole_ambients_are_printed_without_decimals(desk) -> None:
    (ambient,) = (field for field in desk.schedules["stretches"].fields if field.key == "ambient")
    assert ambient.places == 0
