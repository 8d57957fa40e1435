"""Exactly at a limit, one step beyond it, and input that no answer can be made of.

Own hand calculations throughout; standard ratings and limits are those of the 2023 edition's tables.
"""

from __future__ import annotations

import math

import pytest

from reportgen.engineering import alternating, voltage_drop
from reportgen.engineering.ampacity import (
    Stretch,
    conductor_temperature,
    corrected_ampacity,
    needed_table_ampacity,
    terminal_ampacity,
    without_short_stretches,
)
from reportgen.engineering.boxes import angle_pull, box_fill, grounding_allowances
from reportgen.engineering.candidates import Candidate, largest_within, reaches, smallest_reaching
from reportgen.engineering.cover import cover, least_trench
from reportgen.engineering.expansion import (
    fitting_needed,
    fittings,
    length_change,
    length_change_by_table,
    longest_plain_run,
    opening,
    temperature_swing,
)
from reportgen.engineering.fitting import (
    FillShares,
    fits,
    largest_conductor,
    most_alike,
    most_strings,
    smallest_raceway,
)
from reportgen.engineering.grounding import bounded_area, deciding_rating, proportional_area, size_for
from reportgen.engineering.overcurrent import (
    Poles,
    RatingWindow,
    conductor_ceiling,
    feedback_current,
    feedback_of_unlike,
    fused_poles,
    least_rating,
    unfused_limit,
)
from reportgen.engineering.raceway import arc_length, can_jam, jam_ratio
from reportgen.rulebook.rulebook import load, quantity_of
from reportgen.working.quantity import Quantity, cells_of

BOOK = load("nec2023")
SHARES = FillShares(*(quantity_of(BOOK.fill_limit(count)) for count in (1, 2, 3)))
NIPPLE = FillShares(*(quantity_of(BOOK.fill_limit(count, nipple=True)) for count in (1, 2, 3)))
FUSES = [quantity_of(cell) for cell in BOOK.standard_ratings("fuse")]


def amperes(*values: float) -> tuple[Quantity, ...]:
    return tuple(Quantity(value, "A") for value in values)


def inches2(value: float) -> Quantity:
    return Quantity(value, "in2")


class TestChoice:
    def test_a_value_reaches_itself_and_not_the_next(self) -> None:
        assert reaches(25.0, 25)
        assert not reaches(math.nextafter(25, 0) - 1e-9, 25)

    def test_units_are_converted_and_unlike_ones_refused(self) -> None:
        assert reaches(Quantity(10, "ft"), Quantity(120, "in"))
        assert not reaches(Quantity(10, "ft"), Quantity(120.1, "in"))
        with pytest.raises(ValueError, match="length"):
            reaches(Quantity(10, "ft"), Quantity(3, "A"))

    def test_nothing_on_offer_gives_none(self) -> None:
        assert smallest_reaching([], 1) is None
        assert largest_within([], 1) is None
        rows = [Candidate("one", Quantity(1.0)), Candidate("two", Quantity(2.0))]
        assert smallest_reaching(rows, 2.1) is None
        assert largest_within(rows, 0.9) is None
        assert smallest_reaching(rows, 2.0) == rows[1]
        assert largest_within(rows, 1.0) == rows[0]
        assert largest_within(rows, 5.0) == rows[1]
        assert smallest_reaching(rows, 0.5) == rows[0]


