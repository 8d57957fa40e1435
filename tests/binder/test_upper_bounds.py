"""The output of a year never stands without its band, and that of a clear sky never as an expectation."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path

import pytest
from page_readers import Page

from reportgen.design.measures import measures_of
from reportgen.design.missing import Missing
from reportgen.engineering.energy.synthetic import MADE_ERROR
from reportgen.service.build import BuildOptions, run
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot

SAMPLE = Path(__file__).parents[2] / "sample_project"
CLEAR = (
    "    monthly_temperature: ["
    + ", ".join(f"{t} degC" for t in (4, 6, 10, 15, 19, 24, 26, 25, 21, 15, 10, 5))
    + "]"
)


LIGHT = (
    "    monthly_irradiation: ["
    + ", ".join(f"{g} kWh/m2" for g in (2.4, 3.2, 4.3, 5.4, 5.8, 6.1, 5.9, 5.3, 4.5, 3.7, 2.7, 2.2))
    + "]"
)


def built_with(weather: str):
    files = dict(take(SAMPLE).files)
    site = files["site.yaml"].decode()
    (line,) = [line for line in site.splitlines() if line.startswith("    shipped:")]
    files["site.yaml"] = site.replace(line, weather).encode()
    return run(Snapshot.of(files), BuildOptions(pdf=False))


@pytest.fixture(scope="module")
def clear():
    return built_with(CLEAR)


@pytest.fixture(scope="module")
def clear_html(clear) -> str:
    return clear.outputs["binder.html"].decode()


def cover_of(html: str) -> str:
    return "".join(Page(html[: html.index("<nav")] + "</body></html>").shown)


def rows_of(built, name: str) -> list[dict[str, str]]:
    text = built.outputs[f"schedules/{name}.csv"].decode()
    return list(csv.DictReader(io.StringIO(text.split("\n", 1)[1])))


def test_the_sum_of_a_clear_year_stands_nowhere_as_an_expectation(clear, clear_html) -> None:
    year = clear.design.energy.year
    assert year.upper_bound
    cover = cover_of(clear_html)
    assert "withheld" in cover
    assert f"{year.ac_kwh:.0f}" not in cover
    assert "Year" not in [row["month"] for row in rows_of(clear, "energy-months")]


def test_every_schedule_with_energies_of_a_clear_year_names_them_bounds(clear) -> None:
    seen = 0
    for name, data in clear.outputs.items():
        if name.startswith("schedules/"):
            head = data.decode().split("\n", 2)
            for column in head[1].split(","):
                if re.search(r"\[kWh", column):
                    assert "_at_most" in column, (name, column)
                    assert "upper bounds" in head[0]
                    seen += 1
    assert seen >= 10
    (row, *_) = rows_of(clear, "wire-next-size")
    assert {"worth_at_most", "payback_at_least", "each_at_least"} <= row.keys()


def test_results_of_a_clear_year_hold_no_output_under_its_plain_name(clear) -> None:
    energy = json.loads(clear.outputs["results.json"])["energy"]
    assert energy["upper_bound"] is True
    assert energy["year"]["ac"] is energy["year"]["low"] is energy["year"]["high"] is None
    assert "ac" not in energy
    assert "strings" not in energy
    assert sum(energy["at_most"]["ac"]) == pytest.approx(clear.design.energy.year.ac_kwh)


def test_a_comparison_does_not_know_the_output_of_a_clear_year(clear) -> None:
    found = {measure.key: measure.value for measure in measures_of(clear.design)}
    assert isinstance(found["ac"], Missing)
    assert isinstance(found["lost"], Missing)


def test_no_extreme_is_taken_from_hours_that_were_made(clear, clear_html) -> None:
    assert clear.design.energy.year.made
    assert "Extremes of the year" not in clear_html
    assert "temperatures and voltages at their extremes are not in them" in clear_html
    assert "schedules/energy-extremes.csv" not in clear.outputs


def test_a_year_of_monthly_means_is_printed_with_its_error_and_without_extremes() -> None:
    made = built_with(f"{LIGHT}\n{CLEAR}")
    html = made.outputs["binder.html"].decode()
    year = made.design.energy.year
    assert MADE_ERROR in re.sub("<[^>]*>", "", html)
    assert "Extremes of the year" not in html
    assert year.band.share == pytest.approx((0.08**2 + 0.05**2 + 0.04**2) ** 0.5)
    assert f"{year.ac_kwh:.0f} kWh ±10 %" in cover_of(html)
