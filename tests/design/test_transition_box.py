"""A home run that begins at a joint in a box: the joint is tightened, and the wire of the array in front of it counts."""

from __future__ import annotations

import pytest
from field_folder import folder

from reportgen.binder.write import lay_out
from reportgen.design.assemble import assemble
from reportgen.design.findings import Outcome
from reportgen.design.missing import Missing
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

WIRING = "wiring: {cable: PVW, size: 10 AWG, length: 40 ft}"


def text_of(wiring: str = WIRING, joint: str = "joint: {torque: 2 N·m}, ") -> str:
    text = folder(1, 1, more="stock: {head: 3 ft, trim: 2 ft}\n")["meadow.yaml"].decode()
    text = text.replace("starts_at: T\n    ends_at: BOX", "starts_at: BOX")
    text = text.replace("azimuth: 180 deg", f"azimuth: 180 deg, {wiring}" if wiring else "azimuth: 180 deg")
    text = text.replace("voltage: 600 V}", "voltage: 600 V}, PVW: {markings: [PV Wire], tinned: no}", 1)
    return text.replace("tails: {start: 14 ft", f"{joint}tails: {{start: 14 ft", 1)


def made(text: str):
    return assemble(load_project({"m.yaml": text.encode()}), load("nec2023"), "test")


def test_its_torque_is_on_the_sheet_with_both_wires() -> None:
    rows = [one for one in made(text_of()).facts.terminations if one.unit == "BOX"]
    assert [(one.terminal, one.wire, one.torque.value) for one in rows] == [
        ("joint PV-S1+", "PV-S1+ to PVW 10 AWG", 2),
        ("joint PV-S1-", "PV-S1- to PVW 10 AWG", 2),
    ]


def test_a_joint_without_a_torque_is_unknown_and_not_left_out() -> None:
    design = made(text_of(joint="joint: {temperature: 75 degC}, "))
    (found,) = (f for f in design.findings if f.code == "termination-torque" and f.subject == "BOX")
    assert (found.outcome, found.missing[0]) == (Outcome.UNKNOWN, "torque of the joint of circuit PV-S1")


def test_a_plug_at_the_array_is_no_terminal() -> None:
    text = (
        folder(1, 1)["meadow.yaml"]
        .decode()
        .replace("tails: {start: 14", "joint: {temperature: 90 degC}, tails: {start: 14", 1)
    )
    assert not [one for one in made(text).facts.terminations if "joint" in one.terminal]


def test_wire_of_the_array_is_in_the_drop() -> None:
    """Both legs of 40 ft of 10 AWG, 1.24 Ω/kft at 75 °C: 0.0992 Ω more."""
    near, far = (
        made(text_of(WIRING.replace("40 ft", length))).facts.circuits[0] for length in ("1 ft", "41 ft")
    )
    assert far.loop.value - near.loop.value == pytest.approx(2 * 40 / 1000 * 1.24)
    assert far.resistance.value - near.resistance.value == pytest.approx(2 * 40 / 1000 * 1.24)
    assert far.drop.value > near.drop.value
    assert far.longest.value < near.longest.value
    # Home run: the wire of the array is no part of it.
    assert far.length.value == near.length.value


def test_no_drop_while_the_length_of_that_wire_is_not_stated() -> None:
    for wiring in ("wiring: {cable: PVW, size: 10 AWG}",):
        design = made(text_of(wiring))
        (circuit,) = design.facts.circuits
        assert isinstance(circuit.drop_share, Missing)
        assert circuit.drop_share.what == "length of the wiring of array T, to BOX"
        (found,) = (f for f in design.findings if f.code == "voltage-drop")
        assert found.outcome is Outcome.UNKNOWN
        # Nor a piece to cut.
        (cut,) = (f for f in design.findings if f.code == "cut-length" and f.subject.startswith("PVW"))
        assert (cut.outcome, cut.missing) == (Outcome.UNKNOWN, ("length of the wiring of array T, to BOX",))


def test_a_box_that_lets_the_wire_pass_has_no_joint_and_asks_for_nothing() -> None:
    text = text_of("wiring: {cable: PVW, size: 10 AWG}").replace(
        "kind: pull box,", "kind: pull box, splices: no,"
    )
    design = made(text)
    assert not isinstance(design.facts.circuits[0].drop_share, Missing)
    assert not [one for one in design.facts.terminations if one.unit == "BOX"]


def test_it_is_cut_bought_and_told_in_the_box() -> None:
    files = {"m.yaml": text_of().encode()}
    design = made(text_of())
    group = next(group for group in design.facts.cuts if group.cable == "PVW")
    assert [(item.id, item.pulls, item.length.to("ft").value) for item in group.wires] == [
        ("PV-S1+ T to BOX", 0, pytest.approx(12.2 / 0.3048)),
        ("PV-S1- T to BOX", 0, pytest.approx(12.2 / 0.3048)),
    ]
    assert "wire PVW 10 AWG no colour stated" in {line.item for line in design.facts.materials.lines}
    schedules = lay_out(design, files).schedules
    rows = schedules["schedules/box-contents.csv"].decode().splitlines()
    assert "BOX,PV-S1+,10 AWG,joint to T,R/riser" in rows
    assert "joints of PV-S1 to their arrays" in schedules["schedules/boxes.csv"].decode()
