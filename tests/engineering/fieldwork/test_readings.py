"""Readings judged, by hand: eleven modules of 37.1 V, −0.27 %/°C, 54 cells, and the faults that installers make."""

from __future__ import annotations

import math
from typing import ClassVar

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.engineering.readings.current import CurrentRead, judge_current
from reportgen.engineering.readings.exchanged import Exchange, exchanged_legs
from reportgen.engineering.readings.expectation import (
    Expectation,
    common_errors,
    count_from_neighbour,
    expectation,
    expected_current,
    expected_voltage,
    implied_modules,
    thermal_voltage,
    voltage_uncertainty,
)
from reportgen.engineering.readings.ground import (
    fault_position,
    judge_continuity,
    judge_insulation,
    judge_legs,
)
from reportgen.engineering.readings.outcome import Bands, Judgement, Verdict, common_bands
from reportgen.engineering.readings.voltage import Read, good_band, judge_alike, judge_ends, judge_voltage
from reportgen.working.quantity import Quantity, Working, cells_of

BETA = Quantity(-0.27, "%/degC")
A54 = thermal_voltage(54)


def lit(count: int, cell_c: float = 24, irradiance: float = 620) -> Expectation:
    return expectation(count, 37.1, BETA, cell_c, irradiance, A54)


def said(found: Judgement) -> list[str]:
    return [mistake.says for mistake in found.mistakes]


class TestExpectation:
    def test_at_620_watts_and_24_degrees(self) -> None:
        # a = 1.1 · 54 · 25.693 mV = 1.5261 V; 37.1 · 1.0027 = 37.2002; 1.5261 · ln 0.62 = −0.7295; · 11 = 401.18.
        found = lit(11)
        assert A54.value == pytest.approx(1.5261, abs=0.00005)
        assert found.voltage.value == pytest.approx(401.18, abs=0.005)

    def test_at_full_light_and_20_degrees(self) -> None:
        # 408.1 · 1.0135 = 413.6; 333.9 · 1.0135 = 338.4.
        assert lit(11, 20, 1000).voltage.value == pytest.approx(413.6, abs=0.05)
        assert lit(9, 20, 1000).voltage.value == pytest.approx(338.4, abs=0.05)

    def test_uncertainty(self) -> None:
        # Temperature 11 · 37.1 · 0.0027 · 3 = 3.306; light 11 · 1.5261 · 0.05 = 0.839;
        # diode 11 · 1.5261 · 0.2 · 0.478 = 1.605; meter 0.5 % of 401.18 = 2.006; root of the squares 4.270.
        found = voltage_uncertainty(11, 37.1, BETA, 620, A54, common_errors(0.5), 401.18)
        assert found.value == pytest.approx(4.270, abs=0.0005)
        assert all(cell.recalled for cell in cells_of(found))

    def test_coefficient_in_volts(self) -> None:
        volts = Quantity(-0.27 / 100 * 37.1, "V/degC")
        assert expected_voltage(11, 37.1, volts, 50, 800, A54).value == pytest.approx(
            expected_voltage(11, 37.1, BETA, 50, 800, A54).value
        )
        millivolts = Quantity(-100.17, "mV/degC")
        pair = [
            voltage_uncertainty(11, 37.1, one, 620, A54, common_errors(), 401).value
            for one in (BETA, millivolts)
        ]
        assert pair[0] == pytest.approx(pair[1])

    def test_current(self) -> None:
        # 13.79 · 0.62 = 8.5498; at 45 °C with 0.05 %/°C · 1.01 = 8.6353; 6 mA/°C: (13.79 + 0.12) · 0.62 = 8.6242.
        assert expected_current(13.79, 620).value == pytest.approx(8.5498, abs=0.00005)
        assert expected_current(13.79, 620, 45, Quantity(0.05, "%/degC")).value == pytest.approx(
            8.6353, abs=0.00005
        )
        assert expected_current(13.79, 620, 45, Quantity(6, "mA/degC")).value == pytest.approx(8.6242)

    def test_working_is_shown(self) -> None:
        origin = lit(11).voltage.origin
        assert isinstance(origin, Working)
        assert origin.symbols == "N × (V_oc × (1 + β / 100 × (T − 25)) + a × ln(G / 1000))"

    @pytest.mark.parametrize("light", [0, -5, math.nan])
    def test_without_light_there_is_no_expectation(self, light: float) -> None:
        with pytest.raises(ValueError, match="irradiance is"):
            lit(11, irradiance=light)

    def test_without_modules_there_is_none(self) -> None:
        with pytest.raises(ValueError, match="a string of 0 modules"):
            lit(0)


