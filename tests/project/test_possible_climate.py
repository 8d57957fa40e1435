"""Air temperatures that no station ever measured are refused: the usual slip is a scale for the other."""

from __future__ import annotations

import pytest

from reportgen.diagnostics.model import InputRefused
from reportgen.project.load import load_project


def folder(key: str, value: str) -> dict[str, bytes]:
    return {"a.yaml": f"project: {{title: Climate}}\nsite: {{{key}: {value}}}\n".encode()}


@pytest.mark.source(
    "World Meteorological Organization, World Weather and Climate Extremes Archive",
    locator="highest and lowest temperature of the world, 56.7 and -89.2 °C",
    read="memory",
)
@pytest.mark.parametrize(
    ("key", "value"),
    [("design_high", "56.7 degC"), ("record_low", "-89.2 degC"), ("design_high", "134 degF")],
)
def test_what_was_measured_is_read(key: str, value: str) -> None:
    assert load_project(folder(key, value))


@pytest.mark.parametrize(
    ("key", "value"),
    [("design_high", "98 degC"), ("record_low", "-150 degF"), ("mean_annual_minimum", "-128.7 degC")],
)
def test_what_was_never_measured_is_refused_at_its_line(key: str, value: str) -> None:
    with pytest.raises(InputRefused) as caught:
        load_project(folder(key, value))
    (told,) = [item for item in caught.value.diagnostics if item.code == "impossible-value"]
    assert (told.span.line, value in told.message) == (2, True)
    assert told.help == "look whether degF and degC are exchanged"
