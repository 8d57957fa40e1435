"""No help line advises a number of modules that another limit forbids."""

from __future__ import annotations

import re

import pytest

from reportgen.design.findings import Outcome

INPUT = "inputs: {A: {}, B: {}, C: {}, D: {}}"


@pytest.fixture
def cures(barn, edit, design):
    """Help by code of a string with an input that tracks and starts at some voltage, and further edits."""

    def make(count: int, floor: str, *edits: tuple[str, str]):
        files = barn({"S": count})
        data = f"{{tracking_from: {floor}, tracking_to: 495 V, start_voltage: {floor}}}"
        files = edit(files, "barn.yaml", INPUT, f"inputs: {{A: {data}}}")
        for old, new in edits:
            files = edit(files, "barn.yaml", old, new)
        return {f.code: f for f in design(files).findings if f.subject in {"S", "PV-S"}}

    return make


# One module of the barn makes 40.806 V at -12 °C, (37.1 V × (1 + 0.0027 × 37 K)), and about 26.6 V hot: 500 V take 12.


def test_no_number_fits_and_the_help_says_so(cures) -> None:
    made = cures(9, "490 V")
    assert made["hot-voltage-window"].outcome is Outcome.FAILS
    for code in ("hot-voltage-window", "hot-voltage-start"):
        assert "no number of modules fits" in made[code].cure
        assert "at most 12" in made[code].cure
    # Of the same input, too many modules: the lower number would not do either.
    assert "no number of modules fits" in cures(13, "490 V")["cold-voltage-inverter"].cure


def test_the_least_number_stands_beside_the_most(cures) -> None:
    cure = cures(4, "150 V")["hot-voltage-window"].cure
    fewest = int(re.match(r"(\d+) modules in series is the least", cure)[1])
    assert 4 < fewest <= 12
    assert "12 the most the cold allows" in cure


@pytest.mark.parametrize(
    ("edit_", "most"),
    [
        # A lower mark on the wire, a lower system voltage of the module: the inverter alone would take 12.
        (("cables: {W: {markings: [THWN-2]}}", "cables: {W: {markings: [THWN-2], voltage: 300 V}}"), 7),
        (("cells_in_series: 54", "cells_in_series: 54, maximum_system_voltage: 420 V"), 10),
    ],
)
def test_every_limit_of_the_cold_counts(cures, edit_, most) -> None:
    made = cures(13, "150 V", edit_)
    assert made["cold-voltage-inverter"].cure.startswith(f"{most} modules in series is the most")
    for finding in made.values():
        for told in re.findall(r"(\d+) modules in series is the most", finding.cure):
            assert int(told) <= most


def test_more_is_not_advised_where_the_cold_takes_no_more(cures) -> None:
    made = cures(12, "490 V", (", start_voltage: 490 V", ""))
    assert "no more modules fit" in made["hot-voltage-window"].cure


def test_without_a_limit_of_the_cold_no_number_is_promised(cures) -> None:
    made = cures(
        4, "150 V", ("    maximum_dc_voltage: 500 V\n", ""), ("building: no building", "number: '1'")
    )
    assert made["hot-voltage-window"].cure.endswith("how many the cold allows is not known")
