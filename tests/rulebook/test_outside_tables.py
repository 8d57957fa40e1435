"""What lies outside a table has no value; what physics says of every lookup."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.rulebook.rulebook import OutsideTable, Rulebook, load

BOOK = load("nec2023")
ALL = [load(name) for name in ("nec2017", "nec2020", "nec2023")]


OUTSIDE: list[Callable[[Rulebook], object]] = [
    lambda b: b.ampacity("copper", "18", 60),
    lambda b: b.ampacity("aluminum", "14", 90),
    lambda b: b.ampacity("copper", "1000", 90),
    lambda b: b.ampacity("copper", "10", 105),
    lambda b: b.ampacity("silver", "10", 90),
    lambda b: b.ampacity("copper", "6 mm2", 90),
    lambda b: b.ambient_factor(60, 56),
    lambda b: b.ambient_factor(75, 70.1),
    lambda b: b.ambient_factor(90, 85.5),
    lambda b: b.ambient_factor(105, 40),
    lambda b: b.ambient_factor(90, math.nan),
    lambda b: b.ambient_factor(90, -math.inf),
    lambda b: b.count_factor(0),
    lambda b: b.count_factor(-3),
    lambda b: b.roof_adder(-0.1),
    lambda b: b.roof_adder(math.nan),
    lambda b: b.fill_limit(0),
    lambda b: b.fill_limit(0, nipple=True),
    lambda b: b.bore("EMT", "5"),
    lambda b: b.bore("EMT", "3/8"),
    lambda b: b.bore("RTRC", "1"),
    lambda b: b.bore("EMT", "27 mm"),
    lambda b: b.conductor_size("THHN", "600"),
    lambda b: b.conductor_size("THHN", "9.5"),
    lambda b: b.compact_conductor_size("THHN", "8"),
    lambda b: b.compact_conductor_size("THHN/XHHW-2", "4"),
    lambda b: b.insulation("NM-B"),
    lambda b: b.resistance("copper", "6", stranded=False),
    lambda b: b.resistance("aluminum", "6", coated=True),
    lambda b: b.resistance("copper", "900"),
    lambda b: b.bare_conductor("6", stranded=False),
    lambda b: b.circular_mils("1000"),
    lambda b: b.resistance_temperature_coefficient("iron"),
    lambda b: b.ac_resistance("aluminum", "14", "pvc"),
    lambda b: b.ac_resistance("copper", "14", "wood"),
    lambda b: b.ac_reactance("14", "wood"),
    lambda b: b.bend_radius("3/8"),
    lambda b: b.bend_limit("tray"),
    lambda b: b.support("HDPE", "1"),
    lambda b: b.support("EMT", "1", straight=True),
    lambda b: b.cover("moon", "raceway"),
    lambda b: b.cover("other", "remark"),
    lambda b: b.pvc_expansion(-1),
    lambda b: b.pvc_expansion(200.1),
    lambda b: b.pvc_expansion(math.nan),
    lambda b: b.box_volume("5x5"),
    lambda b: b.box_conductor_volume("4"),
    lambda b: b.box_allowance("lamp"),
    lambda b: b.standard_ratings("relay"),
    lambda b: b.next_standard_rating(6000.1),
    lambda b: b.next_standard_rating(0),
    lambda b: b.next_standard_rating(math.nan),
    lambda b: b.small_conductor_cap("aluminum", "14"),
    lambda b: b.small_conductor_cap("copper", "20"),
    lambda b: b.small_conductor_cap("silver", "8"),
    lambda b: b.egc_size(6001, "copper"),
    lambda b: b.egc_size(0, "copper"),
    lambda b: b.egc_size(math.nan, "copper"),
    lambda b: b.egc_size(20, "steel"),
    lambda b: b.gec_ac_size("2", "steel", "copper"),
    lambda b: b.gec_ac_size("2", "copper", "steel"),
    lambda b: b.gec_dc("tree"),
    lambda b: b.voltage_table_factor(-40.1),
    lambda b: b.voltage_table_factor(math.nan),
    lambda b: b.voltage_table_factor(math.inf),
    lambda b: b.voltage_limit("boat"),
    lambda b: b.beyond_voltage_limit("boat"),
]


@pytest.mark.parametrize("lookup", OUTSIDE)
@pytest.mark.parametrize("book", ALL, ids=lambda book: book.edition.name)
def test_outside_a_table_there_is_no_value(lookup: Callable[[Rulebook], object], book: Rulebook) -> None:
    with pytest.raises(OutsideTable) as caught:
        lookup(book)
    error = caught.value
    assert error.table
    assert error.key
    assert str(error) == f"{error.table} has no value for {error.key}; it covers {error.valid}"


temperatures = st.floats(-60, 85)


@given(st.sampled_from([60, 75, 90]), temperatures, temperatures)
def test_hotter_never_carries_more(insulation: int, one: float, other: float) -> None:
    def factor(ambient: float) -> float:
        try:
            return BOOK.ambient_factor(insulation, ambient).number
        except OutsideTable:
            return 0.0

    cool, hot = sorted((one, other))
    assert factor(hot) <= factor(cool)


@given(st.integers(1, 200), st.integers(1, 200))
def test_more_conductors_never_carry_more(one: int, other: int) -> None:
    few, many = sorted((one, other))
    assert BOOK.count_factor(many).number <= BOOK.count_factor(few).number


@given(st.floats(-40, 60), st.floats(-40, 60))
def test_colder_never_has_the_smaller_voltage(one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    assert BOOK.voltage_table_factor(cold).number >= BOOK.voltage_table_factor(warm).number


@given(st.floats(0.01, 6000), st.sampled_from(["fuse", "breaker"]))
def test_next_rating_is_the_nearest_one_above(current: float, device: str) -> None:
    chosen = BOOK.next_standard_rating(current, device).number
    assert chosen >= current - 1e-9
    assert not [cell for cell in BOOK.standard_ratings(device) if current <= cell.number < chosen]


@given(st.floats(0.01, 6000), st.floats(0.01, 6000))
def test_a_larger_device_never_has_the_smaller_grounding_conductor(one: float, other: float) -> None:
    from reportgen.rulebook.sizes import size_index

    small, large = sorted((one, other))
    assert size_index(BOOK.egc_size(large, "copper").value) >= size_index(
        BOOK.egc_size(small, "copper").value
    )
