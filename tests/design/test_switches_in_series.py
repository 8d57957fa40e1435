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
    # The lead is landed nowhere: not told, rather than wrong.
    found = of(made(SECOND % RIGHT.replace("T2: INV/A+, ", "")), "landing")
    assert found["PV-S1+"] is Outcome.UNKNOWN
    assert found["PV-S1-"] is Outcome.MEETS
    # Landed where this leg cannot come to, it is wrong.
    second = SECOND % RIGHT.replace("T2: INV/A+, ", "")
    elsewhere = made(second, FIRST.replace("T1: SW-2/L1", "T1: SW-2/L1") + "\n  INV: {A+: PV-S2+}")
    assert of(elsewhere, "landing")["PV-S1+"] is Outcome.UNKNOWN
    third = SWITCHES.replace("units: {SW-1: }", "units: {SW-1: , SW-3: }")
    elsewhere = made(second, f"{FIRST}\n  SW-3: {{T1: INV/A+}}", third)
    assert of(elsewhere, "landing")["PV-S1+"] is Outcome.FAILS


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


#: Both strings on one input, side by side: joined on the load side of the first switch, one pair of wires to the second.
SIDE_BY_SIDE = """landing:
  SW-1: {L1: PV-S1+, L2: PV-S1-, L3: PV-S2+, L4: PV-S2-, T1: SW-2/L1, T2: SW-2/L2}
  SW-2: {L1: SW-1/T1, L2: SW-1/T2, T1: INV/A-, T2: INV/A+}
jumpers: {SW-1: [[T1, T3], [T2, T4]]}
"""


@pytest.fixture
def parallel(barn, design, edit):
    """Design of two strings of eleven on one input, by what is landed and linked."""

    def build(landing: str = SIDE_BY_SIDE, switches: str = SWITCHES, counts=(11, 11), more: str = ""):
        files = barn(dict(zip(("S1", "S2"), counts, strict=True)), switches, landing)
        files = edit(files, "barn.yaml", "input: INV/B", "input: INV/A")
        return design(files | ({"extra.yaml": more.encode()} if more else {}))

    return build


def test_strings_joined_on_the_first_switch_go_over_the_second(parallel) -> None:
    made = parallel()
    assert of(made, "landing") == dict.fromkeys(("PV-S1+", "PV-S1-", "PV-S2+", "PV-S2-"), Outcome.MEETS)
    # 11 · 37.1 · (1 + 0.0027 · 37) = 448.9 V stands against every switch, and each is judged.
    rated = of(made, "cold-voltage-switch")
    assert rated == {f"PV-{s} SW-{n}": Outcome.MEETS for s in ("S1", "S2") for n in (1, 2)}
    assert set(of(made, "switch-load-break")) == {"SW-1", "SW-2"}
    # 2 · 1.25 · 13.79 = 34.475 A: certainly over one pole of the second, while the first has a pole for each.
    currents = {f.subject: f for f in made.findings if f.code == "switch-current"}
    assert currents["SW-2"].value.value == pytest.approx(34.475)
    assert (currents["SW-1"].outcome, currents["SW-2"].outcome) == (Outcome.ASK, Outcome.FAILS)


def test_the_map_of_both_switches_follows_the_joined_strings(parallel) -> None:
    first, second = parallel().facts.predictions.switches
    assert [(row.near, row.wire, row.far, row.belongs, row.straight) for row in second.rows[:2]] == [
        ("L1", "SW-1/T1", "T1", "INV/A-", "INV/A+"),
        ("L2", "SW-1/T2", "T2", "INV/A+", "INV/A-"),
    ]
    assert second.is_trap
    (reading,) = second.straight
    # Own hand calculation: 11 · 37.1 V = 408.1 V at 25 °C, reversed by the crossing.
    assert reading.voltage.value == pytest.approx(-408.1, abs=0.05)
    assert [(row.far, row.belongs) for row in first.rows] == [
        ("T1", "SW-2/L1"), ("T2", "SW-2/L2"), ("T3", ""), ("T4", ""),
    ]  # fmt: skip
    assert not first.is_trap
    assert second.beeps_closed == (("L1", "T2"), ("L2", "T1"), ("L3", "T4"), ("L4", "T3"))


def test_the_map_of_a_first_switch_tells_which_wire_goes_on(made) -> None:
    # The wires between are exchanged at the second switch's end: what belongs below L1 is what leads to A+.
    first = made().facts.predictions.switches[0]
    assert [(row.far, row.belongs, row.straight) for row in first.rows] == [
        (f"T{n}", f"SW-2/L{n}", f"SW-2/L{n}") for n in range(1, 5)
    ]
    wrong = made(SECOND % STRAIGHT_ACROSS).facts.predictions.switches[0]
    # With the leads landed straight across below, the wire that leads to A+ is the one from L2.
    assert [row.belongs for row in wrong.rows] == ["SW-2/L2", "SW-2/L1", "SW-2/L4", "SW-2/L3"]


