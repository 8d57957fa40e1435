"""Input that no string, switch or data sheet can be like: located errors that say what is usual."""

from __future__ import annotations

import pytest

from reportgen.diagnostics.model import InputRefused


def refused(design, files):
    with pytest.raises(InputRefused) as error:
        design(files)
    return error.value.diagnostics


JOINED = "joined: [[L1, T1], [L2, T2], [L3, T3], [L4, T4]]"


@pytest.mark.parametrize(
    ("file", "old", "new", "message", "help"),
    [
        ("equipment.yaml", JOINED, "joined: [[L1, T1, T2], [L3, T3]]", "not two terminals", "[L1, T1]"),
        ("equipment.yaml", JOINED, "joined: [[L1, T1], [L1, T2]]", "joined twice", "data sheets draw each pole"),
        ("equipment.yaml", JOINED, "joined: [[L1, L1], [L3, T3]]", "not two terminals", "[L1, T1]"),
        (
            "equipment.yaml",
            "load: [T1, T2, T3, T4]",
            "load: [T1, T2, T3, L4, T4]",
            "stands twice in its order",
            "as the installer sees them",
        ),
        (
            "landing.yaml",
            "SW-E1: {L1: PV-E1+, L2: INV-1/A+",
            "SW-E1: {L1: PV-E1+, L2: PV-E1+, T4: INV-1/A+",
            "`PV-E1+` is landed on `L1` and on `L2`",
            "a wire has one end",
        ),
        (
            "landing.yaml",
            "SW-E1: {L1: PV-E1+, L2: INV-1/A+",
            "SW-E1: {L1: PV-E1+, L1: INV-1/A+",
            "stands twice",
            "keep one",
        ),
        (
            "equipment.yaml",
            "voltage_coefficient: -0.26 %/degC",
            "voltage_coefficient: 0.26 %/degC",
            "rises with temperature",
            "data sheets show near -0.3 %/degC",
        ),
        (
            "equipment.yaml",
            "voltage_coefficient: -0.26 %/degC",
            "voltage_coefficient: -0.26",
            "has no unit",
            "%/degC",
        ),
        (
            "equipment.yaml",
            "voltage_coefficient: -0.26 %/degC",
            "voltage_coefficient: -0.26 A/degC",
            "is a current coefficient",
            "mV/degC",
        ),
        # A thousandth of it, volts written as millivolts: the coldest night would do nothing.
        (
            "equipment.yaml",
            "voltage_coefficient: -0.26 %/degC",
            "voltage_coefficient: -0.115 mV/degC",
            "less than any cell has",
            "data sheets show near -0.3 %/degC, or -132 mV/degC",
        ),
        (
            "equipment.yaml",
            "voltage_coefficient: -0.26 %/degC",
            "voltage_coefficient: -115 V/degC",
            "more than any cell has",
            "-132 mV/degC",
        ),
        (
            "equipment.yaml",
            "voltage_coefficient: -0.26 %/degC",
            "voltage_coefficient: -0.026 %/degC",
            "less than any cell has",
            "check the unit and the point",
        ),
        ("equipment.yaml", "operating_voltage: 36.9 V", "operating_voltage: 44.1 V", "is not below", "80 % of Voc"),
        ("arrays.yaml", "array: EAST, count: 12", "array: EAST, count: 0", "is less than one", "how many there are"),
    ],
)  # fmt: skip
def test_impossible_input_is_refused_at_its_line(sample, edit, design, file, old, new, message, help) -> None:
    files = edit(sample, file, old, new, 1)
    items = refused(design, files)
    found = next(item for item in items if message in item.message)
    assert help in (found.help or "")
    assert found.span is not None
    assert found.span.file == file
    line = files[file].decode()[: files[file].decode().index(new)].count("\n") + 1
    assert found.span.line == line


@pytest.mark.parametrize(
    "coefficient", ["-0.26 %/degC", "-115 mV/degC", "-0.115 V/degC", "-0.171 %/degC", "-0.853 %/degC"]
)
def test_coefficients_that_cells_have_are_taken(sample, edit, design, coefficient) -> None:
    files = edit(
        sample, "equipment.yaml", "voltage_coefficient: -0.26 %/degC", f"voltage_coefficient: {coefficient}"
    )
    assert design(files).facts.strings


@pytest.mark.parametrize(("leg", "end"), [("L1: PV-E1+, ", "positive"), (", L3: PV-E1-", "negative")])
def test_string_without_one_end_is_refused_at_the_line_of_the_other(sample, edit, design, leg, end) -> None:
    files = edit(sample, "landing.yaml", leg, "")
    (found,) = refused(design, files)
    there, gone = ("-", "+") if end == "positive" else ("+", "-")
    assert f"string `E1` has no {end} end: `PV-E1{there}` is landed on `SW-E1/L" in found.message
    assert f"`PV-E1{gone}` nowhere" in found.message
    lines = files["landing.yaml"].decode().splitlines()
    assert found.span is not None
    assert f"PV-E1{there}" in lines[found.span.line - 1][found.span.column - 1 :][:10]