class TestVoltageAgainstExpectation:
    """401.18 V expected, 36.471 V a module: good within 12.035 V (3 %), stop from 18.236 V (half a module)."""

    @pytest.mark.parametrize(
        ("off", "verdict"),
        [
            (0.0, Verdict.ACCEPT),
            (12.03, Verdict.ACCEPT),
            (-12.03, Verdict.ACCEPT),
            (12.04, Verdict.QUESTION),
            (-12.04, Verdict.QUESTION),
            (18.23, Verdict.QUESTION),
            (18.24, Verdict.STOP),
            (-18.24, Verdict.STOP),
        ],
    )
    def test_bands(self, off: float, verdict: Verdict) -> None:
        assert judge_voltage(lit(11).voltage.value + off, lit(11)).verdict is verdict

    def test_exactly_at_both_limits(self) -> None:
        flat = Expectation(10, Quantity(400.0, "V"), Quantity(1.0, "V"), Quantity(800.0, "W/m2"))
        assert judge_voltage(412.0, flat).verdict is Verdict.ACCEPT
        assert judge_voltage(420.0, flat).verdict is Verdict.QUESTION

    def test_in_long_strings_part_of_a_module_is_less_than_three_percent(self) -> None:
        # N = 20: 3 % is 0.6 module; 0.35 module is 1.75 %.
        long = lit(20)
        assert good_band(long, common_bands()).value == pytest.approx(0.35 / 20 * long.voltage.value)

    def test_module_missing(self) -> None:
        found = judge_voltage(364.7, lit(11))
        assert found.verdict is Verdict.STOP
        assert said(found)[0] == "one module is missing"
        assert "10.00 of 11 modules" in found.reason

    @pytest.mark.parametrize("count", [6, 11, 20])
    def test_bypassed_third(self, count: int) -> None:
        # 0.4 module short: good is 0.18 module at six (3 %), 0.33 at eleven and 0.35 at twenty.
        own = lit(count)
        found = judge_voltage(own.voltage.value * (1 - 0.4 / count), own)
        assert (found.verdict, said(found)) == (Verdict.QUESTION, ["one part of a module is bypassed"])

    def test_reversed(self) -> None:
        found = judge_voltage(-401.0, lit(11))
        assert found.verdict is Verdict.STOP
        assert said(found)[0] == "the pair is reversed"
        assert "do not operate the switch" in found.to_do

    def test_exchanged_and_both(self) -> None:
        others = {"S2": lit(9)}
        assert said(judge_voltage(lit(9).voltage.value, lit(11), others))[0] == "exchanged with S2"
        assert said(judge_voltage(-328.0, lit(11), others))[0] == "exchanged with S2, and reversed"

    def test_exchanged_with_a_like_string_cannot_be_seen(self) -> None:
        found = judge_voltage(lit(11).voltage.value, lit(11), {"S3": lit(11)})
        assert (found.verdict, found.mistakes) == (Verdict.ACCEPT, ())

    def test_nothing_to_read(self) -> None:
        found = judge_voltage(0.6, lit(11), {"S2": lit(9)})
        assert found.verdict is Verdict.STOP
        assert said(found) == ["two legs of one sign on this input", "a connector or leg is open"]

    def test_a_reading_that_no_single_mistake_explains(self) -> None:
        found = judge_voltage(200.0, lit(11))
        assert (found.verdict, found.mistakes) == (Verdict.STOP, ())

    def test_four_strings_with_four_faults(self) -> None:
        strings: ClassVar = {"S1": lit(11), "S2": lit(9), "S3": lit(8), "S4": lit(12)}
        readings = {"S1": -401.2, "S2": 291.8, "S3": 0.2, "S4": 401.0}
        firsts = [
            said(judge_voltage(readings[key], own, {k: o for k, o in strings.items() if k != key}))[0]
            for key, own in strings.items()
        ]
        assert firsts[0] == "the pair is reversed"
        # 8 of 9 modules: one missing, or exchanged with the string of eight; both are named.
        assert firsts[1] in {"one module is missing", "exchanged with S3"}
        assert firsts[2] == "two legs of one sign on this input"
        assert firsts[3] in {"one module is missing", "exchanged with S1"}

    @pytest.mark.parametrize("irradiance", [20, 90, 199])
    def test_too_little_light(self, irradiance: float) -> None:
        own = lit(11, 5, irradiance)
        found = judge_voltage(own.voltage.value, own)
        assert found.verdict is Verdict.NONE
        assert found.to_do == "compare strings with each other, wait for light"

    def test_sign_is_judged_in_any_light(self) -> None:
        assert judge_voltage(-370.0, lit(11, 5, 60)).verdict is Verdict.STOP
        assert judge_voltage(-3.0, lit(11, 5, 60)).verdict is Verdict.NONE

    def test_uncertain_expectation_gives_no_verdict(self) -> None:
        # Forty modules: 0.35 module is 12.8 V, three degrees alone are 12.0 V, and the light adds to that.
        long = lit(40, 24, 400)
        assert long.uncertainty.value > good_band(long, common_bands()).value
        assert judge_voltage(long.voltage.value, long).verdict is Verdict.NONE

    def test_missing_temperature_gives_no_verdict(self) -> None:
        found = judge_voltage(400.0, None)
        assert found.verdict is Verdict.NONE
        assert "cell temperature" in found.to_do

    @given(st.floats(-1500, 1500), st.integers(2, 30), st.floats(-30, 75), st.floats(1, 1300))
    def test_accepted_is_always_near(self, reading: float, count: int, cell: float, light: float) -> None:
        own = lit(count, cell, light)
        found = judge_voltage(reading, own)
        assert len(found.mistakes) <= 3
        assert [one.off.value for one in found.mistakes] == sorted(one.off.value for one in found.mistakes)
        if found.verdict is Verdict.ACCEPT:
            assert abs(reading - own.voltage.value) <= 0.35 * own.per_module.value * (1 + 1e-9)
            assert light >= 200
        if reading <= -0.5 * own.per_module.value:
            assert found.verdict is Verdict.STOP