def test_places_to_measure_stand_on_every_device_passed(parallel) -> None:
    points = [p for p in parallel().facts.predictions.points if p.string == "S1"]
    assert [(p.place, p.red, p.black, p.live_when_open) for p in points] == [
        ("array end", "PV-S1+", "PV-S1-", True),
        ("SW-1, array side", "SW-1/L1", "SW-1/L2", True),
        ("SW-1, inverter side", "SW-1/T1", "SW-1/T2", False),
        ("SW-2, array side", "SW-2/L1", "SW-2/L2", False),
        ("SW-2, inverter side", "SW-2/T2", "SW-2/T1", False),
        ("input INV/A", "INV/A+", "INV/A-", False),
    ]
    assert {round(p.closed.value, 1) for p in points} == {408.1}


def test_placards_of_both_switches_name_what_stays_live(parallel) -> None:
    made = parallel(more="")
    live = {p.place: p.live for p in made.facts.labels.placards if p.key == "disconnect"}
    assert live == {"SW-1": ("L1", "L2", "L3", "L4"), "SW-2": ("L1", "L2")}


def test_the_placard_of_2017_adds_what_runs_as_one(barn, design, edit) -> None:
    files = edit(
        barn({"S1": 11, "S2": 11}, SWITCHES, SIDE_BY_SIDE), "barn.yaml", "input: INV/B", "input: INV/A"
    )
    made = design(edit(files, "barn.yaml", "title: Barn", "title: Barn, rulebook: nec2017"))
    values = {p.place: dict(p.values) for p in made.facts.labels.placards if p.key == "max-voltage"}
    # Own hand calculation: 2 · 1.25 · 13.79 A = 34.475 A, and 448.9 V.
    assert values["SW-2"]["maximum circuit current"].value == pytest.approx(34.475)
    assert values["SW-2"]["maximum voltage"].value == pytest.approx(448.87, abs=0.005)


def test_the_way_of_joined_strings_is_told_with_what_joins_it(parallel) -> None:
    found = {way.wire: way for way in ways(parallel().facts.graph)}
    assert found["PV-S2+"].terminals == ("L3", "T3", "T1", "SW-2/L1", "SW-2/T2")
    assert found["PV-S2+"].steps == ("pole", "link", "wire", "pole")
    assert (found["PV-S2+"].meets, found["PV-S2+"].beside) == ("INV/A+", ("PV-S1+",))


def test_strings_joined_on_the_second_switch_are_added_there(parallel) -> None:
    switches = SWITCHES.replace("units: {SW-1: }", "units: {SW-1: , SW-3: }").replace("32 A", "25 A")
    landing = """landing:
  SW-1: {L1: PV-S1+, T1: SW-2/L1, L2: PV-S1-, T2: SW-2/L2}
  SW-3: {L1: PV-S2+, T1: SW-2/L3, L2: PV-S2-, T2: SW-2/L4}
  SW-2: {L1: SW-1/T1, L2: SW-1/T2, L3: SW-3/T1, L4: SW-3/T2, T1: INV/A-, T2: INV/A+}
jumpers: {SW-2: [[L1, L3], [L2, L4]]}
"""
    made = parallel(landing, switches)
    assert set(of(made, "landing").values()) == {Outcome.MEETS}
    # Each passes its own switch and the second one, and not that of the other string.
    assert set(of(made, "cold-voltage-switch")) == {"PV-S1 SW-1", "PV-S1 SW-2", "PV-S2 SW-3", "PV-S2 SW-2"}
    currents = {f.id: (f.outcome, f.value.value) for f in made.findings if f.code == "switch-current"}
    assert currents["switch-current:SW-1:PV-S1"] == (Outcome.MEETS, pytest.approx(17.2375))
    # Both come in on terminals of their own, and which pole carries how much the folder does not say.
    assert currents["switch-current:SW-2:PV-S1 PV-S2"] == (Outcome.ASK, pytest.approx(34.475))
    # Fed from behind by the other string, all of the first switch stays live while it alone is open.
    live = {p.place: p.live for p in made.facts.labels.placards if p.key == "disconnect"}
    assert live["SW-1"] == ("L1", "L2", "T1", "T2")


def test_two_switches_side_by_side_part_nothing_alone(barn, design) -> None:
    switches = SWITCHES.replace("units: {SW-1: }", "units: {SW-1: , SW-3: }")
    landing = """landing:
  SW-1: {L1: PV-S1+, T1: SW-2/L1, T2: SW-3/L1, L3: PV-S1-, T3: SW-2/L2}
  SW-2: {L1: SW-1/T1, T2: INV/A+, L2: SW-1/T3, T1: INV/A-, L3: SW-3/T1}
  SW-3: {L1: SW-1/T2, T1: SW-2/L3}
jumpers: {SW-1: [[T1, T2]], SW-2: [[T4, T2]]}
"""
    rated = of(design(barn({"S1": 11}, switches, landing)), "cold-voltage-switch")
    # Whoever opens the third has opened nothing: no rating makes that safe.
    assert rated["PV-S1 SW-3"] is Outcome.UNKNOWN
    assert rated["PV-S1 SW-2"] is Outcome.MEETS


