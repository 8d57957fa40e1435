"""Terminals: each with its wire and the maker's torque; nothing guessed, nothing met without a value."""

from __future__ import annotations

import csv
import io

import pytest
from field_folder import folder

from reportgen.binder.chapters.terminations import NOT_STATED
from reportgen.binder.write import lay_out
from reportgen.design.assemble import assemble
from reportgen.design.findings import Outcome
from reportgen.design.missing import Missing
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.working.quantity import Quantity

TORQUE = "terminals: {torque: 1.2 N·m, strip_length: 12 mm, ferrule: allowed}"


def made(files):
    return assemble(load_project(files), load("nec2023"), "test")


def changed(*pairs: tuple[str, str], strings: int = 1, more: str = "") -> dict[str, bytes]:
    text = folder(strings, 1, more=more)["meadow.yaml"].decode()
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return {"meadow.yaml": text.encode()}


def found(design, code):
    return {f.subject: f for f in design.findings if f.code == code}


@pytest.mark.parametrize(("strings", "inverters"), [(1, 1), (24, 3)])
def test_every_terminal_of_switch_and_inverter_is_listed_once(strings: int, inverters: int) -> None:
    terminals = made(folder(strings, inverters)).facts.terminations
    assert len(terminals) == strings * (4 + 2)
    assert len({(one.unit, one.terminal, one.wire) for one in terminals}) == len(terminals)


def test_a_torque_prints_in_both_units() -> None:
    """1.2 N·m = 1.2 / 0.112985 = 10.6 lb·in by hand."""
    files = folder(1, 1)
    rows = rows_of(files)
    pole = next(row for row in rows if row["terminal"] == "A+")
    assert float(pole["newton [N·m]"]) == 1.2
    assert float(pole["inch [lb·in]"]) == pytest.approx(10.6, abs=0.05)


def rows_of(files):
    text = lay_out(made(files), files).schedules["schedules/terminations.csv"].decode()
    return list(csv.DictReader(io.StringIO(text.partition("\n")[2])))


def test_what_no_maker_states_is_said_and_is_unknown() -> None:
    files = folder(1, 1)
    switch = [row for row in rows_of(files) if row["unit"] == "SW-S1"]
    assert {row["newton [N·m]"] for row in switch} == {row["inch [lb·in]"] for row in switch} == {NOT_STATED}
    assert {row["strip [mm]"] for row in switch} == {"11"}
    torque = found(made(files), "termination-torque")
    assert torque["SW-S1"].outcome is Outcome.UNKNOWN
    assert torque["INV-1"].outcome is Outcome.MEETS


def test_a_torque_of_zero_was_not_stated() -> None:
    it = made(changed((TORQUE, TORQUE.replace("1.2 N·m", "0 N·m"))))
    assert found(it, "termination-torque")["INV-1"].outcome is Outcome.UNKNOWN
    assert all(isinstance(one.torque, Missing) for one in it.facts.terminations)


def test_links_stand_under_the_screws_too() -> None:
    it = made(folder(1, 1, more="jumpers:\n  SW-S1: [[T1, T2]]\n"))
    links = [one.terminal for one in it.facts.terminations if one.wire == "link T1-T2"]
    assert links == ["T1", "T2"]


def test_wires_landed_on_an_inverter_are_not_listed_twice() -> None:
    text = folder(1, 1, switches=False)["meadow.yaml"].decode()
    text += "landing:\n  INV-1: {A+: PV-S1+, A-: PV-S1-}\n"
    terminals = made({"m.yaml": text.encode()}).facts.terminations
    assert [(one.terminal, one.wire) for one in terminals] == [("A+", "PV-S1+"), ("A-", "PV-S1-")]


FINE = ("voltage: 600 V}", "voltage: 600 V, stranding: fine stranded}")


@pytest.mark.parametrize(
    ("rule", "outcome", "ferrule"),
    [
        ("ferrule: allowed", Outcome.MEETS, 6.0),
        ("ferrule: required", Outcome.MEETS, 6.0),
        ("ferrule: forbidden", Outcome.ASK, None),
        ("temperature: 75 degC", Outcome.UNKNOWN, None),
    ],
)
def test_ferrules_on_fine_strands(rule: str, outcome: Outcome, ferrule: float | None) -> None:
    it = made(changed(FINE, ("ferrule: allowed", rule)))
    assert found(it, "termination-ferrule")["INV-1"].outcome is outcome
    pole = next(one for one in it.facts.terminations if one.terminal == "A+")
    # 10 AWG has 10 380 cmil, 5.26 mm²: the next ferrule is that of 6 mm².
    assert (pole.ferrule.value if isinstance(pole.ferrule, Quantity) else None) == ferrule


def test_coarse_strands_take_no_ferrule_unless_the_maker_asks_for_one() -> None:
    assert all(one.ferrule is None for one in made(folder(1, 1)).facts.terminations)
    asked = made(changed(("ferrule: allowed", "ferrule: required")))
    assert {one.ferrule.value for one in asked.facts.terminations if isinstance(one.ferrule, Quantity)} == {
        6.0
    }


@pytest.mark.parametrize(
    ("size", "ferrule"), [("6 mm2", 6.0), ("12 AWG", 4.0), ("8 AWG", 10.0), ("1/0 AWG", None)]
)
def test_a_ferrule_is_of_the_size_of_its_wire_or_the_next(size: str, ferrule: float | None) -> None:
    """Areas by hand: 12 AWG 3.31 mm², 8 AWG 8.37 mm²; 1/0 AWG has 53.5 mm², above the largest ferrule."""
    it = made(changed(FINE, ("size: 10 AWG", f"size: {size}")))
    pole = next(one for one in it.facts.terminations if one.terminal == "A+")
    assert (pole.ferrule.value if isinstance(pole.ferrule, Quantity) else None) == ferrule
    if ferrule is None:
        assert found(it, "termination-ferrule")["INV-1"].outcome is Outcome.UNKNOWN


@pytest.mark.parametrize(
    ("range_", "then"),
    [
        ("smallest: 2.5 mm2, largest: 10 mm2", Outcome.MEETS),
        ("smallest: 2.5 mm2, largest: 4 mm2", Outcome.FAILS),
        ("smallest: 10 mm2, largest: 16 mm2", Outcome.FAILS),
        # Sizes of two systems are not compared: no table says which gauge a clamp for 6 mm² takes.
        ("smallest: 12 AWG, largest: 6 AWG", Outcome.UNKNOWN),
    ],
)
def test_metric_wire_is_held_against_metric_clamps(sample, edit, design, range_, then) -> None:
    files = edit(sample, "circuits.yaml", "    size: 8 AWG\n", "    size: 6 mm2\n")
    files = edit(
        files,
        "equipment.yaml",
        "smallest: 12 AWG, largest: 6 AWG, conductors_per_terminal: 1, torque: 2 N",
        f"{range_}, conductors_per_terminal: 1, torque: 2 N",
    )
    found = {f.id: f.outcome for f in design(files).findings}
    assert found["terminal-size:SW-E1"] is then
