"""Strings in parallel on one input: one voltage for all, chosen for the most power, held inside the input's limits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reportgen.engineering.energy import diode
from reportgen.engineering.energy.inputs import InputSpec
from reportgen.engineering.energy.strings import Branch
from reportgen.engineering.energy.weather import Array
from reportgen.engineering.energy.wire import Line

Rows = NDArray[np.intp]
GOLDEN = 0.5 * (5.0**0.5 - 1.0)


@dataclass(frozen=True, slots=True)
class Operation:
    """Where an input works in each hour with light, all (n,).

    Parameters
    ----------
    node : ndarray
        Voltage where the strings join. [V]
    currents : tuple of ndarray
        Current of one string of each branch. [A]
    terminal : ndarray
        Voltage at the input. [V]
    """

    node: Array
    currents: tuple[Array, ...]
    terminal: Array


@dataclass(frozen=True, slots=True)
class Bus:
    """Branches in parallel and the feeder they share.

    Parameters
    ----------
    branches : tuple of Branch
        At least one; all over the same hours.
    feeder : Line
        Resistance between the joint and the input. [Ω]
    """

    branches: tuple[Branch, ...]
    feeder: Line

    @property
    def open_voltage(self) -> Array:
        """Open-circuit voltage at the input: that of the highest string, the others blocked [V]."""
        top: Array = np.max([branch.count * branch.source.voc for branch in self.branches], axis=0)
        return top

    def feeder_ohm(self, rows: Rows | slice = slice(None)) -> Array:
        """Resistance of the shared feeder [Ω]."""
        return self.feeder.at(self.branches[0].source.air[rows])

    def diode_voltages(self, node: Array, rows: Rows, starts: list[Array] | None = None) -> list[Array]:
        """Diode voltage of a module of each branch at a voltage of the joint, on some rows [V]."""
        found = []
        for k, branch in enumerate(self.branches):
            curves = branch.source.curves.take(rows)
            outside = branch.line.at(branch.source.air[rows]) / branch.count
            start = branch.source.peak[rows] if starts is None else starts[k]
            found.append(diode.at_voltage(curves, outside, node / branch.count, start))
        return found

    def currents(self, node: Array, rows: Rows, starts: list[Array] | None = None) -> list[Array]:
        """Current of one string of each branch at a voltage of the joint [A]; none flows backwards."""
        voltages = self.diode_voltages(node, rows, starts)
        return [
            np.maximum(branch.source.curves.take(rows).current(voltage), 0.0)
            for branch, voltage in zip(self.branches, voltages, strict=True)
        ]

    def bend(
        self, node: Array, rows: Rows, starts: list[Array] | None = None
    ) -> tuple[Array, Array, Array, list[Array]]:
        """Current of all strings [A], its first and second derivative by the joint's voltage, and diode voltages."""
        starts = self.diode_voltages(node, rows, starts)
        current, first, second = np.zeros_like(node), np.zeros_like(node), np.zeros_like(node)
        for branch, at in zip(self.branches, starts, strict=True):
            curves = branch.source.curves.take(rows)
            resistance = curves.series + branch.line.at(branch.source.air[rows]) / branch.count
            e = curves.saturation * np.exp(at / curves.thermal)
            own = curves.light + curves.saturation - e - at * curves.leak
            on = np.where(own > 0.0, float(branch.strings), 0.0)
            slope = -(e / curves.thermal + curves.leak)
            stretch = 1.0 - slope * resistance
            current += on * own
            first += on * slope / stretch / branch.count
            second -= on * e / curves.thermal**2 / stretch**3 / branch.count**2
        return current, first, second, starts

    def total(self, currents: list[Array] | tuple[Array, ...]) -> Array:
        """Current of all strings together [A]."""
        whole = np.zeros_like(currents[0])
        for branch, current in zip(self.branches, currents, strict=True):
            whole = whole + branch.strings * current
        return whole

    def operation(self, node: Array, rows: Rows) -> Operation:
        """Currents and input voltage that go with a voltage of the joint."""
        currents = self.currents(node, rows)
        return Operation(node, tuple(currents), node - self.feeder_ohm(rows) * self.total(currents))


