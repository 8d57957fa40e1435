"""Most modules in series by each limit: three methods side by side, break-evens, and nothing known from silence."""

from __future__ import annotations

import pytest

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.series_limits import series_limits
from reportgen.design.findings import Outcome
from reportgen.design.missing import Missing
from reportgen.design.series_limits import design_series_limits

#: Eleven modules of 40.9 V, −0.29 %/°C, at an inverter that never takes more than 500 V; record −17 °C, mean minimum −10 °C.
COAST = """
project: {title: Coast, building: dwelling, policies: {cold_temperature: POLICY}}
site: {record_low: -17 degC, mean_annual_minimum: -10 degC, design_high: 29 degC}
modules:
  B325: {power: 325 W, open_circuit_voltage: 40.9 V, operating_voltage: 33.9 V, short_circuit_current: 10.25 A,
         operating_current: 9.59 A, voltage_coefficient: -0.29 %/degC, operating_voltage_coefficient: -0.37 %/degC,
         operating_temperature: 45 degC, maximum_system_voltage: 1000 V}
inverters:
  H6K: {units: {I1: }, maximum_dc_voltage: 500 V,
        inputs: {A: &a {tracking_from: 140 V, tracking_to: 440 V, start_voltage: 150 V}, B: *a}}
cables: {W: {markings: [THWN-2], voltage: 600 V}}
arrays: {T: {module: B325, count: 22, mounting: ground table}}
strings: {S1: {array: T, count: 11, input: I1/A}, S2: {array: T, count: 11, input: I1/B}}
circuits: {P1: {string: S1, cable: W, size: 10 AWG}, P2: {string: S2, cable: W, size: 10 AWG}}
"""


def coast(policy: str = "record low", count: int = 11) -> dict[str, bytes]:
    return {"coast.yaml": COAST.replace("POLICY", policy).replace("count: 11", f"count: {count}").encode()}


def limits(made):
    return {item.what.partition(",")[0]: item for item in design_series_limits(made.facts, made.findings)}


def test_three_methods_stand_side_by_side_by_hand(design) -> None:
    found = limits(design(coast()))
    # One module: 40.9 · 1.1218 = 45.88 V at −17 °C, · 1.18 = 48.26 V by the table; 40.9 · 1.1015 = 45.05 V at −10 °C,
    # · 1.14 = 46.63 V. 500 V take 10 and 10, 11 and 10; 600 V take 13 and 12, 13 and 12.
    assert found["inverter"].allowed == (("record low", 10, 10), ("mean annual minimum", 11, 10))
    assert found["wire"].allowed == (("record low", 13, 12), ("mean annual minimum", 13, 12))
    assert found["place"].limit.value == 600
    # 25 − (500 / 449.9 − 1) / 0.0029 = −13.4 °C; twelve: 25 − (500 / 490.8 − 1) / 0.0029 = 18.5 °C.
    (eleven, at), (twelve, later) = found["inverter"].reached
    assert (eleven, twelve) == (11, 12)
    assert at.value == pytest.approx(-13.4, abs=0.05)
    assert later.value == pytest.approx(18.5, abs=0.05)
    # Hot cell 29 + 25 / 800 · 1000 = 60.25 °C: 33.9 · (1 − 0.0037 · 35.25) = 29.48 V; 150 V take six.
    assert found["start voltage"].allowed == (("hot cell", 6, None),)


@pytest.mark.parametrize(
    ("policy", "outcome", "value"),
    [("record low", Outcome.FAILS, 504.7), ("mean annual minimum", Outcome.THIN, 495.6)],
)
def test_the_policy_chooses_and_all_methods_are_told(design, policy, outcome, value) -> None:
    made = design(coast(policy))
    found = next(f for f in made.findings if f.id == "cold-voltage-inverter:S1")
    assert found.outcome is outcome
    assert found.value.value == pytest.approx(value, abs=0.05)
    assert found.break_even == "reaches 500 V at −13.3 °C (7.9 °F)"
    told = " ".join(found.notes)
    # 449.9 · 1.18 = 530.9 V by the table at −17 °C, · 1.14 = 512.9 V at −10 °C.
    assert all(number in told for number in ("504.7 V", "495.6 V", "512.9 V", "530.9 V"))


@pytest.mark.parametrize(("limit", "told"), [("500 V", False), ("1500 V", True)])
def test_a_limit_that_is_never_reached_says_down_to_where_it_was_looked(design, limit, told) -> None:
    made = design(
        {
            "coast.yaml": coast()["coast.yaml"].replace(
                b"maximum_dc_voltage: 500 V", f"maximum_dc_voltage: {limit}".encode()
            )
        }
    )
    (table,) = series_limits(Desk(made, {}))
    cells = " ".join(row.cells[-1].text for row in table.rows if row.cells[1].text.startswith("inverter"))
    # 11 · 40.9 · (1 + 0.0029 · (25 − T)) = 1500 V at −780 °C.
    assert ("never" in cells) is told
    assert any("not above −90 °C (−130 °F)" in note for note in table.notes)


def test_ten_modules_meet_by_either_policy(design) -> None:
    for policy in ("record low", "mean annual minimum"):
        made = design(coast(policy, 10))
        found = next(f for f in made.findings if f.id == "cold-voltage-inverter:S1")
        assert found.outcome is Outcome.MEETS
    # 409 · 1.1218 = 458.8 V and 409 · 1.1015 = 450.5 V.
    values = [case.by_coefficient.value for case in made.facts.strings[0].cold]
    assert values == pytest.approx([458.8, 450.5], abs=0.05)


def test_a_limit_that_one_of_them_does_not_state_is_not_that_of_the_others(design) -> None:
    text = (
        COAST.replace("POLICY", "record low")
        .replace("inputs: {A: &a {", "inputs: {A: {")
        .replace("B: *a", "B: {tracking_from: 140 V, tracking_to: 440 V}")
    )
    found = limits(design({"coast.yaml": text.encode()}))
    assert isinstance(found["start voltage"].limit, Missing)
    assert found["start voltage"].allowed == (("hot cell", None, None),)
    assert found["tracking window"].allowed == (("hot cell", 5, None),)


def test_without_a_coefficient_the_table_alone_allows(design) -> None:
    text = COAST.replace("POLICY", "record low").replace("voltage_coefficient: -0.29 %/degC, ", "", 1)
    found = limits(design({"coast.yaml": text.encode()}))
    assert found["inverter"].allowed == (("record low", None, 10), ("mean annual minimum", None, 10))
    assert all(isinstance(value, Missing) for _, value in found["inverter"].reached)
