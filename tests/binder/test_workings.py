"""The working of a value as a reviewer keys it in."""

from __future__ import annotations

import math
import re

import invented
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.binder.workings import step_anchors, working_view
from reportgen.diagnostics.model import Span
from reportgen.working.quantity import Given, Quantity, work


def keyed(line: str) -> float:
    """A printed line of numbers as a pocket calculator takes it."""
    plain = line.replace("×", "*").replace("−", "-").replace("^", "**")
    assert re.fullmatch(r"[-+*/(). \de]+", plain), plain
    return float(eval(plain))


def printed(result: str) -> float:
    return float(result.split()[0].replace("−", "-"))


def test_inner_results_come_first_and_once() -> None:
    view = working_view(invented.cold_voltage())
    assert [step.name for step in view.steps] == [
        "rise over standard conditions",
        "factor for the cold",
        "cold open-circuit voltage of S1",
    ]
    assert [term.source for term in view.steps[2].terms if term.kind == "worked"] == ["step 2"]


def test_every_step_can_be_keyed_in() -> None:
    for step in working_view(invented.cold_voltage()).steps:
        assert keyed(step.numbers) == pytest.approx(printed(step.results[0]), rel=2e-5)


@given(
    st.integers(1, 40),
    st.floats(5, 200),
    st.floats(-0.6, -0.1),
    st.floats(-60, 20),
)
def test_any_working_can_be_keyed_in(count: int, voltage: float, slope: float, low: float) -> None:
    """Six digits of each number give back the result to five, whatever the inputs."""
    factor = work("factor", "", "1 + b / 100 * (T - 25)", b=slope, T=low)
    value = work("cold voltage", "V", "N * V_oc * f", N=count, V_oc=voltage, f=factor)
    for step in working_view(value).steps:
        assert keyed(step.numbers) == pytest.approx(printed(step.results[-1]), rel=2e-4)


def test_a_converted_result_is_told_in_both_units() -> None:
    length = work("length", "m", "a + b", a=Quantity(30.0, "m"), b=Quantity(34.0, "m")).to("ft")
    (step,) = working_view(length).steps
    assert step.results == ("64 m", "209.974 ft")


def test_each_term_says_where_it_comes_from() -> None:
    terms = {term.symbol: term for step in working_view(invented.cold_voltage()).steps for term in step.terms}
    assert terms["N"].source == "strings.yaml:14"
    assert terms["T"].source == "site.yaml:5, written -7.6 degF"
    assert terms["T"].value == "−22"
    assert terms["k_t"].source == "Table 9 [12 AWG, copper]; recalled"
    assert terms["k_t"].recalled
    assert terms["dV"].source == "assumed: meter error; common practice, no source"
    assert terms["factor"].link == "working-cold_20_open_2d_circuit_20_voltage_20_of_20_S1-2"


def test_a_value_that_was_typed_is_its_own_line() -> None:
    typed = Quantity(600.0, "V", Given("600 V", Span("inverters.yaml", 21)), "hard limit")
    (step,) = working_view(typed).steps
    assert (step.symbols, step.numbers, step.results) == ("", "", ("600 V",))
    assert step.terms[0].source == "inverters.yaml:21"


def test_what_is_worked_elsewhere_is_linked_and_not_repeated() -> None:
    factor = work("factor", "", "1 + b", b=0.1)
    first, second = work("first", "V", "2 * f", f=factor), work("second", "V", "3 * f", f=factor)
    known = step_anchors(first, "one")
    view = working_view(second, id="two", elsewhere=known)
    assert [step.name for step in view.steps] == ["second"]
    (linked,) = view.steps[0].terms
    assert linked.link in {step.id for step in working_view(first, id="one").steps}
    assert linked.elsewhere


def test_step_anchors_name_the_steps_that_are_printed() -> None:
    value = invented.cold_voltage()
    places = step_anchors(value, "x")
    printed_steps = {step.id for step in working_view(value, id="x").steps[:-1]}
    assert set(places.values()) == {*printed_steps, "x"}


def test_the_invented_value_is_what_a_hand_finds() -> None:
    """Own hand calculation: 13 × 41.85 × (1 − 0.0027 × (−22 − 25)) + 0.5 × 1.1269."""
    assert math.isclose(invented.cold_voltage().value, 613.653395, rel_tol=1e-8)
