"""What a string should read at a cell temperature and irradiance, and how far that may be off.

Open-circuit voltage is linear in temperature by the data sheet's coefficient and falls with the logarithm of light, as
the ideal diode says: a · ln(G / 1000 W/m²) for each module, a being its thermal voltage times the ideality of its
cells. Symbols: N modules in series, T cell temperature, G irradiance in the plane of the modules.
"""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.engineering.energy.one_curve import BOLTZMANN_EV, T_STC
from reportgen.rulebook import standards
from reportgen.rulebook.rulebook import quantity_of
from reportgen.working.quantity import Number, Quantity, quantity, work


@dataclass(frozen=True, slots=True)
class Errors:
    """Errors of what goes into an expectation.

    Parameters
    ----------
    temperature : Quantity
        Of the cell temperature. [K]
    irradiance : Quantity
        Of the irradiance. [%]
    ideality : Quantity
        Of the diode ideality. [%]
    meter : Quantity
        Of the voltmeter [%].
    """

    temperature: Quantity
    irradiance: Quantity
    ideality: Quantity
    meter: Quantity


def common_errors(meter_percent: Number = 0.0) -> Errors:
    """Errors that stand in where none are stated, common practice without a source; the meter's own is given."""
    temperature, irradiance, ideality = (
        quantity_of(standards.number(f"reading-{name}-error"), f"error of the {name}")
        for name in ("temperature", "irradiance", "ideality")
    )
    return Errors(temperature, irradiance, ideality, quantity(meter_percent, "%").named("error of the meter"))


def thermal_voltage(cells: Number, ideality: Number | None = None) -> Quantity:
    """Rise of a module's open-circuit voltage for each e-fold of light, at 25 °C [V].

    Parameters
    ----------
    cells : float or Quantity
        In series (a module of 144 half cells has 72). [-]
    ideality : float or Quantity, optional
        Of one cell; common practice stands in. A fitted one-diode model has its own, as ``thermal``. [-]

    Examples
    --------
    >>> thermal_voltage(54).value
    1.526
    """
    if ideality is None:
        ideality = quantity_of(standards.number("diode-ideality"), "diode ideality")
    return work(
        "thermal voltage of a module",
        "V",
        "n * N_s * V_T",
        n=ideality,
        N_s=cells,
        V_T=Quantity(BOLTZMANN_EV * T_STC, "V", None, "thermal voltage of a cell at 25 °C"),
    )


def expected_voltage(
    count: Number, voltage: Number, coefficient: Quantity, cell_c: Number, irradiance: Number, thermal: Number
) -> Quantity:
    """Open-circuit voltage that a string should read [V].

    Parameters
    ----------
    count : float or Quantity
        Modules in series. [-]
    voltage : float or Quantity
        Open-circuit voltage of a module at standard test conditions. [V]
    coefficient : Quantity
        In %/°C of that voltage, or in V/°C.
    cell_c : float or Quantity
        Cell temperature. [°C]
    irradiance : float or Quantity
        In the plane of the modules. [W/m²]
    thermal : float or Quantity
        Of :func:`thermal_voltage`, or of a fitted model; zero leaves the light out [V].

    Raises
    ------
    ValueError
        If there is no light.

    Examples
    --------
    >>> expected_voltage(11, 37.1, Quantity(-0.27, "%/degC"), 24, 620, thermal_voltage(54)).value
    401.2
    """
    light = _light(irradiance)
    dark = "a * ln(G / 1000)"
    terms: dict[str, Number] = {"N": count, "V_oc": voltage, "β": coefficient, "T": quantity(cell_c, "degC")}
    if coefficient.unit == "%/degC":
        text = f"N * (V_oc * (1 + β / 100 * (T - 25)) + {dark})"
    else:
        terms["β"] = coefficient.to("V/degC")
        text = f"N * (V_oc + β * (T - 25) + {dark})"
    return work("expected open-circuit voltage", "V", text, **terms, a=quantity(thermal, "V"), G=light)


