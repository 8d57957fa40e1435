"""Strings that share an input: one voltage for all, window and limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from pvlib import pvsystem, singlediode

from reportgen.engineering.energy.inputs import InputSpec, Options, Site
from reportgen.engineering.energy.module import fit_sheet
from reportgen.engineering.energy.parallel import Bus, best, hold, throttle
from reportgen.engineering.energy.solve import Simulation, SourceKey
from reportgen.engineering.energy.strings import Branch
from reportgen.engineering.energy.wire import Line

NONE = (0.0,) * 12
NO_WIRE = Line(0.0, 0.0)


@pytest.fixture(scope="module")
def simulation(greensboro, sheet):
    return Simulation(greensboro, Site(36.1, -79.95), {"M": fit_sheet(sheet)}, Options(), None)


def branch(simulation, count, azimuth=180.0, tilt=20.0, line=NO_WIRE, strings=1):
    source = simulation.lit(SourceKey("M", tilt, azimuth, "open rack", NONE, NONE)).source
    return Branch(source, count, line, strings)


def power(bus, operation):
    return bus.total(operation.currents) * operation.terminal


def lost(simulation, *branches):
    bus = Bus(branches, NO_WIRE)
    operation, alone = best(bus)
    return 1.0 - power(bus, operation).sum() / alone.sum()


def test_two_equal_strings_are_one_string_twice(simulation):
    one, two = branch(simulation, 10), branch(simulation, 10)
    assert lost(simulation, one, two) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("azimuths", "most"), [((150.0, 210.0), 0.002), ((180.0, 145.0), 0.001)])
def test_equal_counts_facing_apart_lose_next_to_nothing(simulation, azimuths, most):
    share = lost(simulation, *(branch(simulation, 10, azimuth) for azimuth in azimuths))
    assert 0.0 <= share < most


@pytest.mark.parametrize(
    ("counts", "low", "high"), [((8, 6), 0.10, 0.125), ((11, 9), 0.05, 0.08), ((11, 10), 0.01, 0.03)]
)
def test_unequal_counts_lose_much(simulation, counts, low, high):
    assert low < lost(simulation, *(branch(simulation, count) for count in counts)) < high


@pytest.mark.parametrize("counts", [(8, 6), (11, 10), (12, 4), (10, 10)])
@pytest.mark.parametrize("feeder", [0.0, 0.5])
def test_no_voltage_of_a_fine_grid_gives_more(simulation, counts, feeder):
    branches = tuple(
        branch(simulation, count, azimuth, line=Line(0.3 * (k + 1), 0.001))
        for k, (count, azimuth) in enumerate(zip(counts, (150.0, 210.0), strict=True))
    )
    bus = Bus(branches, Line(feeder, 0.0))
    operation, _ = best(bus)
    rows = np.arange(0, len(operation.node), 97)
    top = bus.open_voltage[rows]
    grid = [bus.operation(share * top, rows) for share in np.linspace(0.3, 1.0, 141)]
    brute = np.max([bus.total(item.currents) * item.terminal for item in grid], axis=0)
    ours = power(bus, operation)[rows]
    assert (ours >= brute * (1 - 1e-6)).all()


def test_pvlib_finds_the_same_voltage_for_both_strings(simulation):
    """At the common voltage pvlib's curve of each string gives the current we say."""
    bus = Bus((branch(simulation, 11), branch(simulation, 10, 225.0)), NO_WIRE)
    operation, _ = best(bus)
    for part, current in zip(bus.branches, operation.currents, strict=True):
        curves = part.source.curves
        theirs = singlediode.bishop88_i_from_v(
            operation.node / part.count, curves.light, curves.saturation, curves.series, 1.0 / curves.leak, curves.thermal,
            method="newton",
        )  # fmt: skip
        np.testing.assert_allclose(current, np.maximum(theirs, 0.0), atol=1e-7)


def test_a_feeder_shared_by_equal_strings_acts_like_a_wire_in_each(simulation):
    shared = Bus((branch(simulation, 10, strings=3),), Line(0.2, 0.001))
    each = Bus((branch(simulation, 10, strings=3, line=Line(0.6, 0.003)),), NO_WIRE)
    np.testing.assert_allclose(power(shared, best(shared)[0]), power(each, best(each)[0]), rtol=1e-9)


