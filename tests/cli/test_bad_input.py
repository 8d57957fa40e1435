"""Bad input: a located message and exit 4, and the binder on disk stays byte for byte."""

from __future__ import annotations

import json
from pathlib import Path

import pvlib
import pytest


def content(binder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(binder)): path.read_bytes()
        for path in sorted(binder.rglob("*"))
        if path.is_file()
    }


def spoil_key(folder: Path) -> None:
    path = folder / "equipment.yaml"
    path.write_text(path.read_text().replace("open_circuit_voltage:", "open_circiut_voltage:", 1))


def spoil_unit(folder: Path) -> None:
    path = folder / "raceways.yaml"
    path.write_text(path.read_text().replace("length: 46 m", "length: 46", 1))


def spoil_reference(folder: Path) -> None:
    path = folder / "circuits.yaml"
    path.write_text(path.read_text().replace("path: [R1, R2/trench-yard", "path: [R7, R2/trench-yard", 1))


def spoil_comma(folder: Path) -> None:
    path = folder / "equipment.yaml"
    path.write_text(path.read_text().replace("44.1 V", "44,1 V", 1))


def spoil_weather_name(folder: Path) -> None:
    path = folder / "site.yaml"
    path.write_text(path.read_text().replace("shipped: 723170TYA.CSV", "file: weather.csv", 1))


def spoil_weather_cut(folder: Path) -> None:
    spoil_weather_name(folder)
    whole = (Path(pvlib.__file__).parent / "data" / "723170TYA.CSV").read_bytes()
    (folder / "weather.csv").write_bytes(whole[: len(whole) // 2])


def spoil_edition(folder: Path) -> None:
    path = folder / "project.yaml"
    path.write_text(path.read_text().replace("rulebook: nec2023", "rulebook: nec2032", 1))


MISTAKES = [
    (spoil_key, "equipment.yaml:7:", "did you mean `open_circuit_voltage`?"),
    (spoil_unit, "raceways.yaml:9:", "46 m"),
    (spoil_reference, "circuits.yaml:6:", "R1"),
    (spoil_comma, "equipment.yaml:7:", "44.1 V"),
    (spoil_weather_name, "site.yaml:", "weather.csv"),
    (spoil_weather_cut, "weather.csv", ""),
    (spoil_edition, "project.yaml:", "nec2023"),
]


@pytest.mark.parametrize(("spoil", "place", "words"), MISTAKES, ids=[item[0].__name__ for item in MISTAKES])
def test_refused_with_a_place_and_the_old_binder_kept(folder, run, spoil, place, words) -> None:
    assert run("build", folder, "--no-pdf").exit_code == 0
    before = content(folder / "binder")
    spoil(folder)
    result = run("build", folder, "--no-pdf")
    assert result.exit_code == 4, result.output
    assert f"{folder}/{place}" in result.stderr
    assert words in result.stderr
    assert "Traceback" not in result.output
    assert content(folder / "binder") == before
    status = json.loads((folder / "status.json").read_text())
    assert status["stale"] is True
    assert status["errors_total"] >= 1


def test_empty_folder(tmp_path, run) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    result = run("build", empty)
    assert result.exit_code == 4
    assert "holds no `*.yaml` file" in result.stderr
    assert not (empty / "binder").exists()


def test_all_errors_of_all_files_come_at_once(folder, run) -> None:
    spoil_key(folder)
    spoil_unit(folder)
    spoil_reference(folder)
    result = run("check", folder)
    assert result.exit_code == 4
    for file in ("equipment.yaml", "raceways.yaml", "circuits.yaml"):
        assert f"{folder}/{file}:" in result.stderr


def test_missing_folder_is_a_usage_error(run, tmp_path) -> None:
    assert run("build", tmp_path / "nowhere").exit_code == 2
