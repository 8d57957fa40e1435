"""Figures of one data sheet that cannot be true together are refused where they stand."""

from __future__ import annotations

import pytest

from reportgen.diagnostics.model import InputRefused
from reportgen.project.load import load_project

FOLDER = """
project: {title: Ratings}
site: {}
modules: {M: {power: 400 W, open_circuit_voltage: 37 V, operating_voltage: 31 V, short_circuit_current: 13 A, operating_current: 12 A}}
inverters:
  H:
    units: {INV: {}}
    maximum_dc_voltage: 500 V
    terminals: {smallest: 14 AWG, largest: 8 AWG}
    inputs:
      A: &a {tracking_from: 120 V, tracking_to: 430 V, start_voltage: 150 V, usable_current: 16 A, short_circuit_limit: 22 A}
      B: *a
switches:
  K: {units: {SW: {}}, line: [L1], load: [T1], joined: [[L1, T1]], terminals: {smallest: 14 AWG, largest: 1/0 AWG},
      ratings: [{poles_in_series: 2, voltage: 800 V}, {poles_in_series: 1, voltage: 400 V}]}
fuses: {F: {rating: 20 A, breaking_capacity: 30 kA}}
"""


def refused(old: str, new: str) -> list:
    assert old in FOLDER
    with pytest.raises(InputRefused) as caught:
        load_project({"a.yaml": FOLDER.replace(old, new).encode()})
    return list(caught.value.diagnostics)


def test_ratings_that_fit_together_are_read() -> None:
    assert load_project({"a.yaml": FOLDER.encode()})


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("tracking_from: 120 V", "tracking_from: 440 V", "`440 V` of input `A` of inverter type `H` is not below its tracking to `430 V`"),
        ("tracking_to: 430 V", "tracking_to: 520 V", "`520 V` of input `A` of inverter type `H` is above the maximum dc voltage `500 V`"),
        ("start_voltage: 150 V", "start_voltage: 450 V", "start voltage `450 V`"),
        ("maximum_dc_voltage: 500 V", "maximum_dc_voltage: 400 V", "tracking to `430 V`"),
        ("short_circuit_limit: 22 A", "short_circuit_limit: 15 A", "usable current `16 A`"),
        ("voltage: 800 V", "voltage: 300 V", "rating `300 V` of switch type `K` with 2 poles in series is below its rating `400 V` with 1"),
        ("{poles_in_series: 2, voltage: 800 V}", "{poles_in_series: 1, voltage: 800 V}", "with 1 poles in series is another than"),
        ("breaking_capacity: 30 kA", "breaking_capacity: 3 A", "rating `20 A` of fuse type `F` is not below its breaking capacity"),
        ("{smallest: 14 AWG, largest: 8 AWG}", "{smallest: 8 AWG, largest: 14 AWG}", "smallest conductor `8 AWG`"),
        ("{smallest: 14 AWG, largest: 8 AWG}", "{smallest: 2/0 AWG, largest: 1/0 AWG}", "smallest conductor `2/0 AWG`"),
        ("{smallest: 14 AWG, largest: 8 AWG}", "{smallest: 10 mm2, largest: 4 mm2}", "smallest conductor `10 mm2`"),
    ],
)  # fmt: skip
def test_a_contradiction_of_a_data_sheet_is_refused_with_what_sheets_show(old, new, words) -> None:
    found = refused(old, new)
    assert len(found) == 1, [item.message for item in found]
    assert found[0].code == "impossible-value"
    assert words in found[0].message
    assert "data sheets show" in found[0].help or "breaking capacities are" in found[0].help
    assert found[0].span.file == "a.yaml"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        # At the limit nothing contradicts: a maker may give one figure for both.
        ("tracking_to: 430 V", "tracking_to: 500 V"),
        ("short_circuit_limit: 22 A", "short_circuit_limit: 16 A"),
        ("voltage: 800 V", "voltage: 400 V"),
        ("{smallest: 14 AWG, largest: 8 AWG}", "{smallest: 8 AWG, largest: 8 AWG}"),
        ("{smallest: 14 AWG, largest: 8 AWG}", "{smallest: 1/0 AWG, largest: 250 kcmil}"),
        ("{smallest: 14 AWG, largest: 8 AWG}", "{smallest: 6 mm2, largest: 8 AWG}"),
    ],
)
def test_figures_that_only_touch_are_read(old, new) -> None:
    assert load_project({"a.yaml": FOLDER.replace(old, new).encode()})
