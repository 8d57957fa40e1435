"""Unlike strings on one input at one moment: their joined current-voltage curve, and what one tracker gets from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reportgen.engineering.energy.module import SheetModule, fit_sheet
from reportgen.engineering.energy.parallel import Bus, best
from reportgen.engineering.energy.strings import Branch, Source, source_of
from reportgen.engineering.energy.wire import Line

_POINTS = 121
_NO_WIRE = Line(0.0, 0.0)


@dataclass(frozen=True, slots=True)
class SharedString:
    """Modules in series of one data sheet under one light [W/m²] at one cell temperature [°C]."""

    sheet: SheetModule
    count: int
    light: float = 1000.0
    cell: float = 25.0


@dataclass(frozen=True, slots=True)
class SharedInput:
    """What one tracker gets from strings in parallel.

    Parameters
    ----------
    voltage : float
        At which the strings together give most. [V]
    together : float
        Power there. [W]
    apart : tuple of float
        Power of each string at its own best voltage. [W]
    volts, amperes : tuple of float, (n,)
        The joined curve; no string takes current backwards. [V], [A]
    each : tuple of tuple of float
        Current of each string on it. [A]
    """

    voltage: float
    together: float
    apart: tuple[float, ...]
    volts: tuple[float, ...]
    amperes: tuple[float, ...]
    each: tuple[tuple[float, ...], ...]

    @property
    def loss(self) -> float:
        """Share of power lost against an input for each string [-]."""
        return 1.0 - self.together / sum(self.apart)


def share_input(strings: Sequence[SharedString]) -> SharedInput:
    """Joined curve and best point of strings in parallel on one input, wires left out.

    Parameters
    ----------
    strings : sequence of SharedString
        At least one.

    Raises
    ------
    SheetProblem
        If no curve runs through the figures of a data sheet.

    Examples
    --------
    >>> sheet = SheetModule(400.0, 37.1, 13.79, 31.0, 12.9, 0.0069, -0.1, 54)
    >>> one = share_input([SharedString(sheet, 10), SharedString(sheet, 10)])
    >>> round(abs(one.loss), 6)
    0.0
    """
    sources = [_source(string) for string in strings]
    branches = tuple(
        Branch(source, string.count, _NO_WIRE) for source, string in zip(sources, strings, strict=True)
    )
    bus = Bus(branches, _NO_WIRE)
    operation, _ = best(bus)
    together = float((bus.total(operation.currents) * operation.terminal)[0])
    apart = tuple(
        string.count * float(source.free_w[0]) for source, string in zip(sources, strings, strict=True)
    )
    volts = np.linspace(0.0, float(bus.open_voltage[0]), _POINTS)
    drawn = Bus(
        tuple(Branch(_source(string, _POINTS), string.count, _NO_WIRE) for string in strings),
        _NO_WIRE,
    )
    each = drawn.currents(volts, np.arange(_POINTS))
    return SharedInput(
        float(operation.terminal[0]),
        together,
        apart,
        tuple(map(float, volts)),
        tuple(map(float, drawn.total(each))),
        tuple(tuple(map(float, current)) for current in each),
    )


def _source(string: SharedString, n: int = 1) -> Source:
    cell = np.full(n, string.cell)
    return source_of(
        fit_sheet(string.sheet), np.full(n, string.light), cell, cell, np.zeros(n, dtype=np.intp), 1.0
    )