def best(bus: Bus) -> tuple[Operation, Array]:
    """The voltage at which an input gets most from its strings, hour by hour.

    Parameters
    ----------
    bus : Bus
        The strings.

    Returns
    -------
    Operation
        Where it works.
    ndarray (n,)
        Power at the joint if each string had a tracker of its own. [W]

    Notes
    -----
    The power of strings in parallel is a concave function of their voltage as long as all give current; there the best
    voltage is found by Newton's method, between the lowest and the highest of the strings' own best voltages. Where a
    string would be pushed beyond its open circuit, the range is searched in steps and then by golden section.
    """
    branches = bus.branches
    if len(branches) == 1:
        branch = branches[0]
        outside = branch.outside(bus.feeder)
        at = diode.maximum_power(branch.source.curves, outside, branch.source.peak)
        current, voltage = diode.terminal(branch.source.curves, outside, at)
        terminal = branch.count * voltage
        node = terminal + bus.feeder_ohm() * branch.strings * current
        return Operation(node, (current,), terminal), branch.strings * current * node
    own, weight, inner = [], [], []
    alone = np.zeros_like(branches[0].source.free_w)
    for branch in branches:
        at = diode.maximum_power(branch.source.curves, branch.outside(), branch.source.peak)
        current, voltage = diode.terminal(branch.source.curves, branch.outside(), at)
        inner.append(at)
        own.append(branch.count * voltage)
        weight.append(branch.strings * current)
        alone += branch.strings * branch.count * current * voltage
    lo, hi = np.min(own, axis=0), np.max(own, axis=0)
    rows = np.arange(len(lo))
    if bus.feeder.at_zero or bus.feeder.slope:
        hi = np.minimum(hi + 2.0 * bus.feeder_ohm() * bus.total(bus.currents(lo, rows)), bus.open_voltage)
    shut = np.min([branch.count * branch.source.voc for branch in branches], axis=0)
    smooth = hi < shut
    node = np.average(own, axis=0, weights=np.array(weight) + 1e-12)
    some = np.flatnonzero(smooth)
    if len(some):
        starts = [at[some] for at in inner]
        node[some] = _newton(bus, some, node[some], lo[some], hi[some], starts)
    rest = np.flatnonzero(~smooth)
    if len(rest):
        node[rest] = _golden(bus, rest, lo[rest], hi[rest])
    return bus.operation(node, rows), alone


def _newton(bus: Bus, rows: Rows, node: Array, lo: Array, hi: Array, starts: list[Array]) -> Array:
    """Voltage of the joint where the derivative of the power is zero [V]; the power is concave between lo and hi."""
    feeder = bus.feeder_ohm(rows)
    for _ in range(30):
        current, first, second, starts = bus.bend(node, rows, starts)
        rise = current + (node - 2.0 * feeder * current) * first
        bend = 2.0 * first + node * second - 2.0 * feeder * (first * first + current * second)
        moved = np.clip(node - rise / bend, lo, hi)
        # the peak is flat: a ten-millionth of the voltage is no measurable power
        settled = np.abs(moved - node) <= 1e-7 * hi
        node = moved
        if settled.all():
            return node
    raise diode.NoConvergence(int((~settled).sum()))


def _golden(bus: Bus, rows: Rows, lo: Array, hi: Array) -> Array:
    """Voltage of the joint with most power, where strings may fall silent on the way from lo to hi [V]."""
    feeder = bus.feeder_ohm(rows)

    def power(node: Array) -> Array:
        whole = bus.total(bus.currents(node, rows))
        return np.asarray(node * whole - feeder * whole * whole, dtype=np.float64)

    shares = np.linspace(0.0, 1.0, 9)
    table = np.array([power(lo + share * (hi - lo)) for share in shares])
    top = table.argmax(axis=0)
    step = (hi - lo) / 8.0
    a = lo + np.maximum(top - 1, 0) * step
    b = lo + np.minimum(top + 1, 8) * step
    c, d = b - GOLDEN * (b - a), a + GOLDEN * (b - a)
    at_c, at_d = power(c), power(d)
    for _ in range(22):
        left = at_c > at_d
        a, b = np.where(left, a, c), np.where(left, d, b)
        new = np.where(left, b - GOLDEN * (b - a), a + GOLDEN * (b - a))
        at_new = power(new)
        c, d, at_c, at_d = (
            np.where(left, new, d),
            np.where(left, c, new),
            np.where(left, at_new, at_d),
            np.where(left, at_c, at_new),
        )
    middle: Array = 0.5 * (a + b)
    return middle


@dataclass(frozen=True, slots=True)
class Held:
    """An input's operation inside its limits.

    Parameters
    ----------
    free : Operation
        Where it would work without window and limits.
    alone_w : ndarray (n,)
        Power at the joint if each string had a tracker of its own. [W]
    windowed : Operation
        Inside tracking window and above the start voltage, before current and power limits.
    final : Operation
        After all limits.
    outside_window, off, limited : ndarray of bool, (n,)
        Hours in which the window, the start voltage, or a limit has its say.
    """

    free: Operation
    alone_w: Array
    windowed: Operation
    final: Operation
    outside_window: NDArray[np.bool_]
    off: NDArray[np.bool_]
    limited: NDArray[np.bool_]


