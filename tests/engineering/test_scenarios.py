"""Invented projects worked through by hand, step by step as an electrician would.

All numbers are invented; every expectation is an own hand calculation, given in the comment beside it.
Tolerances are half the last digit given. Table values come from the 2023 edition's tables of the rulebook.
"""

from __future__ import annotations

import pytest

from reportgen.engineering import voltage_drop
from reportgen.engineering.ampacity import Stretch, corrected_ampacity, without_short_stretches
from reportgen.engineering.candidates import Candidate
from reportgen.engineering.currents import continuous_current, maximum_current
from reportgen.engineering.fitting import FillShares, fits, largest_conductor, most_strings, smallest_raceway
from reportgen.engineering.raceway import arc_length, conductor_area, fill, occupied_area
from reportgen.engineering.strings import (
    most_modules,
    string_voltage,
    string_voltage_by_table,
    temperature_at,
)
from reportgen.rulebook.rulebook import load, quantity_of
from reportgen.working.quantity import Quantity

BOOK = load("nec2023")
SHARES = FillShares(*(quantity_of(BOOK.fill_limit(count)) for count in (1, 2, 3)))
IRRADIANCE = quantity_of(BOOK.number("irradiance-factor"))
CONTINUOUS = quantity_of(BOOK.number("continuous-factor"))
SHORT = (quantity_of(BOOK.number("short-segment-length")), quantity_of(BOOK.number("short-segment-share")))


def percent(value: float) -> Quantity:
    return Quantity(value, "%/degC")


def bore(kind: str, size: str) -> Quantity:
    return quantity_of(BOOK.bore(kind, size).area)


def thwn2(size: str) -> Quantity:
    return quantity_of(BOOK.conductor_size("THWN-2", size).area)


def table_ampacity(size: str, column: int) -> Quantity:
    return quantity_of(BOOK.ampacity("copper", size, column))


def in_use(size: str, carrying: int, ambient_c: float) -> Quantity:
    return corrected_ampacity(
        table_ampacity(size, 90),
        quantity_of(BOOK.ambient_factor(90, ambient_c)),
        quantity_of(BOOK.count_factor(carrying)),
    )


def lost(length_ft: float, size: str, current: float, voltage: float) -> tuple[float, float, float]:
    """Drop [V], drop [%] and loss [W] of a pair."""
    loop = voltage_drop.loop_resistance(length_ft, quantity_of(BOOK.resistance("copper", size)))
    drop = voltage_drop.drop(loop, current)
    return (
        drop.value,
        voltage_drop.drop_share(drop, voltage).value,
        voltage_drop.power_loss(loop, current).value,
    )


