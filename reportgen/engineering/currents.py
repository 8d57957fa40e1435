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
