"""Where legs arrive: wires on several terminals or devices, links at an inverter's own terminals."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome
from reportgen.design.landing import by_conductor

SWITCH = """
switches:
  K:
    units: {SW: , SX: }
    line: [L1, L2, L3, L4]
    load: [T1, T2, T3, T4]
    joined: [[L1, T1], [L2, T2], [L3, T3], [L4, T4]]
    ratings: [{poles_in_series: 1, voltage: 600 V}, {poles_in_series: 2, voltage: 1000 V}]
"""


@pytest.fixture
def landed(barn, design):
    """Design of two strings of ten, with a landing and links."""

    def make(landing: str, jumpers: str = ""):
        more = f"jumpers:\n{jumpers}" if jumpers else ""
        return design(barn({"S1": 10, "S2": 10}, f"{SWITCH}{more}landing:\n{landing}"))

    return make


def of(made, name: str):
    return by_conductor(made.facts.arrivals)[name]


def outcome(made, name: str) -> Outcome:
    (finding,) = [f for f in made.findings if (f.code, f.subject) == ("landing", name)]
    return finding.outcome


@pytest.mark.parametrize("order", ["A+: PV-S1+, B+: PV-S1+", "B+: PV-S1+, A+: PV-S1+"])
def test_a_leg_on_two_terminals_of_an_inverter_reaches_both(landed, order: str) -> None:
    # Also where the right one is named last: the first must not be forgotten.
    made = landed(f"  INV: {{{order}, A-: PV-S1-}}\n")
    (arrival,) = of(made, "PV-S1+")
    assert sorted(arrival.reaches) == ["INV/A+", "INV/B+"]
    assert outcome(made, "PV-S1+") is Outcome.FAILS
    assert outcome(made, "PV-S1-") is Outcome.MEETS


def test_a_leg_on_two_devices_has_an_arrival_from_each_and_no_verdict(landed) -> None:
    made = landed("  SW: {L1: PV-S1+, T1: INV/A+, L2: PV-S1-, T2: INV/A-}\n  SX: {L1: PV-S1+, T1: INV/B-}\n")
    assert [(one.switch, one.reaches) for one in of(made, "PV-S1+")] == [
        ("SW", ("INV/A+",)),
        ("SX", ("INV/B-",)),
    ]
    assert outcome(made, "PV-S1+") is Outcome.UNKNOWN
    # And no pole of either switch counts.
    judged = {
        f.part: f.outcome for f in made.findings if (f.code, f.subject) == ("cold-voltage-switch", "PV-S1")
    }
    assert judged == {"SW": Outcome.UNKNOWN, "SX": Outcome.UNKNOWN}


@pytest.mark.parametrize(
    "landing",
    ["  INV: {A+: PV-S1+, A-: PV-S1-}\n", "  SW: {L1: PV-S1+, T1: INV/A+, L2: PV-S1-, T2: INV/A-}\n"],
    ids=["direct", "over a pole"],
)
@pytest.mark.parametrize(
    ("link", "reaches", "verdict"),
    [
        ("[A+, B+]", ("INV/A+", "INV/B+"), Outcome.UNKNOWN),
        ("[A+, B+], [B+, C+]", ("INV/A+", "INV/B+", "INV/C+"), Outcome.UNKNOWN),
        ("[A+, A-]", ("INV/A+", "INV/A-"), Outcome.FAILS),
        ("[A+, B-]", ("INV/A+", "INV/B-"), Outcome.FAILS),
        ("[C+, D+]", ("INV/A+",), Outcome.MEETS),
    ],
)
def test_links_at_the_inverter_are_followed(landed, landing, link, reaches, verdict) -> None:
    made = landed(landing, f"  INV: [{link}]\n")
    (arrival,) = of(made, "PV-S1+")
    assert arrival.reaches == reaches
    assert arrival.linked == reaches[1:]
    assert outcome(made, "PV-S1+") is verdict


def test_a_wrong_pole_is_not_excused_by_a_link_of_its_polarity(landed) -> None:
    made = landed("  INV: {B+: PV-S1+, A-: PV-S1-}\n", "  INV: [[B+, C+]]\n")
    assert outcome(made, "PV-S1+") is Outcome.FAILS
