"""A leg followed over two switches one after the other: right, crossed in either, rated in each, and never met by halves."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome
from reportgen.design.string_map import ways
from reportgen.diagnostics.model import InputRefused

#: Two four-pole switches: the first straight, the second joins crosswise.
SWITCHES = """
switches:
  STRAIGHT:
    units: {SW-1: }
    line: [L1, L2, L3, L4]
    load: [T1, T2, T3, T4]
    joined: [[L1, T1], [L2, T2], [L3, T3], [L4, T4]]
    ratings: [{poles_in_series: 1, voltage: 600 V}]
    rated_current: 32 A
    load_break: yes
  CROSSED:
    units: {SW-2: }
    line: [L1, L2, L3, L4]
    load: [T1, T2, T3, T4]
    joined: [[L1, T2], [L2, T1], [L3, T4], [L4, T3]]
    ratings: [{poles_in_series: 1, voltage: 600 V}]
    rated_current: 32 A
    load_break: yes
"""
FIRST = "SW-1: {L1: PV-S1+, L2: PV-S1-, L3: PV-S2+, L4: PV-S2-, T1: SW-2/L1, T2: SW-2/L2, T3: SW-2/L3, T4: SW-2/L4}"
SECOND = "SW-2: {L1: SW-1/T1, L2: SW-1/T2, L3: SW-1/T3, L4: SW-1/T4, %s}"
RIGHT = "T1: INV/A-, T2: INV/A+, T3: INV/B-, T4: INV/B+"
STRAIGHT_ACROSS = "T1: INV/A+, T2: INV/A-, T3: INV/B+, T4: INV/B-"


@pytest.fixture
def made(barn, design):
    def build(second: str = SECOND % RIGHT, first: str = FIRST, switches: str = SWITCHES):
        return design(barn({"S1": 11, "S2": 9}, switches, f"landing:\n  {first}\n  {second}\n"))

    return build


def of(made, code: str) -> dict[str, Outcome]:
    return {
        f"{finding.subject} {finding.part}".strip(): finding.outcome
        for finding in made.findings
        if finding.code == code
    }


def test_each_leg_arrives_over_both(made) -> None:
    design = made()
    assert set(of(design, "landing").values()) == {Outcome.MEETS}
    (told,) = (f.headline for f in design.findings if f.code == "landing" and f.subject == "PV-S1+")
    assert told == "PV-S1+ arrives at INV/A+ over 1 pole of SW-1 and 1 pole of SW-2"
    # 11 · 37.1 · (1 + 0.0027 · 37) = 448.9 V at −12 °C stands against each of them alone.
    rated = of(design, "cold-voltage-switch")
    assert {key: rated[f"PV-S1 {key}"] for key in ("SW-1", "SW-2")} == {
        "SW-1": Outcome.MEETS,
        "SW-2": Outcome.MEETS,
    }
    assert set(of(design, "switch-current").values()) == {Outcome.MEETS}


def test_a_crossing_in_the_second_one_is_seen(made) -> None:
    design = made(SECOND % STRAIGHT_ACROSS)
    assert set(of(design, "landing").values()) == {Outcome.FAILS}
    readings = {item.address: item.reading for item in design.facts.predictions.inputs}
    # 11 · 37.1 · 1 and 9 · 37.1 at 25 °C, both with their poles exchanged.
    assert readings["INV/A"].voltage.value == pytest.approx(-408.1, abs=0.05)
    assert readings["INV/B"].voltage.value == pytest.approx(-333.9, abs=0.05)


def test_a_crossing_in_the_wires_between_is_seen(made) -> None:
    crossed = FIRST.replace("T1: SW-2/L1, T2: SW-2/L2", "T1: SW-2/L2, T2: SW-2/L1")
    second = (SECOND % RIGHT).replace("L1: SW-1/T1, L2: SW-1/T2", "L1: SW-1/T2, L2: SW-1/T1")
    found = of(made(second, crossed), "landing")
    assert found == {"PV-S1+": Outcome.FAILS, "PV-S1-": Outcome.FAILS, "PV-S2+": Outcome.MEETS, "PV-S2-": Outcome.MEETS}  # fmt: skip


def test_the_weaker_switch_is_judged_by_its_own_poles(made) -> None:
    # Two poles of the first do not help the second, which may be opened alone: 300 V is too little for 448.9 V.
    weak = SWITCHES[: SWITCHES.index("CROSSED")] + SWITCHES[SWITCHES.index("CROSSED") :].replace(
        "voltage: 600 V", "voltage: 300 V"
    )
    rated = of(made(switches=weak), "cold-voltage-switch")
    assert (rated["PV-S1 SW-1"], rated["PV-S1 SW-2"]) == (Outcome.MEETS, Outcome.FAILS)


def test_what_is_not_landed_behind_the_second_does_not_arrive(made) -> None:
    found = of(made(SECOND % RIGHT.replace("T2: INV/A+, ", "")), "landing")
    assert found["PV-S1+"] is Outcome.FAILS
    assert found["PV-S1-"] is Outcome.MEETS


def test_a_link_around_the_second_leaves_it_in_no_series(barn, design) -> None:
    linked = "jumpers: {SW-2: [[L1, T2]]}\n"
    made = design(barn({"S1": 11, "S2": 9}, SWITCHES, f"landing:\n  {FIRST}\n  {SECOND % RIGHT}\n{linked}"))
    # It arrives, but opening the second one opens nothing: no rating holds for no pole.
    assert of(made, "landing")["PV-S1+"] is Outcome.MEETS
    assert of(made, "cold-voltage-switch")["PV-S1 SW-2"] is Outcome.UNKNOWN


def test_an_open_switch_leaves_what_lies_before_it_live(made) -> None:
    opened = {item.unit: {t.terminal: t.legs for t in item.terminals} for item in made().isolation.switches}
    # With the second one open, the first one and the wires between are live up to its line side.
    assert opened["SW-2"]["L1"] == ("PV-S1+",)
    assert opened["SW-2"]["T2"] == ()
    assert opened["SW-1"]["L1"] == ("PV-S1+",)
    assert opened["SW-1"]["T1"] == ()


def test_the_way_is_told_through_both(made) -> None:
    (way,) = (way for way in ways(made().facts.graph) if way.wire == "PV-S1+")
    assert way.terminals == ("L1", "T1", "SW-2/L1", "SW-2/T2")
    assert way.steps == ("pole", "wire", "pole")
    assert (way.meets, way.wrong) == ("INV/A+", False)


def test_strings_that_meet_behind_the_first_switches_feed_each_other(barn, design) -> None:
    # Each string has a switch of its own; both go on to one pole of a third.
    switches = SWITCHES.replace("units: {SW-1: }", "units: {SW-1: , SW-3: }")
    landing = """landing:
  SW-1: {L1: PV-S1+, T1: SW-2/L1, L2: PV-S1-, T2: SW-2/L2}
  SW-3: {L1: PV-S2+, T1: SW-2/L3, L2: PV-S2-, T2: SW-2/L4}
  SW-2: {L1: SW-1/T1, L2: SW-1/T2, L3: SW-3/T1, L4: SW-3/T2, T1: INV/A-, T2: INV/A+}