class TestOvercurrent:
    @pytest.mark.parametrize(("strings", "expected"), [(1, 0.0), (2, 17.2375), (3, 34.475), (4, 51.7125)])
    def test_feedback_by_strings_in_parallel(self, strings: int, expected: float) -> None:
        # (n − 1) · 1.25 · 13.79.
        assert feedback_current(strings, 17.2375, 0).value == pytest.approx(expected)

    def test_inverter_feeds_back_even_into_a_single_string(self) -> None:
        assert feedback_current(1, 17.2375, 30).value == 30
        assert feedback_of_unlike([], 30).value == 30

    def test_two_strings_need_no_fuse_where_both_bounds_hold(self) -> None:
        # 17.24 A fed back; module 25 A, wire 17.4 A: enough. Three strings feed 34.5 A: not enough.
        limit = unfused_limit(25, 17.4)
        assert limit.value == 17.4
        assert reaches(limit, feedback_current(2, 17.2375, 0))
        assert not reaches(limit, feedback_current(3, 17.2375, 0))
        # Ten amperes from the inverter alone undo it.
        assert not reaches(limit, feedback_current(2, 17.2375, 10))

    def test_no_string_is_refused(self) -> None:
        with pytest.raises(ValueError, match="0 strings"):
            feedback_current(0, 17.2, 0)

    @pytest.mark.parametrize(
        ("ampacity", "cap", "expected"),
        [
            (20.0, None, 20.0),  # itself a standard rating: never exceeded
            (40 * 0.5, None, 20.0),
            (0.1 * 3 * 100, None, 30.0),  # 30.000000000000004 is 30, not 35
            (20.1, None, 25.0),
            (17.4, None, 20.0),
            (17.4, 15.0, 15.0),
            (30.7, 30.0, 30.0),
            (790.0, None, 800.0),
            (800.0, None, 800.0),
            (810.0, None, 810.0),  # above 800 A nothing rounds up
            (6500.0, None, 6500.0),
        ],
    )
    def test_ceiling_of_a_conductor(self, ampacity: float, cap: float | None, expected: float) -> None:
        found = conductor_ceiling(ampacity, FUSES, quantity_of(BOOK.number("next-size-up-limit")), cap)
        assert found.value == pytest.approx(expected, abs=1e-9)

    def test_without_the_next_size_rule_the_ampacity_is_the_ceiling(self) -> None:
        assert conductor_ceiling(17.4, FUSES, None).value == 17.4
        assert conductor_ceiling(17.4, FUSES, None, 15).value == 15

    def test_ceiling_cites_the_rating_and_the_cap(self) -> None:
        cap = BOOK.small_conductor_cap("copper", "10")
        assert cap is not None
        found = conductor_ceiling(17.4, FUSES, 800, quantity_of(cap))
        assert [cell.table for cell in cells_of(found)] == ["240.6(A)", "240.4(D)"]

    def test_ten_awg_among_sixteen_is_not_protected_by_a_25_a_fuse(self) -> None:
        # 40 · 0.50 = 20 A, itself a standard rating.
        table = quantity_of(BOOK.ampacity("copper", "10", 90)).value
        ceiling = conductor_ceiling(table * BOOK.count_factor(16).number, FUSES, 800, 30)
        window = RatingWindow(least_rating(10, 1.25), (ceiling,))
        assert window.holds(20)
        assert not window.holds(25)

    def test_only_a_rating_on_sale_fits(self) -> None:
        # Floor 12.81 · 1.25 = 16.02 A; module 20 A. A 15 A fuse is too small, 20 A fits; 18 A would too.
        window = RatingWindow(least_rating(12.8125, 1.25), amperes(20, 25))
        assert window.floor.value == pytest.approx(16.016, abs=0.0005)
        assert window.ceiling.value == 20
        assert [one.value for one in window.fitting(amperes(25, 20, 18, 16, 15))] == [18, 20]
        assert window.fitting(amperes(15, 25)) == ()

    def test_both_ends_of_a_window_belong_to_it(self) -> None:
        window = RatingWindow(*amperes(15), amperes(20))
        assert window.holds(15)
        assert window.holds(20)
        assert not window.holds(14.999)
        assert not window.holds(20.001)

    def test_a_window_without_a_ceiling_is_refused(self) -> None:
        with pytest.raises(ValueError, match="no ceiling"):
            RatingWindow(*amperes(15), ())

    @pytest.mark.parametrize(
        ("rule", "protection", "expected"),
        [
            ("permitted", True, Poles.ONE),
            ("permitted", False, Poles.TWO),
            ("permitted", None, Poles.UNKNOWN),
            ("both", True, Poles.TWO),
            ("both", None, Poles.TWO),
            ("ask", True, Poles.ASK),
        ],
    )
    def test_poles(self, rule: str, protection: bool | None, expected: Poles) -> None:
        assert fused_poles(rule, protection) is expected

    def test_poles_by_the_edition(self) -> None:
        for edition in ("nec2017", "nec2020", "nec2023"):
            answer = load(edition).ruling("one-pole-overcurrent").answer
            assert fused_poles(answer, True) is Poles.ONE

    def test_an_unknown_answer_is_refused(self) -> None:
        with pytest.raises(ValueError, match="'maybe'"):
            fused_poles("maybe", True)


