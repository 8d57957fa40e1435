"""Schedules of the year: they add up, a row follows by hand from what is printed, and extremes only of measured hours."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from reportgen.binder.chapters import energy_tables
from reportgen.service.build import BuildOptions, run
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"


@pytest.fixture(scope="module")
def built():
    return run(take(SAMPLE), BuildOptions(pdf=False))


def rows_of(built, name: str) -> list[dict[str, str]]:
    text = built.outputs[f"schedules/{name}.csv"].decode()
    return list(csv.DictReader(io.StringIO(text.split("\n", 1)[1])))


def test_the_chain_closes_as_printed(built) -> None:
    rows = rows_of(built, "energy-chain")
    first, *losses, last = [float(row["kwh [kWh]"]) for row in rows]
    assert first - sum(losses) == pytest.approx(last, rel=1e-5)
    assert float(rows[-2]["left [kWh]"]) == pytest.approx(last, rel=1e-5)
    assert float(rows[-1]["share [%]"]) == pytest.approx(100 * last / first, rel=1e-5)


def test_the_chain_closes_in_every_hour_of_the_sample(built) -> None:
    hourly = built.design.energy.year.hourly
    steps = [step.key for step in built.design.energy.year.chain]
    losses = sum(hourly[key] for key in steps[1:-1])
    assert abs(hourly["irradiation"] - losses - hourly["ac"]).max() < 1e-6
    after = sum(hourly[key] for key in ("wire", "feeder", "conversion", "night"))
    assert abs(hourly["dc"] - after - hourly["ac"]).max() < 1e-6


def test_months_of_inputs_and_inverters_add_up_to_the_site(built) -> None:
    rows = rows_of(built, "energy-by-month")
    site = {row["energy" if "energy" in row else "what"]: row for row in rows if row["of"] == "site"}
    for month in ("jan [kWh]", "jul [kWh]", "year [kWh]"):
        arrives = sum(float(row[month]) for row in rows if row["what"].startswith("arrives"))
        assert arrives == pytest.approx(
            float(site["modules"][month]) - float(site["lost in wires"][month]), rel=1e-5
        )
        output = sum(float(row[month]) for row in rows if row["what"] == "AC output" and row["of"] != "site")
        assert output == pytest.approx(float(site["AC output"][month]), rel=1e-5)
    by_string = rows_of(built, "energy-strings-by-month")
    year = built.design.energy.year
    for ids, others in (
        ({item.id for item in year.strings}, {"lost in wires": "lost in its wires"}),
        ({item.id for item in year.inputs}, {}),
        ({item.id for item in year.inverters}, {}),
    ):
        for what in ("modules", "lost in wires", "left in modules"):
            found = sum(
                float(row["jun [kWh]"])
                for row in by_string
                if row["of"] in ids and row["what"] == others.get(what, what)
            )
            assert found == pytest.approx(float(site[what]["jun [kWh]"]), rel=1e-5), what
    for item in (*year.inputs, *year.inverters):
        mine = {row["what"]: float(row["year [kWh]"]) for row in by_string if row["of"] == item.id}
        assert mine["modules"] - mine["lost in wires"] == pytest.approx(mine["arrives"], rel=1e-5)


def test_a_circuit_by_hand(built) -> None:
    """12.2 A through R of both legs over V_mp; the year's share over that lies by the squared sun where nothing limits."""
    row = next(row for row in rows_of(built, "energy-circuits") if row["circuit"] == "PV-W2")
    ohm, amperes, volts = (float(row[key]) for key in ("ohm [Ω]", "imp [A]", "vmp [V]"))
    assert volts == pytest.approx(10 * 36.9)
    assert float(row["watts [W]"]) == pytest.approx(amperes**2 * ohm, rel=1e-5)
    assert float(row["rule [%]"]) == pytest.approx(100 * amperes * ohm / volts, rel=1e-5)
    string = next(row for row in rows_of(built, "energy-strings") if row["string"] == "W2")
    assert float(row["share [%]"]) == pytest.approx(
        100 * float(row["lost [kWh]"]) / float(string["dc [kWh]"]), rel=1e-5
    )
    assert float(row["over"]) == pytest.approx(float(row["sun"]), rel=0.05)


