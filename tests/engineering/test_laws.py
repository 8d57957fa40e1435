"""Laws that hold whatever the numbers: what grows never shrinks, and order does not matter."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reportgen.engineering import alternating, voltage_drop
from reportgen.engineering.ampacity import (
    Stretch,
    conductor_temperature,
    corrected_ampacity,
    needed_table_ampacity,
    without_short_stretches,
)
from reportgen.engineering.boxes import BoxItem, angle_pull, box_fill, grounding_allowances
from reportgen.engineering.candidates import Candidate
from reportgen.engineering.cover import cover, least_trench
from reportgen.engineering.expansion import (
    fitting_needed,
    fittings,
    length_change,
    longest_plain_run,
    opening,
)
from reportgen.engineering.fitting import FillShares, fits, most_alike, most_strings, smallest_raceway
from reportgen.engineering.grounding import bounded_area, deciding_rating, proportional_area
from reportgen.engineering.overcurrent import (
    RatingWindow,
    conductor_ceiling,
    feedback_current,
    feedback_of_unlike,
    unfused_limit,
)
from reportgen.engineering.raceway import fill, occupied_area
from reportgen.rulebook.rulebook import OutsideTable, load, quantity_of
from reportgen.working.quantity import Quantity

BOOK = load("nec2023")
SHARES = FillShares(*(quantity_of(BOOK.fill_limit(count)) for count in (1, 2, 3)))
STANDARD = [quantity_of(cell) for cell in BOOK.standard_ratings("fuse")]
NEXT_SIZE_LIMIT = quantity_of(BOOK.number("next-size-up-limit"))

lengths = st.floats(0.1, 5000)
currents = st.floats(0.01, 400)
resistances = st.floats(0.01, 20)
areas = st.floats(0.001, 0.5)
shares = st.floats(0.01, 1)
several_areas = st.lists(st.tuples(st.integers(1, 20), areas), min_size=1, max_size=5)


def groups(pairs: list[tuple[int, float]]) -> list[tuple[int, Quantity]]:
    return [(count, Quantity(area, "in2")) for count, area in pairs]


def amperes(values: list[float]) -> list[Quantity]:
    return [Quantity(value, "A") for value in values]


# Voltage drop


@given(lengths, lengths, resistances, currents)
def test_a_longer_run_never_drops_less(one: float, other: float, resistance: float, current: float) -> None:
    short, long = sorted((one, other))
    loops = [voltage_drop.loop_resistance(length, resistance) for length in (short, long)]
    drops = [voltage_drop.drop(loop, current).value for loop in loops]
    losses = [voltage_drop.power_loss(loop, current).value for loop in loops]
    assert drops[0] <= drops[1]
    assert losses[0] <= losses[1]


@given(lengths, lengths, resistances, currents, st.booleans())
def test_a_longer_output_circuit_never_drops_less(one, other, impedance, current, three_phase) -> None:
    short, long = sorted((one, other))
    drops = [
        alternating.drop(length, impedance, current, three_phase=three_phase).value
        for length in (short, long)
    ]
    losses = [
        alternating.power_loss(length, impedance, current, three_phase=three_phase).value
        for length in (short, long)
    ]
    assert drops[0] <= drops[1]
    assert losses[0] <= losses[1]


@given(st.floats(0.1, 10), st.floats(10, 1500), resistances, currents)
def test_the_longest_run_drops_just_the_limit(limit, voltage, resistance, current) -> None:
    length = voltage_drop.longest_run(limit, voltage, resistance, current)
    drop = voltage_drop.drop(voltage_drop.loop_resistance(length, resistance), current)
    assert voltage_drop.drop_share(drop, voltage).value == pytest.approx(limit)


@given(st.floats(0.1, 10), st.floats(10, 1500), resistances, currents, st.booleans())
def test_the_longest_output_circuit_drops_just_the_limit(limit, voltage, impedance, current, three) -> None:
    length = alternating.longest_run(limit, voltage, impedance, current, three_phase=three)
    drop = alternating.drop(length, impedance, current, three_phase=three)
    assert voltage_drop.drop_share(drop, voltage).value == pytest.approx(limit)


@given(lengths, resistances, currents)
def test_direct_current_and_two_wires_at_unity_drop_alike(length, resistance, current) -> None:
    impedance = alternating.effective_impedance(resistance, 0.05, 1)
    two_wires = alternating.drop(length, impedance, current, three_phase=False).value
    direct = voltage_drop.drop(voltage_drop.loop_resistance(length, resistance), current).value
    assert two_wires == pytest.approx(direct)
    three = alternating.drop(length, impedance, current, three_phase=True).value
    assert three == pytest.approx(two_wires * math.sqrt(3) / 2)


@given(resistances, st.floats(-40, 90), st.floats(-40, 90))
def test_a_hotter_conductor_never_resists_less(resistance, one, other) -> None:
    coefficient = quantity_of(BOOK.resistance_temperature_coefficient("copper"))
    reference = quantity_of(BOOK.resistance_reference_temperature("copper"))
    cool, hot = (
        voltage_drop.resistance_at(resistance, coefficient, reference, at).value
        for at in sorted((one, other))
    )
    assert cool <= hot
    assert voltage_drop.resistance_at(resistance, coefficient, reference, reference).value == resistance


@given(st.floats(1, 5000), st.floats(10, 600), st.floats(0, 0.5))
def test_constant_power_is_what_arrives(power, voltage, resistance) -> None:
    assume(voltage**2 > 4.01 * resistance * power)
    current = voltage_drop.constant_power_current(power, voltage, resistance).value
    assert (voltage - resistance * current) * current == pytest.approx(power)
    assert current >= power / voltage * (1 - 1e-12)


# Ampacity


@given(
    st.sampled_from(["14", "12", "10", "8", "6"]), st.floats(-30, 85), st.floats(-30, 85), st.integers(1, 60)
)
def test_a_hotter_segment_never_carries_more(size: str, one: float, other: float, carrying: int) -> None:
    def ampacity(ambient: float) -> float:
        try:
            factor = BOOK.ambient_factor(90, ambient)
        except OutsideTable:
            return 0.0
        table = quantity_of(BOOK.ampacity("copper", size, 90))
        count = quantity_of(BOOK.count_factor(carrying))
        return corrected_ampacity(table, quantity_of(factor), count).value

    cool, hot = sorted((one, other))
    assert ampacity(hot) <= ampacity(cool)


@given(currents, shares, shares, st.integers(1, 6))
def test_the_needed_table_ampacity_leaves_just_the_current(current, ambient, count, parallel) -> None:
    needed = needed_table_ampacity(current, ambient, count, parallel)
    assert corrected_ampacity(needed, ambient, count, parallel).value == pytest.approx(current)


@given(st.floats(-40, 89), currents, currents, st.floats(1, 400))
def test_more_current_never_leaves_a_conductor_cooler(ambient, one, other, ampacity) -> None:
    low, high = (
        conductor_temperature(ambient, 90, current, ampacity).value for current in sorted((one, other))
    )
    assert ambient <= low <= high
    assert conductor_temperature(ambient, 90, ampacity, ampacity).value == pytest.approx(90)


stretches = st.lists(
    st.builds(
        Stretch,
        st.uuids().map(str),
        st.floats(0.5, 400).map(lambda feet: Quantity(feet, "ft")),
        st.sampled_from([15.0, 16.4, 17.4, 20.0, 30.7]).map(lambda value: Quantity(value, "A")),
    ),
    min_size=1,
    max_size=8,
)


@given(stretches, st.randoms(use_true_random=False))
def test_short_stretches_by_their_rule_and_in_any_order(parts: list[Stretch], shuffle) -> None:
    total = sum(part.length.value for part in parts)
    found = without_short_stretches(parts, total, 10, 0.10)
    ampacity = found.governing.ampacity.value
    lower = [part for part in parts if part.ampacity.value < ampacity]
    assert set(found.set_aside) == set(lower)
    assert found.length.value == pytest.approx(sum(part.length.value for part in lower))
    assert found.length.value <= min(10, 0.10 * total) * (1 + 1e-9)
    # Any higher ampacity would set aside more than the rule allows.
    for better in {part.ampacity.value for part in parts if part.ampacity.value > ampacity}:
        assert sum(p.length.value for p in parts if p.ampacity.value < better) > min(10, 0.10 * total) * (
            1 - 1e-9
        )
    mixed = list(parts)
    shuffle.shuffle(mixed)
    assert without_short_stretches(mixed, total, 10, 0.10).governing.ampacity.value == ampacity


# Raceways


@given(several_areas, st.floats(0.2, 12), areas)
def test_a_further_conductor_never_fills_less(pairs, bore, further) -> None:
    before = fill(occupied_area(groups(pairs)), bore).value
    after = fill(occupied_area(groups([*pairs, (1, further)])), bore).value
    assert before < after


@given(several_areas, st.randoms(use_true_random=False))
def test_order_of_conductors_does_not_matter(pairs, shuffle) -> None:
    mixed = list(pairs)
    shuffle.shuffle(mixed)
    assert occupied_area(groups(mixed)).value == pytest.approx(occupied_area(groups(pairs)).value)


@given(st.floats(0.1, 12), areas)
def test_the_most_alike_fit_and_one_more_does_not(bore: float, area: float) -> None:
    found = most_alike(bore, area, SHARES, 0.8)
    one = Quantity(area, "in2")
    if found.whole:
        assert fits([(found.whole, one)], bore, SHARES)
    assert not fits([(found.whole + 1, one)], bore, SHARES)
    assert found.rounded - found.whole in {0, 1}


@given(st.floats(0.1, 12), areas)
def test_rounding_up_takes_a_fraction_of_eight_tenths(bore: float, area: float) -> None:
    found = most_alike(bore, area, SHARES, 0.8)
    assume(found.whole >= 3)
    fraction = found.quotient.value - found.whole
    assume(abs(fraction - 0.8) > 1e-9)
    assert (found.rounded > found.whole) is (fraction > 0.8)


@given(st.floats(0.3, 12), areas, areas)
def test_the_most_strings_fit_and_one_more_does_not(bore: float, leg: float, ground: float) -> None:
    string, already = groups([(2, leg)]), groups([(1, ground)])
    most = most_strings(bore, SHARES, string, already)
    assume(most > 0)
    assert fits([*already, (2 * most, string[0][1])], bore, SHARES)
    assert not fits([*already, (2 * (most + 1), string[0][1])], bore, SHARES)


@given(st.lists(st.tuples(st.integers(1, 8), areas), min_size=1, max_size=4), st.sampled_from(BOOK.kinds()))
def test_the_smallest_raceway_fits_and_the_next_smaller_does_not(pairs, kind: str) -> None:
    rows = [Candidate(size, quantity_of(BOOK.bore(kind, size).area)) for size in BOOK.trade_sizes(kind)]
    chosen = smallest_raceway(rows, groups(pairs), SHARES)
    if chosen is None:
        assert not any(fits(groups(pairs), row.value, SHARES) for row in rows)
        return
    assert fits(groups(pairs), chosen.value, SHARES)
    assert not any(
        fits(groups(pairs), row.value, SHARES) for row in rows if row.value.value < chosen.value.value
    )


@given(st.floats(0, 100), st.floats(0.5, 8), st.floats(0, 10))
def test_the_least_trench_leaves_just_the_cover(depth: float, diameter: float, bedding: float) -> None:
    trench = least_trench(depth, diameter, bedding)
    assert cover(trench, diameter, bedding).value == pytest.approx(depth, abs=1e-9)


@given(st.floats(10, 200), st.floats(0.5, 2))
def test_a_run_comes_to_need_a_fitting_at_its_longest(swing: float, times: float) -> None:
    assume(abs(times - 1) > 1e-9)
    longest = longest_plain_run(3.38e-5, swing, 0.25).value
    change = length_change(longest * times, 3.38e-5, swing)
    assert fitting_needed(change, 0.25) is (times > 1)


@given(st.floats(1, 12), st.floats(-40, 150), st.floats(1, 200), st.floats(0, 1))
def test_a_fitting_opens_within_its_travel(travel, hottest, swing, part) -> None:
    gap = opening(travel, hottest, swing, hottest - part * swing)
    assert -1e-9 <= gap.value <= travel * (1 + 1e-9)
    assert gap.value == pytest.approx(travel * part, abs=1e-6)


@given(st.floats(0.01, 20), st.floats(1, 12))
def test_fittings_take_up_the_whole_change(change: float, travel: float) -> None:
    number = fittings(change, travel).value
    assert (number - 1) * travel < change * (1 + 1e-12)
    assert number * travel >= change * (1 - 1e-12)


# Boxes and grounds


@given(
    st.lists(
        st.tuples(st.integers(1, 12), st.sampled_from([1.0, 2.0, 0.25]), st.floats(1.5, 5)),
        min_size=1,
        max_size=5,
    )
)
def test_a_further_thing_in_a_box_never_takes_less(things) -> None:
    items = [BoxItem("thing", *thing) for thing in things]
    whole = box_fill(items).value
    assert box_fill(list(reversed(items))).value == pytest.approx(whole)
    assert box_fill([*items, BoxItem("one more", 1, 1, 2.0)]).value > whole


@given(st.integers(0, 60), st.sampled_from([0.0, 0.25]))
def test_a_further_ground_never_counts_less(count: int, further: float) -> None:
    here, more = (grounding_allowances(n, 4, 1, further).value for n in (count, count + 1))
    assert here <= more <= here + 1


@given(
    st.lists(
        st.lists(st.sampled_from([0.5, 0.75, 1, 1.25, 2, 3]), min_size=1, max_size=5), min_size=1, max_size=3
    )
)
def test_entries_in_any_order_ask_for_the_same_wall(rows) -> None:
    wall = angle_pull(rows, 6).value
    assert angle_pull([list(reversed(row)) for row in reversed(rows)], 6).value == pytest.approx(wall)
    assert wall == pytest.approx(max(6 * max(row) + sum(row) - max(row) for row in rows))


@given(st.floats(1000, 1e6), st.floats(1000, 1e6), st.floats(1, 3))
def test_a_grown_ground_is_between_its_table_and_its_circuit(base, minimum, growth) -> None:
    grown = proportional_area(base, minimum * growth, minimum)
    assert grown.value >= base * (1 - 1e-12)
    bounded = bounded_area(grown, minimum * growth)
    assert bounded.value <= minimum * growth


@given(st.lists(st.floats(1, 6000), min_size=1, max_size=8))
def test_the_largest_device_decides_in_any_order(ratings: list[float]) -> None:
    assert deciding_rating(amperes(ratings)).value == max(ratings)
    assert deciding_rating(amperes(ratings[::-1])).value == max(ratings)


# Overcurrent


@given(st.integers(1, 40), st.floats(0.1, 40), st.floats(0, 40))
def test_like_strings_feed_back_as_a_list_of_them(strings, maximum, inverter) -> None:
    like = feedback_current(strings, maximum, inverter).value
    assert like == pytest.approx(feedback_of_unlike([maximum] * (strings - 1), inverter).value)
    assert feedback_current(strings + 1, maximum, inverter).value > like


@given(st.lists(st.floats(0.1, 40), max_size=8), st.floats(0, 40))
def test_order_of_other_strings_does_not_matter(others, inverter) -> None:
    one = feedback_of_unlike(others, inverter).value
    assert feedback_of_unlike(others[::-1], inverter).value == pytest.approx(one)


@given(st.floats(1, 60), st.floats(1, 60))
def test_both_bounds_hold_for_a_string_without_fuse(module: float, ampacity: float) -> None:
    limit = unfused_limit(module, ampacity).value
    assert limit <= module
    assert limit <= ampacity


@given(st.floats(0.5, 7000), st.none() | st.sampled_from([15.0, 20.0, 30.0]))
def test_a_ceiling_is_the_ampacity_or_the_next_standard_rating(ampacity, cap) -> None:
    ceiling = conductor_ceiling(ampacity, STANDARD, NEXT_SIZE_LIMIT, cap).value
    ratings = [rating.value for rating in STANDARD]
    free = conductor_ceiling(ampacity, STANDARD, NEXT_SIZE_LIMIT).value
    assert free >= ampacity
    # No standard rating lies strictly between the ampacity and the ceiling, and none above 800 A is rounded to.
    assert not [rating for rating in ratings if ampacity <= rating < free]
    if free > ampacity:
        assert free in ratings
        assert free <= 800
    assert ceiling == (free if cap is None else min(free, cap))
    assert conductor_ceiling(ampacity, STANDARD, None, cap).value <= ceiling


@given(st.floats(0.5, 900), st.floats(0.5, 900))
def test_a_better_conductor_never_has_the_lower_ceiling(one: float, other: float) -> None:
    low, high = (
        conductor_ceiling(ampacity, STANDARD, NEXT_SIZE_LIMIT).value for ampacity in sorted((one, other))
    )
    assert low <= high


tenths = st.integers(10, 600).map(lambda number: number / 10)


@given(tenths, st.lists(tenths, min_size=1, max_size=4), st.lists(tenths, max_size=9))
def test_a_rating_fits_exactly_when_it_lies_between(floor, ceilings, available) -> None:
    window = RatingWindow(Quantity(floor, "A"), tuple(amperes(ceilings)))
    found = [rating.value for rating in window.fitting(amperes(available))]
    assert found == sorted(value for value in available if floor <= value <= min(ceilings))
