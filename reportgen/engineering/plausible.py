"""Whether the values of a data sheet fit together: what no cell can do, and what few do.

A value typed into the wrong field is the mistake that no limit catches: the sums come out, of another module. What no
photovoltaic cell can do is *impossible*; what lies outside a band that holds nearly every module on the market is
*unusual*, which a real module may be. The bands are our own. They are held against the 21 535 modules and 3 264
inverters of the libraries that ship with pvlib (California Energy Commission, list of 2019-03-05) by a test that
states the share outside, and they are wider at the side to which modules have moved since.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from reportgen.working.quantity import Quantity, work


@dataclass(frozen=True, slots=True)
class Band:
    """Ordinary range of one figure of a module, ends included; ``unit`` as printed."""

    name: str
    low: float
    high: float
    unit: str
    meaning: str


@dataclass(frozen=True, slots=True)
class Oddity:
    """One figure that does not fit.

    Parameters
    ----------
    fields : tuple of str
        Keys of the data sheet it rests on, the one to look at first.
    what : str
        The fact with its numbers.
    impossible : bool
        No cell can do this; otherwise it is unusual.
    value : Quantity or None
        The figure with its working.
    """

    fields: tuple[str, ...]
    what: str
    impossible: bool
    value: Quantity | None = None


#: Bands by kind of cell, `crystalline silicon` and `thin film`.
BANDS: dict[str, dict[str, Band]] = {
    "crystalline silicon": {
        "fill": Band("fill factor", 0.65, 0.87, "", "P at Vmp and Imp against Voc × Isc"),
        "voltage": Band("Vmp against Voc", 0.72, 0.90, "", ""),
        "current": Band("Imp against Isc", 0.84, 0.99, "", ""),
        "cell": Band("Voc a cell in series", 0.50, 0.80, "V", ""),
        "beta": Band("temperature coefficient of Voc", -0.60, -0.18, "%/°C", ""),
        "alpha": Band("temperature coefficient of Isc", -0.06, 0.20, "%/°C", ""),
        "gamma": Band("temperature coefficient of power", -0.67, -0.20, "%/°C", ""),
        "nominal": Band("nominal operating cell temperature", 40.0, 55.0, "°C", ""),
        "efficiency": Band("efficiency over the whole module", 9.0, 26.0, "%", ""),
    },
    "thin film": {
        "fill": Band("fill factor", 0.51, 0.87, "", "P at Vmp and Imp against Voc × Isc"),
        "voltage": Band("Vmp against Voc", 0.63, 0.90, "", ""),
        "current": Band("Imp against Isc", 0.74, 0.99, "", ""),
        "cell": Band("Voc a cell in series", 0.20, 2.40, "V", ""),
        "beta": Band("temperature coefficient of Voc", -0.60, -0.14, "%/°C", ""),
        "alpha": Band("temperature coefficient of Isc", -0.06, 0.20, "%/°C", ""),
        "gamma": Band("temperature coefficient of power", -0.60, -0.15, "%/°C", ""),
        "nominal": Band("nominal operating cell temperature", 40.0, 63.0, "°C", ""),
        "efficiency": Band("efficiency over the whole module", 4.0, 24.0, "%", ""),
    },
}
#: Rounding of a data sheet and its tolerance of power; more is another module's number. [-]
_POWER_ROUNDING, _POWER_WRONG = 0.04, 0.12


@dataclass(frozen=True, slots=True)
class ModuleData:
    """Values of one module at standard test conditions, as far as they are known.

    Parameters
    ----------
    power, open_voltage, operating_voltage, short_current, operating_current : Quantity
        [W], [V], [V], [A], [A]
    beta, alpha, gamma : Quantity or None
        Coefficients of Voc in %/°C or V/°C, of Isc in %/°C or A/°C, of power in %/°C.
    nominal : Quantity or None
        Nominal operating cell temperature. [°C]
    cells : Quantity or None
        Cells in series. [-]
    length, width : Quantity or None
        [m]
    technology : str
        Key of `BANDS`.
    """

    power: Quantity
    open_voltage: Quantity
    operating_voltage: Quantity
    short_current: Quantity
    operating_current: Quantity
    beta: Quantity | None = None
    alpha: Quantity | None = None
    gamma: Quantity | None = None
    nominal: Quantity | None = None
    cells: Quantity | None = None
    length: Quantity | None = None
    width: Quantity | None = None
    technology: str = "crystalline silicon"


def module_oddities(data: ModuleData) -> tuple[Oddity, ...]:
    """What of a module's values cannot be, or seldom is; empty where all fits.

    Examples
    --------
    >>> def q(value, unit):
    ...     return Quantity(value, unit)
    >>> swapped = ModuleData(q(450, "W"), q(36.9, "V"), q(44.1, "V"), q(12.95, "A"), q(12.2, "A"))
    >>> [item.what for item in module_oddities(swapped) if item.impossible][0]
    'Vmp 44.1 V is not below Voc 36.9 V'
    """
    found = [*_impossible(data)]
    # A figure that rests on an impossible value would only repeat it.
    wrong = {field for item in found for field in item.fields}
    return (*found, *(item for item in _unusual(data) if not wrong & set(item.fields)))


def _impossible(data: ModuleData) -> Iterator[Oddity]:
    for fields, low, high, names in (
        (
            ("operating_voltage", "open_circuit_voltage"),
            data.operating_voltage,
            data.open_voltage,
            ("Vmp", "Voc"),
        ),
        (
            ("operating_current", "short_circuit_current"),
            data.operating_current,
            data.short_current,
            ("Imp", "Isc"),
        ),
    ):
        if low.value >= high.value:
            yield Oddity(fields, f"{names[0]} {low.show()} is not below {names[1]} {high.show()}", True)
    for field, value, name in (
        ("voltage_coefficient", data.beta, "Voc"),
        ("power_coefficient", data.gamma, "power"),
    ):
        if value is not None and value.value >= 0:
            what = f"temperature coefficient of {name} {value.show()} has no minus sign, and every cell falls with heat"
            yield Oddity((field,), what, True)
    share = _power(data)
    if abs(share.value - 1) > _POWER_WRONG:
        yield _power_oddity(data, share, impossible=True)


def _power(data: ModuleData) -> Quantity:
    return work(
        "power against Vmp × Imp",
        "",
        "P / (V_mp * I_mp)",
        P=data.power,
        V_mp=data.operating_voltage,
        I_mp=data.operating_current,
    )


def _power_oddity(data: ModuleData, share: Quantity, *, impossible: bool) -> Oddity:
    product = data.operating_voltage.value * data.operating_current.value
    what = f"power {data.power.show()} is {share.value:.3f} times Vmp × Imp = {product:.1f} W"
    return Oddity(("power", "operating_voltage", "operating_current"), what, impossible, share)


def _unusual(data: ModuleData) -> Iterator[Oddity]:
    share = _power(data)
    if _POWER_ROUNDING < abs(share.value - 1) <= _POWER_WRONG:
        yield _power_oddity(data, share, impossible=False)
    bands = BANDS[data.technology]
    for key, fields, value in _figures(data):
        band = bands[key]
        if not band.low <= value.value <= band.high:
            shown = f"{value.value:.3g} {band.unit}".rstrip()
            what = f"{band.name} {shown} lies outside {band.low:g} to {band.high:g} {band.unit}".rstrip()
            yield Oddity(fields, what, False, value)


def _figures(data: ModuleData) -> Iterator[tuple[str, tuple[str, ...], Quantity]]:
    Voc, Vmp, Isc, Imp = data.open_voltage, data.operating_voltage, data.short_current, data.operating_current
    four = ("operating_voltage", "operating_current", "open_circuit_voltage", "short_circuit_current")
    fill = work("fill factor", "", "V_mp * I_mp / (V_oc * I_sc)", V_mp=Vmp, I_mp=Imp, V_oc=Voc, I_sc=Isc)
    yield "fill", four, fill
    yield "voltage", four[::2], work("Vmp against Voc", "", "V_mp / V_oc", V_mp=Vmp, V_oc=Voc)
    yield "current", four[1::2], work("Imp against Isc", "", "I_mp / I_sc", I_mp=Imp, I_sc=Isc)
    if data.cells is not None and data.cells.value > 0:
        cell = work("Voc a cell", "V", "V_oc / n", V_oc=Voc, n=data.cells)
        yield "cell", ("cells_in_series", "open_circuit_voltage"), cell
    for key, field, value, rated in (
        ("beta", "voltage_coefficient", data.beta, Voc),
        ("alpha", "current_coefficient", data.alpha, Isc),
        ("gamma", "power_coefficient", data.gamma, None),
    ):
        if value is None:
            continue
        if value.unit != "%/degC" and rated is not None:
            value = work("coefficient in percent", "%/degC", "100 * k / R", k=value, R=rated)
        yield key, (field,), value
    if data.nominal is not None:
        yield "nominal", ("operating_temperature",), data.nominal
    if data.length is not None and data.width is not None and data.length.value * data.width.value > 0:
        text = "P / (10 * a * b)"
        efficiency = work("efficiency", "%", text, P=data.power, a=data.length, b=data.width)
        yield "efficiency", ("power", "length", "width"), efficiency


@dataclass(frozen=True, slots=True)
class InputData:
    """Values of one inverter input, as far as they are known; voltages [V], currents [A]."""

    maximum: Quantity | None = None
    tracking_from: Quantity | None = None
    tracking_to: Quantity | None = None
    start: Quantity | None = None
    usable: Quantity | None = None
    hard: Quantity | None = None


#: Keys of a pair, the one that must not be above the other, and the words for both.
Pair = tuple[tuple[str, ...], Quantity, Quantity, str, str]


def input_pairs(data: InputData) -> tuple[Pair, ...]:
    """Pairs of limits of an inverter input that are both known and stand in an order."""
    wanted = (
        (
            ("tracking_from", "tracking_to"),
            data.tracking_from,
            data.tracking_to,
            "start of the tracking window",
            "its end",
        ),
        (
            ("tracking_to",),
            data.tracking_to,
            data.maximum,
            "end of the tracking window",
            "the maximum DC voltage",
        ),
        (("start_voltage",), data.start, data.maximum, "start voltage", "the maximum DC voltage"),
        (
            ("usable_current", "short_circuit_limit"),
            data.usable,
            data.hard,
            "usable current",
            "the short-circuit limit",
        ),
    )
    return tuple(
        (fields, low, high, low_name, high_name)
        for fields, low, high, low_name, high_name in wanted
        if low is not None and high is not None
    )


def input_oddities(data: InputData) -> tuple[Oddity, ...]:
    """What of an inverter input's values cannot be together; equal values are allowed.

    Examples
    --------
    >>> window = InputData(tracking_from=Quantity(550, "V"), tracking_to=Quantity(150, "V"))
    >>> input_oddities(window)[0].what
    'start of the tracking window 550 V is above its end 150 V'
    """
    return tuple(
        Oddity(fields, f"{low_name} {low.show()} is above {high_name} {high.show()}", True)
        for fields, low, high, low_name, high_name in input_pairs(data)
        if low.value > high.value
    )