class TestThreeStringsOnTheHighPlains:
    """33 modules of 37.1/31.0 V and 13.79/12.90 A, 11 a string; 6 × 10 AWG and a ground in 1-1/2 in PVC."""

    def test_cold_and_hot_voltage(self) -> None:
        # 37.1 · (1 + 0.0027 · 54) = 42.51; · 11 = 467.6; · 12 = 510.1.
        assert string_voltage(1, 37.1, percent(-0.27), -29, "cold").value == pytest.approx(42.51, abs=0.005)
        assert string_voltage(11, 37.1, percent(-0.27), -29, "cold").value == pytest.approx(467.6, abs=0.05)
        assert string_voltage(12, 37.1, percent(-0.27), -29, "cold").value == pytest.approx(510.1, abs=0.05)
        assert most_modules(500, string_voltage(1, 37.1, percent(-0.27), -29, "cold")) == 11
        # 341 · (1 − 0.0034 · 45) = 288.8; 341 · (1 + 0.0034 · 54) = 403.6.
        assert string_voltage(11, 31.0, percent(-0.34), 70, "hot").value == pytest.approx(288.8, abs=0.05)
        assert string_voltage(11, 31.0, percent(-0.34), -29, "cold").value == pytest.approx(403.6, abs=0.05)

    def test_temperature_at_which_the_input_is_reached(self) -> None:
        # 25 − (500 / 408.1 − 1) / 0.0027 = −58.4.
        assert temperature_at(11, 37.1, percent(-0.27), 500).value == pytest.approx(-58.4, abs=0.05)

    def test_both_ampacity_tests(self) -> None:
        # 13.79 · 1.25 = 17.24; · 1.25 = 21.55 against 35; 40 · 0.80 · 0.96 = 30.7.
        maximum = maximum_current(13.79, IRRADIANCE)
        assert maximum.value == pytest.approx(17.24, abs=0.005)
        assert continuous_current(maximum, CONTINUOUS).value == pytest.approx(21.55, abs=0.005)
        assert table_ampacity("10", 75).value == 35
        assert in_use("10", 6, 33).value == pytest.approx(30.7, abs=0.05)

    def test_fill_of_trench_and_riser(self) -> None:
        # 7 · 0.0211 = 0.1477; / 1.986 = 7.4 %; / 1.711 = 8.6 %.
        inside = occupied_area([(6, thwn2("10")), (1, thwn2("10"))])
        assert inside.value == pytest.approx(0.1477, abs=0.00005)
        assert fill(inside, bore("PVC-40", "1-1/2")).value == pytest.approx(7.4, abs=0.05)
        assert fill(inside, bore("PVC-80", "1-1/2")).value == pytest.approx(8.6, abs=0.05)

    def test_length_and_drop(self) -> None:
        # An elbow of 8-1/4 in radius is 12.96 in, 1.08 ft; 180 + 16 + 2.16 + 26 = 224.2 ft.
        arc = arc_length(quantity_of(BOOK.bend_radius("1-1/2", one_shot=True)), 90)
        assert arc.to("ft").value == pytest.approx(1.08, abs=0.005)
        length = 180 + 16 + 2 * arc.to("ft").value + 26
        assert length == pytest.approx(224.2, abs=0.05)
        # 0.4483 kft · 1.24 = 0.556 Ω; · 12.9 = 7.17 V; / 341 = 2.10 %.
        loop = voltage_drop.loop_resistance(length, quantity_of(BOOK.resistance("copper", "10")))
        assert loop.value == pytest.approx(0.556, abs=0.0005)
        volts, share, _ = lost(length, "10", 12.90, 341.0)
        assert volts == pytest.approx(7.17, abs=0.005)
        assert share == pytest.approx(2.10, abs=0.005)


class TestTwoStringsOnAMildCoast:
    """Two strings of 11 modules of 40.9 V, -0.29 %/°C: one cold temperature passes, the other does not."""

    def test_three_methods_give_three_voltages(self) -> None:
        # 449.9 · (1 + 0.0029 · 35) = 495.6; · (1 + 0.0029 · 42) = 504.7; · 1.14 = 512.9.
        assert string_voltage(11, 40.9, percent(-0.29), -10, "mean").value == pytest.approx(495.6, abs=0.05)
        assert string_voltage(11, 40.9, percent(-0.29), -17, "record").value == pytest.approx(504.7, abs=0.05)
        factor = quantity_of(BOOK.voltage_table_factor(-10))
        assert factor.value == 1.14
        assert string_voltage_by_table(11, 40.9, factor, "table").value == pytest.approx(512.9, abs=0.05)

    def test_where_it_crosses_and_what_cures_it(self) -> None:
        # 25 − (500 / 449.9 − 1) / 0.0029 = −13.4; ten modules 450.5 and 458.8.
        assert temperature_at(11, 40.9, percent(-0.29), 500).value == pytest.approx(-13.4, abs=0.05)
        assert string_voltage(10, 40.9, percent(-0.29), -10, "mean").value == pytest.approx(450.5, abs=0.05)
        assert string_voltage(10, 40.9, percent(-0.29), -17, "record").value == pytest.approx(458.8, abs=0.05)
        assert most_modules(500, string_voltage(1, 40.9, percent(-0.29), -17, "record")) == 10
        # 339 · (1 − 0.0037 · 43) = 285.
        assert string_voltage(10, 33.9, percent(-0.37), 68, "hot").value == pytest.approx(285, abs=0.5)


