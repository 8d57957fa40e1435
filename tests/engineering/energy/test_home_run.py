"""A home run's loss from sums over the year, against the whole simulation, and the ways that must not differ."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.design.home_runs import home_run_years
from reportgen.design.missing import Missing
from reportgen.engineering.energy.home_run import home_run_year
from reportgen.project.load import load_project

ALPHA = 0.00323
SAMPLE = Path(__file__).parents[3] / "sample_project"


@pytest.mark.parametrize(("ohm", "count"), [(0.1, 7), (0.4, 7), (0.4, 13)])
def test_it_is_the_loss_of_the_whole_year(plant, ohm, count) -> None:
    result = plant.one_string(ohm, count).run()
    quick = home_run_year(
        plant.weather, plant.site, plant.orientations[0], plant.modules["M"], options=plant.options
    )
    # the wire moves the best point a little towards less current, in proportion to its resistance
    slack = 0.02 * ohm / 0.4 + 1e-4
    assert result.wire_kwh <= quick.loss_kwh(ohm, ALPHA) * (1 + 1e-9)
    assert quick.loss_kwh(ohm, ALPHA) == pytest.approx(result.wire_kwh, rel=slack)
    assert count * quick.module_kwh == pytest.approx(
        result.strings[0].dc_kwh + result.strings[0].off_peak_kwh, rel=1e-9
    )


def test_it_is_proportional_to_the_resistance_and_nothing_for_none(plant) -> None:
    quick = home_run_year(plant.weather, plant.site, plant.orientations[1], plant.modules["M"])
    assert quick.loss_kwh(0.0, ALPHA) == 0.0
    assert quick.loss_kwh(0.6, ALPHA) == pytest.approx(2 * quick.loss_kwh(0.3, ALPHA), rel=1e-12)


def test_an_input_that_uses_less_current_loses_less(plant) -> None:
    told = (plant.weather, plant.site, plant.orientations[0], plant.modules["M"])
    assert home_run_year(*told, usable_current=5.0).loss_kwh(0.3, ALPHA) < home_run_year(*told).loss_kwh(
        0.3, ALPHA
    )


def sample(edit: tuple[str, str, str] | None = None):
    files = {path.name: path.read_bytes() for path in sorted(SAMPLE.glob("*.yaml"))}
    if edit:
        name, old, new = edit
        assert old.encode() in files[name]
        files[name] = files[name].replace(old.encode(), new.encode())
    return load_project(files)


def test_each_array_of_a_folder_has_its_year_or_what_is_missing(greensboro) -> None:
    years = home_run_years(sample(), greensboro)
    assert set(years) == {"EAST", "WEST", "ROOF"}
    assert not any(isinstance(item, Missing) for item in years.values())
    blind = home_run_years(sample(("arrays.yaml", "tilt: 20 deg, azimuth: 180 deg, ", "")), greensboro)
    assert isinstance(blind["ROOF"], Missing)
    assert not isinstance(blind["EAST"], Missing)
    without = Missing("weather of site")
    assert set(home_run_years(sample(), without).values()) == {without}
