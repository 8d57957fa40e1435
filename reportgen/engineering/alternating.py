"""Voltage drop and power loss of output circuits on alternating current.

Resistance, reactance and effective impedance are those of three single conductors in conduit as the code's
table prints them; they never serve for direct current. Voltages are those between the conductors of the
circuit: line to line for three phases and for 240 V from a split-phase service.
"""

from __future__ import annotations

from reportgen.working.quantity import Number, Quantity, quantity, work


def effective_impedance(resistance: Number, reactance: Number, power_factor: Number) -> Quantity:
    """Impedance that a conductor has for the voltage drop at a power factor [Ω/kft].

    Parameters
    ----------
    resistance, reactance : float or Quantity
        Of one conductor. [Ω/kft]
    power_factor : float or Quantity
        Of the circuit, 0 to 1, the current lagging [-].

    Raises
    ------
    ValueError
        If the power factor is not between 0 and 1.

    Notes
    -----
    Source: NFPA 70 (2023), Chapter 9, Table 9, Note 2: R times the power factor plus X times the sine of its
    angle.

    Examples
    --------
    >>> effective_impedance(1.2, 0.050, 0.85).value
    1.05
    """
    if not 0 <= quantity(power_factor).value <= 1:
        msg = f"power factor {quantity(power_factor).value:g}"
        raise ValueError(msg)
    return work(
        "effective impedance",
        "ohm/kft",
        "R * pf + X * sqrt(1 - pf ** 2)",
        R=resistance,
        pf=power_factor,
        X=reactance,
    )


def output_current(power_va: Number, voltage: Number, *, three_phase: bool) -> Quantity:
    """Current of an output circuit at its rated apparent power [A].

    Parameters
    ----------
    power_va : float or Quantity
        Rated apparent power. [VA]
    voltage : float or Quantity
        Between the conductors of the circuit. [V]
    three_phase : bool
        True for three phases, False for two wires.

    Examples
    --------
    >>> output_current(6000, 240, three_phase=False).value
    25.0
    """
    name = "rated output current"
    if three_phase:
        return work(name, "A", "S / (sqrt(3) * V)", S=power_va, V=voltage)
    return work(name, "A", "S / V", S=power_va, V=voltage)


def drop(
    length_ft: Number, impedance: Number, current: Number, *, three_phase: bool, parallel: Number = 1
) -> Quantity:
    """Voltage lost along an output circuit, between its conductors [V].

    Parameters
    ----------
    length_ft : float or Quantity
        One way. [ft]
    impedance : float or Quantity
        Effective impedance of one conductor; its resistance where the reactance is left out. [Ω/kft]
    current : float or Quantity
        In each line. [A]
    three_phase : bool
        True for three phases (√3 times the length), False for two wires (twice the length).
    parallel : float or Quantity
        Conductors in parallel a line [-].

    Examples
    --------
    >>> drop(100, 1.9755, 20, three_phase=False).value
    7.9
    """
    return work(
        "voltage drop",
        "V",
        f"{_legs(three_phase)} * L / 1000 * Z * I / p",
        L=quantity(length_ft, "ft"),
        Z=impedance,
        I=current,
        p=parallel,
    )


def power_loss(
    length_ft: Number, resistance: Number, current: Number, *, three_phase: bool, parallel: Number = 1
) -> Quantity:
    """Power lost in all conductors of an output circuit [W].

    Parameters
    ----------
    length_ft : float or Quantity
        One way. [ft]
    resistance : float or Quantity
        Of one conductor, without reactance. [Ω/kft]
    current : float or Quantity
        In each line. [A]
    three_phase : bool
        True for three conductors, False for two.
    parallel : float or Quantity
        Conductors in parallel a line [-].

    Examples
    --------
    >>> power_loss(100, 1.2, 25, three_phase=False).value
    150.0
    """
    return work(
        "power lost in the wire",
        "W",
        "n * L / 1000 * R / p * I ** 2",
        n=3 if three_phase else 2,
        L=quantity(length_ft, "ft"),
        R=resistance,
        p=parallel,
        I=current,
    )


def longest_run(
    limit_percent: Number, voltage: Number, impedance: Number, current: Number, *, three_phase: bool
) -> Quantity:
    """Length one way at which the drop of an output circuit reaches a limit [ft].

    Examples
    --------
    >>> longest_run(3, 240, 1.2, 25, three_phase=False).value
    120.0
    """
    return work(
        "longest run",
        "ft",
        f"limit / 100 * V * 1000 / ({_legs(three_phase)} * Z * I)",
        limit=limit_percent,
        V=voltage,
        Z=impedance,
        I=current,
    )


def _legs(three_phase: bool) -> str:
    """Conductor lengths that the drop counts, as the formula writes it."""
    return "sqrt(3)" if three_phase else "2"
