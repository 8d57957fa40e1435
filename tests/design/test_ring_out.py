"""Ring-out: every wire once, each beeps to itself alone, groups that can be kept in view; the test voltage at its steps."""

from __future__ import annotations

import csv
import io

import pytest
from field_folder import LETTERS, folder

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
    return design_ring_out(facts.graph, facts.circuits, design.commissioning.tests, facts.pieces)


@pytest.mark.parametrize(("strings", "inverters"), [(1, 1), (24, 3)])
def test_every_piece_is_in_one_group_and_beeps_to_itself_alone(strings: int, inverters: int) -> None:
    ring = ring_of(made(folder(strings, inverters)))
    assert sorted(piece.id for piece in ring.pieces) == sorted(
        f"PV-S{i}{sign} {way}"
        for i in range(1, strings + 1)
        for sign in "+-"
        for way in (
            f"T to SW-S{i}",
            f"SW-S{i} to INV-{(i - 1) % inverters + 1}/{LETTERS[(i - 1) // inverters]}{sign}",
        )
    )
    assert [wire.id for wire in ring.grounds] == ["EG"]
    for group in ring.groups:
        assert len(group.pieces) <= MOST
        # The legs of a circuit stay together, a group goes to one inverter and stays on one side of the switches.
        assert len({piece.wire.end.partition("/")[0] for piece in group.pieces}) == 1
        assert len({piece.first for piece in group.pieces}) == 1
        assert len(group.pieces) == 2 * len({piece.wire.circuit for piece in group.pieces})
        for joined in group.pieces:
            beeps = [probed.id for probed in group.pieces if group.expected(joined, probed) == "beep"]
            assert beeps == [joined.id]
    assert len(ring.groups) == (2 if strings == 1 else 12)


def ends_of(ring) -> list[tuple[str, str]]:
    return [(str(piece.start), str(piece.end)) for piece in ring.pieces]


def test_wires_that_land_on_no_switch_are_rung_out_from_end_to_end() -> None:
    ring = ring_of(made(folder(1, 1, switches=False)))
    assert ends_of(ring) == [("T", "INV-1/A+"), ("T", "INV-1/A-")]
    assert [group.side for group in ring.groups] == [""]
    assert ring.groups[0].backs == ("EG", "EG")


def test_no_piece_has_a_switch_in_it_and_each_names_its_terminals() -> None:
    ring = ring_of(made(folder(1, 1)))
    assert ends_of(ring) == [
        ("T", "SW-S1/L1"),
        ("T", "SW-S1/L2"),
        ("SW-S1/T1", "INV-1/A+"),
        ("SW-S1/T2", "INV-1/A-"),
    ]
    # The ground runs through the pipe and not from the switch to the inverter, where a wire is laid along.
    assert [group.backs for group in ring.groups] == [("EG", "EG"), ("", "")]


def test_a_crossed_switch_is_rung_out_by_the_terminals_of_its_landing() -> None:
    text = folder(1, 1)["meadow.yaml"].decode()
    text = text.replace("joined: [[L1, T1], [L2, T2]]", "joined: [[L1, T2], [L2, T1]]")
    text = text.replace("T1: INV-1/A+", "T2: INV-1/A+").replace("T2: INV-1/A-", "T1: INV-1/A-")
    assert ends_of(ring_of(made({"m.yaml": text.encode()})))[2:] == [
        ("SW-S1/T2", "INV-1/A+"),
        ("SW-S1/T1", "INV-1/A-"),
    ]


def test_switches_in_series_have_a_piece_between_them() -> None:
    text = folder(1, 1)["meadow.yaml"].decode().replace("units: {SW-S1: {}}", "units: {SW-S1: {}, SW-X: {}}")
    text = text.replace(
        "SW-S1: {L1: PV-S1+, T1: INV-1/A+, L2: PV-S1-, T2: INV-1/A-}",
        "SW-S1: {L1: PV-S1+, T1: SW-X/L2, L2: PV-S1-, T2: SW-X/L1}\n"
        "  SW-X: {L1: SW-S1/T2, T1: INV-1/A-, L2: SW-S1/T1, T2: INV-1/A+}",
    )
    ring = ring_of(made({"m.yaml": text.encode()}))
    assert ends_of(ring) == [
        ("T", "SW-S1/L1"),
        ("T", "SW-S1/L2"),
        ("SW-S1/T1", "SW-X/L2"),
        ("SW-S1/T2", "SW-X/L1"),
        ("SW-X/T2", "INV-1/A+"),
        ("SW-X/T1", "INV-1/A-"),
    ]
    assert [group.side for group in ring.groups] == ["array side", "between devices", "inverter side"]


