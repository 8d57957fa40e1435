"""Cover over a buried raceway against the depth of its trench: the code counts to the top of the pipe."""

from __future__ import annotations

from reportgen.working.quantity import Number, Quantity, quantity, work


def cover(trench: Number, diameter: Number, bedding: Number = 0) -> Quantity:
    """Depth of earth above the top of a raceway that lies on the bottom of its trench [in].

    Parameters
    ----------
    trench : float or Quantity
        From finished grade to the bottom of the trench. [in]
    diameter : float or Quantity
        Outside diameter of the raceway, from its maker. [in]
    bedding : float or Quantity
        Sand or fill under the raceway [in].

    Notes
    -----
    Source: NFPA 70 (2023), Table 300.5(A), footnote on what cover is.

    Examples
    --------
    >>> cover(18, 1.9).value
    16.1
    """
    return work(
        "cover over the raceway",
        "in",
        "h_trench - h_bedding - d",
        h_trench=quantity(trench, "in"),
        h_bedding=quantity(bedding, "in"),
        d=quantity(diameter, "in"),
    )


def least_trench(least_cover: Number, diameter: Number, bedding: Number = 0) -> Quantity:
    """Depth of trench that leaves a raceway its cover [in].

    Parameters
    ----------
    least_cover : float or Quantity
        By the edition's table. [in]
    diameter : float or Quantity
        Outside diameter of the raceway, from its maker. [in]
    bedding : float or Quantity
        Sand or fill under the raceway [in].

    Examples
    --------
    >>> least_trench(18, 1.9, 2).value
    21.9
    """
    return work(
        "least depth of the trench",
        "in",
        "h_cover + d + h_bedding",
        h_cover=quantity(least_cover, "in"),
        d=quantity(diameter, "in"),
        h_bedding=quantity(bedding, "in"),
    )
