"""Pulls by hand, the laws of the capstan, limits, the better end and the further pull point."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.diagnostics.model import Span
from reportgen.engineering.pull_advice import FeedAdvice, advice_from, further_pull_point
from reportgen.engineering.pull_bundle import weight_correction, weight_of_bundle
from reportgen.engineering.pull_limits import Limits, conductor_limit, stop_value, tension_by_sidewall, uses
from reportgen.engineering.pull_runs import Bend, Element, Straight, Turn, reverse, run_length
from reportgen.engineering.pulling import Pull, line_length, pull
from reportgen.rulebook.rulebook import load, quantity_of
from reportgen.working.quantity import Given, Quantity, Working, cells_of
from reportgen.working.quantity import quantity as plain

BOOK = load("nec2023")
COPPER = 0.008
MANY = 1.4


def pounds(*values: float) -> tuple[Quantity, ...]:
    return tuple(Quantity(value, "lbf", None, f"limit {value:g}") for value in values)


def advised(
    run: Sequence[Element],
    weight: float,
    frictions: Sequence[float],
    correction: float,
    limits: Limits | None = None,
) -> FeedAdvice:
    there, other = (
        [pull(way, weight, friction, correction) for friction in frictions] for way in (run, reverse(run))
    )
    return advice_from(there, other, limits)


def pressures(one: Pull) -> list[float]:
    return [step.pressure.value for step in one.steps if step.pressure is not None]


class TestSixWiresWithTwoElbows:
    """6 × 10 AWG and a ground, 0.28 lb/ft; risers of 8 ft, elbows of 8.25 in, trench of 180 ft; weights in risers left out."""

    run = (
        Straight(8, name="riser"),
        Bend(90, 8.25 / 12, name="elbow"),
        Straight(180, name="trench"),
        Bend(90, 8.25 / 12, name="second elbow"),
        Straight(8, name="second riser"),
    )
    weight = weight_of_bundle([(7, Quantity(0.040, "lb/ft"))])

    @pytest.mark.parametrize(("friction", "expected"), [(0.35, 59), (0.5, 121)])
    def test_tension(self, friction: float, expected: float) -> None:
        # μ·w_c = 0.49, exp(0.49·π/2) = 2.1591: 8·0.28·0.49 = 1.098; 2.370; + 24.696 = 27.066; 58.44; 59.54.
        # μ·w_c = 0.70, exp(0.70·π/2) = 3.0030: 8·0.28·0.70 = 1.568; 4.709; + 35.28 = 39.989; 120.09; 121.65.
        end = pull(self.run, self.weight, friction, MANY).end.value
        assert end == pytest.approx(expected, abs=1)
        by_hand = {0.35: 59.54, 0.5: 121.65}[friction]
        assert end == pytest.approx(by_hand, abs=0.01)

    def test_limit(self) -> None:
        # 0.008 · 6 · 10380 · 0.8 = 398.6.
        limit = conductor_limit(quantity_of(BOOK.circular_mils("10")), 6, COPPER)
        assert limit.value == pytest.approx(398.6, abs=0.05)
        taken = uses(pull(self.run, self.weight, 0.5, MANY), Limits((limit,)))
        assert taken[0].share.value == pytest.approx(100 * 121.65 / 398.59, abs=0.01)

    def test_climbing_in_earnest(self) -> None:
        # Down the riser: 0 (free). Elbow at its foot falls by the radius, 0.6875 ft: still 0. Trench 24.696.
        # Elbow 53.32 + 0.28 · 0.6875 = 53.51; up the riser + 8 · 0.28 = 55.75.
        run = (
            Straight(8, -8),
            Bend(90, 8.25 / 12, Turn.DOWN),
            Straight(180),
            Bend(90, 8.25 / 12, Turn.UP),
            Straight(8, 8),
        )
        found = pull(run, self.weight, 0.35, MANY)
        assert [step.after.value for step in found.steps] == pytest.approx(
            [0, 0, 24.696, 53.513, 55.753], abs=0.001
        )
        assert [step.runs_free for step in found.steps] == [True, True, False, False, False]

    def test_lengths(self) -> None:
        # 8 + 180 + 8 + 2 · 8.25/12 · π/2 = 198.16; 10 ft out of each end.
        run = run_length(self.run)
        assert run.value == pytest.approx(198.16, abs=0.005)
        assert line_length(run, 20).value == pytest.approx(218.16, abs=0.005)


class TestSixteenWiresInSmallPipe:
    """16 × 10 AWG and an 8 AWG ground, 0.705 lb/ft; 222 ft between risers of 4 ft, elbows of 7.25 in."""

    run = (
        Straight(4, name="riser"),
        Bend(90, 7.25 / 12, name="elbow"),
        Straight(222, name="trench"),
        Bend(90, 7.25 / 12, name="second elbow"),
        Straight(4, name="second riser"),
    )
    weight = weight_of_bundle([(16, Quantity(0.040, "lb/ft")), (1, Quantity(0.065, "lb/ft"))])
    limits = Limits((conductor_limit(10380, 16, COPPER),), Quantity(300.0, "lbf/ft"))

    @pytest.mark.parametrize(("friction", "tension", "pressure"), [(0.35, 173, 285), (0.5, 349, 574)])
    def test_tension_and_pressure(self, friction: float, tension: float, pressure: float) -> None:
        # 4·0.34545 = 1.382; 2.983; + 76.690 = 79.673; 172.02 / 0.60417 = 284.7; + 1.38 = 173.4.
        # 4·0.4935 = 1.974; 5.928; + 109.557 = 115.485; 346.80 / 0.60417 = 574.0; + 1.97 = 348.8.
        found = pull(self.run, self.weight, friction, MANY)
        assert found.end.value == pytest.approx(tension, abs=0.5)
        assert max(pressures(found)) == pytest.approx(pressure, abs=0.5)
        assert found.worst_bend is not None
        assert found.worst_bend.element.name == "second elbow"

    def test_sidewall_governs(self) -> None:
        # 0.008 · 16 · 10380 · 0.8 = 1062.9: 173.4 lb is 16 % of it, 284.7 lb/ft is 95 % of 300.
        assert self.limits.tension[0].value == pytest.approx(1062.9, abs=0.05)
        wet, dry = (uses(pull(self.run, self.weight, mu, MANY), self.limits)[0] for mu in (0.35, 0.5))
        assert wet.limit.unit == dry.limit.unit == "lbf/ft"
        assert wet.share.value == pytest.approx(94.9, abs=0.05)
        assert dry.share.value == pytest.approx(191.3, abs=0.05)
        assert wet.where == dry.where == "second elbow"

    def test_stop_value(self) -> None:
        # 300 · 0.60417 = 181.25, far below 1062.9.
        found = stop_value(self.run, self.limits)
        assert found is not None
        assert found.value == pytest.approx(181.25, abs=0.005)
        assert stop_value(self.run, Limits(())) is None

    def test_a_pull_point_in_the_middle(self) -> None:
        # Each half is pulled from its elbow's end towards the middle, or the other way: from the new box outwards
        # the elbow would come last. From the outside: 2.983 + 111 · 0.34545 = 41.33, so the middle is the best.
        found = further_pull_point(self.run, self.weight, 0.35, MANY)
        assert found is not None
        assert found.after == "trench"
        assert found.before.value == pytest.approx(173.4, abs=0.05)
        assert found.hardest.value == pytest.approx(41.33, abs=0.01)
        assert found.distance.value == pytest.approx(4 + 7.25 / 12 * math.pi / 2 + 111, abs=0.001)
        assert (found.first.feed, found.second.feed) == ("start", "end")


class TestBetterEnd:
    def test_bends_near_the_start_are_fed_from_there(self) -> None:
        run = [Straight(10), Bend(90, 1), Bend(90, 1), Straight(200)]
        advice = advised(run, 0.3, [0.2, 0.35, 0.5], MANY, Limits(pounds(400)))
        # μ·w_c = 0.7: 10·0.21 = 2.1 · 9.0170 = 18.936 + 42 = 60.936; from the end 42 · 9.0170 + 2.1 = 380.815.
        assert advice.feed == "start"
        assert advice.from_start[2].end.value == pytest.approx(60.936, abs=0.001)
        assert advice.from_end[2].end.value == pytest.approx(380.815, abs=0.001)
        assert "nearer the start" in advice.reason
        assert "15 %" in advice.reason
        assert "95 %" in advice.reason
        assert advice.better is advice.from_start

    def test_turned_round_the_other_end_is_named(self) -> None:
        run = reverse([Straight(10), Bend(90, 1), Bend(90, 1), Straight(200)])
        advice = advised(run, 0.3, [0.5], MANY)
        assert advice.feed == "end"
        assert "nearer the end" in advice.reason
        assert advice.better is advice.from_end

    def test_symmetric_run(self) -> None:
        assert advised([Bend(90, 1), Straight(50), Bend(90, 1)], 0.3, [0.5], 1).feed == "either"

    def test_where_a_bend_is_pressed_alike_the_tension_decides(self) -> None:
        # Both elbows are passed alike from either end; behind the last one 12 ft climb from the start, 4 ft from the end.
        run = [
            Straight(4, -4),
            Bend(90, 1, Turn.DOWN),
            Straight(222),
            Bend(90, 1, Turn.UP),
            Straight(12, 12),
        ]
        advice = advised(run, 0.705, [0.5], MANY, Limits((), Quantity(300.0, "lbf/ft")))
        assert advice.feed == "end"
        assert advice.from_start[0].end.value - advice.from_end[0].end.value == pytest.approx(8 * 0.705)
        assert "climbs decide" in advice.reason

    def test_downhill_is_easier(self) -> None:
        # Without bends: 100 ft falling 20 ft, friction 0.5: up 20 + 48.99 = 68.99, down 28.99 lb.
        advice = advised([Straight(100, -20)], 1, [0.5], 1)
        assert advice.feed == "start"
        assert "climbs decide" in advice.reason
        assert advice.from_start[0].end.value == pytest.approx(28.99, abs=0.005)

    def test_an_end_downhill_has_its_greatest_tension_before(self) -> None:
        one = pull([Straight(100), Straight(30, -30, "down")], 1, 0.5, 1)
        assert one.hardest.after.value == 50
        assert one.end.value == 20

    def test_a_run_of_one_bend_cannot_be_cut(self) -> None:
        assert further_pull_point([Bend(90, 1)], 1, 0.5, 1) is None


def test_working_recomputes_what_is_printed() -> None:
    step = pull([Straight(100, name="trench"), Bend(90, 1)], 0.28, 0.35, MANY).steps[1]
    assert isinstance(step.after.origin, Working)
    assert step.after.origin.symbols == "T × exp(μ × w_c × π / 180 × φ)"
    assert step.after.origin.numbers == "13.72 × exp(0.35 × 1.4 × 3.14159 / 180 × 90)"
    assert step.after.value == pytest.approx(13.72 * math.exp(0.35 * 1.4 * math.pi / 2))


def test_inputs_are_found_again_below_the_result() -> None:
    many = weight_correction(7)
    end = pull([Straight(10), Bend(90, 1)], 0.3, 0.5, many).end
    assert [cell.value for cell in cells_of(end)] == ["1.4"]
    assert cells_of(end)[0].recalled


def test_tension_of_a_bend_at_its_sidewall_limit() -> None:
    bend = Bend(90, 0.75)
    allowed = tension_by_sidewall(300, 0.75)
    needed = allowed.value / math.exp(0.5 * math.pi / 2)
    step = pull([bend], 1, 0.5, 1, start=needed).steps[0]
    assert step.pressure is not None
    assert step.pressure.value == pytest.approx(300)


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: Straight(-1), "length of straight is -1 ft"),
        (lambda: Straight(math.nan), "length of straight is nan ft"),
        (lambda: Straight(10, 10.1), "rises 10.1 ft over a length of 10 ft"),
        (lambda: Straight(10, -10.1), "rises -10.1 ft over"),
        (lambda: Bend(-90, 1), "turns -90 degrees"),
        (lambda: Bend(90, 0), "on a radius of 0 ft"),
        (lambda: Bend(90, math.inf), "on a radius of inf ft"),
        (lambda: pull([], 1, 0.5, 1), "a run without elements"),
        (lambda: pull([Straight(1)], 1, -0.1, 1), "friction is -0.1"),
        (lambda: pull([Straight(1)], -1, 0.5, 1), "weight is -1"),
        (lambda: pull([Straight(1)], 1, 0.5, 1, start=math.nan), "tension at the feed end is nan"),
        (lambda: weight_of_bundle([]), "no conductor to pull"),
        (lambda: weight_correction(0), "0 conductors to pull"),
        (lambda: weight_correction(3), "more than twice their diameter"),
        (lambda: weight_correction(2, 2.0), "more than twice their diameter"),
        (lambda: conductor_limit(10380, 0, COPPER), "0 conductors in the head"),
    ],
)
def test_what_cannot_be_is_refused(make: Callable[[], object], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        make()


def test_correction_of_one_is_one() -> None:
    assert weight_correction(1).value == 1


lengths = st.floats(0, 500)
frictions = st.floats(0, 1)
weights = st.floats(0.01, 5)
corrections = st.floats(1, 2)
straights = st.builds(lambda length, share: Straight(length, length * share), lengths, st.floats(-1, 1))
bends = st.builds(Bend, st.floats(0, 120), st.floats(0.2, 20), st.sampled_from(Turn))
runs = st.lists(st.one_of(straights, bends), min_size=1, max_size=7)


@given(runs)
def test_reversing_twice_is_the_identity(run: list[Element]) -> None:
    assert reverse(reverse(run)) == tuple(run)


@given(runs, weights, frictions, frictions, corrections)
def test_more_friction_never_pulls_easier(
    run: list[Element], weight: float, one: float, two: float, correction: float
) -> None:
    low, high = sorted((one, two))
    easy, hard = (pull(run, weight, mu, correction, start=10) for mu in (low, high))
    for slick, rough in zip(easy.steps, hard.steps, strict=True):
        assert rough.after.value >= slick.after.value * (1 - 1e-12) - 1e-9


@given(runs, weights)
def test_without_friction_only_weight_on_slopes_counts(run: list[Element], weight: float) -> None:
    # A start tension above all falls keeps the sum from being cut off at zero.
    start = 1e4
    climbs = sum(
        plain(element.rise).value if isinstance(element, Straight) else _climb(element) for element in run
    )
    end = pull(run, weight, 0, 1.4, start).end.value
    assert end == pytest.approx(start + weight * climbs, rel=1e-9)


def _climb(bend: Bend) -> float:
    height = plain(bend.radius).value * (1 - math.cos(math.radians(plain(bend.angle).value)))
    return {Turn.LEVEL: 0.0, Turn.UP: height, Turn.DOWN: -height}[bend.turn]


@given(runs, weights, frictions, corrections)
def test_tension_is_never_negative(
    run: list[Element], weight: float, friction: float, correction: float
) -> None:
    assert all(step.after.value >= 0 for step in pull(run, weight, friction, correction).steps)


@given(runs, weights, frictions, corrections, st.floats(0, 100), st.floats(0, 100))
def test_holding_back_never_pulls_easier(
    run: list[Element], weight: float, friction: float, correction: float, one: float, two: float
) -> None:
    low, high = sorted((one, two))
    ends = [pull(run, weight, friction, correction, start).end.value for start in (low, high)]
    assert ends[1] >= ends[0] - 1e-9 * (1 + ends[0])


@given(
    st.lists(straights.map(lambda one: replace(one, rise=0.0)), min_size=1, max_size=5), weights, frictions
)
def test_order_of_level_straights_does_not_matter(
    run: list[Straight], weight: float, friction: float
) -> None:
    ends = [pull(order, weight, friction, 1).end.value for order in (run, run[::-1])]
    assert ends[0] == pytest.approx(ends[1], rel=1e-12, abs=1e-12)


@given(runs, weights, frictions)
def test_a_further_pull_point_never_makes_it_worse(
    run: list[Element], weight: float, friction: float
) -> None:
    found = further_pull_point(run, weight, friction, 1)
    if found is not None:
        assert found.hardest.value <= found.before.value * (1 + 1e-9) + 1e-9


def test_given_length_keeps_its_line() -> None:
    span = Span("raceways.yaml", 4, 11, 4, 17)
    typed = Quantity(180.0, "ft", Given("180 ft", span), "length")
    end = pull([Straight(typed)], 0.28, 0.35, MANY).end
    assert end.origin is not None
    assert end.origin.numbers == "0 + 180 × 0.28 × 0.35 × 1.4"