def test_window_holds_its_edges(simulation):
    bus = Bus((branch(simulation, 10),), NO_WIRE)
    free, _ = best(bus)
    held = hold(bus, InputSpec("a", "i", v_min=380.0, v_max=400.0))
    on = ~held.off
    assert (held.final.terminal[on] >= 380.0 - 1e-9).all()
    assert (held.final.terminal[on] <= 400.0 + 1e-9).all()
    np.testing.assert_array_equal(
        held.outside_window[on], ((free.terminal < 380.0) | (free.terminal > 400.0))[on]
    )
    assert power(bus, held.final).sum() < power(bus, free).sum()


def test_below_the_start_voltage_nothing_runs(simulation):
    bus = Bus((branch(simulation, 5),), NO_WIRE)
    held = hold(bus, InputSpec("a", "i", v_start=230.0))
    assert 0 < held.off.sum() < len(held.off)
    np.testing.assert_array_equal(held.off, bus.open_voltage < 230.0)
    assert (bus.total(held.final.currents)[held.off] == 0.0).all()


@pytest.mark.parametrize("feeder", [NO_WIRE, Line(0.4, 0.0)])
def test_limits_are_met_at_a_higher_voltage(simulation, feeder):
    bus = Bus((branch(simulation, 10), branch(simulation, 10, 225.0)), feeder)
    by_current = hold(bus, InputSpec("a", "i", current_limit=12.0))
    current = bus.total(by_current.final.currents)
    assert current.max() == pytest.approx(12.0, abs=1e-6)
    assert (by_current.final.node >= by_current.free.node - 1e-9).all()
    assert by_current.limited.any()
    by_power = hold(bus, InputSpec("a", "i", power_limit=4000.0))
    assert power(bus, by_power.final).max() == pytest.approx(4000.0, rel=1e-6)
    np.testing.assert_array_equal(by_power.limited, power(bus, by_power.free) > 4000.0)


def test_throttling_reaches_its_target(simulation):
    bus = Bus((branch(simulation, 8),), NO_WIRE)
    free, _ = best(bus)
    watts = power(bus, free)
    over = watts > 1000.0
    after = throttle(bus, free, free, over, np.full(len(watts), 1000.0))
    np.testing.assert_allclose(power(bus, after)[over], 1000.0, rtol=1e-9)
    np.testing.assert_array_equal(power(bus, after)[~over], watts[~over])


def test_a_window_edge_behind_a_feeder_is_seen_at_the_input(simulation):
    bus = Bus((branch(simulation, 10), branch(simulation, 9)), Line(1.0, 0.0))
    held = hold(bus, InputSpec("a", "i", v_min=395.0))
    low = held.outside_window & ~held.off
    assert low.any()
    np.testing.assert_allclose(held.final.terminal[low], 395.0, atol=1e-6)


def test_a_limit_that_is_not_reached_changes_nothing(simulation):
    bus = Bus((branch(simulation, 10),), NO_WIRE)
    spec = InputSpec("a", "i")
    wide = hold(bus, replace(spec, v_min=1.0, v_max=2000.0, v_start=1.0, current_limit=99.0, power_limit=1e6))
    np.testing.assert_array_equal(wide.final.node[~wide.off], hold(bus, spec).final.node[~wide.off])


def test_pvsystem_agrees_on_a_string_of_modules(simulation, sheet):
    """Ten modules in series through pvlib's own scaling."""
    bus = Bus((branch(simulation, 10),), NO_WIRE)
    curves = bus.branches[0].source.curves
    current, voltage, _ = singlediode.bishop88_mpp(
        curves.light, curves.saturation, curves.series, 1.0 / curves.leak, curves.thermal, method="newton"
    )
    import pandas as pd

    frame = pd.DataFrame(
        {
            "i_mp": current,
            "v_mp": voltage,
            "p_mp": current * voltage,
            "i_sc": 0,
            "v_oc": 0,
            "i_x": 0,
            "i_xx": 0,
        }
    )
    theirs = pvsystem.scale_voltage_current_power(frame, voltage=10, current=1)
    operation, _ = best(bus)
    np.testing.assert_allclose(power(bus, operation), theirs["p_mp"], rtol=1e-9)
