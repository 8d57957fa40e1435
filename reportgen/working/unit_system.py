"""Units that a project prints in: one system first, the other one in brackets where a tradesperson needs it.

Values, verdicts and ``results.json`` stay in the units that they were worked out in; this is about print alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from reportgen.working.quantity import Quantity
from reportgen.working.text import apart, fixed
from reportgen.working.units import UNITS, convert

#: What is measured: its unit in feet and pounds, its unit in metres and newtons.
_SYSTEMS: Mapping[str, tuple[str, str]] = {
    "length": ("ft", "m"),
    "small": ("in", "mm"),
    "area": ("in2", "mm2"),
    "volume": ("in3", "cm3"),
    "force": ("lbf", "N"),
    "per_length": ("lbf/ft", "N/m"),
    "liquid": ("gal", "L"),
    "torque": ("lb·in", "N·m"),
    "temperature": ("degF", "degC"),
    "swing": ("delta_degF", "K"),
}
#: Each unit's counterpart in the other system.
OTHER: Mapping[str, str] = {
    **dict(_SYSTEMS.values()),
    **{other: one for one, other in _SYSTEMS.values()},
}
#: Units of temperature, whose values a data sheet or weather record gives: they keep their own scale.
_SCALES = frozenset(unit for what in ("temperature", "swing") for unit in _SYSTEMS[what])
#: Decimal places that a counterpart loses or gains against its unit, so that both are as fine.
_FINER: Mapping[str, int] = {
    "in": 1, "mm": -1, "ft": -1, "m": 1, "in2": 2, "mm2": -2, "in3": 1, "cm3": -1, "lbf": 0, "N": 0, "lbf/ft": 0, "N/m": 0,
    "gal": 1, "L": -1, "lb·in": -1, "N·m": 1, "degF": 0, "degC": 0, "delta_degF": 0, "K": 0,
}  # fmt: skip


def places_in(unit: str, beside: int) -> int:
    """Decimal places of a unit that stands beside its counterpart with ``beside`` places.

    Examples
    --------
    >>> places_in("mm", 1), places_in("in", 0)
    (0, 1)
    """
    return max(0, beside + _FINER[unit])


#: System that sentences are written in while a project is judged; None leaves each value its own unit.
_WRITTEN: ContextVar[UnitSystem | None] = ContextVar("system of units of sentences", default=None)


@contextmanager
def written_in(system: UnitSystem) -> Iterator[None]:
    """Within, sentences have lengths, areas, forces and torques in a system first; temperatures keep their own scale.

    Examples
    --------
    >>> with written_in(UnitSystem(imperial=False)):
    ...     both(Quantity(18.0, "in"), 1)
    '457 mm (18.0 in)'
    """
    token = _WRITTEN.set(system)
    try:
        yield
    finally:
        _WRITTEN.reset(token)


def first_unit(unit: str) -> str:
    """Unit that sentences have a value of this unit in."""
    system = _WRITTEN.get()
    return unit if system is None else system.instead_of(unit)


def both(value: Quantity, places: int, at_most: bool | None = None) -> str:
    """A value and, where there is one, in brackets its counterpart in the other system.

    The unit of the value comes first, or that of the system that sentences are written in; ``places`` are of the
    value's own unit. A limit, ``at_most`` or at least, is rounded to its safe side in both.

    Examples
    --------
    >>> both(Quantity(18.0, "in"), 1), both(Quantity(12.0, "V"), 1)
    ('18.0 in (457 mm)', '12.0 V')
    >>> both(Quantity(18.0, "in"), 1, at_most=False)
    '18.0 in (458 mm)'
    """
    unit = first_unit(value.unit)
    if unit != value.unit:
        return f"{value.to(unit).show(places_in(unit, places), at_most)} ({value.show(places, at_most)})"
    return f"{value.show(places, at_most)}{bracketed(value.value, value.unit, places, at_most)}"


def bracketed(value: float, unit: str, places: int, at_most: bool | None = None) -> str:
    """What stands behind a value: its counterpart in brackets, empty for units that both systems share.

    Examples
    --------
    >>> bracketed(18.0, "in", 1), bracketed(12.0, "V", 1)
    (' (457 mm)', '')
    """
    other = OTHER.get(unit)
    if other is None:
        return ""
    number = fixed(convert(value, unit, other), places_in(other, places), at_most)
    return f" ({number} {UNITS[other].printed})"


def beside_them(value: Quantity, limit: Quantity, places: int, at_most: bool) -> tuple[str, str]:
    """What stands behind a value and its limit, of one unit: their counterparts, told apart as they are.

    Examples
    --------
    >>> beside_them(Quantity(18.0, "in"), Quantity(18.0, "in"), 1, at_most=False)
    (' (457.2 mm)', ' (457.2 mm)')
    """
    other = OTHER.get(value.unit)
    if other is None:
        return "", ""
    told = apart(value.to(other).value, limit.to(other).value, places_in(other, places), at_most)
    one, two = (f" ({number} {UNITS[other].printed})" for number in told)
    return one, two


@dataclass(frozen=True, slots=True)
class UnitSystem:
    """Units of one project's pages; all of one system, so that a row can be recomputed as printed.

    Attributes
    ----------
    imperial : bool
        Feet, inches, pounds and Fahrenheit come first.
    """

    imperial: bool

    def instead_of(self, unit: str) -> str:
        """Unit of this system in place of one of the other; its own and shared ones as they are."""
        if unit in _SCALES or unit not in OTHER:
            return unit
        own = {pair[0 if self.imperial else 1] for pair in _SYSTEMS.values()}
        return unit if unit in own else OTHER[unit]

    def _of(self, what: str) -> str:
        return _SYSTEMS[what][0 if self.imperial else 1]

    @property
    def length(self) -> str:
        """Of runs and wires."""
        return self._of("length")

    @property
    def small(self) -> str:
        """Of cover, radii, diameters and travel."""
        return self._of("small")

    def places(self, imperial: int, metric: int) -> int:
        """Decimal places in this system."""
        return imperial if self.imperial else metric

    @property
    def fine(self) -> int:
        """Decimal places of a small length that is measured with a tape."""
        return self.places(1, 0)

    @property
    def area(self) -> str:
        """Of bores and wires."""
        return self._of("area")

    @property
    def volume(self) -> str:
        """Of boxes."""
        return self._of("volume")

    @property
    def force(self) -> str:
        """Of pulls."""
        return self._of("force")

    @property
    def per_length(self) -> str:
        """Of weight and of pressure in bends."""
        return self._of("per_length")

    @property
    def liquid(self) -> str:
        """Of lubricant."""
        return self._of("liquid")

    @property
    def torque(self) -> str:
        """Of terminals."""
        return self._of("torque")

    @property
    def temperature(self) -> str:
        """Of air, cells and pipes."""
        return self._of("temperature")

    @property
    def swing(self) -> str:
        """Of differences of temperature."""
        return self._of("swing")

    def told(self, value: Quantity, what: str) -> str:
        """A value of the folder with the digits that it was written in, where it was written in this system.

        Examples
        --------
        >>> UnitSystem(imperial=True).told(Quantity(-22.0, "degC"), "temperature")
        '−7.6 °F (−22.0 °C)'
        """
        unit = self._of(what)
        if value.unit == unit:
            return f"{value.show()}{bracketed(value.value, unit, 1)}"
        return both(value.to(unit), 1)

    def both(self, value: Quantity, what: str, places: int, at_most: bool | None = None) -> str:
        """A value in this system's unit of ``what``, the other system's in brackets; a limit to its safe side.

        Examples
        --------
        >>> UnitSystem(imperial=False).both(Quantity(18.0, "in"), "small", 0)
        '457 mm (18.0 in)'
        """
        return both(value.to(self._of(what)), places, at_most)
