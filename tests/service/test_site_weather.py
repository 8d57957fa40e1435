"""Weather files of a folder: several years, what is named and not used, and bad ones refused at their row."""

from __future__ import annotations

import json
import resource
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "engineering" / "energy"))

import weather_files
from service_fakes import unmarked

from reportgen.binder.chapters.energy import output_of
from reportgen.design.measures import measures_of
from reportgen.diagnostics.model import InputRefused
from reportgen.engineering.energy.weather import parse_weather, shipped_weather
from reportgen.service.build import BuildOptions, check, run, with_energy
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot

FOLDER = Path(__file__).parents[2] / "sample_project"
SHIPPED = "723170TYA.CSV"


@pytest.fixture(scope="module")
def sample() -> dict[str, bytes]:
    return dict(take(FOLDER).everything)


@pytest.fixture(scope="module")
def greensboro():
    return parse_weather(SHIPPED, shipped_weather(SHIPPED))


@pytest.fixture(scope="module")
def lines() -> list[str]:
    return shipped_weather(SHIPPED).decode("latin-1").splitlines()


def folder(sample, weather: str, **files: bytes) -> Snapshot:
    """The sample with other weather, and weather files beside it; `a__csv` is named `a.csv`."""
    site = sample["site.yaml"].decode()
    (line,) = [line for line in site.splitlines() if line.startswith("    shipped:")]
    text = site.replace(line, "\n".join(f"    {part}" for part in weather.splitlines()))
    added = {name.replace("__", "."): data for name, data in files.items()}
    return Snapshot.of({**sample, "site.yaml": text.encode(), **added})


def energy_of(snapshot: Snapshot):
    return with_energy(check(snapshot), snapshot, cached=False, sun=False)[0].energy


def refused(snapshot: Snapshot):
    with pytest.raises(InputRefused) as caught:
        energy_of(snapshot)
    (found,) = caught.value.diagnostics
    return found


def scaled(year, factor: float) -> bytes:
    return weather_files.nsrdb(
        replace(year, ghi=year.ghi * factor, dni=year.dni * factor, dhi=year.dhi * factor)
    ).encode()


@pytest.fixture(scope="module")
def three(sample, greensboro):
    files = {f"y{k}__csv": scaled(greensboro, factor) for k, factor in enumerate((0.9, 1.0, 1.06))}
    snapshot = folder(sample, "files: [y0.csv, ./y1.csv, y2.csv]", **files)
    return run(snapshot, BuildOptions(pdf=False))


def test_several_years_give_p50_and_p90(three):
    energy = three.design.energy
    found = dict(energy.spread.years)
    assert list(found) == ["y0.csv", "y1.csv", "y2.csv"]
    assert found["y0.csv"] < found["y1.csv"] < found["y2.csv"]
    assert energy.spread.p50 == pytest.approx(sum(found.values()) / 3)
    assert energy.year.ac_kwh == found["y1.csv"], "the year shown is the one nearest to the mean"
    assert energy.year.band is energy.spread.band


def test_p50_and_p90_stand_wherever_the_output_does(three):
    spread, html = three.design.energy.spread, three.outputs["binder.html"].decode()
    words = output_of(three.design.energy)
    assert f"P50 {spread.p50:.0f} kWh" in words
    assert f"P90 {spread.p90:.0f} kWh" in words
    assert words in html[: html.index("<nav")]
    assert unmarked(html).count(words) >= 2
    (output,) = [measure for measure in measures_of(three.design) if measure.key == "ac"]
    assert output.value.value == spread.p50
    told = json.loads(three.outputs["results.json"])["energy"]
    assert told["year"]["ac"] == told["single_years"]["p50"] == pytest.approx(spread.p50)
    assert told["single_years"]["p90"] == pytest.approx(spread.p90)
    assert b"y2.csv" in three.outputs["schedules/energy-years.csv"]


def test_a_typical_year_is_no_single_year(sample, greensboro):
    files = {"a__csv": scaled(greensboro, 1.0), "b__csv": shipped_weather(SHIPPED)}
    found = refused(folder(sample, "files: [a.csv, b.csv]", **files))
    assert found.code == "weather-years"
    assert found.labels[0].span.file == "site.yaml"


def test_a_year_that_stands_twice_is_refused(sample, greensboro):
    """Copies of one year would have no scatter at all."""
    files = {"a__csv": scaled(greensboro, 1.0), "b__csv": scaled(greensboro, 1.0)}
    assert "the same hours as `a.csv`" in refused(folder(sample, "files: [a.csv, b.csv]", **files)).message


def test_one_file_in_the_list_is_a_file_like_any(sample, greensboro):
    energy = energy_of(folder(sample, "files: [a.csv]", a__csv=scaled(greensboro, 1.0)))
    assert energy.spread is None
    assert energy.output_kwh == energy.year.ac_kwh


def test_a_file_that_is_not_there_is_refused(sample):
    with pytest.raises(InputRefused) as caught:
        check(folder(sample, "files: [no.csv]"))
    assert caught.value.diagnostics[0].code == "missing-file"


