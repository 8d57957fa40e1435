"""What a conductor may carry: at its terminals, and in its raceway.

Two separate tests, never multiplied together: the continuous-duty current against the uncorrected column of
the terminals, and the maximum current against the column of the insulation times the factors for ambient
temperature and for the number of current-carrying conductors.
"""

from __future__ import annotations

from reportgen.working.quantity import Number, Quantity, quantity, work


def corrected_ampacity(table: Number, ambient: Number, count: Number, parallel: Number = 1) -> Quantity:
    """Ampacity of a conductor in its surroundings [A].

    Parameters
    ----------
    table : float or Quantity
        Ampacity of the insulation's temperature column at the table's ambient. [A]
    ambient : float or Quantity
        Factor for ambient temperature. [-]
    count : float or Quantity
        Factor for the number of current-carrying conductors. [-]
    parallel : float or Quantity
        Conductors in parallel a leg [-].

    Examples
    --------
    >>> corrected_ampacity(40, 0.80, 0.96).value
    30.7
    """
    name = "ampacity in its surroundings"
    if quantity(parallel).value != 1:
        return work(name, "A", "I_table * F_T * F_n * p", I_table=table, F_T=ambient, F_n=count, p=parallel)
    return work(name, "A", "I_table * F_T * F_n", I_table=table, F_T=ambient, F_n=count)


def terminal_ampacity(table: Number, parallel: Number = 1) -> Quantity:
    """Ampacity in the temperature column of the terminals, without factors [A]."""
    name = "ampacity at the terminals"
    if quantity(parallel).value != 1:
        return work(name, "A", "I_table * p", I_table=table, p=parallel)
    return work(name, "A", "I_table", I_table=table)


def ambient_with_adder(ambient_c: Number, adder_k: Number) -> Quantity:
    """Temperature in a raceway close above a roof in the sun [°C].

    Examples
    --------
    >>> ambient_with_adder(34, 33).value
    67.0
    """
    return work(
        "ambient with the roof adder", "degC", "T_ambient + ΔT_roof", T_ambient=ambient_c, ΔT_roof=adder_k
    )