def _light(irradiance: Number) -> Quantity:
    light = quantity(irradiance, "W/m2")
    if not light.value > 0:
        msg = f"irradiance is {light.value:g} W/m²"
        raise ValueError(msg)
    return light


def voltage_uncertainty(
    count: Number,
    voltage: Number,
    coefficient: Quantity,
    irradiance: Number,
    thermal: Number,
    errors: Errors,
    expected: Number,
) -> Quantity:
    """How far an expected open-circuit voltage may be off: temperature, light, diode and meter together [V].

    Parameters
    ----------
    count, voltage, coefficient, irradiance, thermal
        As for :func:`expected_voltage`.
    errors : Errors
        Independent of each other, so their squares add.
    expected : float or Quantity
        The voltage that the meter's error belongs to [V].

    Examples
    --------
    >>> beta, a = Quantity(-0.27, "%/degC"), thermal_voltage(54)
    >>> voltage_uncertainty(11, 37.1, beta, 620, a, common_errors(), 401.2).value
    3.77
    """
    percent = coefficient.unit == "%/degC"
    slope = work(
        "voltage for each degree",
        "V/degC",
        "V_oc * β / 100" if percent else "β",
        **({"V_oc": voltage} if percent else {}),
        β=coefficient if percent else coefficient.to("V/degC"),
    )
    parts = "(N * β_V * ΔT) ** 2 + (N * a * g / 100) ** 2 + (N * a * n / 100 * ln(G / 1000)) ** 2 + (m / 100 * V) ** 2"
    return work(
        "uncertainty of the expectation",
        "V",
        f"sqrt({parts})",
        N=count,
        β_V=slope,
        ΔT=errors.temperature,
        a=quantity(thermal, "V"),
        g=errors.irradiance,
        n=errors.ideality,
        G=_light(irradiance),
        m=errors.meter,
        V=quantity(expected, "V"),
    )


def expected_current(
    short_circuit: Number, irradiance: Number, cell_c: Number = 25.0, coefficient: Quantity | None = None
) -> Quantity:
    """Short-circuit current that a string should read [A].

    Parameters
    ----------
    short_circuit : float or Quantity
        Of the module at standard test conditions. [A]
    irradiance : float or Quantity
        In the plane of the modules. [W/m²]
    cell_c : float or Quantity
        Cell temperature. [°C]
    coefficient : Quantity, optional
        In %/°C of that current, or in A/°C; left out the temperature does not count.

    Examples
    --------
    >>> expected_current(13.79, 620, 24, Quantity(0.05, "%/degC")).value
    8.55
    """
    light, name = _light(irradiance), "expected short-circuit current"
    if coefficient is None:
        return work(name, "A", "I_sc * G / 1000", I_sc=short_circuit, G=light)
    cell = quantity(cell_c, "degC")
    if coefficient.unit == "%/degC":
        text = "I_sc * G / 1000 * (1 + α / 100 * (T - 25))"
        return work(name, "A", text, I_sc=short_circuit, G=light, α=coefficient, T=cell)
    text = "(I_sc + α * (T - 25)) * G / 1000"
    return work(name, "A", text, I_sc=short_circuit, G=light, α=coefficient.to("A/degC"), T=cell)


@dataclass(frozen=True, slots=True)
class Expectation:
    """What a string should read, once.

    Parameters
    ----------
    count : int
        Modules in series. [-]
    voltage, uncertainty : Quantity
        Open-circuit voltage and how far it may be off. [V]
    irradiance : Quantity
        Light that it holds for [W/m²].
    """

    count: int
    voltage: Quantity
    uncertainty: Quantity
    irradiance: Quantity

    @property
    def per_module(self) -> Quantity:
        """Expected voltage of one module [V]."""
        return work("expected voltage of one module", "V", "V / N", V=self.voltage, N=self.count)


