"""What a conductor may carry: at its terminals, and in its raceway.

Two separate tests, never multiplied together: the continuous-duty current against the uncorrected column of
the terminals, and the maximum current against the column of the insulation times the factors for ambient
temperature and for the number of current-carrying conductors.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.engineering.candidates import reaches
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


def needed_table_ampacity(current: Number, ambient: Number, count: Number, parallel: Number = 1) -> Quantity:
    """Table ampacity that a conductor needs so that its surroundings leave it a current [A].

    Parameters
    ----------
    current : float or Quantity
        Maximum current of the circuit. [A]
    ambient, count : float or Quantity
        Factors for ambient temperature and for the number of current-carrying conductors. [-]
    parallel : float or Quantity
        Conductors in parallel a leg [-].

    Examples
    --------
    >>> needed_table_ampacity(17.24, 0.96, 0.80).value
    22.4
    """
    name = "table ampacity that is needed"
    if quantity(parallel).value != 1:
        return work(name, "A", "I / (F_T * F_n * p)", I=current, F_T=ambient, F_n=count, p=parallel)
    return work(name, "A", "I / (F_T * F_n)", I=current, F_T=ambient, F_n=count)


def conductor_temperature(ambient_c: Number, rating_c: Number, current: Number, ampacity: Number) -> Quantity:
    """Temperature that a conductor settles at under a steady current [°C].

    Parameters
    ----------
    ambient_c : float or Quantity
        Of the stretch. [°C]
    rating_c : float or Quantity
        Temperature that the conductor has at its ampacity. [°C]
    current : float or Quantity
        Steady current. [A]
    ampacity : float or Quantity
        In its surroundings, of the same stretch. [A]

    Raises
    ------
    ValueError
        If the ambient is not below the rating.

    Notes
    -----
    The rise goes with the square of the current; that resistance itself rises with temperature is left out,
    which puts the result a little too high below the ampacity. Source: Neher and McGrath, "The calculation of
    the temperature rise and load capability of cable systems", AIEE Transactions, 1957; NFPA 70, 310.14(B).

    Examples
    --------
    >>> conductor_temperature(33, 90, 12.9, 30.7).value
    43.1
    """
    ambient, rating = quantity(ambient_c, "degC"), quantity(rating_c, "degC")
    if ambient.value >= rating.value:
        msg = f"ambient {ambient.value:g} °C is not below the rating {rating.value:g} °C"
        raise ValueError(msg)
    return work(
        "temperature of the conductor",
        "degC",
        "T_ambient + (T_rating - T_ambient) * (I / I_z) ** 2",
        T_ambient=ambient,
        T_rating=rating,
        I=current,
        I_z=ampacity,
    )


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a circuit with its own surroundings.

    Parameters
    ----------
    name : str
        As the schedule names it.
    length : Quantity
        Of the stretch. [any length]
    ampacity : Quantity
        In its surroundings. [A]
    """

    name: str
    length: Quantity
    ampacity: Quantity


@dataclass(frozen=True, slots=True)
class ShortStretches:
    """What is left to govern once short stretches of lower ampacity are set aside.

    Parameters
    ----------
    governing : Stretch
        Whose ampacity may be used for the whole circuit.
    set_aside : tuple of Stretch
        Stretches of lower ampacity, least first; empty where the exception gives nothing.
    length : Quantity
        Of all that is set aside. [ft]
    allowance : Quantity
        Length that may be set aside. [ft]
    """

    governing: Stretch
    set_aside: tuple[Stretch, ...]
    length: Quantity
    allowance: Quantity


def without_short_stretches(
    stretches: Sequence[Stretch], circuit_ft: Number, most_ft: Number, share: Number
) -> ShortStretches:
    """Stretch that governs where the exception for short stretches of lower ampacity is claimed.

    Parameters
    ----------
    stretches : sequence of Stretch
        All of the circuit, at least one.
    circuit_ft : float or Quantity
        Length of the whole circuit. [ft]
    most_ft : float or Quantity
        Greatest total length of lower ampacity, by the edition. [ft]
    share : float or Quantity
        Greatest share of the circuit's length, by the edition [-].

    Raises
    ------
    ValueError
        If there is no stretch.

    Notes
    -----
    All that has a lower ampacity counts together (editions from 2017 on; before, each portion was compared with
    the adjoining one). Source: NFPA 70 (2023), 310.14(A)(2) Exception.

    Examples
    --------
    >>> riser = Stretch("riser", Quantity(8, "ft"), Quantity(17.4, "A"))
    >>> trench = Stretch("trench", Quantity(222, "ft"), Quantity(20.0, "A"))
    >>> without_short_stretches([riser, trench], 246, 10, 0.1).governing.name
    'trench'
    """
    if not stretches:
        msg = "a circuit without stretches"
        raise ValueError(msg)
    allowance = work(
        "length that may have the lower ampacity",
        "ft",
        "min(L_most, f * L_circuit)",
        L_most=quantity(most_ft, "ft"),
        f=share,
        L_circuit=quantity(circuit_ft, "ft"),
    )
    rising = sorted(stretches, key=lambda stretch: stretch.ampacity.value)
    governing = rising[0]
    set_aside: tuple[Stretch, ...] = ()
    length = quantity(0, "ft")
    for place, stretch in enumerate(rising[1:], start=1):
        if stretch.ampacity.value == rising[place - 1].ampacity.value:
            continue  # none of equal stretches is the lower one
        lower = tuple(rising[:place])
        total = _total_ft(lower)
        if not reaches(allowance, total):
            break
        governing, set_aside, length = stretch, lower, total
    return ShortStretches(governing, set_aside, length, allowance)


def _total_ft(stretches: Sequence[Stretch]) -> Quantity:
    terms = {f"L_{index}": item.length.to("ft") for index, item in enumerate(stretches, start=1)}
    return work("length of lower ampacity", "ft", " + ".join(terms), **terms)