class TestStringAgainstString:
    """Eleven modules: like strings within 1.5 %, question up to 0.35 / 11 = 3.18 %."""

    def series(self, own: float, count: int = 11) -> dict[str, Read]:
        return {
            "S1": Read(Quantity(own, "V"), count),
            "S2": Read(Quantity(440.0, "V"), 11),
            "S3": Read(Quantity(441.0, "V"), 11),
        }

    @pytest.mark.parametrize(
        ("own", "verdict"),
        [
            (447.6, Verdict.ACCEPT),
            (447.7, Verdict.QUESTION),
            (455.0, Verdict.QUESTION),
            (455.1, Verdict.STOP),
            (400.0, Verdict.STOP),
        ],
    )
    def test_bands(self, own: float, verdict: Verdict) -> None:
        # Against S3 (the middle of the three): 1.5 % of 441 V end at 447.615 V, 3.18 % at 455.032 V.
        assert judge_alike("S1", self.series(own)).verdict is verdict

    @pytest.mark.parametrize("odd", [400.0, 480.0])
    def test_one_odd_neighbour_does_not_condemn_the_others(self, odd: float) -> None:
        series = {**self.series(440.5), "S2": Read(Quantity(odd, "V"), 11)}
        assert [judge_alike(key, series).verdict for key in ("S1", "S2", "S3")] == [
            Verdict.ACCEPT,
            Verdict.STOP,
            Verdict.ACCEPT,
        ]

    def test_missing_module_is_named(self) -> None:
        assert said(judge_alike("S1", self.series(400.0)))[0] == "one module is missing"

    def test_unlike_counts_are_compared_module_for_module(self) -> None:
        assert judge_alike("S1", self.series(360.0, 9)).verdict is Verdict.ACCEPT

    def test_long_strings_are_held_to_part_of_a_module(self) -> None:
        # N = 30: 0.35 / 30 = 1.17 %, less than 1.5 %.
        series = {"S1": Read(Quantity(1215.0, "V"), 30), "S2": Read(Quantity(1200.0, "V"), 30)}
        assert judge_alike("S1", series).verdict is Verdict.STOP

    def test_negative_and_alone(self) -> None:
        assert judge_alike("S1", self.series(-440.0)).verdict is Verdict.STOP
        alone = judge_alike("S1", {"S1": Read(Quantity(440.0, "V"), 11)})
        assert alone.verdict is Verdict.NONE
        assert "second string" in alone.to_do

    def test_count_from_a_neighbour(self) -> None:
        # 440 / 11 = 40 V; 352 V are 8.8 modules: nearest 9, within 0.35; 378 V are 9.45: none.
        assert count_from_neighbour(352, 440, 11).named == 9
        assert count_from_neighbour(378, 440, 11).named is None
        assert count_from_neighbour(-352, 440, 11).named == 9
        assert count_from_neighbour(10, 440, 11).named is None
        with pytest.raises(ValueError, match="reads nothing"):
            count_from_neighbour(352, 0, 11)


