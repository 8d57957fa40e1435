"""Every number of ``results.json`` stands in the PDF in its own cell, digit for digit and with its unit, or is named as left out."""

from __future__ import annotations

import json

import pytest
from printed import Sheets, lost, numbers_of, survives
from printed_findings import lost_of_findings, told_findings
from printed_places import NOT_PRINTED
from tagged import Fragment, Node, Row, fragments


@pytest.mark.slow
def test_every_number_of_the_results_stands_in_its_cell(built, sample: Node) -> None:
    results = json.loads(built.outputs["results.json"])
    numbers, sheets = numbers_of(results), Sheets(fragments(sample))
    assert len(numbers) > 600
    assert {n.path for n in numbers if not n.pattern} == set()
    assert lost(numbers, sheets) == []
    left_out = [number for number in numbers if number.pattern in NOT_PRINTED]
    assert len(left_out) <= 4 * 12 * len(results["energy"]["strings"]) + 1
    # with any digit changed or a minus sign lost, the proof fails
    asked = [number for number in numbers if number.pattern not in NOT_PRINTED]
    assert [(number.path, survives(number, sheets)) for number in asked if survives(number, sheets)] == []


@pytest.mark.slow
def test_every_finding_is_printed_with_its_numbers(built, sample: Node) -> None:
    results = json.loads(built.outputs["results.json"])
    missed, asked = lost_of_findings(results["findings"], told_findings(sample), fragments(sample))
    assert missed == []
    assert asked > 450


def test_what_is_left_out_says_why() -> None:
    assert all(len(reason) > 20 for reason in NOT_PRINTED.values())


def drop(cell: str, head: str = "drop V") -> Sheets:
    caption = "Circuits: voltage drop and loss"
    return Sheets([Fragment(1, "c", "", caption, [["Circuit", head]], [Row(["PV-1", cell], 1, False)])])


@pytest.mark.parametrize("cell", ["−5.96", "✓ meets −5.96", "✓ meets−5.96"])
def test_a_number_is_found_where_it_is_printed(cell: str) -> None:
    numbers = numbers_of({"circuits": {"PV-1": {"drop": {"value": -5.96069, "unit": "V"}}}})
    assert lost(numbers, drop(cell)) == []
    assert survives(numbers[0], drop(cell)) == []


@pytest.mark.parametrize(
    "cell", ["5.96", "-5.96", "−5.97", "−6.96", "−5.9", "−5.960", "−6", "", "5.96 −5.96"]
)
def test_a_corrupted_number_is_lost(cell: str) -> None:
    numbers = numbers_of({"circuits": {"PV-1": {"drop": {"value": -5.96069, "unit": "V"}}}})
    assert lost(numbers, drop(cell)) == ["circuits/PV-1/drop"]


@pytest.mark.parametrize("head", ["drop A", "drop", "loss W"])
def test_a_number_in_another_unit_is_lost(head: str) -> None:
    numbers = numbers_of({"circuits": {"PV-1": {"drop": {"value": 5.96069, "unit": "V"}}}})
    assert lost(numbers, drop("5.96", head)) == ["circuits/PV-1/drop"]


def test_a_number_without_a_place_is_lost() -> None:
    assert lost(numbers_of({"new": {"thing": 5}}), drop("5")) == ["new/thing"]
