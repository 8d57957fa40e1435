"""Way of each leg to its input: told only where it is the one way there is, and agreeing with the landing."""

from __future__ import annotations

import pytest

from reportgen.design.assemble import assemble
from reportgen.design.landing import arrivals
from reportgen.design.string_map import LegWay, ways
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

SWITCH = """
switches:
  K:
    units: {SW: }
    line: [L1, L2, L3, L4]
    load: [T1, T2, T3, T4]
    joined: [[L1, T1], [L2, T2], [L3, T3], [L4, T4]]
    ground_terminals: [PE]
"""


def found(files) -> dict[str, LegWay]:
    project = load_project(files)
    graph = assemble(project, load(str(project.project.rulebook)), "t").facts.graph
    made = {way.wire: way for way in ways(graph)}
    assert sorted(made) == sorted(wire.id for wire in graph.conductors if wire.leg)
    for arrival in arrivals(graph):
        way = made[arrival.conductor]
        if not way.unclear:
            assert set(arrival.reaches) == {way.meets, *way.beside}
            assert arrival.poles == way.steps.count("pole")
            assert arrival.wanted == way.wanted
    return made


def leg(barn, landing: str, jumpers: str = "") -> LegWay:
    more = f"jumpers:\n  SW: [{jumpers}]\n" if jumpers else ""
    return found(barn({"S1": 10}, f"{SWITCH}{more}landing:\n{landing}"))["PV-S1+"]


def test_every_leg_of_the_sample_goes_over_two_poles_and_a_link(sample) -> None:
    made = found(sample)
    way = made["PV-E1+"]
    assert way.terminals == ("L1", "T1", "T2", "L2")
    assert way.steps == ("pole", "link", "pole")
    assert (way.meets, way.wanted, way.wrong) == ("INV-1/A+", "INV-1/A+", False)
    assert not any(way.unclear or way.wrong for way in made.values())


def test_legs_that_change_places_are_wrong(sample) -> None:
    text = sample["landing.yaml"].decode()
    changed = text.replace("L1: PV-E1+", "L1: PV-E1-", 1).replace("L3: PV-E1-", "L3: PV-E1+", 1)
    assert changed != text
    made = found(sample | {"landing.yaml": changed.encode()})
    assert made["PV-E1+"].wrong
    assert made["PV-E1-"].wrong
    assert not made["PV-E2+"].wrong


@pytest.mark.parametrize(
    "landing",
    ["  INV: {A+: PV-S1+, D-: PV-S1-}\n", "  SW: {L1: PV-S1+, T1: INV/A+}\n  INV: {D-: PV-S1-}\n"],
    ids=["direct", "over a pole"],
)
def test_a_link_at_the_input_leaves_no_single_way(barn, landing: str) -> None:
    more = f"{SWITCH}jumpers:\n  INV: [[A+, B+]]\nlanding:\n{landing}"
    way = found(barn({"S1": 10}, more))["PV-S1+"]
    assert "a link at INV/A+ joins it to more" in way.unclear
    assert way.meets == ""


def test_a_leg_that_lands_on_the_inverter_needs_no_switch(barn) -> None:
    way = leg(barn, "  INV: {A+: PV-S1+, A-: PV-S1-}\n")
    assert (way.terminals, way.steps, way.meets, way.wrong) == (("A+",), (), "INV/A+", False)


@pytest.mark.parametrize(
    ("landing", "jumpers", "why"),
    [
        ("  SW: {T1: INV/A+}\n", "", "landing not stated"),
        ("  SW: {L1: PV-S1+}\n  INV: {D-: PV-S1-}\n", "", "nothing stated at the far end"),
        (
            "  SW: {L1: PV-S1+, T1: INV/A+}\n  INV: {B+: PV-S1+, D-: PV-S1-}\n",
            "",
            "landed at SW/L1 and at INV/B+",
        ),
        ("  SW: {L1: PV-S1+, T1: INV/A+, T2: INV/B+}\n  INV: {D-: PV-S1-}\n", "[L1, L2]", "the way parts"),
        ("  SW: {L1: PV-S1+, T1: INV/A+}\n  INV: {D-: PV-S1-}\n", "[L1, L2], [T1, T2]", "the way parts"),
        ("  SW: {L1: PV-S1+, T1: INV/A+}\n  INV: {D-: PV-S1-}\n", "[L1, T1]", "the way parts"),
        (
            "  SW: {L1: PV-S1+, T1: INV/A+, L2: INV/B+}\n  INV: {D-: PV-S1-}\n",
            "[T1, T2]",
            "INV/A+ joins on the way",
        ),
        ("  SW: {L1: PV-S1+, PE: INV/A+}\n  INV: {D-: PV-S1-}\n", "[T1, PE]", "tied to ground"),
    ],
)
def test_no_way_is_told_where_there_is_not_just_one(barn, landing: str, jumpers: str, why: str) -> None:
    way = leg(barn, landing, jumpers)
    assert why in way.unclear
    assert (way.terminals, way.steps, way.meets, way.wrong) == ((), (), "", False)
