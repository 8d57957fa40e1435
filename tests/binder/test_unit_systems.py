"""Printed units by the project's setting: one system a page, the other in brackets, and no verdict that depends on it."""

from __future__ import annotations

import ast
import csv
import io
import json
import re
from pathlib import Path

import pytest

from reportgen.binder.chapters import boxes, conductors, pull_plan, raceways, site, strings, terminations
from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Facts, Table
from reportgen.binder.results import results_json
from reportgen.binder.schedules import Field, Line, Schedule
from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load
from reportgen.service.folder_reader import take
from reportgen.working.quantity import Quantity
from reportgen.working.unit_system import OTHER, UnitSystem, places_in
from reportgen.working.units import UNITS, convert

SAMPLE = Path(__file__).parents[2] / "sample_project"
#: Lengths to cut are rounded up to the tape in use, a foot or a tenth of a metre: what is cut differs in fact.
BY_THE_TAPE = ("cut-",)


def desk_of(units: str) -> Desk:
    files = {
        name: data.replace(b"units: metric", f"units: {units}".encode())
        for name, data in take(SAMPLE).everything.items()
    }
    desk = Desk(assemble(load_project(files), load("nec2023"), "d" * 64), files)
    desk.made = {
        module: module.chapter(desk)
        for module in (site, strings, conductors, raceways, pull_plan, boxes, terminations)
    }
    return desk


@pytest.fixture(scope="module")
def metric() -> Desk:
    return desk_of("metric")


@pytest.fixture(scope="module")
def imperial() -> Desk:
    return desk_of("imperial")


SENTENCES = {"headline", "notes", "question", "cure", "break_even"}


def test_every_outcome_and_every_result_is_the_same_in_both(metric, imperial) -> None:
    one, other = (json.loads(results_json(desk.design, "0")) for desk in (metric, imperial))
    outcomes = [[(item["id"], item["outcome"]) for item in document["findings"]] for document in (one, other)]
    assert outcomes[0] == outcomes[1]
    assert len(outcomes[0]) > 250
    for document in (one, other):
        # Sentences have the units of the project first; what was judged is the same.
        document["findings"] = [
            {key: item[key] for key in item.keys() - SENTENCES}
            for item in document["findings"]
            if not item["code"].startswith(BY_THE_TAPE)
        ]
    for key in one.keys() - {"cuts", "materials"}:
        assert one[key] == other[key], key


def test_what_is_cut_differs_by_less_than_the_step_of_the_tape(metric, imperial) -> None:
    one, other = (json.loads(results_json(desk.design, "0")) for desk in (metric, imperial))
    for name, group in one["cuts"].items():
        for wire, piece in group["pieces"].items():
            twin = other["cuts"][name]["pieces"][wire]
            assert (piece["unit"], twin["unit"]) == ("m", "ft")
            assert abs(convert(twin["value"], "ft", "m") - piece["value"]) < 0.3048
    assert one["materials"].keys() == other["materials"].keys()
    for line, value in one["materials"].items():
        if not line.startswith("Wire: "):
            assert value == other["materials"][line], line


def heads(desk: Desk, schedule: str) -> list[str]:
    return next(csv.reader(io.StringIO(desk.schedules[schedule].csv("x").decode().partition("\n")[2])))


@pytest.mark.parametrize(
    ("schedule", "column", "units"),
    [
        ("raceways", "length", ("m", "ft")),
        ("raceways", "cover", ("mm", "in")),
        ("raceways", "bore", ("mm²", "in²")),
        ("cover", "cover", ("mm", "in")),
        ("cover", "least", ("mm", "in")),
        ("supports", "most", ("m", "ft")),
        ("bends", "one_shot", ("mm", "in")),
        ("expansion", "change", ("mm", "in")),
        ("expansion", "swing", ("K", "°F difference")),
        ("boxes", "volume", ("cm³", "in³")),
        ("conductors", "length", ("m", "ft")),
        ("circuits", "length", ("m", "ft")),
        ("circuits", "at", ("°C", "°F")),
        ("stretches", "ambient", ("°C", "°F")),
        ("strings", "hot_cell", ("°C", "°F")),
        ("pulls", "dry", ("N", "lb")),
        ("pull-steps", "pressure", ("N/m", "lb/ft")),
        ("terminations", "strip", ("mm", "in")),
    ],
)
def test_files_and_pages_name_the_unit_of_the_setting(metric, imperial, schedule, column, units) -> None:
    for desk, unit in zip((metric, imperial), units, strict=True):
        assert f"{column} [{unit}]" in heads(desk, schedule)
        table = desk.schedules[schedule].table()
        place = [field.key for field in desk.schedules[schedule].fields].index(column)
        assert table.columns[place].unit.partition(" (")[0] == unit


def test_a_printed_cell_and_its_bracket_are_one_length(metric, imperial) -> None:
    for desk in (metric, imperial):
        (table,) = (
            item for item in desk.made[raceways].elements if isinstance(item, Table) and item.id == "cover"
        )
        place = [column.title for column in table.columns].index("Cover")
        shown = {row.cells[0].text: row.cells[place].text for row in table.rows}
        first, _, beside = shown["R2/trench-yard"].partition(" (")
        mm, inches = (first, beside[:-1]) if desk is metric else (beside[:-1], first)
        # 700 mm of trench less 50 mm of sand and 48.3 mm of pipe.
        assert float(mm) == pytest.approx(601.7, abs=0.5)
        assert float(inches) == pytest.approx(601.7 / 25.4, abs=0.05)


