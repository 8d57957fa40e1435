"""Wire loss: closed forms, published single values, and the hourly sum against the sums over the year."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.engineering.energy.inputs import Wire
from reportgen.engineering.energy.wire import hourly_loss_w, line_of, moments

MONTH = np.repeat(np.arange(12), 730)


def test_constant_current_gives_the_closed_form():
    """9 A through 0.3 Ω at the base temperature for 8760 h: 9² · 0.3 · 8.760 = 212.868 kWh."""
    year = moments(np.full(8760, 9.0), np.full(8760, 75.0), MONTH, 1.0)
    assert year.loss_kwh(line_of([Wire("w", 0.3, 0.00323)])).sum() == pytest.approx(212.868, abs=1e-9)


@pytest.mark.source(
    "pvlib-python, tests/test_pvsystem.py at commit 6382338a7", locator="test_dc_ohmic_losses"
)
def test_published_loss_of_a_resistance():
    assert hourly_loss_w(np.array([8.0]), np.array([75.0]), [Wire("w", 0.1425, 0.0)])[0] == pytest.approx(
        9.12
    )


@pytest.mark.source(
    "SDM Magazine, Test your formulas knowledge (2018)", locator="question 2: 4.5 V dropped at 10 A is 45 W"
)
def test_published_loss_of_a_drop():
    assert hourly_loss_w(np.array([10.0]), np.array([75.0]), [Wire("w", 4.5 / 10.0, 0.0)])[
        0
    ] == pytest.approx(45.0)


def test_resistance_follows_the_conductor():
    """1 Ω at 75 °C with 0.00323/K is 1 − 0.00323·(75 − 20 − 10) = 0.85465 Ω at 20 °C air and 10 K rise."""
    line = line_of([Wire("w", 1.0, 0.00323, rise_k=10.0)])
    assert line.at(np.array([20.0]))[0] == pytest.approx(0.85465)


WIRES = st.lists(
    st.builds(Wire, st.just("w"), st.floats(0.0, 5.0), st.floats(0.0, 0.004), st.floats(0.0, 30.0)),
    max_size=4,
)


@given(wires=WIRES, seed=st.integers(0, 1000))
def test_sums_over_the_year_equal_the_hours_one_by_one(wires, seed):
    rng = np.random.default_rng(seed)
    current, air = rng.uniform(0, 12, 8760), rng.uniform(-20, 40, 8760)
    hours = hourly_loss_w(current, air, wires).sum() / 1000.0
    months = moments(current, air, MONTH, 1.0).loss_kwh(line_of(wires))
    assert months.shape == (12,)
    assert months.sum() == pytest.approx(hours, rel=1e-9, abs=1e-9)


@given(wires=WIRES)
def test_no_wire_no_loss_and_twice_the_wire_twice_the_loss(wires):
    current, air = np.linspace(0, 10, 24), np.linspace(-10, 30, 24)
    assert hourly_loss_w(current, air, []).sum() == 0.0
    once, twice = hourly_loss_w(current, air, wires), hourly_loss_w(current, air, wires + wires)
    np.testing.assert_allclose(twice, 2 * once)


def test_a_resistance_below_zero_is_refused():
    with pytest.raises(ValueError, match="resistance of `w`"):
        Wire("w", -0.1, 0.003)
