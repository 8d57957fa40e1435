"""Every unit the tool reads or prints, in one table, with exact factors.

Our own small table, because the general unit libraries read ``60 C`` as coulombs and ``1/0 AWG`` as a
division. A unit belongs to one dimension; a temperature and a difference of temperatures are two.
Factors that define the foot, inch and pound are exact (NIST SP 811, 2008, appendix B.8).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from reportgen.working.text import plain_number


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: ``base = factor * value + offset`` in the base unit of its dimension."""

    symbol: str
    dimension: str
    factor: float
    offset: float = 0.0
    spellings: tuple[str, ...] = ()
    display: str = ""

    @property
    def printed(self) -> str:
        """The unit as a page prints it."""
        return self.display or self.symbol


_FOOT, _INCH, _POUND, _LBF = 0.3048, 0.0254, 0.45359237, 4.4482216152605

#: Dimension, base unit first. A spelling is compared as written; case counts (``mV`` is not ``MV``).
_TABLE: tuple[Unit, ...] = (
    Unit("m", "length", 1.0, spellings=("metre", "metres", "meter", "meters")),
    Unit("cm", "length", 0.01),
    Unit("mm", "length", 0.001),
    Unit("km", "length", 1000.0),
    Unit("ft", "length", _FOOT, spellings=("foot", "feet")),
    Unit("in", "length", _INCH, spellings=("inch", "inches")),
    Unit("degC", "temperature", 1.0, spellings=("°C", "C"), display="°C"),
    Unit("degF", "temperature", 5.0 / 9.0, -160.0 / 9.0, spellings=("°F", "F"), display="°F"),
    Unit("K", "temperature_difference", 1.0, spellings=("delta_degC",)),
    Unit("delta_degF", "temperature_difference", 5.0 / 9.0, display="°F difference"),
    Unit("V", "voltage", 1.0),
    Unit("mV", "voltage", 0.001),
    Unit("kV", "voltage", 1000.0),
    Unit("A", "current", 1.0),
    Unit("mA", "current", 0.001),
    Unit("W", "power", 1.0),
    Unit("kW", "power", 1000.0),
    Unit("MW", "power", 1e6),
    Unit("kWh", "energy", 1.0),
    Unit("Wh", "energy", 0.001),
    Unit("MWh", "energy", 1000.0),
    Unit("ohm", "resistance", 1.0, spellings=("Ω", "ohms"), display="Ω"),
    Unit("mohm", "resistance", 0.001, spellings=("mΩ",), display="mΩ"),
    Unit("kohm", "resistance", 1000.0, spellings=("kΩ",), display="kΩ"),
    Unit("Mohm", "resistance", 1e6, spellings=("MΩ",), display="MΩ"),
    Unit("ohm/km", "resistance_per_length", 1.0, spellings=("Ω/km",), display="Ω/km"),
    Unit("ohm/kft", "resistance_per_length", 1.0 / _FOOT, spellings=("Ω/kft",), display="Ω/kft"),
    Unit("%/degC", "relative_coefficient", 1.0, spellings=("%/°C", "%/C", "%/K"), display="%/°C"),
    Unit("V/degC", "voltage_coefficient", 1.0, spellings=("V/°C", "V/C", "V/K"), display="V/°C"),
    Unit("mV/degC", "voltage_coefficient", 0.001, spellings=("mV/°C", "mV/C", "mV/K"), display="mV/°C"),
    Unit("A/degC", "current_coefficient", 1.0, spellings=("A/°C", "A/C", "A/K"), display="A/°C"),
    Unit("mA/degC", "current_coefficient", 0.001, spellings=("mA/°C", "mA/C", "mA/K"), display="mA/°C"),
    Unit("mm2", "area", 1.0, spellings=("mm²", "mm^2"), display="mm²"),
    Unit("in2", "area", 645.16, spellings=("in²", "in^2", "sq in"), display="in²"),
    # A circular mil is the area of a circle of one thousandth of an inch: π/4 · 0.0254² mm².
    Unit("cmil", "area", 0.000506707479097498),
    Unit("in3", "volume", 1.0, spellings=("in³", "in^3", "cu in"), display="in³"),
    Unit("cm3", "volume", 1.0 / 16.387064, spellings=("cm³", "cm^3"), display="cm³"),
    Unit("L", "liquid", 1.0, spellings=("litre", "litres", "liter", "liters")),
    # The gallon of the United States is 231 cubic inches.
    Unit("gal", "liquid", 3.785411784, spellings=("gallon", "gallons")),
    Unit("m2", "surface", 1.0, spellings=("m²", "m^2"), display="m²"),
    Unit("deg", "angle", 1.0, spellings=("°", "degrees"), display="°"),
    Unit("N", "force", 1.0),
    Unit("kN", "force", 1000.0),
    Unit("lbf", "force", _LBF, spellings=("lb",), display="lb"),
    Unit("kg", "mass", 1.0),
    Unit("g", "mass", 0.001),
    Unit("lbm", "mass", _POUND, spellings=("lb",), display="lb"),
    Unit("kg/km", "linear_mass", 1.0),
    Unit("kg/m", "linear_mass", 1000.0),
    Unit("lb/ft", "linear_mass", _POUND / _FOOT * 1000.0),
    Unit("lb/kft", "linear_mass", _POUND / _FOOT, spellings=("lb/1000 ft",)),
    Unit("N/m", "linear_force", 1.0),
    Unit("lbf/ft", "linear_force", _LBF / _FOOT, spellings=("lb/ft",), display="lb/ft"),
    Unit("N·m", "torque", 1.0, spellings=("Nm", "N.m", "N m")),
    Unit("lb·in", "torque", _LBF * _INCH, spellings=("lbf·in", "lb-in", "lbin", "lb in", "in-lb", "in lb")),
    Unit("lb·ft", "torque", _LBF * _FOOT, spellings=("lbf·ft", "lb-ft", "lb ft", "ft-lb", "ft lb")),
    Unit("min", "duration", 1.0, spellings=("minute", "minutes")),
    Unit("s", "duration", 1.0 / 60.0, spellings=("second", "seconds")),
    Unit("h", "duration", 60.0, spellings=("hour", "hours")),
    Unit("year", "age", 1.0, spellings=("years", "yr")),
    Unit("W/m2", "irradiance", 1.0, spellings=("W/m²", "W/m^2"), display="W/m²"),
    Unit("kW/m2", "irradiance", 1000.0, spellings=("kW/m²", "kW/m^2"), display="kW/m²"),
    Unit("kWh/m2", "irradiation", 1.0, spellings=("kWh/m²", "kWh/m^2"), display="kWh/m²"),
    Unit("MJ/m2", "irradiation", 1.0 / 3.6, spellings=("MJ/m²", "MJ/m^2"), display="MJ/m²"),
    Unit("m/s", "speed", 1.0),
    Unit("mph", "speed", 0.44704),
    Unit("%", "share", 1.0, spellings=("percent",)),
    Unit("", "count", 1.0),
)

