"""Faults of values and of the renderer, through the command line. Numbers are those of the fault list."""

from __future__ import annotations

import pytest

from reportgen.service import build as module
from reportgen.service.manifest import read_manifest, verify


def test_fault_40_a_renderer_that_fails_after_the_html_publishes_nothing(
    folder, run, change, monkeypatch
) -> None:
    assert run("build", folder, "--no-pdf").exit_code == 0
    before = read_manifest(folder / "binder")

    def fail(html: str) -> bytes:
        raise RuntimeError("the renderer has a defect")

    monkeypatch.setattr("reportgen.binder.pdf.write_pdf", fail)
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
    assert "raceways.yaml:9:" in result.stderr
    assert (
        "`m`" in result.stderr
        or " m`" in result.stderr
        or "above zero" in result.stderr
        or "negative" in result.stderr
    )


def test_fault_56_the_same_length_in_feet_is_the_same_design(folder, run, change) -> None:
    first = run("check", folder, "--all", "--format", "json").stdout
    change("raceways.yaml", "length: 38 m,", "length: 124 ft 8.063 in,")
    assert '"fails"' not in run("check", folder, "--all", "--format", "json").stdout
    change("raceways.yaml", "length: 124 ft 8.063 in,", "length: 3800 cm,")
    assert run("check", folder, "--all", "--format", "json").stdout == first


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
    first = run("check", folder, "--all", "--format", "json").stdout
    change("site.yaml", "record_low: -22 degC", "record_low: -7.6 degF")
    assert run("check", folder, "--all", "--format", "json").stdout == first


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


def test_the_module_that_writes_is_the_one_that_is_patched() -> None:
    assert module._pdf.__module__ == "reportgen.service.build"