def test_torque_stands_in_both_units_that_of_the_setting_first(metric, imperial) -> None:
    assert [head for head in heads(metric, "terminations") if "N·m" in head or "lb·in" in head] == [
        "newton [N·m]",
        "inch [lb·in]",
    ]
    assert [head for head in heads(imperial, "terminations") if "N·m" in head or "lb·in" in head] == [
        "inch [lb·in]",
        "newton [N·m]",
    ]


def test_a_gauge_has_the_area_of_its_metal_beside_it(metric) -> None:
    # 8 AWG is 16 510 circular mils: π / 4 · (0.0254 mm)² each.
    rows = csv.DictReader(io.StringIO(metric.schedules["conductors"].csv("x").decode().partition("\n")[2]))
    areas = {row["size"]: float(row["metal [mm²]"]) for row in rows}
    assert areas["8 AWG"] == pytest.approx(16510 * 3.14159265 / 4 * 0.0254**2, rel=1e-4)


def test_both_cold_temperatures_are_told_in_both_units(metric, imperial) -> None:
    told = [
        dict(next(item for item in desk.made[site].elements if isinstance(item, Facts)).pairs)
        for desk in (metric, imperial)
    ]
    assert [facts["Record low"] for facts in told] == ["−22 °C (−7.6 °F)", "−7.6 °F (−22.0 °C)"]


def test_findings_name_both_units_that_of_the_setting_first(metric, imperial) -> None:
    for desk, told, force in ((metric, "602 mm (23.7 in)", " N ("), (imperial, "23.7 in (602 mm)", " lb (")):
        (cover,) = desk.findings("raceway-cover", subject="R2/trench-yard")
        assert cover.headline.startswith(f"cover of R2/trench-yard {told}, least cover")
        assert all(force in f.headline for f in desk.findings("pull-tension"))


#: Columns of both systems side by side, and those that the ratings of terminals name.
FIXED = {
    ("conductors", "metal"),
    ("conductors", "column"),
    ("terminations", "newton"),
    ("terminations", "inch"),
}


def test_no_column_has_a_unit_of_one_system_written_into_it() -> None:
    folder = Path(__file__).parents[2] / "reportgen" / "binder" / "chapters"
    fixed, seen = set(), 0
    units = {*OTHER, *(UNITS[one].printed for one in OTHER)}
    for path in sorted(folder.glob("*.py")):
        for call in ast.walk(ast.parse(path.read_text())):
            if not isinstance(call, ast.Call) or getattr(call.func, "id", "") not in {"Field", "Column"}:
                continue
            seen += 1
            texts = [one.value if isinstance(one, ast.Constant) else "" for one in call.args]
            place = 2 if call.func.id == "Field" else 1
            if len(texts) > place and texts[place] in units:
                fixed.add((path.stem, texts[0]))
    assert seen > 300
    assert fixed == FIXED


#: Words by which a head names a bound.
BOUND = re.compile(r"\b(?:limit|least|at most|up to|ampacity|stands|rating at most)\b", re.IGNORECASE)


def test_every_column_of_limits_says_to_which_side_it_is_rounded() -> None:
    folder = Path(__file__).parents[2] / "reportgen" / "binder" / "chapters"
    silent, seen = set(), 0
    for path in sorted(folder.glob("*.py")):
        for call in ast.walk(ast.parse(path.read_text())):
            if (
                not isinstance(call, ast.Call)
                or getattr(call.func, "id", "") != "Field"
                or len(call.args) < 3
            ):
                continue
            texts = [one.value if isinstance(one, ast.Constant) else "?" for one in call.args]
            bound = any(BOUND.search(str(text)) for text in (texts[0], texts[1], *texts[4:5]))
            if not bound or not texts[2]:
                continue
            seen += 1
            if not any(one.arg == "at_most" for one in call.keywords):
                silent.add((path.stem, texts[0]))
    assert seen > 30
    # Its rows hold bounds of both kinds: each says which it is.
    assert silent == {("series_limits", "limit")}


def test_every_unit_has_a_counterpart_of_its_own_dimension() -> None:
    for unit, other in OTHER.items():
        assert OTHER[other] == unit
        assert UNITS[unit].dimension == UNITS[other].dimension
        assert places_in(unit, 2) >= 0


def test_a_missing_value_has_no_bracket() -> None:
    field = Field("cover", "Cover", "mm", 0, both=True)
    lines = (Line({"cover": Quantity(601.7, "mm")}), Line({"cover": "not stated"}))
    table = Schedule("s", "s", (field,), lines).table()
    assert [row.cells[0].text for row in table.rows] == ["602 (23.7)", "not stated"]
    assert table.columns[0].unit == "mm (in)"
    assert UnitSystem(imperial=True).both(Quantity(0.0, "mm"), "small", 1) == "0.0 in (0 mm)"
