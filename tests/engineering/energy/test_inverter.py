"""From direct to alternating current."""

from __future__ import annotations

import numpy as np
import pytest

from reportgen.engineering.energy.inputs import InverterSpec
from reportgen.engineering.energy.inverter import converter_of, night_power_w

# a grid-connected inverter of 250 W, as in the published test
ROW = (
    ("Paco", 250.0), ("Pdco", 259.5220505), ("Vdco", 40.24260317), ("Pso", 1.771614224), ("Pnt", 0.02),
    ("C0", -2.48104842861e-05), ("C1", -9.0149429405099999e-05), ("C2", 0.00066889632690700005), ("C3", -0.018880466688599998),
)  # fmt: skip


@pytest.mark.source(
    "pvlib-python, tests/test_inverter.py at commit 6382338a7",
    locator="test_sandia: 132.004278 W, 250 W, −0.02 W",
)
def test_published_output():
    spec = InverterSpec("i", coefficients=ROW)
    volts, watts = np.array([25.0, 50.0, 25.0]), np.array([137.5, 550.0, 0.0])
    output = converter_of(spec).output([volts], [watts])
    assert output == pytest.approx([132.004278, 250.0, 0.0], abs=2e-3)
    assert night_power_w(spec) == 0.02


def test_input_at_its_ceiling_gives_the_rating():
    converter = converter_of(InverterSpec("i", coefficients=ROW))
    volts = np.array([38.0])
    ceiling = converter.ceiling([volts], [np.array([300.0])])
    assert converter.output([volts], [ceiling])[0] == pytest.approx(250.0)
    assert converter.output([volts], [0.99 * ceiling])[0] < 249.0


def test_one_figure_and_its_rating():
    converter = converter_of(InverterSpec("i", 1000.0, 0.95))
    watts = [np.array([0.0, 500.0, 2000.0]), np.array([0.0, 300.0, 0.0])]
    assert converter.output(watts, watts) == pytest.approx([0.0, 760.0, 1000.0])
    assert converter.ceiling(watts, watts) == pytest.approx([1000 / 0.95] * 3)


def test_a_curve_is_read_between_its_points():
    converter = converter_of(InverterSpec("i", 1000.0, ((0.0, 0.0), (0.1, 0.90), (0.5, 0.98), (1.0, 0.96))))
    watts = [np.array([50.0, 300.0, 750.0])]
    # 5 % load: 0.45; 30 %: 0.94; 75 %: 0.97
    assert converter.output(watts, watts) == pytest.approx([22.5, 282.0, 727.5])
    ceiling = converter.ceiling(watts, watts)
    assert converter.output(watts, [ceiling])[0] == pytest.approx(1000.0)
    assert ceiling[0] == pytest.approx(1000 / 0.96, rel=1e-9)


def test_without_a_rating_nothing_is_clipped():
    converter = converter_of(InverterSpec("i"))
    assert converter.ceiling([], [np.ones(1)]) is None
    assert converter.output([], [np.array([1e6])])[0] == pytest.approx(0.96e6)


@pytest.mark.parametrize(
    ("spec", "reason"),
    [
        (InverterSpec("i", None, ((0.1, 0.9), (1.0, 0.95))), "needs its rated power"),
        (InverterSpec("i", 1000.0, ((0.5, 0.9), (0.5, 0.95))), "do not rise"),
        (InverterSpec("i", 1000.0, 96.0), "outside 0 to 1"),
        (InverterSpec("i", 1000.0, 0.0), "outside 0 to 1"),
    ],
)
def test_impossible_efficiencies_are_refused(spec, reason):
    with pytest.raises(ValueError, match=reason):
        converter_of(spec)
