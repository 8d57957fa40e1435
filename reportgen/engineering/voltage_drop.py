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


def longest_run(limit_percent: Number, voltage: Number, resistance: Number, current: Number) -> Quantity:
    """Length one way at which the drop reaches a limit [ft]."""
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