def expectation(
    count: Number,
    voltage: Number,
    coefficient: Quantity,
    cell_c: Number,
    irradiance: Number,
    thermal: Number,
    errors: Errors | None = None,
) -> Expectation:
    """Expected open-circuit voltage of a string with its uncertainty; arguments as for :func:`expected_voltage`.

    Raises
    ------
    ValueError
        If there is no light or no module.
    """
    modules = quantity(count)
    if modules.value < 1:
        msg = f"a string of {modules.value:g} modules"
        raise ValueError(msg)
    expected = expected_voltage(count, voltage, coefficient, cell_c, irradiance, thermal)
    sure = voltage_uncertainty(
        count, voltage, coefficient, irradiance, thermal, errors or common_errors(), expected
    )
    return Expectation(int(modules.value), expected, sure, quantity(irradiance, "W/m2"))


def implied_modules(reading: Number, per_module: Number) -> Quantity:
    """Number of modules that a reading speaks of [-].

    Examples
    --------
    >>> implied_modules(364.7, 36.47).value
    10.0
    """
    return work("implied modules", "", "V / V_module", V=quantity(reading, "V"), V_module=per_module)


@dataclass(frozen=True, slots=True)
class NamedCount:
    """Number of modules of one string, found from another's.

    Parameters
    ----------
    implied : Quantity
        As computed. [-]
    named : int or None
        The whole number that it stands for; None where it lies between two.
    """

    implied: Quantity
    named: int | None


def count_from_neighbour(
    reading: Number, neighbour_reading: Number, neighbour_count: Number, near: Number | None = None
) -> NamedCount:
    """Number of modules of a string, from a string of like modules read in the same minutes.

    Light and temperature are those of both, so no expectation is needed.

    Parameters
    ----------
    reading, neighbour_reading : float or Quantity
        Open-circuit voltages. [V]
    neighbour_count : float or Quantity
        Modules of the neighbour. [-]
    near : float or Quantity, optional
        How far from a whole number still names it; the good band stands in [modules].

    Raises
    ------
    ValueError
        If the neighbour reads nothing or has no module.

    Examples
    --------
    >>> count_from_neighbour(326.1, 399.0, 11).named
    9
    """
    if not (quantity(neighbour_reading).value != 0 and quantity(neighbour_count).value > 0):
        msg = "the neighbour reads nothing or has no module"
        raise ValueError(msg)
    implied = work(
        "implied modules",
        "",
        "abs(V / V_other) * N_other",
        V=quantity(reading, "V"),
        V_other=quantity(neighbour_reading, "V"),
        N_other=neighbour_count,
    )
    return NamedCount(implied, named_count(implied, near))


def named_count(implied: Quantity, near: Number | None = None) -> int | None:
    """Whole number of modules that an implied one stands for; None where it lies between two [-].

    Parameters
    ----------
    implied : Quantity
        As computed. [-]
    near : float or Quantity, optional
        How far from a whole number still names it; the good band stands in [modules].

    Examples
    --------
    >>> named_count(Quantity(8.97)), named_count(Quantity(8.5))
    (9, None)
    """
    slack = standards.number("reading-voltage-good").number if near is None else quantity(near).value
    nearest = round(implied.value)
    return nearest if nearest > 0 and abs(implied.value - nearest) <= slack else None


def band(expected: Number, percent: Number) -> tuple[Quantity, Quantity]:
    """Lowest and highest value within a share of an expectation, in its unit.

    Examples
    --------
    >>> low, high = band(Quantity(400.0, "V"), 5)
    >>> low.value, high.value
    (380.0, 420.0)
    """
    middle = quantity(expected)
    terms = {"x": middle, "p": quantity(percent, "%")}
    return (
        work("lowest within the band", middle.unit, "x * (1 - p / 100)", **terms),
        work("highest within the band", middle.unit, "x * (1 + p / 100)", **terms),
    )


def module_share(count: Number) -> Quantity:
    """Share of a string's voltage that one module makes [%].

    Examples
    --------
    >>> module_share(20).value
    5.0
    """
    return work("share of one module", "%", "100 / N", N=count)
