"""The sample as bytes, a way to change a line of it, and its design."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from reportgen.design.assemble import Design, assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.folder_reader import take

# pytest imports each test file on its own; the folders made beside them are plain modules
sys.path.insert(0, str(Path(__file__).parent))

SAMPLE = Path(__file__).parents[2] / "sample_project"
Files = dict[str, bytes]


@pytest.fixture
def sample() -> Files:
    return dict(take(SAMPLE).everything)


#: An invented barn: strings of one kind of module on one table, each on an input of its own.
_BARN = """
project: {title: Barn, building: no building}
site: {record_low: -12 degC, mean_annual_minimum: -8 degC, design_high: 30 degC}
modules:
  A400: {power: 400 W, open_circuit_voltage: 37.1 V, operating_voltage: 31 V, short_circuit_current: 13.79 A,
         operating_current: 12.9 A, voltage_coefficient: -0.27 %/degC, current_coefficient: 0.05 %/degC,
         power_coefficient: -0.35 %/degC, cells_in_series: 54}
inverters:
  H6K:
    units: {INV: }
    maximum_dc_voltage: 500 V
    pv_legs: floating
    reversed_polarity: leave the switch alone until dusk
    inputs: {A: {}, B: {}, C: {}, D: {}}
cables: {W: {markings: [THWN-2]}}
arrays: {T: {module: A400, count: 60, tilt: 30 deg, azimuth: 180 deg}}
"""


@pytest.fixture
def barn() -> Callable[..., Files]:
    """Folder of the barn with strings of so many modules, by id, and further sections as text."""

    def make(counts: Mapping[str, int], *more: str) -> Files:
        strings = "".join(
            f"  {key}: {{array: T, count: {count}, input: INV/{letter}}}\n"
            for (key, count), letter in zip(counts.items(), "ABCD", strict=False)
        )
        circuits = "".join(
            f"  PV-{key}: {{string: {key}, cable: W, size: 10 AWG, path: []}}\n" for key in counts
        )
        text = f"{_BARN}strings:\n{strings}circuits:\n{circuits}"
        return {"barn.yaml": text.encode()} | {
            f"more{number}.yaml": section.encode() for number, section in enumerate(more)
        }

    return make


@pytest.fixture
def edit() -> Callable[..., Files]:
    """Replace a piece of text in a file; the piece has to be there."""

    def change(files: Mapping[str, bytes], file: str, old: str, new: str, count: int = -1) -> Files:
        text = files[file].decode()
        assert old in text, old
        return {**files, file: text.replace(old, new, count).encode()}

    return change


@pytest.fixture
def design() -> Callable[[Mapping[str, bytes]], Design]:
    def make(files: Mapping[str, bytes]) -> Design:
        project = load_project(files)
        return assemble(project, load(str(project.project.rulebook)), "test")

    return make