def hold(bus: Bus, limits: InputSpec) -> Held:
    """An input's operation inside its window and limits.

    Parameters
    ----------
    bus : Bus
        The strings.
    limits : InputSpec
        What is None does not limit. The input stays off while its open-circuit voltage is below the start voltage or
        the lower edge of the window; a current or power limit is kept by moving to a higher voltage.
    """
    free, alone = best(bus)
    count = len(free.node)
    open_voltage = bus.open_voltage
    off = np.zeros(count, dtype=np.bool_)
    if limits.v_start is not None:
        off |= open_voltage < limits.v_start
    low = np.zeros(count, dtype=np.bool_)
    high = np.zeros(count, dtype=np.bool_)
    if limits.v_min is not None:
        low = free.terminal < limits.v_min
        off |= open_voltage <= limits.v_min
    if limits.v_max is not None:
        high = free.terminal > limits.v_max
    windowed = free
    for edge, mask in ((limits.v_min, low & ~off), (limits.v_max, high & ~off)):
        if edge is not None and mask.any():
            windowed = _replace(
                bus, windowed, np.flatnonzero(mask), _node_for(bus, np.flatnonzero(mask), edge)
            )
    windowed = _silence(windowed, off)
    limited = np.zeros(count, dtype=np.bool_)
    final = windowed
    if limits.current_limit is not None:
        over = bus.total(final.currents) > limits.current_limit
        final = _reduce(bus, free, final, over, np.full(count, limits.current_limit), power=False)
        limited |= over
    if limits.power_limit is not None:
        over = bus.total(final.currents) * final.terminal > limits.power_limit
        final = throttle(bus, free, final, over, np.full(count, limits.power_limit))
        limited |= over
    return Held(free, alone, windowed, final, (low | high) & ~off, off, limited)


def throttle(
    bus: Bus, free: Operation, now: Operation, over: NDArray[np.bool_], target_w: Array
) -> Operation:
    """An input's operation with its power brought down to a target by raising the voltage.

    Parameters
    ----------
    bus : Bus
        The strings.
    free : Operation
        Where the power is greatest.
    now : Operation
        Before the change.
    over : ndarray of bool, (n,)
        Hours to change.
    target_w : ndarray (n,)
        Power wanted at the input there. [W]
    """
    return _reduce(bus, free, now, over, target_w, power=True)


def _reduce(
    bus: Bus, free: Operation, now: Operation, over: NDArray[np.bool_], target: Array, *, power: bool
) -> Operation:
    """Raise the voltage until power [W] or current [A] has come down to its target."""
    rows = np.flatnonzero(over)
    if not len(rows):
        return now
    lo, hi = np.maximum(now.node, free.node)[rows], bus.open_voltage[rows]
    feeder, wanted = bus.feeder_ohm(rows), target[rows]

    def excess(node: Array) -> tuple[Array, Array]:
        whole, slope, _, _ = bus.bend(node, rows)
        if not power:
            return whole - wanted, slope
        value = node * whole - feeder * whole * whole - wanted
        return value, whole + (node - 2.0 * feeder * whole) * slope

    return _replace(bus, now, rows, _falling_root(excess, lo, hi))


def _node_for(bus: Bus, rows: Rows, terminal: float) -> Array:
    """Voltage of the joint at which the input sees a given voltage [V]."""
    feeder = bus.feeder_ohm(rows)
    target = np.full(len(rows), terminal)
    if not feeder.any():
        return target

    def below(node: Array) -> tuple[Array, Array]:
        whole, slope, _, _ = bus.bend(node, rows)
        return target - node + feeder * whole, feeder * slope - 1.0

    return _falling_root(below, target, np.maximum(bus.open_voltage[rows], target))


def _falling_root(function: Callable[[Array], tuple[Array, Array]], lo: Array, hi: Array) -> Array:
    """Root of a falling function between lo and hi, row by row: Newton steps from above, halving where one leaves the range.

    Where the function is below zero at lo already, lo is the answer; where it is above zero at hi, hi is.
    """
    settled = function(lo)[0] <= 0.0
    root = np.where(settled, lo, hi)
    for _ in range(100):
        value, slope = function(root)
        lo = np.where(~settled & (value >= 0.0), root, lo)
        hi = np.where(~settled & (value < 0.0), root, hi)
        step = value / np.where(slope < 0.0, slope, -1.0)
        moved = np.where((root - step > lo) & (root - step < hi), root - step, 0.5 * (lo + hi))
        near = np.abs(step) <= 1e-10 * np.abs(root)
        root = np.where(settled, root, np.where(near, root - step, moved))
        settled |= near
        if settled.all():
            return root
    raise diode.NoConvergence(int((~settled).sum()))


def _replace(bus: Bus, now: Operation, rows: Rows, node: Array) -> Operation:
    """An operation with some rows moved to other voltages of the joint."""
    moved = bus.operation(node, rows)
    whole, terminal = now.node.copy(), now.terminal.copy()
    whole[rows], terminal[rows] = node, moved.terminal
    currents = []
    for old, new in zip(now.currents, moved.currents, strict=True):
        current = old.copy()
        current[rows] = new
        currents.append(current)
    return Operation(whole, tuple(currents), terminal)


def _silence(now: Operation, off: NDArray[np.bool_]) -> Operation:
    """An operation with no current in some rows."""
    if not off.any():
        return now
    return Operation(now.node, tuple(np.where(off, 0.0, current) for current in now.currents), now.terminal)
