"""Units: exact factors, round trips, and what is said about a text that is no quantity."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.working.units import DIMENSIONS, SAMPLES, UNITS, UnitError, convert, examples, measure, parse

PAIRS = [(one, other) for units in DIMENSIONS.values() for one in units for other in units]


@given(st.sampled_from(PAIRS), st.floats(-1e6, 1e6))
def test_there_and_back(pair, value: float) -> None:
    one, other = (unit.symbol for unit in pair)
    there = convert(value, one, other)
    # Temperatures have an offset: 1e-9 is a billionth of a degree.
    assert convert(there, other, one) == pytest.approx(value, rel=1e-12, abs=1e-9)


@given(st.sampled_from(PAIRS), st.floats(-1e6, 1e6), st.floats(-1e6, 1e6))
def test_order_is_kept(pair, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert convert(low, pair[0].symbol, pair[1].symbol) <= convert(high, pair[0].symbol, pair[1].symbol)


@pytest.mark.source("NIST Special Publication 811 (2008)", locator="appendix B.8", read="memory")
@pytest.mark.parametrize(
    ("value", "from_unit", "to_unit", "expected"),
    [
        # Exact by definition: foot, inch, pound, pound-force, mile an hour, temperature scales.
        (1, "ft", "m", 0.3048),
        (1, "in", "mm", 25.4),
        (1, "lbm", "kg", 0.45359237),
        (1, "lbf", "N", 4.4482216152605),
        (1, "mph", "m/s", 0.44704),
        (1, "in2", "mm2", 645.16),
        (1, "in3", "cm3", 16.387064),
        (32, "degF", "degC", 0),
        (212, "degF", "degC", 100),
        (-40, "degF", "degC", -40),
        (9, "delta_degF", "K", 5),
        (1, "MJ/m2", "kWh/m2", 1 / 3.6),
        (1, "N·m", "lb·in", 1 / (4.4482216152605 * 0.0254)),
        (12, "lb·in", "lb·ft", 1),
        (1, "cmil", "in2", math.pi / 4e6),
        (1, "ohm/kft", "ohm/km", 1 / 0.3048),
        (1, "lb/kft", "kg/km", 0.45359237 / 0.3048),
    ],
)
def test_conversion(value: float, from_unit: str, to_unit: str, expected: float) -> None:
    assert convert(value, from_unit, to_unit) == pytest.approx(expected, rel=1e-14, abs=1e-13)


def test_unlike_units_are_not_converted() -> None:
    with pytest.raises(ValueError, match="ft is a length, A a current"):
        convert(1, "ft", "A")
    with pytest.raises(ValueError, match="temperature"):
        convert(1, "degC", "K")


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_a_spelling_means_one_unit_of_its_dimension(dimension: str) -> None:
    spellings = [text for unit in DIMENSIONS[dimension] for text in (unit.symbol, *unit.spellings)]
    assert len(spellings) == len(set(spellings))
    assert DIMENSIONS[dimension][0].factor == 1
    assert DIMENSIONS[dimension][0].offset == 0


@pytest.mark.parametrize(
    "unit", [unit for unit in UNITS.values() if unit.symbol], ids=lambda unit: unit.symbol
)
def test_every_spelling_is_read(unit) -> None:
    for spelling in (unit.symbol, *unit.spellings, unit.printed):
        if unit.symbol == "delta_degF" and spelling == unit.printed:
            continue  # a page's words, not an input's
        for text in (f"-12.5 {spelling}", f"-12.5{spelling}", f"  -12.5   {spelling} "):
            assert parse(text, (unit.dimension,)) == (-12.5, unit)


@given(st.floats(-1e9, 1e9), st.sampled_from([unit for unit in UNITS.values() if unit.symbol]))
def test_what_is_written_is_read(value: float, unit) -> None:
    assert parse(f"{value!r} {unit.symbol}", (unit.dimension,)) == (value, unit)


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("210 ft", 210.0, "ft"),
        ("+5 V", 5.0, "V"),
        (".5 m", 0.5, "m"),
        ("5. m", 5.0, "m"),
        ("1e3 W", 1000.0, "W"),
        ("1.5E-3 A", 0.0015, "A"),
        ("10\u00a0A", 10.0, "A"),
        ("5 ft 6 in", 5.5, "ft"),
        ("5ft 6.5in", 5 + 6.5 / 12, "ft"),
        ("60 C", 60.0, "degC"),
        ("0.5 \u03a9", 0.5, "ohm"),
        ("0.5 \u2126", 0.5, "ohm"),
        ("3.39 \u2126/km", 3.39, "ohm/km"),
        ("30 °", 30.0, "deg"),
    ],
)
def test_accepted(text: str, value: float, unit: str) -> None:
    number, found = parse(text, (UNITS[unit].dimension,))
    assert (number, found.symbol) == (value, unit)


@pytest.mark.parametrize(("text", "unit"), [("60 ºC", "degC"), ("60 ˚F", "degF"), ("0.5 \u2126", "ohm")])
def test_characters_that_look_like_a_unit_are_read_as_it(text: str, unit: str) -> None:
    assert parse(text, (UNITS[unit].dimension,))[1].symbol == unit


@given(st.integers(0, 10**7), st.integers(0, 4), st.sampled_from(["ft", "in", "mm", "cm", "km"]))
def test_a_length_has_the_same_bits_in_either_system(digits: int, places: int, unit: str) -> None:
    number = Decimal(digits).scaleb(-places)
    metres = number * {"ft": Decimal("0.3048"), "in": Decimal("0.0254")}.get(
        unit, Decimal(1).scaleb({"mm": -3, "cm": -2, "km": 3}.get(unit, 0))
    )
    assert measure(f"{number:f} {unit}", ("length",)) == (float(metres), "m")


@given(st.integers(-(10**5), 10**5), st.integers(0, 3))
def test_a_temperature_has_the_same_bits_in_either_scale(digits: int, places: int) -> None:
    celsius = Decimal(digits).scaleb(-places)
    fahrenheit = celsius * Decimal("1.8") + 32
    assert measure(f"{fahrenheit:f} degF", ("temperature",)) == (float(celsius), "degC")


@pytest.mark.parametrize("text", ["1e-999999999 ft", "0e99999999 ft", "1e300 ft", "1e-300 in"])
def test_an_exponent_costs_no_memory(text: str) -> None:
    assert math.isfinite(measure(text, ("length",))[0])


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_the_samples_of_a_dimension_are_read(dimension: str) -> None:
    assert SAMPLES[dimension]
    for text in SAMPLES[dimension]:
        assert parse(text, (dimension,))[1].dimension == dimension


def test_pounds_are_what_the_place_wants() -> None:
    assert parse("3 lb", ("force",))[1].symbol == "lbf"
    assert parse("3 lb", ("mass",))[1].symbol == "lbm"


def test_a_count_has_no_unit() -> None:
    assert parse("12", ("count",)) == (12.0, UNITS[""])


def test_the_first_dimension_that_knows_the_unit_is_taken() -> None:
    both = ("relative_coefficient", "voltage_coefficient")
    assert parse("-0.27 %/K", both)[1].symbol == "%/degC"
    assert parse("-137 mV/K", both)[1].symbol == "mV/degC"


@pytest.mark.parametrize(
    ("text", "dimension", "reason", "hint"),
    [
        ("210", "length", "has no unit", "`210 m`"),
        ("1,5 m", "length", "has a decimal comma", "`1.5 m`"),
        ("1,234.5 m", "length", "has commas between its digits", "`1234.5 m`"),
        ("1,234 ft", "length", "has a comma, for a point or for thousands", "`1234 ft` or `1.234 ft`"),
        ("3 Ft", "length", "has the unknown unit `Ft`", "did you mean `3 ft`?"),
        ("12 amperess", "current", "has the unknown unit `amperess`", "did you mean `12 amperes`?"),
        # Lower case decides between milli and mega; the first letter is the user's.
        ("5 MOHM", "resistance", "has the unknown unit `MOHM`", "did you mean `5 Mohm`?"),
        ("12 A", "length", "is a current, not a length", "`ft`"),
        ("12 furlong", "length", "has the unknown unit `furlong`", "`ft`"),
        ("12 MM", "length", "has the unknown unit `MM`", "`mm`"),
        ("\u221212 degC", "temperature", "has the minus sign U+2212", "`-12 degC`"),
        ("", "length", "is not a number with a unit", "`12 m`"),
        ("ten m", "length", "is not a number with a unit", "`12 m`"),
        ("5 m + 3 m", "length", "has the unknown unit `m + 3 m`", "`m`"),
        ("1/0 AWG", "length", "has the unknown unit `/0 AWG`", "`m`"),
        ("nan m", "length", "is not a number with a unit", "`12 m`"),
        ("1e999 m", "length", "has a number that is too large", "`12 m`"),
        ("9" * 41 + " m", "length", "has a number that is too large", "`12 m`"),
        ("9" * 400 + " ft 3 in", "length", "has a number that is too large", "`12 m`"),
        ("٣ m", "length", "is not a number with a unit", "`12 m`"),
        ("60 C", "voltage", "is a temperature, not a voltage", "`V`"),
    ],
)
def test_refused_with_a_reason_and_one_thing_to_do(text, dimension, reason, hint) -> None:
    with pytest.raises(UnitError) as caught:
        parse(text, (dimension,))
    assert caught.value.reason == reason
    assert hint in caught.value.hint
    assert str(caught.value) == f"{caught.value.reason}; {caught.value.hint}"


@pytest.mark.parametrize("dimension", [name for name in DIMENSIONS if name != "count"])
def test_the_example_of_a_hint_is_itself_right(dimension: str) -> None:
    assert parse(examples((dimension,)).strip("`"), (dimension,))[0] == 12


@given(st.text(max_size=30), st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_is_a_quantity_or_refused(text: str, dimension: str) -> None:
    try:
        value, unit = parse(text, (dimension,))
    except UnitError:
        return
    assert math.isfinite(value)
    assert unit.dimension == dimension


def test_a_coefficient_as_a_share_is_told_in_percent() -> None:
    with pytest.raises(UnitError) as refused:
        parse("-0.0026 1/K", ("relative_coefficient", "voltage_coefficient"))
    assert refused.value.hint.startswith("data sheets show percent: `-0.26 %/degC`")