class TestEightStringsInAnExistingPipe:
    """16 × 10 AWG and a ground of 8 AWG in 222 ft of 1-1/4 in Schedule 40 with 4 ft risers of Schedule 80."""

    current = maximum_current(13.79, IRRADIANCE)

    def test_cold_voltage(self) -> None:
        # 371 · (1 + 0.0027 · 58) = 429.1.
        assert string_voltage(10, 37.1, percent(-0.27), -33, "cold").value == pytest.approx(429.1, abs=0.05)

    @pytest.mark.parametrize(
        ("size", "ambient", "expected", "enough"),
        [
            ("10", 30, 20.0, True),  # 40 · 0.50 · 1.00
            ("10", 45, 17.4, True),  # 40 · 0.50 · 0.87
            ("10", 46, 16.4, False),  # 40 · 0.50 · 0.82
            ("12", 30, 15.0, False),  # 30 · 0.50 · 1.00
        ],
    )
    def test_ampacity_by_size_and_ambient(self, size, ambient, expected, enough) -> None:
        ampacity = in_use(size, 16, ambient)
        assert ampacity.value == pytest.approx(expected, abs=0.05)
        assert (ampacity.value >= self.current.value) is enough

    def test_riser_is_thin_at_45_degrees(self) -> None:
        # (17.4 − 17.2375) / 17.4 = 0.9 %.
        margin = 100 * (1 - self.current.value / in_use("10", 16, 45).value)
        assert margin == pytest.approx(0.9, abs=0.05)

    def test_short_risers_may_be_set_aside_where_it_is_claimed(self) -> None:
        # 8 ft of 246 ft: within 10 ft and within 24.6 ft.
        stretches = [
            Stretch("riser 1", Quantity(4, "ft"), in_use("10", 16, 46)),
            Stretch("trench", Quantity(222, "ft"), in_use("10", 16, 30)),
            Stretch("riser 2", Quantity(4, "ft"), in_use("10", 16, 46)),
        ]
        found = without_short_stretches(stretches, 246, *SHORT)
        assert found.governing.name == "trench"
        assert found.length.value == 8
        assert found.allowance.value == 10
        assert found.governing.ampacity.value >= self.current.value
        # Two feet more in each riser are 12 ft, more than 10.
        longer = [
            Stretch(item.name, Quantity(6, "ft"), item.ampacity) for item in (stretches[0], stretches[2])
        ]
        found = without_short_stretches([*longer, stretches[1]], 246, *SHORT)
        assert found.governing.name == "riser 1"
        assert found.set_aside == ()

    @pytest.mark.parametrize(
        ("kind", "trade", "wire", "ground", "expected"),
        [
            ("PVC-40", "1-1/4", "10", "8", 25.8),  # (16 · 0.0211 + 0.0366) / 1.453
            ("PVC-80", "1-1/4", "10", "8", 30.3),
            ("PVC-40", "1-1/4", "pv", "8", 50.6),  # (16 · 0.0437 + 0.0366) / 1.453
            ("PVC-80", "1-1/4", "pv", "8", 59.5),
            ("PVC-40", "1-1/4", "8", "6", 43.8),  # (16 · 0.0366 + 0.0507) / 1.453
            ("PVC-80", "1-1/4", "8", "6", 51.4),
            ("PVC-40", "1-1/2", "pv", "6", 37.8),
            ("PVC-80", "1-1/2", "pv", "6", 43.8),
            ("PVC-40", "1-1/2", "8", "6", 32.0),
            ("PVC-80", "1-1/2", "8", "6", 37.2),
        ],
    )
    def test_fill(self, kind, trade, wire, ground, expected) -> None:
        one = conductor_area(0.2359) if wire == "pv" else thwn2(wire)
        inside = occupied_area([(16, one), (1, thwn2(ground))])
        assert fill(inside, bore(kind, trade)).value == pytest.approx(expected, abs=0.05)
        assert fits([(16, one), (1, thwn2(ground))], bore(kind, trade), SHARES) is (expected <= 40)

    def test_what_still_goes_into_the_riser(self) -> None:
        pipe, ground = bore("PVC-80", "1-1/4"), [(1, thwn2("8"))]
        rows = [Candidate(size, thwn2(size)) for size in ("12", "10", "8", "6")]
        largest = largest_conductor(rows, 16, pipe, SHARES, ground)
        assert largest is not None
        assert largest.name == "10"
        # (0.40 · 1.237 − 0.0366) / 0.0422 = 10.86 strings of 10 AWG, / 0.0732 = 6.26 of 8 AWG.
        assert most_strings(pipe, SHARES, [(2, thwn2("10"))], ground) == 10
        assert most_strings(pipe, SHARES, [(2, thwn2("8"))], ground) == 6

    def test_smallest_riser_for_pv_wire(self) -> None:
        # 0.7358 / 0.40 = 1.84 in²: 1-1/2 in of Schedule 40 (1.986) but 2 in of Schedule 80 (2.874; 1.711 is short).
        groups = [(16, Quantity(0.0437, "in2")), (1, thwn2("8"))]
        for kind, expected in (("PVC-40", "1-1/2"), ("PVC-80", "2")):
            sizes = [Candidate(size, bore(kind, size)) for size in BOOK.trade_sizes(kind)]
            chosen = smallest_raceway(sizes, groups, SHARES)
            assert chosen is not None
            assert chosen.name == expected
            assert fits(groups, chosen.value, SHARES)

    def test_drop(self) -> None:
        # 0.492 kft · 1.24 · 12.9 = 7.870 V; / 310 = 2.54 %.
        assert lost(246, "10", 12.90, 310.0)[1] == pytest.approx(2.54, abs=0.005)