class TestBothEnds:
    """At the array 400 V (S1, ten modules) and 320 V (S2): 2 V is 0.5 %, half a module is 20 V."""

    array_end: ClassVar = {"S1": Quantity(400.0, "V"), "S2": Quantity(320.0, "V"), "S3": Quantity(410.0, "V")}

    @pytest.mark.parametrize(
        ("there", "verdict"),
        [
            (400.0, Verdict.ACCEPT),
            (402.0, Verdict.ACCEPT),
            (402.1, Verdict.QUESTION),
            (396.0, Verdict.QUESTION),
            # Within half a module, and still the value of another string.
            (410.0, Verdict.STOP),
            (379.9, Verdict.STOP),
            (320.0, Verdict.STOP),
            (-400.0, Verdict.STOP),
            (0.0, Verdict.STOP),
        ],
    )
    def test_bands(self, there: float, verdict: Verdict) -> None:
        assert judge_ends("S1", self.array_end, there, 10).verdict is verdict

    def test_causes(self) -> None:
        assert said(judge_ends("S1", self.array_end, 320.5, 10)) == ["exchanged with S2"]
        assert said(judge_ends("S1", self.array_end, -400.5, 10)) == ["the pair is reversed"]
        assert said(judge_ends("S1", self.array_end, -319.5, 10)) == ["exchanged with S2, and reversed"]
        assert said(judge_ends("S1", self.array_end, 0.1, 10))[0] == "two legs of one sign on this input"

    def test_no_reading_at_the_array(self) -> None:
        assert judge_ends("S9", self.array_end, 400, 10).verdict is Verdict.NONE


class TestLandingReadings:
    """Two strings of eleven and nine at 20 °C and full light; what the wrong landings of a crossed switch read."""

    strings: ClassVar = {"S1": lit(11, 20, 1000), "S2": lit(9, 20, 1000)}

    def judged(self, key: str, reading: float) -> Judgement:
        others = {name: one for name, one in self.strings.items() if name != key}
        return judge_voltage(reading, self.strings[key], others)

    def test_both_reversed(self) -> None:
        for key, reading in (("S1", -413.6), ("S2", -338.4)):
            found = self.judged(key, reading)
            assert (found.verdict, said(found)[0]) == (Verdict.STOP, "the pair is reversed")

    def test_both_exchanged(self) -> None:
        for key, reading, other in (("S1", 338.4, "S2"), ("S2", 413.6, "S1")):
            found = self.judged(key, reading)
            assert (found.verdict, said(found)[0]) == (Verdict.STOP, f"exchanged with {other}")

    def test_two_legs_of_one_sign(self) -> None:
        for key in self.strings:
            found = self.judged(key, 0.3)
            assert (found.verdict, said(found)[0]) == (Verdict.STOP, "two legs of one sign on this input")


