"""Points on current-voltage curves against pvlib and its published test figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from pvlib import pvsystem, singlediode

from reportgen.engineering.energy import diode
from reportgen.engineering.energy.diode import Curves
from reportgen.engineering.energy.module import fit_sheet


def one(light=7.0, saturation=6e-7, series=0.1, shunt=20.0, thermal=0.5) -> Curves:
    return Curves(
        np.array([light]), np.array([saturation]), series, np.array([1.0 / shunt]), np.array([thermal])
    )


@pytest.mark.source(
    "pvlib-python, tests/test_pvsystem.py at commit 6382338a7", locator="test_singlediode_floats"
)
def test_published_points_of_a_single_diode():
    curves = one()
    current, voltage = diode.terminal(curves, 0.0, diode.maximum_power(curves, 0.0))
    assert current[0] == pytest.approx(6.13626736, abs=1e-6)
    assert voltage[0] == pytest.approx(6.224339375, abs=1e-6)
    assert current[0] * voltage[0] == pytest.approx(38.19421055, abs=1e-6)
    assert diode.open_circuit(curves)[0] == pytest.approx(8.106300147, abs=1e-6)
    short = diode.at_voltage(curves, 0.0, np.zeros(1))
    assert curves.current(short)[0] == pytest.approx(6.965172322, abs=1e-6)
    half = diode.at_voltage(curves, 0.0, np.array([8.106300147 / 2]))
    assert curves.current(half)[0] == pytest.approx(6.7558815684, abs=1e-6)


@pytest.fixture
def year_of_curves(sheet, rng):
    model = fit_sheet(sheet)
    light = np.concatenate([[1e-3, 1e-2, 1.0], rng.uniform(0, 1200, 2000)])
    cell = rng.uniform(-30, 80, len(light))
    five = pvsystem.calcparams_cec(
        light,
        cell,
        model.alpha,
        model.thermal,
        model.photocurrent,
        model.saturation,
        model.shunt,
        model.series,
        0.0,
    )
    return five, Curves(five[0], five[1], model.series, 1.0 / five[3], five[4])


@pytest.mark.parametrize("outside", [0.0, 0.05, 0.5])
def test_maximum_power_agrees_with_pvlib_through_any_wire(year_of_curves, outside):
    (light, saturation, series, shunt, thermal), curves = year_of_curves
    theirs = singlediode.bishop88_mpp(light, saturation, series + outside, shunt, thermal, method="newton")
    current, voltage = diode.terminal(curves, outside, diode.maximum_power(curves, outside))
    np.testing.assert_allclose(voltage, theirs[1], rtol=1e-9)
    np.testing.assert_allclose(current, theirs[0], rtol=1e-7)


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9, 1.0])
def test_current_at_a_voltage_agrees_with_pvlib(year_of_curves, share):
    five, curves = year_of_curves
    voltage = share * diode.open_circuit(curves)
    theirs = singlediode.bishop88_i_from_v(voltage, *five, method="newton")
    ours = curves.current(diode.at_voltage(curves, 0.0, voltage))
    np.testing.assert_allclose(ours, theirs, atol=1e-9)


def test_above_open_circuit_no_current_comes_out(year_of_curves):
    _, curves = year_of_curves
    beyond = diode.at_voltage(curves, 0.1, diode.open_circuit(curves) + 5.0)
    assert (curves.current(beyond) < 0.0).all()


@settings(max_examples=60, deadline=None)
@given(
    light=st.floats(1e-5, 15.0),
    saturation=st.floats(1e-14, 1e-6),
    series=st.floats(0.0, 1.0),
    shunt=st.floats(20.0, 1e5),
    thermal=st.floats(0.5, 4.0),
    outside=st.floats(0.0, 1.0),
)
@example(light=10.0, saturation=6.632146882722859e-07, series=1.0, shunt=39684.0, thermal=0.5, outside=1.0)
def test_no_point_nearby_gives_more_power(light, saturation, series, shunt, thermal, outside):
    curves = one(light, saturation, series, shunt, thermal)
    best = diode.maximum_power(curves, outside)
    current, voltage = diode.terminal(curves, outside, best)
    for factor in (0.98, 0.999, 1.001, 1.02):
        other, at = diode.terminal(curves, outside, best * factor)
        assert other[0] * at[0] <= current[0] * voltage[0] * (1 + 1e-9) + 1e-15


def test_given_current_is_met(year_of_curves):
    _, curves = year_of_curves
    wanted = 0.4 * curves.light
    np.testing.assert_allclose(curves.current(diode.at_current(curves, wanted)), wanted, atol=1e-9)