class TestAmpacity:
    short, share = BOOK.number("short-segment-length").number, BOOK.number("short-segment-share").number

    def found(self, low_ft: float, circuit_ft: float) -> str:
        low = Stretch("low", Quantity(low_ft, "ft"), Quantity(17.4, "A"))
        high = Stretch("high", Quantity(circuit_ft - low_ft, "ft"), Quantity(20.0, "A"))
        return without_short_stretches([low, high], circuit_ft, self.short, self.share).governing.name

    def test_ten_feet_is_still_short_and_more_is_not(self) -> None:
        assert self.found(10, 246) == "high"
        assert self.found(10.01, 246) == "low"

    def test_ten_percent_is_still_short_and_more_is_not(self) -> None:
        assert self.found(8, 80) == "high"
        assert self.found(8, 79.9) == "low"

    def test_all_that_is_lower_counts_together(self) -> None:
        parts = [
            Stretch("a", Quantity(6, "ft"), Quantity(16.4, "A")),
            Stretch("b", Quantity(6, "ft"), Quantity(17.4, "A")),
            Stretch("c", Quantity(200, "ft"), Quantity(20.0, "A")),
        ]
        found = without_short_stretches(parts, 212, self.short, self.share)
        # 6 ft may be set aside, 12 ft may not: the middle stretch governs.
        assert found.governing.name == "b"
        assert [part.name for part in found.set_aside] == ["a"]

    def test_lengths_in_metres_are_converted(self) -> None:
        low = Stretch("low", Quantity(3.0, "m"), Quantity(17.4, "A"))  # 9.84 ft
        high = Stretch("high", Quantity(60, "m"), Quantity(20.0, "A"))
        found = without_short_stretches([low, high], Quantity(63, "m"), self.short, self.share)
        assert found.governing.name == "high"
        assert found.length.value == pytest.approx(9.84, abs=0.005)

    def test_one_stretch_governs_itself(self) -> None:
        only = Stretch("only", Quantity(5, "ft"), Quantity(20.0, "A"))
        found = without_short_stretches([only], 5, self.short, self.share)
        assert found.governing is only
        assert found.length.value == 0

    def test_no_stretch_is_refused(self) -> None:
        with pytest.raises(ValueError, match="without stretches"):
            without_short_stretches([], 5, self.short, self.share)

    def test_conductors_in_parallel_share(self) -> None:
        # 55 · 0.80 · 0.96 = 42.24 each, 84.48 together; 50 at the terminals, 100 together.
        assert corrected_ampacity(55, 0.80, 0.96).value == pytest.approx(42.24)
        assert corrected_ampacity(55, 0.80, 0.96, 2).value == pytest.approx(84.48)
        assert terminal_ampacity(50).value == 50
        assert terminal_ampacity(50, 2).value == 100
        # 84.48 A through two needs 55 A of the table; one alone would need 110 A.
        assert needed_table_ampacity(84.48, 0.96, 0.80, 2).value == pytest.approx(55)
        assert needed_table_ampacity(84.48, 0.96, 0.80).value == pytest.approx(110)
        # 2 · 0.1 kft · 0.778 = 0.1556 Ω; half of it with two in parallel.
        assert voltage_drop.loop_resistance(100, 0.778).value == pytest.approx(0.1556)
        assert voltage_drop.loop_resistance(100, 0.778, 2).value == pytest.approx(0.0778)

    def test_a_plain_circuit_does_not_print_a_parallel_factor(self) -> None:
        assert terminal_ampacity(50).origin.numbers == "50"
        assert corrected_ampacity(55, 0.80, 0.96).origin.numbers == "55 × 0.8 × 0.96"
        assert needed_table_ampacity(24, 0.96, 0.80).origin.symbols == "I / (F_T × F_n)"
        assert voltage_drop.loop_resistance(100, 0.778).origin.symbols == "2 × L / 1000 × r"

    def test_temperature_of_a_conductor_under_half_its_ampacity(self) -> None:
        # 30 + (90 − 30) · 0.5² = 45 °C; at 45 °C a wire of 1.24 Ω/kft has 1.24 · (1 − 0.00323 · 30) = 1.1198.
        assert conductor_temperature(30, 90, 10, 20).value == pytest.approx(45)
        resistance = voltage_drop.resistance_at(
            quantity_of(BOOK.resistance("copper", "10")),
            quantity_of(BOOK.resistance_temperature_coefficient("copper")),
            quantity_of(BOOK.resistance_reference_temperature("copper")),
            conductor_temperature(30, 90, 10, 20),
        )
        assert resistance.value == pytest.approx(1.1198, abs=0.00005)

    def test_an_ambient_at_the_rating_is_refused(self) -> None:
        with pytest.raises(ValueError, match="not below the rating"):
            conductor_temperature(90, 90, 1, 20)


