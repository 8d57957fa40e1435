"""Strings with dimmed modules against the bare curves, and laws that any of them keeps."""

from __future__ import annotations

import numpy as np
import pytest
from pvlib import pvsystem

from reportgen.engineering.energy.inputs import Orientation, Site
from reportgen.engineering.energy.module import fit_sheet
from reportgen.engineering.energy.row_loss import BYPASS_V, best_power, compare_orders, orders, split
from reportgen.engineering.energy.strings import source_of


def source(sheet, light: float, cell: float = 25.0):
    one = np.array([cell])
    return source_of(fit_sheet(sheet), np.array([light]), one, one, np.zeros(1, dtype=np.intp), 1.0)


def curve(sheet, light: float, amperes):
    """Voltage of the same module by pvlib's own solution."""
    model = fit_sheet(sheet)
    five = pvsystem.calcparams_cec(
        light,
        25.0,
        model.alpha,
        model.thermal,
        model.photocurrent,
        model.saturation,
        model.shunt,
        model.series,
        0.0,
    )
    top = five[0]
    return np.where(amperes < top, pvsystem.v_from_i(np.minimum(amperes, 0.999999 * top), *five), -BYPASS_V)


@pytest.mark.parametrize(("lit", "dark"), [(8, 2), (2, 8), (5, 5), (11, 1), (1, 11)])
@pytest.mark.parametrize("light", [50.0, 300.0, 700.0, 990.0])
def test_power_is_the_top_of_the_curve_of_the_string(sheet, lit, dark, light) -> None:
    found = best_power(source(sheet, 1000.0), source(sheet, light), (lit, dark))[0]
    amperes = np.linspace(0.001, 1.05 * sheet.isc, 20001)
    full, dim = curve(sheet, 1000.0, amperes), curve(sheet, light, amperes)
    volts = lit * full + dark * np.maximum(dim, -BYPASS_V)
    # Beyond the current of the bright modules nothing is got from the string.
    wanted = np.max(np.where(full > -BYPASS_V, volts, 0.0) * amperes)
    assert found == pytest.approx(wanted, rel=2e-3)


def test_dimming_never_helps_and_nothing_dimmed_is_the_bare_string(sheet) -> None:
    full = source(sheet, 1000.0)
    bare = 10 * float(full.free_w[0])
    assert best_power(full, source(sheet, 200.0), (10, 0))[0] == pytest.approx(bare)
    assert best_power(full, full, (6, 4))[0] == pytest.approx(bare, rel=1e-3)
    powers = [best_power(full, source(sheet, light), (6, 4))[0] for light in (5.0, 200.0, 500.0, 900.0)]
    assert powers == sorted(powers)
    assert powers[-1] < bare


def test_row_by_row_only_the_lower_string_suffers() -> None:
    by_row, by_column = orders(2, 12, 1)
    assert split(by_row, [12, 12]) == ((12, 0), (0, 12))
    assert split(by_column, [12, 12]) == ((6, 6), (6, 6))
    # The spare at the end of the order belongs to no string.
    assert split(by_row, [11, 11]) == ((11, 0), (1, 10))


def test_year_of_both_orders(greensboro, sheet) -> None:
    plane = Orientation("T", 30.0, 180.0, "open rack")
    by_row, by_column = (split(order, [12, 12]) for order in orders(2, 12, 1))
    lost = [0.5, 0.4, 0.2, *[0.0] * 7, 0.1, 0.4]
    told = (greensboro, Site(greensboro.latitude, greensboro.longitude), plane, sheet)
    row, column = compare_orders(*told, lost, [by_row, by_column])
    (none,) = compare_orders(*told, [0.0] * 12, [((12, 0), (12, 0))])
    # Uniform strings lose what their own modules lose; mixed ones lose that and what does not fit together.
    assert column.kwh < row.kwh < none.kwh
    (dark,) = compare_orders(*told, lost, [((0, 12), (0, 12))])
    assert row.kwh == pytest.approx((none.kwh + dark.kwh) / 2, rel=1e-9)
    (same,) = compare_orders(*told, [0.0] * 12, [by_column])
    assert same.kwh == pytest.approx(none.kwh, rel=1e-3)
