"""Readings predicted for right and wrong landings on a four-pole switch, by following the wires by hand.

Two strings of 37.1 V modules, −0.27 %/°C: eleven and nine in series, cells at 20 °C, so 413.6 V and 338.4 V.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.engineering.strings import string_voltage
from reportgen.engineering.terminals import (
    Case,
    InputReading,
    Pole,
    connected_sets,
    correct_landing,
    predicted_readings,
    straight_across,
)
from reportgen.working.quantity import Quantity, Working

JOINED = [("L1", "T1"), ("L2", "T2"), ("L3", "T3"), ("L4", "T4")]
LINE = ["L1", "L2", "L3", "L4"]
LEGS = {
    "L1": Pole("S1", "+"),
    "L2": Pole("S1", "-"),
    "L3": Pole("S2", "+"),
    "L4": Pole("S2", "-"),
}
WANTED = {
    Pole("S1", "+"): Pole("A", "+"),
    Pole("S1", "-"): Pole("A", "-"),
    Pole("S2", "+"): Pole("B", "+"),
    Pole("S2", "-"): Pole("B", "-"),
}
OWN = {"A": ("S1",), "B": ("S2",)}
VOLTS = {
    key: string_voltage(count, 37.1, Quantity(-0.27, "%/degC"), 20, f"open-circuit voltage of {key}")
    for key, count in (("S1", 11), ("S2", 9))
}


def read(inputs: dict[str, Pole], jumpers: list[tuple[str, str]] | None = None) -> dict[str, InputReading]:
    found = predicted_readings(JOINED, jumpers or [], LEGS, inputs, VOLTS, OWN)
    return {one.input: one for one in found}


def below(*order: str) -> dict[str, InputReading]:
    """Readings of a straight-across landing on a switch with that order of load terminals."""
    return read(straight_across(LINE, list(order), LEGS, WANTED))


def volts(found: dict[str, InputReading]) -> list[float]:
    return [one.voltage.value for one in found.values() if one.voltage is not None]


def test_crossed_pairs_reverse_both_inputs() -> None:
    # Under L1 stands T2, joined to L2: input A gets S1− on its + and S1+ on its −.
    found = below("T2", "T1", "T4", "T3")
    assert volts(found) == pytest.approx([-413.6, -338.4], abs=0.05)
    assert {one.case for one in found.values()} == {Case.REVERSED}
    assert found["A"].legs == ("S1-", "S1+")


def test_crossed_halves_exchange_the_strings() -> None:
    found = below("T3", "T4", "T1", "T2")
    assert volts(found) == pytest.approx([338.4, 413.6], abs=0.05)
    assert {one.case for one in found.values()} == {Case.OTHER}
    assert [one.strings for one in found.values()] == [("S2",), ("S1",)]


def test_two_positives_on_one_input_read_nothing() -> None:
    found = below("T1", "T3", "T2", "T4")
    assert volts(found) == [0, 0]
    assert {one.case for one in found.values()} == {Case.FLOATING}
    assert (found["A"].legs, found["B"].legs) == (("S1+", "S2+"), ("S1-", "S2-"))


def test_uncrossed_switch_reads_right_straight_across() -> None:
    found = below("T1", "T2", "T3", "T4")
    assert volts(found) == pytest.approx([413.6, 338.4], abs=0.05)
    assert {one.case for one in found.values()} == {Case.RIGHT}


@pytest.mark.parametrize(
    "order", [("T2", "T1", "T4", "T3"), ("T3", "T4", "T1", "T2"), ("T1", "T3", "T2", "T4")]
)
def test_the_right_landing_of_every_switch_reads_right(order: tuple[str, ...]) -> None:
    table = correct_landing(JOINED, [], LEGS, WANTED, list(order))
    found = read({terminal: pole for terminal, pole in table.items() if pole is not None})
    assert sorted(volts(found)) == pytest.approx([338.4, 413.6], abs=0.05)
    assert {one.case for one in found.values()} == {Case.RIGHT}


def test_landing_table_of_the_crossed_switch() -> None:
    # Under L1 (T2) belongs S1−, under L2 (T1) S1+, under L3 (T4) S2−, under L4 (T3) S2+.
    table = correct_landing(JOINED, [], LEGS, WANTED, ["T2", "T1", "T4", "T3"])
    assert {terminal: str(pole) for terminal, pole in table.items()} == {
        "T2": "A-",
        "T1": "A+",
        "T4": "B-",
        "T3": "B+",
    }


def test_jumper_puts_both_strings_in_series() -> None:
    # S1− linked to S2+; A+ on S1+ and A− on S2−: 413.6 + 338.4.
    found = read({"T1": Pole("A", "+"), "T4": Pole("A", "-")}, [("T2", "T3")])
    assert found["A"].case is Case.SERIES
    assert volts(found) == pytest.approx([752.0], abs=0.05)
    assert found["A"].voltage is not None
    assert isinstance(found["A"].voltage.origin, Working)
    assert found["A"].voltage.origin.symbols == "V_1 + V_2"


def test_both_legs_of_one_string_on_one_node() -> None:
    found = read({"T1": Pole("A", "+"), "T3": Pole("A", "-")}, [("L1", "L2")])
    assert (found["A"].case, found["A"].voltage, found["A"].strings) == (Case.SHORTED, None, ("S1",))


def test_unlike_strings_in_parallel_are_named() -> None:
    found = read({"T1": Pole("A", "+"), "T2": Pole("A", "-")}, [("L1", "L3"), ("L2", "L4")])
    assert (found["A"].case, found["A"].strings) == (Case.PARALLEL, ("S1", "S2"))
    assert found["A"].voltage is None


def test_like_strings_in_parallel_read_as_one() -> None:
    volts = dict.fromkeys(("S1", "S2"), Quantity(400.0, "V"))
    inputs = {"T1": Pole("A", "+"), "T2": Pole("A", "-")}
    jumpers = [("L1", "L3"), ("L2", "L4")]
    found = predicted_readings(JOINED, jumpers, LEGS, inputs, volts, {"A": ("S1", "S2")})[0]
    assert found.voltage is not None
    assert (found.case, found.voltage.value) == (Case.RIGHT, 400)


def test_a_pole_without_a_wire_reads_nothing() -> None:
    found = predicted_readings(
        JOINED, [], {"L1": Pole("S1", "+")}, {"T1": Pole("A", "+"), "T2": Pole("A", "-")}, VOLTS, OWN
    )
    assert (found[0].case, found[0].legs) == (Case.OPEN, ("S1+",))


def test_an_unknown_voltage_stays_unknown_and_keeps_its_case() -> None:
    inputs = {"T1": Pole("A", "-"), "T2": Pole("A", "+")}
    found = predicted_readings(JOINED, [], LEGS, inputs, {}, OWN)[0]
    assert (found.case, found.voltage) == (Case.REVERSED, None)


def test_open_switch_beeps_nowhere_and_closed_on_its_pairs() -> None:
    assert all(len(one) == 1 for one in connected_sets(JOINED, closed=False))
    assert [sorted(one) for one in connected_sets(JOINED)] == [sorted(pair) for pair in JOINED]
    # A jumper stays when the switch opens, and makes one set of two pairs when it closes.
    assert frozenset({"T1", "T2"}) in connected_sets(JOINED, [("T1", "T2")], closed=False)
    assert frozenset({"L1", "T1", "L2", "T2"}) in connected_sets(JOINED, [("T1", "T2")])


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="4 terminals above and 2 below"):
        straight_across(LINE, ["T1", "T2"], LEGS, WANTED)
    with pytest.raises(ValueError, match="sign '±' of a pole of S1"):
        Pole("S1", "±")


@given(st.permutations(["T1", "T2", "T3", "T4"]))
def test_order_of_landing_never_matters_and_reversing_an_input_flips_it(order: list[str]) -> None:
    poles = [Pole("A", "+"), Pole("A", "-"), Pole("B", "+"), Pole("B", "-")]
    inputs = dict(zip(order, poles, strict=True))
    one, other = read(inputs), read(dict(reversed(inputs.items())))
    assert one == {key: other[key] for key in one}
    flipped = read({terminal: Pole(pole.of, "+-"[pole.sign == "+"]) for terminal, pole in inputs.items()})
    for key, found in one.items():
        there = flipped[key].voltage
        assert found.voltage is not None
        assert there is not None
        assert there.value == pytest.approx(-found.voltage.value)