class TestRaceways:
    def test_shares_by_count(self) -> None:
        assert [SHARES.of(count).value for count in (1, 2, 3, 17)] == [0.53, 0.31, 0.40, 0.40]
        assert [NIPPLE.of(count).value for count in (1, 2, 3)] == [0.60, 0.60, 0.60]
        with pytest.raises(ValueError, match="0 conductors"):
            SHARES.of(0)

    def test_two_conductors_have_less_room_than_three(self) -> None:
        # 0.35 of the bore is too much for two and enough for three.
        assert not fits([(2, inches2(0.175))], 1.0, SHARES)
        assert fits([(3, inches2(0.35 / 3))], 1.0, SHARES)

    @pytest.mark.parametrize(
        ("area", "whole", "rounded"),
        [
            (0.1, 4, 4),  # 0.40 / 0.1 = 4 exactly
            (0.40 / 4.8, 4, 5),
            (0.40 / 4.79, 4, 4),
            (0.40 / 2.8, 2, 3),  # two by 0.31 / 0.1429 = 2.17
            (0.31 / 1.8, 1, 2),
            (0.53 / 0.8, 0, 1),
            (0.53 / 0.79, 0, 0),
        ],
    )
    def test_most_alike_at_the_edges(self, area: float, whole: int, rounded: int) -> None:
        found = most_alike(1.0, area, SHARES, 0.8)
        assert (found.whole, found.rounded) == (whole, rounded)

    @pytest.mark.parametrize(
        ("area", "whole", "quotient"),
        [(0.1, 4, 4.0), (0.15, 2, 0.31 / 0.15), (0.2, 1, 2.65), (0.6, 0, 0.53 / 0.6)],
    )
    def test_quotient_is_that_of_the_share_in_force(self, area: float, whole: int, quotient: float) -> None:
        found = most_alike(1.0, area, SHARES, 0.8)
        assert found.whole == whole
        assert found.quotient.value == pytest.approx(quotient)

    def test_rounding_never_helps_a_mix(self) -> None:
        # 4.8 conductors of one size may be five; the same area as a mix may not.
        assert most_alike(1.0, 0.40 / 4.8, SHARES, 0.8).rounded == 5
        assert not fits([(4, inches2(0.40 / 4.8)), (1, inches2(0.40 / 4.8 * 0.99))], 1.0, SHARES)

    def test_no_string_where_the_pipe_is_full(self) -> None:
        assert most_strings(1.0, SHARES, [(2, inches2(0.05))], [(8, inches2(0.05))]) == 0
        assert most_strings(1.0, SHARES, [(2, inches2(0.05))], [(6, inches2(0.05))]) == 1

    def test_no_conductor_and_no_raceway_are_large_enough(self) -> None:
        rows = [Candidate("10", inches2(0.0211))]
        assert largest_conductor(rows, 40, 1.237, SHARES) is None
        assert smallest_raceway([Candidate("1/2", inches2(0.304))], [(20, inches2(0.0211))], SHARES) is None

    def test_jam_note_is_for_three_of_one_size_within_its_range(self) -> None:
        low, high = BOOK.number("jam-low").number, BOOK.number("jam-high").number
        three = [(3, inches2(0.0973))]
        assert jam_ratio(1.049, 0.352).value == pytest.approx(2.98, abs=0.005)
        assert [can_jam(three, ratio, low, high) for ratio in (2.79, 2.8, 3.2, 3.21)] == [
            False,
            True,
            True,
            False,
        ]
        assert not can_jam([(4, inches2(0.0973))], 3.0, low, high)
        assert not can_jam([(2, inches2(0.0973)), (1, inches2(0.0211))], 3.0, low, high)
        assert can_jam([(2, inches2(0.0973)), (1, inches2(0.0973))], 3.0, low, high)

    def test_arc_of_a_full_turn_is_its_circumference(self) -> None:
        assert arc_length(10, 360).value == pytest.approx(2 * math.pi * 10)
        assert arc_length(Quantity(254, "mm"), 360).value == pytest.approx(2 * math.pi * 10)


