"""Circles laid into a larger circle as gravity would leave them, the same way every time."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

Place = tuple[float, float]
_TOUCH = 1e-9


def pack(bore: float, diameters: Sequence[float]) -> list[Place | None]:
    """Centres of circles inside a bore, in the order given; None for one that finds no room.

    Each circle takes the lowest place that is still free where it rests on the wall or on others, and stays
    there: the drawing shows true sizes in a likely order, not the densest packing.

    Parameters
    ----------
    bore : float
        Inside diameter.
    diameters : sequence of float
        In the unit of the bore.

    Returns
    -------
    list of (float, float) or None
        From the centre of the bore, the second number growing downwards.

    Raises
    ------
    ValueError
        If a diameter is not positive.

    Examples
    --------
    >>> pack(30.0, [10.0])
    [(0.0, 10.0)]
    >>> pack(30.0, [31.0])
    [None]
    """
    if not all(size > 0 for size in (bore, *diameters)):
        msg = f"diameters {bore!r}, {list(diameters)!r} are not all positive"
        raise ValueError(msg)
    wall = bore / 2
    laid: list[tuple[float, float, float]] = []
    places: list[Place | None] = []
    for diameter in diameters:
        radius = diameter / 2
        free = [place for place in _resting(wall, radius, laid) if _fits(place, wall, radius, laid)]
        best = min(free, key=lambda p: (round(-p[1], 6), round(abs(p[0]), 6), p[0]), default=None)
        places.append(best)
        if best is not None:
            laid.append((*best, radius))
    return places


def _resting(wall: float, radius: float, laid: Sequence[tuple[float, float, float]]) -> Iterator[Place]:
    inner = wall - radius
    if inner < 0:
        return
    yield (0.0, inner)
    for i, (x, y, r) in enumerate(laid):
        yield from _crossings(0.0, 0.0, inner, x, y, r + radius)
        for x2, y2, r2 in laid[:i]:
            yield from _crossings(x, y, r + radius, x2, y2, r2 + radius)


def _crossings(x1: float, y1: float, r1: float, x2: float, y2: float, r2: float) -> Iterator[Place]:
    """Points at distance ``r1`` from the first centre and ``r2`` from the second."""
    dx, dy = x2 - x1, y2 - y1
    apart = math.hypot(dx, dy)
    if apart == 0 or apart > r1 + r2 or apart < abs(r1 - r2):
        return
    along = (r1 * r1 - r2 * r2 + apart * apart) / (2 * apart)
    aside = math.sqrt(max(0.0, r1 * r1 - along * along))
    mx, my = x1 + along * dx / apart, y1 + along * dy / apart
    yield (mx - aside * dy / apart, my + aside * dx / apart)
    yield (mx + aside * dy / apart, my - aside * dx / apart)


def _fits(place: Place, wall: float, radius: float, laid: Sequence[tuple[float, float, float]]) -> bool:
    x, y = place
    slack = wall * _TOUCH
    return math.hypot(x, y) <= wall - radius + slack and all(
        math.hypot(x - ox, y - oy) >= radius + r - slack for ox, oy, r in laid
    )
