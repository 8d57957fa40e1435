"""Bad input: a located message and exit 4, and the binder on disk stays byte for byte."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pvlib
import pytest


def content(binder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(binder)): path.read_bytes()
        for path in sorted(binder.rglob("*"))
        if path.is_file()
    }


def swap(file: str, old: str, new: str) -> Callable[[Path], None]:
    """Mistake that stands for one piece of text; the piece has to be there."""

    def spoil(folder: Path) -> None:
        path = folder / file
        text = path.read_text()
        assert old in text, old
        path.write_text(text.replace(old, new, 1))

    return spoil


spoil_key = swap("equipment.yaml", "open_circuit_voltage:", "open_circiut_voltage:")
spoil_unit = swap("raceways.yaml", "length: 46 m", "length: 46")
spoil_reference = swap("circuits.yaml", "path: [R1, R2/trench-yard", "path: [R7, R2/trench-yard")
spoil_weather_name = swap("site.yaml", "shipped: 723170TYA.CSV", "file: weather.csv")


def spoil_weather_cut(folder: Path) -> None:
    spoil_weather_name(folder)
    whole = (Path(pvlib.__file__).parent / "data" / "723170TYA.CSV").read_bytes()
    (folder / "weather.csv").write_bytes(whole[: len(whole) // 2])


MISTAKES = {
    "misspelt key": (spoil_key, "equipment.yaml:8:", "did you mean `open_circuit_voltage`?"),
    "bare number": (spoil_unit, "raceways.yaml:10:", "46 m"),
    "unknown reference": (spoil_reference, "circuits.yaml:7:", "R1"),
    "decimal comma": (swap("equipment.yaml", "44.1 V", "44,1 V"), "equipment.yaml:8:", "44.1 V"),
    "missing weather file": (spoil_weather_name, "site.yaml:", "weather.csv"),
    "weather file cut short": (spoil_weather_cut, "weather.csv", ""),
    "unknown edition": (
        swap("project.yaml", "rulebook: nec2023", "rulebook: nec2032"),
        "project.yaml:",
        "nec2023",
    ),
}


@pytest.mark.parametrize(("spoil", "place", "words"), MISTAKES.values(), ids=MISTAKES)
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
