"""Movement of a raceway with temperature, and the fitting that takes it up.

A straight run between two fixed points grows and shrinks with the swing of its own temperature, which in the
sun is hotter than the air. Lengths are taken in feet, temperatures in °F, as the tables print them; quantities
in other units are converted.
"""

from __future__ import annotations

from reportgen.engineering.candidates import reaches
from reportgen.working.quantity import Number, Quantity, quantity, work

#: Share of a swing by which a temperature may lie outside it: what converting °C to °F costs.
_ROUNDING = 1e-9


def temperature_swing(low_f: Number, high_f: Number, sun_rise: Number = 0) -> Quantity:
    """Swing of a raceway's temperature over its life [°F difference].

    Parameters
    ----------
    low_f, high_f : float or Quantity
        Coldest and hottest air. [°F]
    sun_rise : float or Quantity
        By how much the sun heats the raceway above the air; zero underground or in the shade [°F difference].

    Raises
    ------
    ValueError
        If the hottest air is colder than the coldest.

    Examples
    --------
    >>> temperature_swing(-10, 110).value
    120.0
    """
    low, high = quantity(low_f, "degF"), quantity(high_f, "degF")
    if high.value < low.value:
        msg = f"hottest air {high.value:g} °F is colder than {low.value:g} °F"
        raise ValueError(msg)
    rise = quantity(sun_rise, "delta_degF")
    return work(
        "swing of temperature",
        "delta_degF",
        "T_high + ΔT_sun - T_low",
        T_high=high,
        ΔT_sun=rise,
        T_low=low,
    )


def length_change(length_ft: Number, coefficient: Number, swing: Number) -> Quantity:
    """Change of length of a straight run between fixed points [in].

    Parameters
    ----------
    length_ft : float or Quantity
        Between the fixed points. [ft]
    coefficient : float or Quantity
        Of thermal expansion of the material. [in/in/°F]
    swing : float or Quantity
        Of the raceway's temperature [°F difference].

    Notes
    -----
    Source: NFPA 70 (2023), Table 352.44, which is computed from the coefficient.

    Examples
    --------
    >>> length_change(90, 3.38e-5, 120).value
    4.38
    """
    return work(
        "change of length",
        "in",
        "α * 12 * L * ΔT",
        α=coefficient,
        L=quantity(length_ft, "ft"),
        ΔT=quantity(swing, "delta_degF"),
    )


def length_change_by_table(length_ft: Number, per_hundred_ft: Number) -> Quantity:
    """Change of length of a straight run by the row of the code's table [in].

    Parameters
    ----------
    length_ft : float or Quantity
        Between the fixed points. [ft]
    per_hundred_ft : float or Quantity
        Row of the table [in/100 ft].

    Examples
    --------
    >>> length_change_by_table(90, 4.87).value
    4.38
    """
    return work("change of length", "in", "e * L / 100", e=per_hundred_ft, L=quantity(length_ft, "ft"))


def fitting_needed(change: Number, trigger: Number) -> bool:
    """Whether a run needs an expansion fitting: its change reaches the trigger.

    Parameters
    ----------
    change : float or Quantity
        Change of length. [in]
    trigger : float or Quantity
        Change at which the edition asks for a fitting. [in]

    Examples
    --------
    >>> fitting_needed(0.24, 0.25), fitting_needed(0.25, 0.25)
    (False, True)
    """
    return reaches(quantity(change, "in"), quantity(trigger, "in"))


def longest_plain_run(coefficient: Number, swing: Number, trigger: Number) -> Quantity:
    """Length of a straight run at which it comes to need a fitting [ft].

    Parameters
    ----------
    coefficient : float or Quantity
        Of thermal expansion. [in/in/°F]
    swing : float or Quantity
        Of the raceway's temperature. [°F difference]
    trigger : float or Quantity
        Change at which the edition asks for a fitting [in].

    Examples
    --------
    >>> longest_plain_run(3.38e-5, 100, 0.25).value
    6.2
    """
    return work(
        "length that comes to need a fitting",
        "ft",
        "ΔL / (α * 12 * ΔT)",
        ΔL=quantity(trigger, "in"),
        α=coefficient,
        ΔT=quantity(swing, "delta_degF"),
    )


def fittings(change: Number, travel: Number) -> Quantity:
    """Expansion fittings that a run needs by their travel [-].

    Parameters
    ----------
    change : float or Quantity
        Change of length. [in]
    travel : float or Quantity
        From fully in to fully out of one fitting, from its maker. [in]

    Examples
    --------
    >>> fittings(4.38, 4).value
    2.0
    """
    return work(
        "expansion fittings",
        "",
        "ceil(ΔL / s)",
        ΔL=quantity(change, "in"),
        s=quantity(travel, "in"),
    )


def opening(travel: Number, hottest_f: Number, swing: Number, install_f: Number) -> Quantity:
    """How far a fitting is left open when it is put in, so that heat can close it and cold open it [in].

    Parameters
    ----------
    travel : float or Quantity
        From fully in to fully out of the fitting. [in]
    hottest_f : float or Quantity
        Hottest temperature of the raceway, the sun included. [°F]
    swing : float or Quantity
        Of the raceway's temperature, positive. [°F difference]
    install_f : float or Quantity
        Temperature of the raceway while it is put in [°F].

    Raises
    ------
    ValueError
        If the raceway is put in at a temperature outside its swing: the fitting could not be set.

    Notes
    -----
    Source: makers' instructions, for instance Thomas & Betts, Carlon expansion joints.

    Examples
    --------
    >>> opening(6, 110, 120, 65).value
    2.25
    """
    hot, span, now = quantity(hottest_f, "degF"), quantity(swing, "delta_degF"), quantity(install_f, "degF")
    below, slack = hot.value - now.value, span.value * _ROUNDING
    if not -slack <= below <= span.value + slack:
        msg = f"{now.value:g} °F lies outside the swing below {hot.value:g} °F"
        raise ValueError(msg)
    return work(
        "opening of the fitting when it is put in",
        "in",
        "s * (T_high - T_now) / ΔT",
        s=quantity(travel, "in"),
        T_high=hot,
        T_now=now,
        ΔT=span,
    )