class TestLegsToGround:
    def test_fault_between_seven_and_eight(self) -> None:
        # 254 + 146 = 400; 11 · 254 / 400 = 6.985.
        found = judge_legs(254, -146, 400, 11)
        assert found.verdict is Verdict.STOP
        assert said(found) == ["fault to ground between module 7 and 8 from +"]
        place = fault_position(254, -146, 11)
        assert place.modules.value == pytest.approx(6.985)
        assert (place.behind, place.before) == (7, 8)

    @pytest.mark.parametrize(
        ("plus", "minus", "says"),
        [
            (0.5, -399.5, "on the positive leg, before module 1 from +"),
            (399.5, -0.5, "on the negative leg, behind module 10 from +"),
            (40, -360, "between module 1 and 2 from +"),
            (140, -260, "in module 4 from +"),
            (49, -351, "between module 1 and 2 from +"),
            (51, -349, "in module 2 from +"),
        ],
    )
    def test_places(self, plus: float, minus: float, says: str) -> None:
        assert fault_position(plus, minus, 10).says == says

    @pytest.mark.parametrize(
        ("plus", "minus", "verdict"),
        [
            (1.0, -2.0, Verdict.ACCEPT),
            (10.0, -10.0, Verdict.ACCEPT),
            (10.0, -10.5, Verdict.QUESTION),
            (200.0, -159.0, Verdict.QUESTION),
            (200.0, -160.0, Verdict.STOP),
            (220.0, -220.0, Verdict.STOP),
            (221.0, -220.0, Verdict.NONE),
            (-254.0, 146.0, Verdict.STOP),
        ],
    )
    def test_bands(self, plus: float, minus: float, verdict: Verdict) -> None:
        # 400 V between the legs: settled up to 20 V together, steady from 360 V, impossible above 440 V.
        assert judge_legs(plus, minus, 400, 10).verdict is verdict

    def test_exchanged_signs(self) -> None:
        assert "do not operate the switch" in judge_legs(-254, 146, 400, 10).to_do

    def test_without_a_voltage_between_the_legs(self) -> None:
        assert judge_legs(1, -1, 0, 10).verdict is Verdict.NONE
        with pytest.raises(ValueError, match="no voltage to ground"):
            fault_position(0, 0, 10)

    @given(st.integers(1, 30), st.integers(0, 30), st.floats(0.2, 1))
    def test_a_fault_at_a_joint_is_found_whatever_its_resistance(
        self, count: int, joint: int, meter: float
    ) -> None:
        joint = min(joint, count)
        voltage = 37.0 * count
        plus, minus = meter * voltage * joint / count, -meter * voltage * (count - joint) / count
        assert fault_position(plus, minus, count).behind == joint


class TestInsulation:
    """408.1 V at standard conditions: 510 V is the basis, so 1000 V of test and 1 MΩ at least (recalled)."""

    @pytest.mark.parametrize(
        ("ohms", "test", "dry", "verdict"),
        [
            (25.0, 1000, False, Verdict.ACCEPT),
            (20.0, 1000, False, Verdict.ACCEPT),
            (19.9, 1000, False, Verdict.QUESTION),
            (19.9, 1000, True, Verdict.ACCEPT),
            (1.0, 1000, False, Verdict.QUESTION),
            (1.0, 1000, True, Verdict.ACCEPT),
            (0.99, 1000, True, Verdict.STOP),
            (0.5, 500, False, Verdict.STOP),
            (200.0, 500, False, Verdict.NONE),
            (200.0, None, False, Verdict.NONE),
        ],
    )
    def test_verdict(self, ohms: float, test: float | None, dry: bool, verdict: Verdict) -> None:
        assert judge_insulation(ohms, test, 408.1, dry=dry).verdict is verdict

    def test_500_volts_are_asked_up_to_400(self) -> None:
        assert judge_insulation(50, 500, 400).verdict is Verdict.ACCEPT
        found = judge_insulation(50, 500, 400.1)
        assert found.verdict is Verdict.NONE
        assert found.to_do == "repeat at 1000 V"

    def test_beyond_the_table(self) -> None:
        assert judge_insulation(50, 1500, 1300).verdict is Verdict.NONE

    def test_kiloohms(self) -> None:
        assert judge_insulation(Quantity(800.0, "kohm"), 1000, 408.1).verdict is Verdict.STOP

    @pytest.mark.parametrize(
        ("ohms", "verdict"),
        [
            (0.5, Verdict.ACCEPT),
            (0.51, Verdict.QUESTION),
            (1.0, Verdict.QUESTION),
            (1.01, Verdict.STOP),
            (-0.1, Verdict.NONE),
            (math.nan, Verdict.NONE),
        ],
    )
    def test_bond(self, ohms: float, verdict: Verdict) -> None:
        assert judge_continuity(ohms).verdict is verdict


class TestCurrents:
    def series(self, own: float, expected: float = 8.0) -> dict[str, CurrentRead]:
        return {
            "S1": CurrentRead(Quantity(own, "A"), Quantity(expected, "A")),
            "S2": CurrentRead(Quantity(8.0, "A"), Quantity(8.0, "A")),
        }

    @pytest.mark.parametrize(
        ("own", "verdict"),
        [
            (8.39, Verdict.ACCEPT),
            (8.41, Verdict.QUESTION),
            (7.59, Verdict.QUESTION),
            (7.21, Verdict.QUESTION),
            (7.19, Verdict.STOP),
            (-8.0, Verdict.STOP),
        ],
    )
    def test_bands(self, own: float, verdict: Verdict) -> None:
        assert judge_current("S1", self.series(own)).verdict is verdict

    def test_light_is_taken_out(self) -> None:
        assert judge_current("S1", self.series(4.0, 4.1)).verdict is Verdict.ACCEPT

    def test_nothing_to_compare_with(self) -> None:
        assert judge_current("S1", {"S1": self.series(8)["S1"]}).verdict is Verdict.NONE


