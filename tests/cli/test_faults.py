"""Faults of values and of the renderer, through the command line. Numbers are those of the fault list."""

from __future__ import annotations

import json

import pytest

from reportgen.service.manifest import read_manifest, verify


def outcomes(result) -> list[str]:
    """Messages without the places, which may move with the length of a line."""
    assert result.exit_code == 0, result.output
    return [item["message"] for item in json.loads(result.stdout)["diagnostics"]]


def test_fault_40_a_renderer_that_fails_after_the_html_publishes_nothing(
    folder, run, change, monkeypatch
) -> None:
    assert run("build", folder, "--no-pdf").exit_code == 0
    before = read_manifest(folder / "binder")

    def fail(html: str, **options: object) -> bytes:
        raise RuntimeError("the renderer has a defect")

    monkeypatch.setattr("reportgen.binder.pdf.write_pdfs", fail)
    change("site.yaml", "-22 degC", "-21 degC")
    result = run("build", folder)
    assert isinstance(result.exception, RuntimeError)  # exit 70 by the last line of defence of the program
    assert read_manifest(folder / "binder") == before
    assert verify(folder / "binder") == []


BAD_LENGTHS = [
    "46",
    "'46'",
    "46 f",
    "46 ft lb",
    "9**9 m",
    "1,5 m",
    "1/0 m",
    "-5 ft",
    "nan m",
    "inf m",
    "1e999 m",
    "46 degC",
]


@pytest.mark.parametrize("length", BAD_LENGTHS)
def test_fault_56_a_length_that_is_none_names_what_is_wanted(folder, run, change, length) -> None:
    change(
        "raceways.yaml",
        "length: 46 m,",
        f'length: "{length}",' if "'" not in length else f"length: {length},",
    )
    result = run("check", folder)
    assert result.exit_code == 4, result.output
    assert "raceways.yaml:" in result.stderr
    assert any(words in result.stderr for words in ("`m`", "46 m`", "12 m`", "1.5 m`", "check the sign")), (
        result.stderr
    )


def test_fault_56_the_same_length_in_another_unit_is_the_same_design(folder, run, change) -> None:
    first = outcomes(run("check", folder, "--all", "--format", "json"))
    change("raceways.yaml", "length: 38 m,", "length: 3800 cm,")
    assert outcomes(run("check", folder, "--all", "--format", "json")) == first
    change("raceways.yaml", "length: 4 m,", "length: 13 ft 1.48031496063 in,")
    assert outcomes(run("check", folder, "--all", "--format", "json")) == first


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("site.yaml", "record_low: -22 degC", "record_low: -274 degC"),
        ("site.yaml", "record_low: -22 degC", "record_low: -22 K"),
        ("site.yaml", "record_low: -22 degC", "record_low: -459.7 degF"),
        ("equipment.yaml", "voltage_coefficient: -0.26 %/degC", "voltage_coefficient: -0.26 degC"),
    ],
)
def test_fault_57_temperatures_below_the_lowest_and_mixed_kinds_are_refused(
    folder, run, change, file, old, new
) -> None:
    change(file, old, new)
    result = run("check", folder)
    assert result.exit_code == 4, result.output
    assert f"{file}:" in result.stderr


def test_fault_57_a_fahrenheit_record_is_the_same_record(folder, run, change) -> None:
    first = outcomes(run("check", folder, "--all", "--format", "json"))
    change("site.yaml", "record_low: -22 degC", "record_low: -7.6 degF")
    assert outcomes(run("check", folder, "--all", "--format", "json")) == first


ABSURD = [
    ("equipment.yaml", "open_circuit_voltage: 44.1 V", "open_circuit_voltage: 0 V"),
    ("equipment.yaml", "open_circuit_voltage: 44.1 V", "open_circuit_voltage: -44.1 V"),
    ("equipment.yaml", "short_circuit_current: 12.95 A", "short_circuit_current: 0 A"),
    ("equipment.yaml", "short_circuit_current: 12.95 A", "short_circuit_current: 1e9 A"),
    ("equipment.yaml", "short_circuit_current: 12.95 A", "short_circuit_current: 11 A"),
    ("equipment.yaml", "operating_voltage: 36.9 V", "operating_voltage: 46.9 V"),
    ("equipment.yaml", "maximum_dc_voltage: 600 V", "maximum_dc_voltage: 0 V"),
    ("raceways.yaml", "length: 46 m", "length: 0 m"),
    ("site.yaml", "record_low: -22 degC", "record_low: 50 degC"),
    ("arrays.yaml", "count: 12", "count: 0"),
]


@pytest.mark.parametrize(("file", "old", "new"), ABSURD)
def test_fault_58_absurd_values_are_refused_or_found_and_never_a_traceback(
    folder, run, change, file, old, new
) -> None:
    """Whatever is made of them, the design does not simply meet."""
    change(file, old, new)
    result = run("check", folder, "--format", "json")
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    if result.exit_code == 0:
        assert old.startswith("maximum_dc_voltage") and '"outcome": "unknown"' in result.stdout
    else:
        assert result.exit_code in {1, 4}, result.output


@pytest.mark.parametrize(
    ("file", "old", "new", "finding"),
    [
        ("raceways.yaml", "ambient: 45 degC", "ambient: 95 degC", "ampacity-use"),
        ("circuits.yaml", "size: 8 AWG", "size: 22 AWG", "ampacity-terminal"),
    ],
)
def test_fault_60_outside_a_table_is_unknown_and_never_a_pass(
    folder, run, change, file, old, new, finding
) -> None:
    change(file, old, new)
    result = run("check", folder, "--all", "--format", "concise")
    assert result.exit_code in {0, 1, 4}, result.output
    if result.exit_code != 4:
        lines = [line for line in result.stderr.splitlines() if f"[{finding}]" in line and "PV-E1" in line]
        assert lines
        assert not any("meets" in line.partition("[")[0] for line in lines), lines