UNITS: dict[str, Unit] = {unit.symbol: unit for unit in _TABLE}
DIMENSIONS: dict[str, tuple[Unit, ...]] = {}
for _unit in _TABLE:
    DIMENSIONS[_unit.dimension] = (*DIMENSIONS.get(_unit.dimension, ()), _unit)


class UnitError(ValueError):
    """A text that is no quantity of the wanted dimension.

    Attributes
    ----------
    reason : str
        The fact, without the text itself.
    hint : str
        The one thing to do.
    """

    def __init__(self, reason: str, hint: str) -> None:
        super().__init__(f"{reason}; {hint}")
        self.reason = reason
        self.hint = hint


@cache
def _spellings(dimension: str) -> dict[str, Unit]:
    return {spelling: unit for unit in DIMENSIONS[dimension] for spelling in (unit.symbol, *unit.spellings)}


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Value of the same quantity in another unit of its dimension.

    Raises
    ------
    ValueError
        If the two units measure different things.

    Examples
    --------
    >>> convert(210, "ft", "m")
    64.008
    >>> convert(14, "degF", "degC")
    -10.0
    """
    if from_unit == to_unit:
        return value
    source, target = UNITS[from_unit], UNITS[to_unit]
    if source.dimension != target.dimension:
        msg = f"{from_unit} is a {source.dimension}, {to_unit} a {target.dimension}"
        raise ValueError(msg)
    return (value * source.factor + source.offset - target.offset) / target.factor


_QUANTITY = re.compile(
    r"(?P<number>[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)\s*(?P<unit>\D.*)?", re.ASCII
)
_FEET_INCHES = re.compile(r"(?P<feet>\d+)\s*ft\s+(?P<inches>\d+(?:\.\d+)?)\s*in", re.ASCII)


def parse(text: str, dimensions: tuple[str, ...]) -> tuple[float, Unit]:
    """Number and unit of a text such as ``64 m``; one number and one unit, no sums.

    Parameters
    ----------
    text : str
        As written by the user.
    dimensions : tuple of str
        Dimensions allowed at this place, for instance ``("length",)``.

    Raises
    ------
    UnitError
        With the reason and what to write instead.

    Examples
    --------
    >>> value, unit = parse("5 ft 6 in", ("length",))
    >>> value, unit.symbol
    (5.5, 'ft')
    """
    stripped = text.strip()
    example = examples(dimensions)
    if re.match(r"[+-]?\d+,\d+", stripped):
        raise UnitError(*_why_not(stripped, example))
    if "length" in dimensions and (both := _FEET_INCHES.fullmatch(stripped)):
        feet, inches = plain_number(both["feet"]), plain_number(both["inches"])
        if feet is None or inches is None:
            raise UnitError("has a number that is too large", f"write for instance {example}")
        return feet + inches / 12.0, UNITS["ft"]
    match = _QUANTITY.fullmatch(stripped)
    if match is None:
        raise UnitError(*_why_not(stripped, example))
    number = plain_number(match["number"])
    if number is None:
        raise UnitError("has a number that is too large", f"write for instance {example}")
    # The ohm sign U+2126 is another character than the letter omega, and looks the same.
    written = (match["unit"] or "").strip().replace("\u2126", "Ω")
    if not written:
        if dimensions == ("count",):
            return number, UNITS[""]
        raise UnitError(
            "has no unit", f"write the unit, for instance `{match['number']} {_first(dimensions)}`"
        )
    for dimension in dimensions:
        if unit := _spellings(dimension).get(written):
            return number, unit
    other = next((u for d in DIMENSIONS for s, u in _spellings(d).items() if s == written), None)
    accepted = ", ".join(f"`{u.symbol}`" for d in dimensions for u in DIMENSIONS[d])
    if other is not None:
        kind = dimensions[0].replace("_", " ")
        raise UnitError(
            f"is a {other.dimension.replace('_', ' ')}, not a {kind}", f"accepted units: {accepted}"
        )
    raise UnitError(f"has the unknown unit `{written}`", f"accepted units: {accepted}")


def _first(dimensions: tuple[str, ...]) -> str:
    return DIMENSIONS[dimensions[0]][0].symbol


def examples(dimensions: tuple[str, ...]) -> str:
    """A spelling that is always right at this place, in backticks."""
    return f"`12 {_first(dimensions)}`"


def _why_not(text: str, example: str) -> tuple[str, str]:
    if "," in text and re.match(r"[+-]?\d+,\d+", text):
        return "has a decimal comma", f"write the number with a point: `{text.replace(',', '.', 1)}`"
    if "\u2212" in text:
        return "has the minus sign U+2212", f"write a plain hyphen: `{text.replace(chr(0x2212), '-')}`"
    return "is not a number with a unit", f"write for instance {example}"