def test_a_file_goes_before_monthly_means_and_says_so(sample):
    means = ", ".join(["4.0 kWh/m2"] * 12)
    energy = energy_of(folder(sample, f"shipped: {SHIPPED}\nmonthly_irradiation: [{means}]"))
    (told,) = [text for text in energy.warnings if "monthly means" in text]
    assert "1460 kWh/m² a year" in told
    assert "1566 kWh/m² (+7.3 %)" in told
    assert energy.warnings[-1] == told, "named for the folder, not for one of its files"


def test_a_file_goes_before_a_shipped_year_and_says_so(sample):
    snapshot = folder(sample, f"file: a.csv\nshipped: {SHIPPED}", a__csv=shipped_weather("12839.tm2"))
    energy = energy_of(snapshot)
    assert energy.weather_source.startswith("a.csv: TMY2")
    assert any("shipped year named under `weather` is not used" in text for text in energy.warnings)


GHI = 4
NOON_OF_1_JULY = 2 + 181 * 24 + 11


def with_light(lines: list[str], changes: dict[int, str]) -> list[str]:
    changed = list(lines)
    for k, value in changes.items():
        fields = changed[k].split(",")
        fields[GHI] = value
        changed[k] = ",".join(fields)
    return changed


def light_times(lines: list[str], factor: float) -> list[str]:
    return with_light(
        lines, {k: f"{float(lines[k].split(',')[GHI]) * factor:.5f}" for k in range(2, len(lines))}
    )


@pytest.mark.parametrize(
    ("bad", "line", "words"),
    [
        (lambda rows: light_times(rows, 1e-3), None, "kWh/m² by the look of it"),
        (lambda rows: light_times(rows, 3.6), None, "kJ/m² by the look of it"),
        (lambda rows: [rows[0].replace(",-5.0,", ",7.0,"), *rows[1:]], None, "while the sun is down"),
        (lambda rows: [rows[0].replace("36.100", "-36.100"), *rows[1:]], None, "while the sun is down"),
        (lambda rows: with_light(rows, {NOON_OF_1_JULY + k: "nan" for k in range(9)}), NOON_OF_1_JULY + 1, "missing in 9 rows"),
        (lambda rows: with_light(rows, {NOON_OF_1_JULY: "-250"}), NOON_OF_1_JULY + 1, "`ghi` is -250 W/m²"),
        (lambda rows: rows[:-1], 8761, "ends after 8759 rows of 8760"),
        (lambda rows: [*rows[:4000], *rows[4001:]], 4001, "1 rows are missing before this one"),
    ],
    ids=["kWh", "kJ", "night", "hemisphere", "nan", "negative", "short", "hole"],
)  # fmt: skip
def test_a_bad_file_is_refused_in_the_file_at_its_row(sample, lines, bad, line, words):
    data = "\n".join(bad(lines)).encode()
    found = refused(folder(sample, "file: w.csv", w__csv=data))
    assert found.code == "weather-file"
    assert words in found.message
    assert found.help
    where = found.labels[0]
    assert where.span.file == "w.csv"
    assert where.span.line == line if line else where.span.line >= 1
    assert any(label.span.file == "site.yaml" for label in found.labels)


def test_one_bad_year_of_several_is_named(sample, greensboro, lines):
    files = {"a__csv": scaled(greensboro, 1.0), "b__csv": "\n".join(lines[:-1]).encode()}
    found = refused(folder(sample, "files: [a.csv, b.csv]", **files))
    assert found.labels[0].span.file == "b.csv"


def test_weather_of_the_other_hemisphere_is_said(sample, greensboro):
    """A sound file of another place: half a year of days put first makes it one."""
    half = 24 * 182
    turned = {
        name: np.roll(getattr(greensboro, name), half) for name in ("ghi", "dni", "dhi", "temp_air", "wind")
    }
    data = weather_files.nsrdb(replace(greensboro, **turned, latitude=-36.1)).encode()
    energy = energy_of(folder(sample, "file: south.csv", south__csv=data))
    assert any("another hemisphere" in text for text in energy.warnings)


def test_a_clock_that_is_off_is_said(sample, lines):
    data = "\n".join([lines[0].replace(",-5.0,", ",-6.0,"), *lines[1:]]).encode()
    energy = energy_of(folder(sample, "file: w.csv", w__csv=data))
    assert any("from the sun's noon" in text for text in energy.warnings)


def test_a_file_of_200_mb_is_refused_and_never_held(sample, tmp_path):
    for name, data in folder(sample, "file: big.csv").files.items():
        (tmp_path / name).write_bytes(data)
    with (tmp_path / "big.csv").open("wb") as big:
        big.truncate(200 * 1024 * 1024)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    snapshot = take(tmp_path)
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    assert grown < 100, f"{grown:.0f} MiB more"
    with pytest.raises(InputRefused) as caught:
        check(snapshot)
    found = {item.code: item for item in caught.value.diagnostics}
    assert found["file-too-large"].labels[0].span.file == "big.csv"