jumpers: {SW-2: [[L1, L3], [L2, L4]]}
"""
    made = design(barn({"S1": 11, "S2": 11}, switches, landing))
    parallel = {item.string.id: item.strings for item in made.facts.overcurrent.strings}
    assert parallel == {"S1": 2, "S2": 2}
    # The second string is meant for another input, so neither leg of either passes.
    assert Outcome.MEETS not in set(of(made, "landing").values())
    (shared,) = (f for f in made.findings if f.code == "switch-current" and f.subject == "SW-2")
    assert shared.outcome is not Outcome.MEETS


@pytest.mark.parametrize(
    ("first", "second", "message"),
    [
        (FIRST.replace("T1: SW-2/L1", "T1: SW-2/L9"), SECOND % RIGHT, "SW-2/L9"),
        (FIRST, (SECOND % RIGHT).replace("L1: SW-1/T1, ", ""), "where nothing is landed"),
        (FIRST, (SECOND % RIGHT).replace("L1: SW-1/T1, L2: SW-1/T2", "L1: SW-1/T2, L2: SW-1/T1"), "where `SW-1/T2` is landed"),
        (FIRST.replace("T1: SW-2/L1", "T1: SW-1/L1"), SECOND % RIGHT, "of the same device"),
    ],
)  # fmt: skip
def test_a_wire_between_devices_stands_at_both_ends(made, first, second, message) -> None:
    with pytest.raises(InputRefused) as refused:
        made(second, first)
    assert any(message in item.message for item in refused.value.diagnostics)
    assert all(item.span is not None for item in refused.value.diagnostics)


def test_the_same_wire_on_two_switches_is_still_not_guessed(made) -> None:
    second = SECOND % RIGHT.replace("T2: INV/A+", "T2: INV/A+")
    both = second.replace("L1: SW-1/T1", "L1: PV-S1+").replace("L2: SW-1/T2", "L2: PV-S1-")
    first = FIRST.replace("T1: SW-2/L1, T2: SW-2/L2, ", "")
    found = of(made(both, first), "landing")
    assert (found["PV-S1+"], found["PV-S1-"]) == (Outcome.UNKNOWN, Outcome.UNKNOWN)
