"""Ways of stringing in kWh: modules less wire, rows that lose light in the better order, and no year from silence."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from reportgen.design.array_cuts import words_of
from reportgen.design.stringing import design_stringing
from reportgen.design.stringing_years import COLUMN, ROW, ArrayYear, array_years
from reportgen.engineering.stringing import Cut

SIX, FOUR = Cut(((6, 4),), 0), Cut(((4, 6),), 0)


def test_year_of_a_cut_by_hand() -> None:
    year = ArrayYear(500.0, 40.0, {SIX: (0.9, ROW)}, needs_orders=True)
    # 24 modules of 500 kWh, a tenth of it lost with the rows, four strings with 40 kWh in the wire of each.
    assert year.of(SIX).kwh == pytest.approx(24 * 500 * 0.9 - 4 * 40)
    assert year.of(SIX).order == ROW
    # Its rows lose light and this cut was not compared: no year is told, least of all the undimmed one.
    assert year.of(FOUR) is None
    bare = ArrayYear(500.0, 40.0, {}, needs_orders=False)
    assert bare.of(FOUR).kwh == pytest.approx(24 * 500 - 6 * 40)


def test_the_cut_that_keeps_more_light_goes_first_among_equals(sample, design) -> None:
    made = design(sample)
    (east,) = (item for item in design_stringing(made.facts, made.findings).arrays if item.array == "EAST")
    alike = [
        item for item in east.ranked if (item.thin, item.cut.strings) == (False, 3) and not item.cut.alike
    ]
    first, second = alike[:2]
    shares = {item.cut: (0.8, ROW) for item in east.ranked} | {second.cut: (0.95, COLUMN)}
    years = {"EAST": ArrayYear(700.0, 30.0, shares, needs_orders=True)}
    (east,) = (
        item for item in design_stringing(made.facts, made.findings, years).arrays if item.array == "EAST"
    )
    order = [words_of(item.cut) for item in east.ranked]
    assert order.index(words_of(second.cut)) < order.index(words_of(first.cut))
    # Fewer conductors still go before more kWh.
    strings = [item.cut.strings for item in east.ranked if not item.thin and item.cut.alike]
    assert strings == sorted(strings)


def test_what_a_way_not_built_rests_on_is_listed(sample, barn, design) -> None:
    made = design(sample)
    bare = design_stringing(made.facts, made.findings)
    assert [item.key for item in bare.assumptions] == ["stringing.wire"]
    years = {"EAST": ArrayYear(700.0, 30.0, {}, needs_orders=False)}
    told = design_stringing(made.facts, made.findings, years).assumptions
    assert [item.key for item in told] == ["stringing.wire", "stringing.modules"]
    assert all(item.reason and item.source for item in told)
    # Wire that has no length yet is not counted, so nothing is assumed of it.
    unpathed = design(barn({"S1": 10}))
    assert design_stringing(unpathed.facts, unpathed.findings).assumptions == ()


def test_an_array_with_a_string_that_was_not_simulated_has_no_year(sample, design) -> None:
    strings = design(sample).facts.strings

    def figure(name: str, count: int):
        figures = SimpleNamespace(dc=(100.0,) * 12, wire=(2.0,) * 12)
        return SimpleNamespace(id=name, count=count, figures=figures)

    whole = SimpleNamespace(year=SimpleNamespace(strings=[figure("E1", 12), figure("E2", 12)]))
    found = array_years(strings, whole, None, frozenset({"EAST"}))
    assert set(found) == {"EAST"}
    # 2 · 1200 kWh of 24 modules; 24 kWh in the wire of each string.
    assert (found["EAST"].module_kwh, found["EAST"].wire_kwh) == (pytest.approx(100.0), pytest.approx(24.0))
    assert found["EAST"].needs_orders
    part = SimpleNamespace(year=SimpleNamespace(strings=[figure("E1", 12)]))
    assert array_years(strings, part, None, frozenset()) == {}
    assert array_years(strings, None, None, frozenset()) == {}
