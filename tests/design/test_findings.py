"""The one place where a verdict is made: its sign, its margin, and what it refuses to judge."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.design.checks.base import Words, compare
from reportgen.design.findings import SEVERITY, Finding, Outcome, judge
from reportgen.diagnostics.model import Severity, Span
from reportgen.working.quantity import Cell, Given, Quantity, work
from reportgen.working.unit_system import UnitSystem, written_in

positive = st.floats(1e-3, 1e6)


def volts(value: float) -> Quantity:
    return Quantity(value, "V")


@given(st.floats(0, 1e6), positive, st.floats(0, 0.5), st.booleans())
def test_it_fails_exactly_when_it_is_past_the_limit(value, limit, thin, at_most) -> None:
    verdict = judge(volts(value), volts(limit), thin, at_most=at_most)
    past = value > limit if at_most else value < limit
    assert (verdict.outcome is Outcome.FAILS) is past
    assert (verdict.margin < 0) is past
    if not past:
        assert (verdict.outcome is Outcome.THIN) is (verdict.margin < thin)


@given(positive, st.booleans())
def test_the_margin_changes_sign_exactly_at_the_limit(limit: float, at_most: bool) -> None:
    below, above = math.nextafter(limit, 0), math.nextafter(limit, math.inf)
    good, bad = (below, above) if at_most else (above, below)
    assert judge(volts(limit), volts(limit), 0, at_most=at_most).margin == 0
    assert judge(volts(limit), volts(limit), 0, at_most=at_most).outcome is Outcome.MEETS
    assert judge(volts(good), volts(limit), 0, at_most=at_most).outcome is Outcome.MEETS
    assert judge(volts(bad), volts(limit), 0, at_most=at_most).outcome is Outcome.FAILS


def test_exactly_at_the_limit_is_thin_where_a_margin_is_asked() -> None:
    assert judge(volts(600), volts(600), 0.02).outcome is Outcome.THIN


@pytest.mark.parametrize(
    ("value", "outcome"),
    [(588.0, Outcome.MEETS), (588.1, Outcome.THIN), (600.0, Outcome.THIN), (600.1, Outcome.FAILS)],
)
def test_two_percent_of_600_volts(value: float, outcome: Outcome) -> None:
    # Own hand calculation: (600 − 588) / 600 = 2 %, which is not less than 2 %.
    assert judge(volts(value), volts(600), 0.02).outcome is outcome


@given(positive, positive, positive)
def test_more_never_has_the_better_margin(one: float, other: float, limit: float) -> None:
    low, high = sorted((one, other))
    assert judge(volts(high), volts(limit), 0).margin <= judge(volts(low), volts(limit), 0).margin
    raised = judge(volts(high), volts(limit), 0, at_most=False).margin
    assert raised >= judge(volts(low), volts(limit), 0, at_most=False).margin


def test_a_margin_of_nothing_is_no_minus_zero() -> None:
    for at_most in (True, False):
        margin = judge(volts(5), volts(5), 0, at_most=at_most).margin
        assert math.copysign(1, margin) == 1


def test_unlike_units_are_never_compared() -> None:
    with pytest.raises(ValueError, match="'V' compared with 'A'"):
        judge(volts(1), Quantity(2, "A"), 0)
    with pytest.raises(ValueError, match="'ft' compared with 'm'"):
        judge(Quantity(1, "ft"), Quantity(2, "m"), 0)


@pytest.mark.parametrize("limit", [0.0, -1.0, math.nan, math.inf])
def test_no_verdict_against_a_limit_that_is_none(limit: float) -> None:
    with pytest.raises(ValueError, match="nothing to judge"):
        judge(volts(1), volts(limit), 0)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_no_verdict_on_a_value_that_is_none(value: float) -> None:
    with pytest.raises(ValueError, match="nothing to judge"):
        judge(volts(value), volts(1), 0)


def test_only_a_failure_is_an_error() -> None:
    assert {outcome for outcome in Outcome if SEVERITY[outcome] is Severity.ERROR} == {Outcome.FAILS}
    assert SEVERITY[Outcome.THIN] is Severity.WARNING
    assert sorted(Outcome, key=lambda outcome: outcome.rank)[0] is Outcome.FAILS
    assert sorted(Outcome, key=lambda outcome: outcome.rank)[-1] is Outcome.MEETS


def test_sources_and_cells_of_a_finding() -> None:
    given_span, cure = Span("a.yaml", 4, 1, 4, 9), Span("b.yaml", 2, 1, 2, 9)
    cell = Cell("Table 310.16", "copper, 10 AWG", "90 °C", "40", "A", recalled=True)
    value = work("twice", "A", "2 * I", I=Quantity(8.0, "A", Given("8 A", given_span)))
    limit = Quantity(40.0, "A", cell)
    finding = Finding(
        "ampacity-use", "PV-1", Outcome.MEETS, "fact", "R1/trench", value, limit, cure_span=cure
    )
    assert finding.id == "ampacity-use:PV-1:R1/trench"
    assert finding.sources == (cure, given_span)
    assert finding.cells == (cell,)
    assert finding.recalled
    message = finding.diagnostic()
    assert message.severity is Severity.NOTE
    assert message.message == "fact (meets)"


@pytest.mark.parametrize(
    ("units", "told"),
    [
        ("metric", "190 mm (7.5 in), least radius 185 mm (7.3 in)"),
        ("imperial", "7.5 in (190 mm), least radius 7.3 in (185 mm)"),
    ],
)
def test_sentences_have_lengths_first_in_the_units_of_the_project(units: str, told: str) -> None:
    radius, least = Quantity(190.0, "mm").to("in"), Quantity(7.25, "in")
    with written_in(UnitSystem(imperial=units == "imperial")):
        made = compare(
            "raceway-bend-radius", "R1/a", radius, least, Words("radius", "least radius"), 0.0, at_most=False
        )
    assert made.headline == f"radius {told}"
    # The verdict and its numbers are the same in both.
    assert (made.value, made.limit) == (radius, least)


@pytest.mark.parametrize(("at_most", "told"), [(True, "8.2 in (209 mm)"), (False, "8.3 in (210 mm)")])
def test_whoever_keeps_the_printed_limit_keeps_the_real_one(at_most: bool, told: str) -> None:
    """8.25 in are 209.55 mm: down where it is not to be exceeded, up where it is to be reached."""
    made = compare("x", "s", Quantity(5.0, "in"), Quantity(8.25, "in"), Words("v", "l"), 0.0, at_most=at_most)
    assert made.headline.partition(", l ")[2].startswith(told)


def test_a_value_at_its_limit_is_printed_as_the_limit_in_both_units() -> None:
    limit = Quantity(8.25, "in")
    made = compare("x", "s", limit, limit, Words("v", "l"), 0.0, at_most=False)
    assert made.outcome is Outcome.MEETS
    assert made.headline == "v 8.25 in (209.55 mm), l 8.25 in (209.55 mm)"


@given(st.floats(0.01, 900), st.floats(-2e-3, 2e-3), st.booleans(), st.integers(0, 2))
def test_printed_value_and_limit_show_the_verdict_in_both_units(value, gap, at_most, places) -> None:
    limit = value * (1 + gap)
    made = compare(
        "x", "s", Quantity(value, "in"), Quantity(limit, "in"), Words("v", "l", places), 0.0, at_most=at_most
    )
    if value != limit and abs(gap) < 1e-7:
        return
    inches, mm, least, least_mm = map(float, re.findall(r"\d+(?:\.\d+)?", made.headline))
    for one, other in ((inches, least), (mm, least_mm)):
        kept = one <= other if at_most else one >= other
        assert kept is (made.outcome is not Outcome.FAILS)
    for printed, real in ((least, limit), (least_mm, limit * 25.4)):
        slack = 2e-9 * max(1.0, real)
        assert printed <= real + slack if at_most else printed >= real - slack
