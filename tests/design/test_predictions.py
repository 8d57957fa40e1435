"""Readings predicted for the landing of a folder: a switch that crosses over, and every wrong way to land it.

Two strings of 37.1 V modules, −0.27 %/°C, eleven and nine in series. At 20 °C cell and full sun: 11 · 37.1 · 1.0135 =
413.6 V and 9 · 37.1 · 1.0135 = 338.4 V, by hand.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reportgen.design.findings import Outcome
from reportgen.design.missing import Missing

BELOW = {
    "crossed pairs": ["T2", "T1", "T4", "T3"],
    "crossed halves": ["T3", "T4", "T1", "T2"],
    "crossed middle": ["T1", "T3", "T2", "T4"],
    "straight": ["T1", "T2", "T3", "T4"],
}
LEGS = "L1: PV-S1+, L2: PV-S1-, L3: PV-S2+, L4: PV-S2-"
LEADS = ("INV/A+", "INV/A-", "INV/B+", "INV/B-")


def switch(load: list[str], joined: str = "[L1, T1], [L2, T2], [L3, T3], [L4, T4]") -> str:
    return (
        f"switches:\n  K: {{units: {{SW: }}, line: [L1, L2, L3, L4], load: [{', '.join(load)}], joined: [{joined}]}}\n"
        "commissioning: {cell_temperature: 20 degC}\n"
    )


def landed(leads: dict[str, str], legs: str = LEGS, jumpers: str = "") -> str:
    ends = ", ".join(f"{terminal}: {lead}" for terminal, lead in leads.items())
    links = f"jumpers: {{SW: [{jumpers}]}}\n" if jumpers else ""
    return f"{links}landing:\n  SW: {{{legs}, {ends}}}\n"


@pytest.fixture
def made(barn, design):
    def make(load: list[str], leads: dict[str, str], **more: str):
        return design(barn({"S1": 11, "S2": 9}, switch(load), landed(leads, **more)))

    return make


def found(made, code: str = "landing-reading"):
    return {f.subject: f for f in made.findings if f.code == code}


def straight(load: list[str]) -> dict[str, str]:
    """Leads landed in the order of the terminals, left to right, as the wires above them."""
    return dict(zip(load, LEADS, strict=True))


def read(made) -> list[float | None]:
    return [
        one.reading.voltage.value if one.reading.voltage else None
        for one in made.facts.predictions.inputs
        if one.reading
    ]


class TestStraightAcross:
    def test_crossed_pairs_read_both_reversed(self, made) -> None:
        it = made(BELOW["crossed pairs"], straight(BELOW["crossed pairs"]))
        assert read(it) == pytest.approx([-413.6, -338.4], abs=0.05)
        fails = found(it)
        assert {f.outcome for f in fails.values()} == {Outcome.FAILS}
        assert "at 20 °C and full sun a voltmeter at INV/A shows −413.6 V" in fails["INV/A"].headline
        assert "its own string, reversed" in fails["INV/A"].headline
        assert fails["INV/A"].cure_span.file == "more1.yaml"

    def test_crossed_halves_exchange_the_strings(self, made) -> None:
        it = made(BELOW["crossed halves"], straight(BELOW["crossed halves"]))
        assert read(it) == pytest.approx([338.4, 413.6], abs=0.05)
        assert "another string (S2 instead of S1)" in found(it)["INV/A"].headline
        assert {f.outcome for f in found(it).values()} == {Outcome.FAILS}

    def test_crossed_middle_reads_nothing_though_both_live(self, made) -> None:
        it = made(BELOW["crossed middle"], straight(BELOW["crossed middle"]))
        assert read(it) == [0, 0]
        headline = found(it)["INV/A"].headline
        assert "shows 0.0 V although its strings are live" in headline
        assert "on its poles stand S1+ and S2+" in headline
        assert {f.outcome for f in found(it).values()} == {Outcome.FAILS}

    def test_uncrossed_reads_right(self, made) -> None:
        it = made(BELOW["straight"], straight(BELOW["straight"]))
        assert read(it) == pytest.approx([413.6, 338.4], abs=0.05)
        assert {f.outcome for f in found(it).values()} == {Outcome.MEETS}
        assert not it.facts.predictions.switches[0].is_trap


class TestMap:
    @pytest.mark.parametrize("name", ["crossed pairs", "crossed halves", "crossed middle"])
    def test_the_map_says_what_belongs_where_and_that_landing_it_so_reads_right(self, made, name) -> None:
        trap = made(BELOW[name], straight(BELOW[name])).facts.predictions.switches[0]
        assert trap.is_trap
        belongs = {row.far: row.belongs for row in trap.rows}
        it = made(BELOW[name], belongs)
        assert read(it) == pytest.approx([413.6, 338.4], abs=0.05)
        assert {f.outcome for f in found(it).values()} == {Outcome.MEETS}
        # What it would read straight across stands beside it, without anyone having landed it so.
        across = {one.input: one.voltage.value for one in it.facts.predictions.switches[0].straight}
        drawn = read(made(BELOW[name], straight(BELOW[name])))
        assert [across["INV/A"], across["INV/B"]] == pytest.approx(drawn)

    def test_landing_table_of_the_crossed_pairs(self, made) -> None:
        # Under L1 stands T2, joined to L2, so S1− comes out there and A− belongs on it.
        rows = (
            made(BELOW["crossed pairs"], straight(BELOW["crossed pairs"])).facts.predictions.switches[0].rows
        )
        assert [(row.near, row.wire, row.far, row.belongs, row.straight) for row in rows] == [
            ("L1", "PV-S1+", "T2", "INV/A-", "INV/A+"),
            ("L2", "PV-S1-", "T1", "INV/A+", "INV/A-"),
            ("L3", "PV-S2+", "T4", "INV/B-", "INV/B+"),
            ("L4", "PV-S2-", "T3", "INV/B+", "INV/B-"),
        ]

    def test_strings_below_and_leads_above(self, barn, design) -> None:
        legs = "T1: PV-S1+, T2: PV-S1-, T3: PV-S2+, T4: PV-S2-"
        leads = dict(zip(["L1", "L2", "L3", "L4"], LEADS, strict=True))
        it = design(barn({"S1": 11, "S2": 9}, switch(BELOW["straight"]), landed(leads, legs=legs)))
        assert it.facts.predictions.switches[0].side == "load"
        assert [row.near for row in it.facts.predictions.switches[0].rows] == ["T1", "T2", "T3", "T4"]
        assert read(it) == pytest.approx([413.6, 338.4], abs=0.05)

    def test_continuity_open_and_closed(self, made) -> None:
        it = made(BELOW["crossed pairs"], straight(BELOW["crossed pairs"]), jumpers="[T1, T3]")
        switch_map = it.facts.predictions.switches[0]
        assert switch_map.beeps_open == (("T1", "T3"),)
        assert switch_map.beeps_closed == (("L1", "L3", "T1", "T3"), ("L2", "T2"), ("L4", "T4"))


class TestOpen:
    def test_an_open_switch_parts_both_legs(self, made) -> None:
        opens = found(made(BELOW["straight"], straight(BELOW["straight"])), "switch-opens")
        assert {f.outcome for f in opens.values()} == {Outcome.MEETS}

    def test_a_link_around_a_pole_leaves_a_leg_connected(self, made) -> None:
        it = made(BELOW["straight"], straight(BELOW["straight"]), jumpers="[L2, T2]")
        opens = found(it, "switch-opens")
        # Closed, nothing is wrong with the reading.
        assert found(it)["INV/A"].outcome is Outcome.MEETS
        assert opens["INV/A"].outcome is Outcome.FAILS
        assert "S1- stays connected to INV/A" in opens["INV/A"].headline
        assert opens["INV/B"].outcome is Outcome.MEETS

    def test_a_leg_past_the_switch_is_seen(self, barn, design) -> None:
        # Only the positive leg passes a pole; the negative one goes to the input directly.
        text = "landing:\n  SW: {L1: PV-S1+, T1: INV/A+}\n  INV: {A-: PV-S1-}\n"
        opens = found(design(barn({"S1": 11}, switch(BELOW["straight"]), text)), "switch-opens")
        assert opens["INV/A"].outcome is Outcome.FAILS

    def test_without_a_switch_nothing_is_asked(self, barn, design) -> None:
        it = design(barn({"S1": 11}, "landing:\n  INV: {A+: PV-S1+, A-: PV-S1-}\n"))
        assert not found(it, "switch-opens")
        assert found(it)["INV/A"].outcome is Outcome.MEETS


class TestUnknown:
    def test_wires_that_are_not_landed(self, made) -> None:
        it = made(BELOW["straight"], straight(BELOW["straight"]), legs="L3: PV-S2+, L4: PV-S2-")
        assert found(it)["INV/A"].outcome is Outcome.UNKNOWN
        assert "landing of PV-S1-" in found(it)["INV/A"].missing
        assert found(it)["INV/B"].outcome is Outcome.MEETS

    def test_a_lead_that_is_not_landed(self, made) -> None:
        it = made(BELOW["straight"], dict(zip(["T1", "T3", "T4"], [LEADS[0], *LEADS[2:]], strict=True)))
        assert found(it)["INV/A"].outcome is Outcome.UNKNOWN
        assert "landing of INV/A-" in found(it)["INV/A"].missing

    def test_no_landing_at_all(self, barn, design) -> None:
        it = design(barn({"S1": 11}))
        assert found(it)["INV/A"].outcome is Outcome.UNKNOWN

    @pytest.mark.parametrize(
        ("order", "then"), [("straight", Outcome.UNKNOWN), ("crossed pairs", Outcome.FAILS)]
    )
    def test_without_a_coefficient_only_what_is_wrong_is_judged(
        self, barn, design, edit, order, then
    ) -> None:
        files = barn({"S1": 11, "S2": 9}, switch(BELOW[order]), landed(straight(BELOW[order])))
        it = design(edit(files, "barn.yaml", "voltage_coefficient: -0.27 %/degC, ", ""))
        assert found(it)["INV/A"].outcome is then

    def test_the_default_temperature_is_listed(self, barn, design) -> None:
        it = design(barn({"S1": 11}, "landing:\n  INV: {A+: PV-S1+, A-: PV-S1-}\n"))
        assert "commissioning.cell_temperature" in {key.key for key, _ in it.assumptions}
        # 11 · 37.1 V at 25 °C.
        assert read(it) == pytest.approx([408.1])


class TestRating:
    """At −12 °C eleven modules give 11 · 37.1 · (1 + 0.0027 · 37) = 448.9 V; both legs over two poles in series."""

    SERIES = (
        "jumpers: {SW: [[T1, T2], [T3, T4]]}\n"
        "landing:\n  SW: {L1: PV-S1+, L2: INV/A+, L3: PV-S1-, L4: INV/A-}\n"
    )

    @pytest.mark.parametrize(
        ("ratings", "then"),
        [
            ("", Outcome.UNKNOWN),
            ("{poles_in_series: 1, voltage: 600 V}", Outcome.UNKNOWN),
            ("{poles_in_series: 2, voltage: 300 V}", Outcome.FAILS),
            ("{poles_in_series: 2, voltage: 449 V}", Outcome.THIN),
            ("{poles_in_series: 2, voltage: 600 V}", Outcome.MEETS),
        ],
    )
    def test_rated_volts_go_by_the_poles_in_series(self, barn, design, ratings, then) -> None:
        device = switch(BELOW["straight"]).replace("joined:", f"ratings: [{ratings}], joined:")
        it = design(barn({"S1": 11}, device, self.SERIES))
        rated = found(it, "cold-voltage-switch")["PV-S1"]
        assert rated.outcome is then
        if rated.value is not None:
            assert rated.value.value == pytest.approx(448.9, abs=0.05)
        assert found(it)["INV/A"].outcome is Outcome.MEETS

    def test_nothing_lies_straight_across_where_legs_and_leads_share_a_side(self, barn, design) -> None:
        it = design(barn({"S1": 11}, switch(BELOW["straight"]), self.SERIES))
        assert it.facts.predictions.switches[0].rows == ()
        assert found(it, "switch-opens")["INV/A"].outcome is Outcome.MEETS


class TestParallel:
    def parallel(self, barn, design, edit, counts, landing):
        files = barn(counts, landing)
        files = edit(files, "barn.yaml", "input: INV/B", "input: INV/A")
        return found(design(files))

    BOTH = "jumpers: {SW: [[L1, L3], [L2, L4]]}\n"

    def test_like_strings_joined_at_the_switch(self, barn, design, edit) -> None:
        text = switch(BELOW["straight"]) + self.BOTH + landed({"T1": "INV/A+", "T2": "INV/A-"})
        fails = self.parallel(barn, design, edit, {"S1": 11, "S2": 11}, text)
        assert fails["INV/A"].outcome is Outcome.MEETS
        assert "S1 and S2, right way round" in fails["INV/A"].headline

    def test_unlike_strings_joined_at_the_switch(self, barn, design, edit) -> None:
        text = switch(BELOW["straight"]) + self.BOTH + landed({"T1": "INV/A+", "T2": "INV/A-"})
        fails = self.parallel(barn, design, edit, {"S1": 11, "S2": 9}, text)
        assert fails["INV/A"].outcome is Outcome.FAILS
        assert "unlike strings in parallel" in fails["INV/A"].headline

    def test_one_of_two_that_does_not_arrive_is_seen_though_the_voltage_is_right(
        self, barn, design, edit
    ) -> None:
        text = switch(BELOW["straight"]) + landed({"T1": "INV/A+", "T2": "INV/A-"})
        fails = self.parallel(barn, design, edit, {"S1": 11, "S2": 11}, text)
        assert fails["INV/A"].outcome is Outcome.FAILS
        assert "S2 does not arrive" in fails["INV/A"].headline

    def test_a_string_of_another_input_joined_in_is_seen(self, barn, design) -> None:
        text = switch(BELOW["straight"]) + self.BOTH + landed({"T1": "INV/A+", "T2": "INV/A-"})
        fails = found(design(barn({"S1": 11, "S2": 11}, text)))
        assert fails["INV/A"].outcome is Outcome.FAILS
        assert "S2 is not meant for it" in fails["INV/A"].headline


def test_a_string_on_an_input_that_shall_be_free(barn, design) -> None:
    text = "landing:\n  INV: {A+: PV-S1+, A-: PV-S1-, C+: PV-S2+, C-: PV-S2-}\n"
    fails = found(design(barn({"S1": 11, "S2": 9}, text)))
    assert fails["INV/C"].outcome is Outcome.FAILS
    assert "no string is meant for it" in fails["INV/C"].headline
    assert fails["INV/B"].outcome is Outcome.UNKNOWN


def test_measuring_points_of_a_string(made) -> None:
    points = [
        one
        for one in made(BELOW["crossed pairs"], straight(BELOW["crossed pairs"])).facts.predictions.points
        if one.string == "S1"
    ]
    assert [(one.place, one.red, one.black, one.live_when_open) for one in points] == [
        ("array end", "PV-S1+", "PV-S1-", True),
        ("SW, array side", "SW/L1", "SW/L2", True),
        ("SW, inverter side", "SW/T2", "SW/T1", False),
        ("input INV/A", "INV/A+", "INV/A-", False),
    ]
    values = [one.closed.value for one in points if not isinstance(one.closed, Missing)]
    assert values == pytest.approx([413.6, 413.6, -413.6, -413.6], abs=0.05)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(order=st.permutations(BELOW["straight"]), leads=st.permutations(LEADS))
def test_meets_only_where_every_leg_arrives_at_its_own_pole(barn, design, order, leads) -> None:
    """The two ways of following a wire agree: an input meets exactly where both its legs arrive."""
    files = barn({"S1": 11, "S2": 9}, switch(list(order)), landed(dict(zip(order, leads, strict=True))))
    it = design(files)
    legs = {f.subject: f.outcome for f in it.findings if f.code == "landing"}
    for string, address in (("S1", "INV/A"), ("S2", "INV/B")):
        both = {legs[f"PV-{string}+"], legs[f"PV-{string}-"]}
        assert (found(it)[address].outcome is Outcome.MEETS) == (both == {Outcome.MEETS})