class TestExpansion:
    def test_a_quarter_inch_needs_a_fitting(self) -> None:
        trigger = quantity_of(BOOK.number("expansion-trigger"))
        assert fitting_needed(0.25, trigger)
        assert not fitting_needed(0.2499, trigger)

    def test_table_and_coefficient_agree(self) -> None:
        # 100 ft over 100 °F: 4.056 in by the coefficient, 4.06 in by the row.
        row = BOOK.pvc_expansion(100)
        coefficient = quantity_of(BOOK.number("pvc-expansion-coefficient"))
        by_row = length_change_by_table(100, quantity_of(row))
        assert by_row.value == pytest.approx(4.06, abs=1e-12)
        assert length_change(100, coefficient, 100).value == pytest.approx(by_row.value, abs=0.005)

    def test_celsius_and_metres_are_converted(self) -> None:
        # -23.3 to 43.3 °C is -10 to 110 °F; 27.432 m are 90 ft.
        swing = temperature_swing(Quantity(-70 / 3, "degC"), Quantity(130 / 3, "degC"))
        assert swing.value == pytest.approx(120)
        assert length_change(Quantity(27.432, "m"), 3.38e-5, swing).value == pytest.approx(4.38, abs=0.005)

    def test_length_that_comes_to_need_a_fitting(self) -> None:
        # 0.25 / (3.38e-5 · 12 · 100) = 6.164 ft.
        assert longest_plain_run(3.38e-5, 100, 0.25).value == pytest.approx(6.164, abs=0.0005)

    @pytest.mark.parametrize(("change", "number"), [(4.0, 1), (4.01, 2), (8.0, 2), (0.3, 1)])
    def test_number_of_fittings_of_four_inches(self, change: float, number: int) -> None:
        assert fittings(change, 4).value == number

    def test_no_swing_is_a_swing(self) -> None:
        assert temperature_swing(50, 50).value == 0
        assert temperature_swing(50, 50, 30).value == 30

    def test_a_swing_that_falls_is_refused(self) -> None:
        with pytest.raises(ValueError, match="colder"):
            temperature_swing(20, 10)

    def test_a_fitting_put_in_outside_the_swing_is_refused(self) -> None:
        assert opening(6, 110, 120, 110).value == 0
        assert opening(6, 110, 120, -10).value == pytest.approx(6)
        for install in (111, -11):
            with pytest.raises(ValueError, match="outside the swing"):
                opening(6, 110, 120, install)


class TestCover:
    def test_cover_is_counted_to_the_top_of_the_pipe(self) -> None:
        # 24 − 2 − 1.9 = 20.1 in; 18 in of cover need 18 + 1.9 + 2 = 21.9 in.
        assert cover(24, 1.9, 2).value == pytest.approx(20.1)
        assert least_trench(18, 1.9, 2).value == pytest.approx(21.9)

    def test_an_eighteen_inch_trench_lacks_the_pipe(self) -> None:
        least = BOOK.cover("other", "raceway").number
        assert least == 18
        assert not reaches(cover(18, 1.9), least)
        assert reaches(cover(Quantity(19.9, "in"), Quantity(48.26, "mm")), least)