def test_strings_end_to_end_stand_at_no_rating(barn, design) -> None:
    # The negative leg of one meets the positive of the other: 897.8 V between the outer ends.
    landing = """landing:
  SW-1: {L1: PV-S1+, T1: INV/A+, L2: PV-S1-, L3: PV-S2+, L4: PV-S2-, T4: INV/A-}
jumpers: {SW-1: [[T2, T3]]}
"""
    made = design(barn({"S1": 11, "S2": 11}, SWITCHES, landing))
    assert Outcome.MEETS not in set(of(made, "cold-voltage-switch").values())


BOX = """
boxes:
  CB:
    kind: combiner box
    units: {CB-1: }
    terminal_ids: [1, 2, 3, 4, P, N]
"""
IN_THE_BOX = """landing:
  CB-1: {1: PV-S1+, 2: PV-S1-, 3: PV-S2+, 4: PV-S2-%s}
%s"""
LINKS = "jumpers: {CB-1: [[1, 3], [3, P], [2, 4], [4, N]]}\n"


def test_a_leg_in_a_box_without_a_way_on_is_not_told(parallel) -> None:
    for landing in (
        IN_THE_BOX % ("", ""),
        IN_THE_BOX % ("", LINKS),
        IN_THE_BOX % (", P: INV/A+, N: INV/A-", ""),
    ):
        made = parallel(landing, BOX)
        assert set(of(made, "landing").values()) == {Outcome.UNKNOWN}
    (told,) = (f for f in made.findings if f.id == "landing:PV-S1+")
    assert "CB-1/1" in told.headline
    assert "jumpers" in told.missing[0]


def test_a_leg_is_followed_through_a_box(parallel) -> None:
    made = parallel(IN_THE_BOX % (", P: INV/A+, N: INV/A-", LINKS), BOX)
    assert set(of(made, "landing").values()) == {Outcome.MEETS}
    crossed = parallel(IN_THE_BOX % (", P: INV/A-, N: INV/A+", LINKS), BOX)
    assert set(of(crossed, "landing").values()) == {Outcome.FAILS}


def test_legs_of_both_signs_on_one_bar_of_a_box_fail_whatever_is_not_told(parallel) -> None:
    made = parallel(IN_THE_BOX % ("", "jumpers: {CB-1: [[1, 4]]}\n"), BOX)
    found = of(made, "landing")
    assert (found["PV-S1+"], found["PV-S2-"]) == (Outcome.FAILS, Outcome.FAILS)


def test_a_box_before_a_switch_adds_what_it_joins(parallel) -> None:
    landing = (
        """landing:
  CB-1: {1: PV-S1+, 2: PV-S1-, 3: PV-S2+, 4: PV-S2-, P: SW-2/L1, N: SW-2/L2}
  SW-2: {L1: CB-1/P, L2: CB-1/N, T1: INV/A-, T2: INV/A+}
"""
        + LINKS
    )
    made = parallel(landing, SWITCHES + BOX)
    assert set(of(made, "landing").values()) == {Outcome.MEETS}
    assert of(made, "cold-voltage-switch") == {"PV-S1 SW-2": Outcome.MEETS, "PV-S2 SW-2": Outcome.MEETS}
    (current,) = (f for f in made.findings if f.code == "switch-current")
    assert (current.outcome, current.value.value) == (Outcome.FAILS, pytest.approx(34.475))


def test_a_leg_of_a_string_without_an_input_goes_nowhere_in_particular(barn, design, edit) -> None:
    files = barn({"S1": 11}, SWITCHES, "landing:\n  SW-1: {L1: PV-S1+, T1: INV/A+, L2: PV-S1-, T2: INV/A-}\n")
    made = design(edit(files, "barn.yaml", ", input: INV/A", ""))
    assert set(of(made, "landing").values()) == {Outcome.UNKNOWN}


def test_strings_joined_on_a_switch_come_to_the_input_on_one_pair(parallel, design, barn, edit) -> None:
    (found,) = (f for f in parallel().findings if f.id == "terminal-count:INV")
    assert found.outcome is Outcome.MEETS
    # Landed on the input itself both are under one clamp.
    direct = "landing: {INV: {A+: PV-S1+, A-: PV-S1-, B+: PV-S2+, B-: PV-S2-}}\n"
    files = edit(barn({"S1": 11, "S2": 11}, direct), "barn.yaml", "input: INV/B", "input: INV/A")
    (found,) = (f for f in design(files).findings if f.id == "terminal-count:INV")
    assert found.outcome is not Outcome.MEETS