def test_each_circuit_of_a_string_has_its_own_row(built) -> None:
    design = built.design
    year = design.energy.year
    one = year.strings[0]
    half = tuple(value / 2 for value in one.figures.wires[0])
    figures = replace(one.figures, wires=(half, half), full_sun_ohms=(0.1, 0.2))
    two = replace(one, wire_ids=("PV-a", "PV-b"), figures=figures)
    rows = energy_tables.circuits(design, replace(year, strings=(two, *year.strings[1:]))).lines
    assert [row.values["circuit"] for row in rows[:3]] == ["PV-a", "PV-b", "PV-E2"]
    assert rows[1].values["rule"] == pytest.approx(2 * rows[0].values["rule"])


def test_extremes_stand_beside_the_design(built) -> None:
    rows = {row["string"]: row for row in rows_of(built, "energy-extremes")}
    for string in built.design.facts.strings:
        row = rows[string.id]
        assert float(row["open_design [V]"]) == pytest.approx(string.governing.value, rel=1e-5)
        colder = float(row["open [V]"]) > string.governing.value
        hotter = float(row["cell [°C]"]) > float(row["cell_design [°C]"])
        assert ("colder than the design" in row["told"]) == colder
        assert ("hotter than the design" in row["told"]) == hotter
        assert (row["told"] == "within") == (
            not colder and not hotter and float(row["lowest [V]"]) >= float(row["hot_design [V]"])
        )
    # A voltage of the year above the design's is told, and never reads as within.
    year = built.design.energy.year
    high = replace(year.strings[2], figures=replace(year.strings[2].figures, open_voltage_max=1e4))
    told = energy_tables.extremes(built.design, replace(year, strings=(high,)))
    assert "colder than the design" in told.lines[0].values["told"]


def test_an_unknown_design_temperature_is_not_within(built) -> None:
    from reportgen.design.missing import Missing

    year, facts = built.design.energy.year, built.design.facts
    blind = tuple(replace(string, governing=Missing("record_low of site")) for string in facts.strings)
    design = replace(built.design, facts=replace(facts, strings=blind))
    told = [line.values["told"] for line in energy_tables.extremes(design, year).lines]
    assert all("design not known: record_low of site" in words for words in told)


def test_a_string_that_never_worked_or_passed_the_limit_is_not_within(built) -> None:
    year = built.design.energy.year
    string = next(item for item in year.strings if item.id == "R1S")

    def told(**change: float) -> str:
        one = replace(string, figures=replace(string.figures, **change))
        return energy_tables.extremes(built.design, replace(year, strings=(one,))).lines[0].values["told"]

    assert told() == "within"
    nothing = float("nan")
    assert told(voltage_min=nothing, voltage_max=nothing) == "never at work"
    # 600 V is the inverter's limit, exactly at it is not above it.
    assert told(open_voltage_max=600.0) == "colder than the design"
    assert told(open_voltage_max=600.1) == "above the limit of the inverter; colder than the design"


def test_the_cell_is_told_in_the_units_of_the_project(built) -> None:
    from reportgen.working.unit_system import UnitSystem

    year, facts = built.design.energy.year, built.design.facts
    here = SimpleNamespace(strings=facts.strings, units=UnitSystem(imperial=True))
    table = energy_tables.extremes(SimpleNamespace(facts=here, project=built.design.project), year)
    rows = list(csv.DictReader(table.csv("d").decode().splitlines()[1:]))
    metric = rows_of(built, "energy-extremes")
    for row, one in zip(rows, metric, strict=True):
        assert float(row["cell [°F]"]) == pytest.approx(1.8 * float(one["cell [°C]"]) + 32, rel=1e-4)
        assert row["told"] == one["told"]


def test_made_hours_have_no_extremes(built) -> None:
    year = built.design.energy.year
    made = replace(year, cautions=(*year.cautions, ("weather-made", "made")))
    assert energy_tables.extremes(built.design, made) is None


def test_the_page_shows_the_year_as_a_picture_with_its_words(built) -> None:
    html = built.outputs["binder.html"].decode()
    start = html.index("year-by-hour-title")
    svg = html[html.rindex("<svg", 0, start) : html.index("</svg>", start)]
    assert len(svg.encode()) < 30_000
    assert "Highest hour" in svg
    rows = rows_of(built, "energy-hours")
    assert len(rows) == 12
    assert float(rows[5]["h12 [kW]"]) > float(rows[5]["h7 [kW]"]) > 0 >= float(rows[5]["h1 [kW]"])