class TestBoxesAndGrounds:
    def test_an_empty_box_and_a_bare_wall_are_refused(self) -> None:
        with pytest.raises(ValueError, match="nothing"):
            box_fill([])
        for rows in ([], [[]], [[2.0], []]):
            with pytest.raises(ValueError, match="without entries"):
                angle_pull(rows, 6)

    def test_the_row_that_asks_for_most_decides(self) -> None:
        # 6 · 2 + 2 + 2 = 16; 6 · 3 = 18.
        wall = angle_pull([[2, 2, 2], [3]], 6)
        assert wall.value == 18
        assert wall.origin.numbers == "max(6 × 2 + 2 + 2, 6 × 3)"

    @pytest.mark.parametrize(("count", "expected"), [(0, 0), (1, 2), (4, 2), (5, 2.25), (6, 2.5), (8, 3)])
    def test_grounds_up_to_four_count_together(self, count: int, expected: float) -> None:
        # A first allowance of two, so that it cannot hide behind a factor of one.
        assert grounding_allowances(count, 4, 2, 0.25).value == pytest.approx(expected)

    def test_a_ground_never_has_to_be_larger_than_its_circuit(self) -> None:
        assert bounded_area(26240, 10380).value == 10380
        assert bounded_area(6530, 10380).value == 6530
        # A circuit that is as large as it has to be leaves the ground as the table has it.
        assert proportional_area(10380, 6530, 6530).value == 10380

    def test_a_single_device_decides_by_itself(self) -> None:
        rating = deciding_rating(amperes(30))
        assert rating.value == 30
        assert rating.origin.symbols == "I_1"

    def test_no_device_and_no_size_large_enough(self) -> None:
        with pytest.raises(ValueError, match="no circuit"):
            deciding_rating([])
        assert size_for(1e9, [Candidate("4/0", Quantity(211600.0, "cmil"))]) is None

    def test_a_ground_never_shrinks_with_a_circuit_that_is_too_small(self) -> None:
        with pytest.raises(ValueError, match="smaller than it has to be"):
            proportional_area(10380, 6530, 10380)


class TestAlternating:
    def test_printed_impedance_follows_from_its_parts(self) -> None:
        # 10 AWG in PVC: 1.2 · 0.85 + 0.050 · 0.527 = 1.046, printed 1.1.
        parts = (
            quantity_of(BOOK.ac_resistance("copper", "10", "pvc")),
            quantity_of(BOOK.ac_reactance("10", "pvc")),
            quantity_of(BOOK.number("ac-table-power-factor")),
        )
        impedance = alternating.effective_impedance(*parts)
        assert impedance.value == pytest.approx(1.046, abs=0.0005)
        assert BOOK.ac_impedance("copper", "10", "pvc").number == pytest.approx(impedance.value, abs=0.055)

    def test_impedance_at_the_ends_of_the_power_factor(self) -> None:
        assert alternating.effective_impedance(1.2, 0.05, 1).value == 1.2
        assert alternating.effective_impedance(1.2, 0.05, 0).value == 0.05

    @pytest.mark.parametrize("factor", [-0.01, 1.01])
    def test_power_factor_beyond_one_is_refused(self, factor: float) -> None:
        with pytest.raises(ValueError, match="power factor"):
            alternating.effective_impedance(1.2, 0.05, factor)

    def test_rated_current_of_one_and_three_phases(self) -> None:
        # 12 000 / 240 = 50; 12 000 / (√3 · 208) = 33.3.
        assert alternating.output_current(12000, 240, three_phase=False).value == 50
        three = alternating.output_current(12000, 208, three_phase=True)
        assert three.value == pytest.approx(33.3, abs=0.05)

    def test_loss_of_three_conductors(self) -> None:
        # 3 · 0.1 kft · 1.2 · 25² = 225 W; two in parallel lose half.
        assert alternating.power_loss(100, 1.2, 25, three_phase=True).value == pytest.approx(225)
        assert alternating.power_loss(100, 1.2, 25, three_phase=True, parallel=2).value == pytest.approx(
            112.5
        )
        drop = alternating.drop(100, 1.2, 25, three_phase=True)
        assert drop.value == pytest.approx(5.196, abs=0.0005)
        halved = alternating.drop(Quantity(30.48, "m"), 1.2, 25, three_phase=True, parallel=2)
        assert halved.value == pytest.approx(drop.value / 2)

    def test_power_that_no_wire_carries_is_refused(self) -> None:
        # 10² / (4 · 1) = 25 W is the most that arrives, at 5 A; 13² / (4 · 0.0108) = 3912 W.
        assert voltage_drop.constant_power_current(25, 10, 1).value == 5
        assert voltage_drop.constant_power_current(3911, 13, 0.0108).value > 0
        with pytest.raises(ValueError, match="cannot carry"):
            voltage_drop.constant_power_current(3913, 13, 0.0108)
