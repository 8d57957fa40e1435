"""String voltage, cold and hot, from the coefficients of a data sheet.

Symbols: N modules in series, V_oc and V_mp module voltages at 25 °C cell, β temperature coefficient,
T cell temperature. In the cold the cell is taken at air temperature: at first light it is no warmer.
"""

from __future__ import annotations

from reportgen.working.quantity import Number, Quantity, quantity, work

#: Temperature at which data sheets state their values (IEC 61215, standard test conditions).
STC_CELL_C = 25.0


def string_voltage(
    count: Number, voltage: Number, coefficient: Quantity, cell_c: Number, name: str
) -> Quantity:
    """Voltage of a string at a cell temperature, linear in the data sheet's coefficient [V].

    Parameters
    ----------
    count : float or Quantity
        Modules in series. [-]
    voltage : float or Quantity
        Module voltage at 25 °C: V_oc for the open circuit, V_mp while working. [V]
    coefficient : Quantity
        In %/°C of that voltage, or in V/°C; negative for every common cell.
    cell_c : float or Quantity
        Cell temperature. [°C]
    name : str
        What the result is called on a page.

    Examples
    --------
    >>> string_voltage(11, 37.1, Quantity(-0.27, "%/degC"), -29, "cold").value
    467.6
    """
    if coefficient.unit == "%/degC":
        return work(
            name, "V", "N * V * (1 + β / 100 * (T - 25))", N=count, V=voltage, β=coefficient, T=cell_c
        )
    return work(name, "V", "N * (V + β * (T - 25))", N=count, V=voltage, β=coefficient.to("V/degC"), T=cell_c)


def string_voltage_by_table(count: Number, voltage: Number, factor: Number, name: str) -> Quantity:
    """Cold voltage of a string by the correction table of the code, without a coefficient [V]."""
    return work(name, "V", "N * V_oc * F", N=count, V_oc=voltage, F=factor)


def temperature_at(count: Number, voltage: Number, coefficient: Quantity, limit: Number) -> Quantity:
    """Cell temperature at which a string reaches a voltage [°C].

    Examples
    --------
    >>> temperature_at(11, 40.9, Quantity(-0.29, "%/degC"), 500).value
    -13.4
    """
    name = "temperature at which the limit is reached"
    if coefficient.unit == "%/degC":
        text = "25 + (V_limit / (N * V) - 1) / (β / 100)"
        return work(name, "degC", text, V_limit=limit, N=count, V=voltage, β=coefficient)
    text = "25 + (V_limit / N - V) / β"
    return work(name, "degC", text, V_limit=limit, N=count, V=voltage, β=coefficient.to("V/degC"))


def most_modules(limit: Number, one_module: Number) -> int:
    """Greatest number of modules in series whose voltage does not exceed a limit [-].

    Examples
    --------
    >>> most_modules(500, 42.51)
    11
    """
    # A voltage that equals the limit to the last digit still meets it; the tiny slack takes up the binary
    # rounding of that case alone (1e-12 of a limit is far below any digit a data sheet has).
    ratio = quantity(limit).value / quantity(one_module).value
    return int(ratio * (1 + 1e-12))


def fewest_modules(limit: Number, one_module: Number) -> int:
    """Smallest number of modules in series whose voltage reaches a limit [-].

    Examples
    --------
    >>> fewest_modules(150, 28.5)
    6
    """
    ratio = quantity(limit).value / quantity(one_module).value
    return -int(-ratio * (1 - 1e-12) // 1)


def cell_temperature(
    ambient_c: Number, operating_c: Number, irradiance: Number, rise_k: Number = 0.0
) -> Quantity:
    """Cell temperature in sun from the data sheet's nominal operating temperature [°C].

    Parameters
    ----------
    ambient_c : float or Quantity
        Air temperature. [°C]
    operating_c : float or Quantity
        Nominal operating cell temperature, stated for 800 W/m² and 20 °C air. [°C]
    irradiance : float or Quantity
        In the plane of the modules. [W/m²]
    rise_k : float or Quantity
        Further rise of a mounting with little air behind it [K].

    Notes
    -----
    Ross, R. G., "Interface design considerations for terrestrial solar cell modules", 12th IEEE PVSC, 1976;
    nominal conditions as in IEC 61215-1:2021.

    Examples
    --------
    >>> cell_temperature(33, 45, 1000).value
    64.2
    """
    text = "T_air + (T_nominal - 20) / 800 * G + ΔT"
    return work(
        "hot cell temperature", "degC", text, T_air=ambient_c, T_nominal=operating_c, G=irradiance, ΔT=rise_k
    )


def operating_coefficient(power: Quantity, current: Quantity) -> Quantity:
    """Coefficient of V_mp from those of power and current, where a data sheet leaves it out [%/°C].

    Notes
    -----
    P = V I, so the relative coefficients add: β_mp = γ − α, the current coefficient of the short circuit
    standing in for that of the operating point, which is smaller (the result is the safer side when hot).
    """
    return work("coefficient of the operating voltage", "%/degC", "γ - α", γ=power, α=current)
