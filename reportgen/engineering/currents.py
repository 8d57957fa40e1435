"""Currents that conductors and inputs must stand: maximum current, continuous duty, parallel strings.

Symbols: I_sc and I_mp module currents at standard conditions, k_G irradiance factor, k_c continuous-duty
factor, n strings in parallel. Both factors come from the rulebook.
"""

from __future__ import annotations

from reportgen.working.quantity import Number, Quantity, quantity, work


def maximum_current(
    short_circuit: Number, factor: Number, strings: Number = 1, rear_gain: Number = 0
) -> Quantity:
    """Maximum circuit current of strings in parallel [A].

    Parameters
    ----------
    short_circuit : float or Quantity
        Module I_sc at standard conditions. [A]
    factor : float or Quantity
        Irradiance factor of the edition. [-]
    strings : float or Quantity
        Strings in parallel. [-]
    rear_gain : float or Quantity
        Irradiance gained on the rear of bifacial modules [%].

    Examples
    --------
    >>> maximum_current(13.79, 1.25).value
    17.24
    """
    terms: dict[str, Number] = {"k_G": factor, "I_sc": short_circuit}
    text = "k_G * I_sc"
    if quantity(strings).value != 1:
        text, terms = text + " * n", {**terms, "n": strings}
    if quantity(rear_gain).value != 0:
        text, terms = text + " * (1 + g / 100)", {**terms, "g": rear_gain}
    return work("maximum current", "A", text, **terms)


def with_rear(current: Number, rear_gain: Number, name: str) -> Quantity:
    """Current at standard conditions in front with the light on the rear added [A].

    Parameters
    ----------
    current : float or Quantity
        Of the data sheet, front side alone. [A]
    rear_gain : float or Quantity
        Irradiance gained on the rear of bifacial modules [%].

    Examples
    --------
    >>> with_rear(14.00, 10, "short-circuit current").value
    15.40
    """
    return work(name, "A", "I * (1 + g / 100)", I=current, g=rear_gain)


def continuous_current(maximum: Number, factor: Number) -> Quantity:
    """Current for which terminals, conductors before factors, and devices are sized [A].

    Examples
    --------
    >>> continuous_current(11, 1.25).value
    13.75
    """
    return work("current for continuous duty", "A", "k_c * I_max", k_c=factor, I_max=maximum)


def mixed_current(currents: list[Quantity], name: str) -> Quantity:
    """Sum of unlike currents on one input [A].

    Examples
    --------
    >>> mixed_current([Quantity(9.5, "A"), Quantity(10.0, "A")], "sum").value
    19.5
    """
    terms = {f"I_{number}": current for number, current in enumerate(currents, start=1)}
    return work(name, "A", " + ".join(terms), **terms)


def operating_at(current: Number, coefficient: Quantity, cell_c: Number, rear_gain: Number = 0) -> Quantity:
    """Operating current at full sun and a cell temperature [A].

    Parameters
    ----------
    current : float or Quantity
        At maximum power and standard conditions. [A]
    coefficient : Quantity
        Of the short-circuit current, which the operating current follows closely. [%/°C or A/°C]
    cell_c : float or Quantity
        Cell temperature. [°C]
    rear_gain : float or Quantity
        Irradiance gained on the rear of bifacial modules [%].

    Examples
    --------
    >>> operating_at(12.2, Quantity(0.045, "%/degC"), 65).value
    12.42
    """
    name = "operating current in the hottest hour"
    terms: dict[str, Number] = {"I_mp": current, "α": coefficient, "T": quantity(cell_c, "degC")}
    text = "I_mp * (1 + α / 100 * (T - 25))"
    if coefficient.unit != "%/degC":
        text, terms = "(I_mp + α * (T - 25))", {**terms, "α": coefficient.to("A/degC")}
    if quantity(rear_gain).value != 0:
        text, terms = text + " * (1 + g / 100)", {**terms, "g": rear_gain}
    return work(name, "A", text, **terms)


def engineered_current(stated: Number, floor: Number, short_circuit: Number, factor: Number) -> Quantity:
    """Maximum current by an engineered method, never below the edition's share of the simple one [A].

    Parameters
    ----------
    stated : float or Quantity
        As the engineer documents it. [A]
    floor : float or Quantity
        Least share of the simple method's current. [-]
    short_circuit : float or Quantity
        Module I_sc at standard conditions. [A]
    factor : float or Quantity
        Irradiance factor of the edition [-].

    Notes
    -----
    Source: NFPA 70 (2023), 690.8(A)(1), recalled.

    Examples
    --------
    >>> engineered_current(14.0, 0.7, 13.79, 1.25).value
    14.0
    """
    text = "max(I_stated, f * k_G * I_sc)"
    return work(
        "maximum current by an engineered method",
        "A",
        text,
        I_stated=stated,
        f=floor,
        k_G=factor,
        I_sc=short_circuit,
    )
