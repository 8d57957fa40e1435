"""What one wire needs before the pull: the length to cut, how far that may be off, and its labels.

Installed length is what stays: raceway, elbows, tails. Cut length is more: what the pulling head takes, what is
trimmed off after the pull, and the tolerance of the tape where it is added and not only compared.
"""

from __future__ import annotations

from collections.abc import Sequence

from reportgen.working.quantity import Number, Quantity, quantity, work

#: Share of a step by which a length may lie above it and not need a further step: rounding of a computer alone.
_ROUNDING = 1e-9


def stack_up(parts: Sequence[tuple[str, Quantity]], name: str = "length", unit: str = "ft") -> Quantity:
    """Length of a wire from its named parts [ft, or the unit asked for].

    Parameters
    ----------
    parts : sequence of (str, Quantity)
        In order along the wire: tails, stretches, elbow arcs, and head and trim for a cut length.
    name : str
        What the sum is called.
    unit : str
        Unit of the sum.

    Raises
    ------
    ValueError
        If there is no part, or one is negative.

    Examples
    --------
    >>> parts = [("trench", Quantity(180, "ft")), ("elbow", Quantity(12.96, "in")), ("tail", Quantity(14, "ft"))]
    >>> stack_up(parts).value
    195.08
    """
    if not parts:
        msg = "a wire without parts"
        raise ValueError(msg)
    terms = {f"L_{index}": part.to(unit).named(label) for index, (label, part) in enumerate(parts, start=1)}
    for term in terms.values():
        if not term.value >= 0:
            msg = f"{term.name} is {term.value:g} {unit} long"
            raise ValueError(msg)
    return work(name, unit, " + ".join(terms), **terms)


def tolerance(measured: Number, percent: Number, unit: str = "ft") -> Quantity:
    """How far a measured length may be off [ft, or the unit asked for].

    Parameters
    ----------
    measured : float or Quantity
        What was measured, without the parts that are cut by hand.
    percent : float or Quantity
        Tolerance of the measurement [%].

    Examples
    --------
    >>> tolerance(480, 1).value
    4.8
    """
    return work(
        "tolerance of the measured length",
        unit,
        "p / 100 * L",
        p=quantity(percent, "%"),
        L=quantity(measured, unit),
    )


def rounded_up(length: Number, step: Number = 1.0, unit: str = "ft") -> Quantity:
    """Length to mark on the wire: the next whole step [ft, or the unit asked for].

    Examples
    --------
    >>> rounded_up(232.16).value
    233.0
    """
    return work(
        "length to cut",
        unit,
        "ceil(L / s - ε) * s",
        L=quantity(length, unit),
        s=quantity(step, unit),
        ε=_ROUNDING,
    )


def longest_of(lengths: Sequence[Quantity], unit: str = "ft") -> Quantity:
    """Length to which all wires of one pull are cut alike: the longest of them [ft, or the unit asked for].

    Raises
    ------
    ValueError
        If there is no wire.

    Examples
    --------
    >>> longest_of([Quantity(233, "ft"), Quantity(229, "ft")]).value
    233.0
    """
    if not lengths:
        msg = "no wire to cut"
        raise ValueError(msg)
    terms = {f"L_{index}": length.to(unit) for index, length in enumerate(lengths, start=1)}
    if len(terms) == 1:
        return terms["L_1"]
    return work("length of every wire", unit, f"max({', '.join(terms)})", **terms)


def labels_needed(passed: Sequence[int]) -> Quantity:
    """Labels for wires that carry one at each end and one in every enclosure that they pass [-].

    Parameters
    ----------
    passed : sequence of int
        For every wire the enclosures between its two ends.

    Raises
    ------
    ValueError
        If a count is negative.

    Examples
    --------
    >>> labels_needed([0, 0, 2]).value
    8.0
    """
    if any(count < 0 for count in passed):
        msg = "a wire that passes fewer than no enclosures"
        raise ValueError(msg)
    return work("labels", "", "2 * n + m", n=len(passed), m=sum(passed))