class TestFarFromTheHouse:
    """56 modules of 40.9/33.9 V and 10.25/9.59 A; 490 ft one way; a dwelling."""

    @pytest.mark.parametrize(
        ("count", "expected"), [(7, 323.7), (11, 508.6), (12, 554.8), (13, 601.1), (14, 647.3)]
    )
    def test_cold_voltage(self, count: int, expected: float) -> None:
        # 40.9 · (1 + 0.0029 · 45) = 46.237 a module.
        assert string_voltage(count, 40.9, percent(-0.29), -20, "cold").value == pytest.approx(
            expected, abs=0.05
        )

    def test_most_modules_under_the_limit_of_a_dwelling(self) -> None:
        limit = quantity_of(BOOK.voltage_limit("dwelling"))
        assert limit.value == 600
        assert most_modules(limit, string_voltage(1, 40.9, percent(-0.29), -20, "cold")) == 12

    def test_ampacity_of_the_smallest_wire(self) -> None:
        # 10.25 · 1.25 = 12.81; · 1.25 = 16.0 against 25; 30 · 0.50 = 15.0.
        maximum = maximum_current(10.25, IRRADIANCE)
        assert maximum.value == pytest.approx(12.81, abs=0.005)
        assert continuous_current(maximum, CONTINUOUS).value == pytest.approx(16.0, abs=0.05)
        assert table_ampacity("12", 75).value == 25
        assert in_use("12", 10, 30).value == pytest.approx(15.0, abs=0.05)

    @pytest.mark.parametrize(
        ("size", "share", "watts"),
        [("12", 4.99, 178), ("10", 3.13, 112), ("8", 1.96, 70), ("6", 1.24, 44)],
    )
    def test_drop_and_loss_by_size(self, size: str, share: float, watts: float) -> None:
        # 0.98 kft · r · 9.59 A against 11 · 33.9 V; 0.98 kft · r · 9.59².
        _, percent_lost, power = lost(490, size, 9.59, 372.9)
        assert percent_lost == pytest.approx(share, abs=0.005)
        assert power == pytest.approx(watts, abs=0.5)

    def test_drop_of_the_short_strings(self) -> None:
        # 0.98 · 1.24 · 9.59 / (7 · 33.9) = 4.91 %.
        assert lost(490, "10", 9.59, 237.3)[1] == pytest.approx(4.91, abs=0.005)