def test_a_box_with_joints_cuts_the_wire_and_one_without_lets_it_pass() -> None:
    text = folder(1, 1, switches=False)["meadow.yaml"].decode().replace("ends_at: BOX", "ends_at: INV-1")
    text = text.replace("length: 8 ft,", "length: 8 ft, ends_at: BOX,")
    passing = ring_of(made({"m.yaml": text.encode()}))
    assert [(one.id, one.passed) for one in passing.pieces] == [("PV-S1+", ("BOX",)), ("PV-S1-", ("BOX",))]
    spliced = text.replace("kind: pull box,", "kind: junction box, splices: yes,")
    assert ends_of(ring_of(made({"m.yaml": spliced.encode()}))) == [
        ("T", "BOX"),
        ("T", "BOX"),
        ("BOX", "INV-1/A+"),
        ("BOX", "INV-1/A-"),
    ]
    unsaid = ring_of(made({"m.yaml": text.replace("kind: pull box,", "kind: junction box,").encode()}))
    assert [item.what for item in unsaid.groups[0].missing] == [
        "splices of box type PULL: whether PV-S1 is joined in BOX"
    ]


def test_a_wire_passes_a_switch_that_others_land_on() -> None:
    """Its raceways end at that switch, and it is named among its enclosures too; the landing decides."""
    text = (
        folder(2, 1)["meadow.yaml"]
        .decode()
        .replace("enclosures: [BOX, SW-S2]", "enclosures: [BOX, SW-S1, SW-S2]")
    )
    ring = ring_of(made({"m.yaml": text.encode()}))
    assert [str(piece.end) for piece in ring.pieces if piece.first and piece.wire.circuit == "PV-S2"] == [
        "SW-S2/L1",
        "SW-S2/L2",
    ]


def test_a_circuit_that_begins_at_a_joint_in_a_box_is_rung_out_from_there() -> None:
    text = folder(1, 1)["meadow.yaml"].decode().replace("starts_at: T\n    ends_at: BOX", "starts_at: BOX")
    text = text.replace("tails: {start: 14 ft", "joint: {torque: 2 N·m}, tails: {start: 14 ft", 1)
    (first, *_) = ring_of(made({"m.yaml": text.encode()})).pieces
    assert str(first.start) == "T"
    wired = text.replace("azimuth: 180 deg", "azimuth: 180 deg, wiring: {cable: W, size: 10 AWG}")
    (first, *_) = ring_of(made({"m.yaml": wired.encode()})).pieces
    assert (str(first.start), str(first.end)) == ("BOX/joint", "SW-S1/L1")


def test_matrices_and_cards_hold_every_piece() -> None:
    files = folder(24, 3)
    pages = lay_out(made(files), files)
    chapter = next(one for one in pages.chapters if one.id == "cards")
    cards = [
        one for one in chapter.elements if isinstance(one, TaskCard) and one.title.startswith("Ring-out")
    ]
    rows = [
        row for card in cards for form in card.elements if isinstance(form, FormTable) for row in form.rows
    ]
    # Both legs of a piece share a row.
    assert len(rows) == len({row[0] for row in rows}) == 48
    assert {row[2] for row in rows if str(row[0]).startswith("PV-S1 ")} == {
        "+ to L1; - to L2",
        "+ T1 to A+; - T2 to A-",
    }
    text = pages.schedules["schedules/ring-out-1.csv"].decode().partition("\n")[2]
    _head, *lines = csv.reader(io.StringIO(text))
    assert [line.count("beep") for line in lines] == [1] * 8
    assert [line.index("beep") for line in lines] == list(range(1, 9))
    assert {line[-1] for line in lines} == {"open"}
    every = pages.schedules["schedules/ring-out.csv"].decode().splitlines()[2:]
    assert len(every) == 96
    assert all("open, all 47" in line for line in every)
    words = " ".join(str(element) for card in cards for element in card.elements)
    assert "A switch stays open and locked" in words


def test_an_abandoned_wire_is_not_rung_out_and_a_spare_one_is() -> None:
    more = (
        "circuits:\n"
        "  OLD: {kind: abandoned, cable: W, size: 10 AWG, path: [R], status: existing}\n"
        "  RES: {kind: spare, cable: W, size: 10 AWG, path: [R]}\n"
    )
    files = folder(1, 1, switches=False)
    pieces = [piece.id for piece in ring_of(made({**files, "more.yaml": more.encode()})).pieces]
    assert pieces == ["PV-S1+", "PV-S1-", "RES"]


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
