"""Voltage drop and power loss of a pair of conductors on direct current, both legs counted.

Symbols: L length one way, r resistance per length, I current, V working voltage.
"""

from __future__ import annotations

from reportgen.working.quantity import Number, Quantity, quantity, work


def loop_resistance(length_ft: Number, resistance: Number, parallel: Number = 1) -> Quantity:
    """Resistance of both legs in series [Ω].

    Parameters
    ----------
    length_ft : float or Quantity
        Length of one leg. [ft]
    resistance : float or Quantity
        Resistance of the conductor. [Ω/kft]
    parallel : float or Quantity
        Conductors in parallel a leg [-].

    Examples
    --------
    >>> loop_resistance(224.2, 1.24).value
    0.556
    """
    if quantity(parallel).value != 1:
        return work(
            "resistance of both legs", "ohm", "2 * L / 1000 * r / p", L=length_ft, r=resistance, p=parallel
        )
    return work("resistance of both legs", "ohm", "2 * L / 1000 * r", L=length_ft, r=resistance)


def drop(resistance_ohm: Number, current: Number) -> Quantity:
    """Voltage lost along both legs [V].

    Examples
    --------
    >>> drop(0.556, 12.9).value
    7.17
    """
    return work("voltage drop", "V", "R * I", R=resistance_ohm, I=current)


def drop_share(drop_v: Number, voltage: Number) -> Quantity:
    """Voltage drop in percent of the working voltage [%]."""
    return work("voltage drop in percent", "%", "100 * ΔV / V", ΔV=drop_v, V=voltage)


def power_loss(resistance_ohm: Number, current: Number) -> Quantity:
    """Power lost in both legs [W].

    Examples
    --------
    >>> power_loss(0.1425, 8).value
    9.12
    """
    return work("power lost in the wire", "W", "R * I ** 2", R=resistance_ohm, I=current)


def longest_run(
    limit_percent: Number, voltage: Number, resistance: Number, current: Number, before: Number = 0
) -> Quantity:
    """Length one way at which the drop reaches a limit [ft].

    Parameters
    ----------
    before : float or Quantity
        Resistance of both legs of other wire in the same circuit. [Ω]

    Examples
    --------
    >>> longest_run(2, 340, 1.24, 12.9, 0.1).value
    172.2
    """
    if quantity(before).value:
        text = "max(limit / 100 * V / I - R_before, 0) * 1000 / (2 * r)"
        return work(
            "longest run",
            "ft",
            text,
            limit=limit_percent,
            V=voltage,
            r=resistance,
            I=current,
            R_before=before,
        )
    text = "limit / 100 * V * 1000 / (2 * r * I)"
    return work("longest run", "ft", text, limit=limit_percent, V=voltage, r=resistance, I=current)


def total_length(lengths: list[tuple[str, Quantity]]) -> Quantity:
    """Length of one leg from its pieces, each named [m].

    Examples
    --------
    >>> total_length([("tail", Quantity(4, "m")), ("R1_trench", Quantity(48, "m"))]).value
    52.0
    """
    terms = {
        f"L_{index}": length.to("m").named(name) for index, (name, length) in enumerate(lengths, start=1)
    }
    return work("length of one leg", "m", " + ".join(terms), **terms)


def resistance_at(
    resistance: Number, coefficient: Number, reference_c: Number, conductor_c: Number
) -> Quantity:
    """Resistance of a conductor at its own temperature [Ω/kft].

    Parameters
    ----------
    resistance : float or Quantity
        As the table prints it. [Ω/kft]
    coefficient : float or Quantity
        Of temperature, the one that belongs to the table's temperature. [1/°C]
    reference_c : float or Quantity
        Temperature that the table's resistances belong to. [°C]
    conductor_c : float or Quantity
        Temperature of the conductor [°C].

    Notes
    -----
    Source: NFPA 70 (2023), Chapter 9, Table 8, Note 2.

    Examples
    --------
    >>> resistance_at(1.24, 0.00323, 75, 40).value
    1.10
    """
    return work(
        "resistance at the conductor's temperature",
        "ohm/kft",
        "r * (1 + α * (T - T_table))",
        r=resistance,
        α=coefficient,
        T=quantity(conductor_c, "degC"),
        T_table=quantity(reference_c, "degC"),
    )


def resistance_by_area(resistivity: Number, area_cmil: Number) -> Quantity:
    """Resistance of a conductor from the resistivity of its metal [Ω/kft].

    Parameters
    ----------
    resistivity : float or Quantity
        Resistance of one foot of one circular mil, at the conductor's temperature. [Ω·cmil/ft]
    area_cmil : float or Quantity
        Cross-section of the metal [cmil].

    Examples
    --------
    >>> resistance_by_area(12.9, 6530).value
    1.98
    """
    return work("resistance", "ohm/kft", "1000 * K / A", K=resistivity, A=quantity(area_cmil, "cmil"))


def resistance_for_drop(percent: Number, voltage: Number, current: Number) -> Quantity:
    """Resistance of both legs at which the drop is a share of the working voltage [Ω].

    Parameters
    ----------
    percent : float or Quantity
        Share of the voltage, and so of the power. [%]
    voltage : float or Quantity
        Working voltage. [V]
    current : float or Quantity
        Working current [A].

    Examples
    --------
    >>> resistance_for_drop(3, 38, 8).value
    0.1425
    """
    return work("resistance at that drop", "ohm", "p / 100 * V / I", p=percent, V=voltage, I=current)


def constant_power_current(power: Number, voltage: Number, resistance_ohm: Number) -> Quantity:
    """Current of a load that takes a constant power through a wire from a source of constant voltage [A].

    Parameters
    ----------
    power : float or Quantity
        Taken by the load. [W]
    voltage : float or Quantity
        Of the source, before the wire. [V]
    resistance_ohm : float or Quantity
        Of both legs [Ω].

    Raises
    ------
    ValueError
        If the wire cannot carry that power at that voltage.

    Notes
    -----
    Solves P = (V - R I) I for the smaller current, written so that a wire without resistance gives P / V.

    Examples
    --------
    >>> constant_power_current(1087, 13, 0.0108).value
    90.41
    """
    room = quantity(voltage).value ** 2 - 4 * quantity(resistance_ohm).value * quantity(power).value
    if room < 0:
        msg = "the wire cannot carry that power at that voltage"
        raise ValueError(msg)
    return work(
        "current of the constant-power load",
        "A",
        "2 * P / (V + sqrt(V ** 2 - 4 * R * P))",
        P=power,
        V=voltage,
        R=resistance_ohm,
    )
