"""Row by row against column by column on the sample's east array, whose lower row lies under snow in winter."""

from __future__ import annotations

from dataclasses import replace

import pytest

from reportgen.binder.chapters.base import Desk
from reportgen.binder.chapters.energy import lower_rows
from reportgen.binder.chapters.stringing import stringing
from reportgen.design.array_cuts import words_of
from reportgen.design.missing import Missing
from reportgen.design.row_orders import design_row_orders
from reportgen.diagnostics.model import InputRefused
from reportgen.engineering.energy.row_loss import compare_orders
from reportgen.engineering.energy.weather import parse_weather, shipped_weather
from reportgen.service.cache import FolderCache

NAME = "723170TYA.CSV"


@pytest.fixture(scope="module")
def hours():
    return parse_weather(NAME, shipped_weather(NAME))


def rows_of(made, hours):
    return design_row_orders(made.project, made.stringing, hours)


def test_only_strings_with_the_lower_row_suffer(sample, design, hours) -> None:
    made = design(sample)
    found = rows_of(made, hours)
    assert not found.missing
    best = found.orders[0]
    assert (best.array, words_of(best.cut)) == ("EAST", "3 × 8")
    # 24 modules in 2 rows of 12: the second string takes the last 4 of the upper row and the first 4 of the lower.
    assert best.by_row.strings == ((8, 0), (4, 4), (0, 8))
    assert best.by_column.strings == ((4, 4), (4, 4), (4, 4))
    assert best.by_column.kwh < best.by_row.kwh < best.undimmed
    # Each string by itself adds up: three mixed ones are three times one third of them.
    mixed = best.by_column.kwh / 3
    bare = best.undimmed / 3
    dark = best.by_row.kwh - bare - mixed
    assert 0 < dark < mixed < bare
    keys = {assumed.key for assumed, _ in replace(made, rows=found).assumptions}
    assert {"rows.bypass", "rows.inputs", "rows.spares"} <= keys


def test_page_has_both_orders_and_their_difference(sample, design, hours) -> None:
    made = design(sample)
    desk = Desk(replace(made, rows=rows_of(made, hours)), sample)
    assert list(stringing(desk))
    rows = desk.schedules["stringing-rows"].csv("x").decode().splitlines()
    assert "4 of 8, 4 of 8, 4 of 8" in rows[2]


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ("rows: 2, columns: 12, lower_rows: {rows: 1,", "rows: 2, columns: 12, lower_rows: {rows: 3,", "no more rows"),
        ("light_lost: [60 %, ", "light_lost: [", "twelve shares"),
        ("rows: 2, columns: 12, lower_rows", "count: 24, lower_rows", "rows of array EAST"),
    ],
)  # fmt: skip
def test_what_is_missing_is_told_and_nothing_compared(sample, edit, design, hours, old, new, what) -> None:
    found = rows_of(design(edit(sample, "arrays.yaml", old, new, 1)), hours)
    assert found.orders == ()
    assert any(what in item.what for item in found.missing)
    # The year is still without the loss, and says so.
    assert [item.key for item in found.assumptions] == ["rows.year"]
    assert [item.lost for item in found.standing] == [None]


def test_without_weather_nothing_is_compared(sample, design) -> None:
    found = rows_of(design(sample), Missing("weather of site"))
    assert found.orders == ()
    assert [item.what for item in found.missing] == ["weather of site"]


def test_no_lower_row_at_all_is_refused(sample, edit, design) -> None:
    with pytest.raises(InputRefused):
        design(edit(sample, "arrays.yaml", "lower_rows: {rows: 1,", "lower_rows: {rows: 0,", 1))


def test_kept_orders_are_taken_until_what_they_depend_on_changes(
    sample, edit, design, hours, tmp_path, monkeypatch
) -> None:
    made = design(sample)
    first = design_row_orders(made.project, made.stringing, hours, FolderCache(tmp_path))
    simulated = []

    def again(*told):
        simulated.append(told)
        return compare_orders(*told)

    monkeypatch.setattr("reportgen.engineering.energy.row_loss.compare_orders", again)
    # Another cache reads from the folder, where the first one keeps in memory.
    assert design_row_orders(made.project, made.stringing, hours, FolderCache(tmp_path)) == first
    assert not simulated
    less = design(edit(sample, "arrays.yaml", "light_lost: [60 %, ", "light_lost: [50 %, ", 1))
    other = design_row_orders(less.project, less.stringing, hours, FolderCache(tmp_path))
    assert simulated
    assert other.orders[0].by_row.kwh > first.orders[0].by_row.kwh


def test_what_lower_rows_lose_as_strung_stands_beside_the_year(sample, design, hours) -> None:
    """The sample's table is strung along its rows: its year with the loss is that of the same order."""
    made = design(sample)
    rows = rows_of(made, hours)
    (east,) = rows.standing
    same = next(item for item in rows.orders if item.cut.lengths == ((12, 2),))
    assert (east.undimmed, east.dimmed) == (same.undimmed, same.by_row.kwh)
    assert east.lost is not None
    assert east.lost > 0
    assert "rows.year" in {item.key for item in rows.assumptions}
    (told,) = lower_rows(replace(made, rows=rows))
    assert (
        f"Not taken off this year, its months and its losses: the {east.lost:.0f} kWh that EAST loses" in told
    )


def test_without_places_the_loss_as_strung_is_not_told_as_none(sample, edit, design, hours) -> None:
    files = edit(sample, "arrays.yaml", 'positions: "row 2, columns 1-12", ', "")
    made = design(files)
    rows = rows_of(made, hours)
    (east,) = rows.standing
    assert east.lost is None
    (told,) = lower_rows(replace(made, rows=rows))
    assert "state where their modules sit" in told