def test_bands_are_settings() -> None:
    common = common_bands()
    assert common.voltage_good.value == 0.35
    strict = Bands(
        **{
            **{name: getattr(common, name) for name in Bands.__dataclass_fields__},
            "voltage_share": Quantity(1.0, "%"),
        }
    )
    assert judge_voltage(lit(11).voltage.value * 1.02, lit(11)).verdict is Verdict.ACCEPT
    assert judge_voltage(lit(11).voltage.value * 1.02, lit(11), bands=strict).verdict is Verdict.QUESTION


def test_every_band_says_that_it_is_recalled() -> None:
    bands = common_bands()
    origins = [getattr(bands, name) for name in Bands.__dataclass_fields__]
    assert all(cells_of(one)[0].recalled for one in origins)


@given(st.integers(1, 30), st.floats(20, 60))
def test_implied_modules_of_an_exact_reading(count: int, module: float) -> None:
    assert implied_modules(count * module, module).value == pytest.approx(count)


NAN = Quantity(math.nan, "V")


@pytest.mark.parametrize(
    "judged",
    [
        judge_voltage(math.nan, lit(11)),
        judge_voltage(math.inf, lit(11)),
        judge_alike("S1", {"S1": Read(NAN, 11), "S2": Read(Quantity(400.0, "V"), 11)}),
        judge_ends("S1", {"S1": NAN}, 400, 11),
        judge_legs(math.nan, -1, 400, 11),
        judge_legs(1, -1, math.nan, 11),
        judge_insulation(math.nan, 1000, 400, dry=True),
        judge_insulation(math.inf, 1000, 400),
        judge_insulation(50, math.nan, 400),
        judge_continuity(math.nan),
        judge_current(
            "S1", dict.fromkeys(("S1", "S2"), CurrentRead(Quantity(math.nan, "A"), Quantity(8.0, "A")))
        ),
    ],
)
def test_what_is_no_number_gets_no_verdict(judged: Judgement) -> None:
    assert judged.verdict is Verdict.NONE


class TestExchangedLegs:
    """Eleven and nine modules, 413.6 V and 338.4 V; every way to land four legs on four poles."""

    expected: ClassVar = {"S1": Quantity(413.6, "V"), "S2": Quantity(338.4, "V")}
    near: ClassVar = {"S1": Quantity(12.0, "V"), "S2": Quantity(10.0, "V")}

    def found(self, one: float, two: float) -> Exchange | None:
        return exchanged_legs({"S1": Quantity(one, "V"), "S2": Quantity(two, "V")}, self.expected, self.near)

    def test_right_and_unexplained(self) -> None:
        assert self.found(413.0, 339.0) is None
        assert self.found(376.0, 338.4) is None

    @pytest.mark.parametrize(
        ("one", "two", "says", "moved"),
        [
            (-413.6, 338.4, "S1 is reversed", 2),
            (413.6, -338.4, "S2 is reversed", 2),
            (-413.6, -338.4, "S1 and S2 are both reversed", 4),
            (338.4, 413.6, "S1 and S2 are exchanged", 4),
        ],
    )
    def test_named(self, one: float, two: float, says: str, moved: int) -> None:
        made = self.found(one, two)
        assert made is not None
        assert (made.says, made.moved) == (says, moved)

    def test_exchanged_and_one_reversed(self) -> None:
        # A reads −338.4: S2− lies on A+ and S2+ on A−; B reads 413.6.
        made = self.found(-338.4, 413.6)
        assert made is not None
        assert made.says == "S2- lies on S1+, S2+ lies on S1-, S1+ lies on S2+, S1- lies on S2-"

    def test_two_of_one_sign_leave_four_ways(self) -> None:
        made = self.found(0.2, 0.0)
        assert made is not None
        assert made.says.count("are exchanged") == 4

    def test_at_the_limit(self) -> None:
        assert self.found(-413.6 + 12.0, 338.4) is not None
        assert self.found(-413.6 + 12.1, 338.4) is None

    def test_two_strings_it_takes(self) -> None:
        with pytest.raises(ValueError, match="1 strings"):
            exchanged_legs({"S1": Quantity(1.0, "V")}, self.expected, self.near)
