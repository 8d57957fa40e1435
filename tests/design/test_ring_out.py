"""Ring-out: every wire once, each beeps to itself alone, groups that can be kept in view; the test voltage at its steps."""

from __future__ import annotations

import csv
import io

import pytest
from field_folder import folder

from reportgen.binder.elements import FormTable, TaskCard
from reportgen.binder.write import lay_out
from reportgen.design.assemble import assemble
from reportgen.design.missing import Missing
from reportgen.design.ring_out import MOST, design_ring_out
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load


def made(files):
    return assemble(load_project(files), load("nec2023"), "test")


def ring_of(design):
    facts = design.facts
    return design_ring_out(facts.graph, facts.circuits, design.commissioning.tests)


@pytest.mark.parametrize(("strings", "inverters"), [(1, 1), (24, 3)])
def test_every_wire_is_in_one_group_and_beeps_to_itself_alone(strings: int, inverters: int) -> None:
    ring = ring_of(made(folder(strings, inverters)))
    wires = [wire.id for wire in ring.wires]
    assert sorted(wires) == sorted(f"PV-S{i}{sign}" for i in range(1, strings + 1) for sign in "+-")
    assert [wire.id for wire in ring.grounds] == ["EG"]
    for group in ring.groups:
        assert len(group.wires) <= MOST
        # The legs of a circuit stay together, and a group goes to one inverter.
        assert len({wire.end.partition("/")[0] for wire in group.wires}) == 1
        assert len(group.wires) == 2 * len({wire.circuit for wire in group.wires})
        for joined in group.wires:
            beeps = [probed.id for probed in group.wires if group.expected(joined, probed) == "beep"]
            assert beeps == [joined.id]
    assert len(ring.groups) == (1 if strings == 1 else 6)


def test_matrices_and_cards_hold_every_wire() -> None:
    files = folder(24, 3)
    pages = lay_out(made(files), files)
    chapter = next(one for one in pages.chapters if one.id == "cards")
    rows = [
        row[0]
        for card in chapter.elements
        if isinstance(card, TaskCard) and card.title.startswith("Ring-out")
        for form in card.elements
        if isinstance(form, FormTable)
        for row in form.rows
    ]
    assert len(rows) == len(set(rows)) == 48
    text = pages.schedules["schedules/ring-out-1.csv"].decode().partition("\n")[2]
    _head, *lines = csv.reader(io.StringIO(text))
    assert [line.count("beep") for line in lines] == [1] * 8
    assert [line.index("beep") for line in lines] == list(range(1, 9))
    assert {line[-1] for line in lines} == {"open"}
    every = pages.schedules["schedules/ring-out.csv"].decode().splitlines()[2:]
    assert len(every) == 48
    assert all("open, all 47" in line for line in every)


def test_an_abandoned_wire_is_not_rung_out_and_a_spare_one_is() -> None:
    more = (
        "circuits:\n"
        "  OLD: {kind: abandoned, cable: W, size: 10 AWG, path: [R], status: existing}\n"
        "  RES: {kind: spare, cable: W, size: 10 AWG, path: [R]}\n"
    )
    files = folder(1, 1)
    wires = [wire.id for wire in ring_of(made({**files, "more.yaml": more.encode()})).wires]
    assert wires == ["PV-S1+", "PV-S1-", "RES"]


@pytest.mark.parametrize(
    ("count", "voc", "test", "least"),
    # 1.25 × 10 × 40 V is exactly 500 V and still in the row up to it; a hundredth of a volt more is not.
    [(2, "37.1 V", 250, 0.5), (10, "40 V", 500, 1.0), (10, "40.01 V", 1000, 1.0)],
)
def test_test_voltage_at_the_steps_of_the_table(count: int, voc: str, test: float, least: float) -> None:
    text = folder(1, 1)["meadow.yaml"].decode().replace("count: 11", f"count: {count}")
    text = text.replace("open_circuit_voltage: 37.1 V", f"open_circuit_voltage: {voc}")
    (one,) = ring_of(made({"m.yaml": text.encode()})).tests
    assert (one.test.value, one.least.to("Mohm").value) == (test, least)  # type: ignore[union-attr]


def test_a_voltage_above_the_table_has_no_test_voltage() -> None:
    text = folder(1, 1)["meadow.yaml"].decode().replace("count: 11", "count: 40")
    (one,) = ring_of(made({"m.yaml": text.encode()})).tests
    assert isinstance(one.test, Missing)
