"""Every unit the tool reads or prints, in one table, with exact factors.

Our own small table, because the general unit libraries read ``60 C`` as coulombs and ``1/0 AWG`` as a
division. A unit belongs to one dimension; a temperature and a difference of temperatures are two.
Factors that define the foot, inch and pound are exact (NIST SP 811, 2008, appendix B.8).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache, lru_cache

from reportgen.diagnostics.nearest import nearest
from reportgen.working.text import plain_number


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: ``base = ratio * value + shift`` in the base unit of its dimension, both exact.

    Attributes
    ----------
    factor, offset : float
        The two rounded once, for arithmetic that is not exact anyway.
    """

    symbol: str
    dimension: str
    ratio: Fraction
    shift: Fraction = Fraction(0)
    spellings: tuple[str, ...] = ()
    display: str = ""
    factor: float = field(init=False)
    offset: float = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "factor", float(self.ratio))
        object.__setattr__(self, "offset", float(self.shift))

    @property
    def printed(self) -> str:
        """The unit as a page prints it."""
        return self.display or self.symbol

    @property
    def accepted(self) -> tuple[str, ...]:
        """Every spelling that is read, the usual one first."""
        return (self.symbol, *self.spellings)


_FOOT, _INCH, _POUND = Fraction("0.3048"), Fraction("0.0254"), Fraction("0.45359237")
_LBF, _GALLON = Fraction("4.4482216152605"), Fraction("3.785411784")

#: Dimension, base unit first. A spelling is compared as written; case counts (``mV`` is not ``MV``).
_TABLE: tuple[Unit, ...] = (
    Unit("m", "length", Fraction(1), spellings=("metre", "metres", "meter", "meters")),
    Unit("cm", "length", Fraction("0.01")),
    Unit("mm", "length", Fraction("0.001")),
    Unit("km", "length", Fraction(1000)),
    Unit("ft", "length", _FOOT, spellings=("foot", "feet")),
    Unit("in", "length", _INCH, spellings=("inch", "inches")),
    Unit("degC", "temperature", Fraction(1), spellings=("°C", "C"), display="°C"),
    Unit("degF", "temperature", Fraction(5, 9), Fraction(-160, 9), spellings=("°F", "F"), display="°F"),
    Unit("K", "temperature_difference", Fraction(1), spellings=("delta_degC",)),
    Unit("delta_degF", "temperature_difference", Fraction(5, 9), display="°F difference"),
    Unit("V", "voltage", Fraction(1), spellings=("volt", "volts")),
    Unit("mV", "voltage", Fraction("0.001")),
    Unit("kV", "voltage", Fraction(1000)),
    Unit("A", "current", Fraction(1), spellings=("amp", "amps", "ampere", "amperes")),
    Unit("mA", "current", Fraction("0.001")),
    Unit("kA", "current", Fraction(1000)),
    Unit("W", "power", Fraction(1), spellings=("watt", "watts")),
    Unit("kW", "power", Fraction(1000)),
    Unit("MW", "power", Fraction(1_000_000)),
    Unit("kWh", "energy", Fraction(1)),
    Unit("Wh", "energy", Fraction("0.001")),
    Unit("MWh", "energy", Fraction(1000)),
    Unit("ohm", "resistance", Fraction(1), spellings=("Ω", "ohms"), display="Ω"),
    Unit("mohm", "resistance", Fraction("0.001"), spellings=("mΩ",), display="mΩ"),
    Unit("kohm", "resistance", Fraction(1000), spellings=("kΩ",), display="kΩ"),
    Unit("Mohm", "resistance", Fraction(1_000_000), spellings=("MΩ",), display="MΩ"),
    Unit("ohm/km", "resistance_per_length", Fraction(1), spellings=("Ω/km",), display="Ω/km"),
    Unit("ohm/kft", "resistance_per_length", 1 / _FOOT, spellings=("Ω/kft",), display="Ω/kft"),
    Unit("%/degC", "relative_coefficient", Fraction(1), spellings=("%/°C", "%/C", "%/K"), display="%/°C"),
    Unit("V/degC", "voltage_coefficient", Fraction(1), spellings=("V/°C", "V/C", "V/K"), display="V/°C"),
    Unit(
        "mV/degC",
        "voltage_coefficient",
        Fraction("0.001"),
        spellings=("mV/°C", "mV/C", "mV/K"),
        display="mV/°C",
    ),
    Unit("A/degC", "current_coefficient", Fraction(1), spellings=("A/°C", "A/C", "A/K"), display="A/°C"),
    Unit(
        "mA/degC",
        "current_coefficient",
        Fraction("0.001"),
        spellings=("mA/°C", "mA/C", "mA/K"),
        display="mA/°C",
    ),
    Unit("mm2", "area", Fraction(1), spellings=("mm²", "mm^2"), display="mm²"),
    Unit("in2", "area", Fraction("645.16"), spellings=("in²", "in^2", "sq in"), display="in²"),
    # A circular mil is the area of a circle of one thousandth of an inch: π/4 · 0.0254² mm².
    Unit("cmil", "area", Fraction("0.000506707479097498")),
    Unit("in3", "volume", Fraction(1), spellings=("in³", "in^3", "cu in"), display="in³"),
    Unit("cm3", "volume", 1 / Fraction("16.387064"), spellings=("cm³", "cm^3"), display="cm³"),
    Unit("L", "liquid", Fraction(1), spellings=("litre", "litres", "liter", "liters")),
    # The gallon of the United States is 231 cubic inches.
    Unit("gal", "liquid", _GALLON, spellings=("gallon", "gallons")),
    Unit("m2", "surface", Fraction(1), spellings=("m²", "m^2"), display="m²"),
    Unit("deg", "angle", Fraction(1), spellings=("°", "degrees"), display="°"),
    Unit("N", "force", Fraction(1)),
    Unit("kN", "force", Fraction(1000)),
    Unit("lbf", "force", _LBF, spellings=("lb", "lbs"), display="lb"),
    Unit("kg", "mass", Fraction(1)),
    Unit("g", "mass", Fraction("0.001")),
    Unit("lbm", "mass", _POUND, spellings=("lb", "lbs"), display="lb"),
    Unit("kg/km", "linear_mass", Fraction(1)),
    Unit("kg/m", "linear_mass", Fraction(1000)),
    Unit("lb/ft", "linear_mass", _POUND / _FOOT * 1000),
    Unit("lb/kft", "linear_mass", _POUND / _FOOT, spellings=("lb/1000 ft",)),
    Unit("N/m", "linear_force", Fraction(1)),
    Unit("lbf/ft", "linear_force", _LBF / _FOOT, spellings=("lb/ft",), display="lb/ft"),
    Unit("N·m", "torque", Fraction(1), spellings=("Nm", "N.m", "N m")),
    Unit("lb·in", "torque", _LBF * _INCH, spellings=("lbf·in", "lb-in", "lbin", "lb in", "in-lb", "in lb")),
    Unit("lb·ft", "torque", _LBF * _FOOT, spellings=("lbf·ft", "lb-ft", "lb ft", "ft-lb", "ft lb")),
    Unit("min", "duration", Fraction(1), spellings=("minute", "minutes")),
    Unit("s", "duration", Fraction(1, 60), spellings=("second", "seconds")),
    Unit("h", "duration", Fraction(60), spellings=("hour", "hours")),
    Unit("year", "age", Fraction(1), spellings=("years", "yr")),
    Unit("W/m2", "irradiance", Fraction(1), spellings=("W/m²", "W/m^2"), display="W/m²"),
    Unit("kW/m2", "irradiance", Fraction(1000), spellings=("kW/m²", "kW/m^2"), display="kW/m²"),
    Unit("kWh/m2", "irradiation", Fraction(1), spellings=("kWh/m²", "kWh/m^2"), display="kWh/m²"),
    Unit("MJ/m2", "irradiation", 1 / Fraction("3.6"), spellings=("MJ/m²", "MJ/m^2"), display="MJ/m²"),
    Unit("m/s", "speed", Fraction(1)),
    Unit("mph", "speed", Fraction("0.44704")),
    Unit("%", "share", Fraction(1), spellings=("percent",)),
    Unit("", "count", Fraction(1)),
)

UNITS: dict[str, Unit] = {unit.symbol: unit for unit in _TABLE}
DIMENSIONS: dict[str, tuple[Unit, ...]] = {}
for _unit in _TABLE:
    DIMENSIONS[_unit.dimension] = (*DIMENSIONS.get(_unit.dimension, ()), _unit)


#: How people write a quantity of each dimension, for schemas, guides and lists of units.
SAMPLES: dict[str, tuple[str, ...]] = {
    "length": ("64 m", "210 ft", "5 ft 6 in", "12 mm"),
    "temperature": ("-12 degC", "-12 °C", "10 degF"),
    "temperature_difference": ("5 K", "9 delta_degF"),
    "voltage": ("44.1 V", "1.5 kV"),
    "current": ("12.95 A", "20 mA"),
    "power": ("450 W", "10 kW"),
    "energy": ("12 kWh",),
    "resistance": ("0.5 ohm", "200 MΩ"),
    "resistance_per_length": ("3.39 ohm/km", "1.24 ohm/kft"),
    "relative_coefficient": ("-0.26 %/degC", "-0.26 %/K"),
    "voltage_coefficient": ("-0.115 V/degC", "-115 mV/K"),
    "current_coefficient": ("5.8 mA/degC",),
    "area": ("6 mm2", "0.5 in2"),
    "volume": ("42 in3", "690 cm3"),
    "liquid": ("1 L", "1 gal"),
    "surface": ("2.1 m2",),
    "angle": ("30 deg", "30°"),
    "force": ("2.2 kN", "500 lb"),
    "mass": ("25 kg", "55 lb"),
    "linear_mass": ("61 kg/km", "0.04 lb/ft"),
    "linear_force": ("4400 N/m", "300 lb/ft"),
    "torque": ("1.8 N·m", "16 lb·in"),
    "duration": ("5 min", "30 s"),
    "age": ("20 years",),
    "irradiance": ("710 W/m2",),
    "irradiation": ("4.6 kWh/m2",),
    "speed": ("3 m/s",),
    "share": ("2.5 %",),
    "count": ("12",),
}


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
    return {spelling: unit for unit in DIMENSIONS[dimension] for spelling in unit.accepted}


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
#: Characters that look like one of a unit: the ohm sign for omega, the ordinal and the ring for the degree sign.
_LOOK_ALIKE = str.maketrans({"\u2126": "Ω", "\u00ba": "°", "\u02da": "°"})
#: Sizes within which a number is worth an exact fraction; outside, its exponent could cost any amount of memory.
_EXACT = (1e-30, 1e30)


#: What is written in the United States where the first unit of a dimension is metric.
_CUSTOMARY = {
    "length": "ft", "temperature": "degF", "temperature_difference": "delta_degF", "area": "in2", "force": "lbf",
    "mass": "lbm", "linear_force": "lbf/ft", "linear_mass": "lb/ft", "torque": "lb·in", "liquid": "gal", "speed": "mph",
    "resistance_per_length": "ohm/kft",
}  # fmt: skip


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
    number, unit = _read(text, dimensions)
    return float(number), unit


def measure(text: str, dimensions: tuple[str, ...]) -> tuple[float, str]:
    """Value of a text in the base unit of its dimension, rounded once, and the symbol of that unit.

    The same length in feet and in metres gives the same bits, wherever both can be written out in decimals.

    Parameters
    ----------
    text, dimensions
        As for :func:`parse`; a text in a later dimension is given in the base unit of that one.

    Raises
    ------
    UnitError
        With the reason and what to write instead.

    Examples
    --------
    >>> measure("151 ft", ("length",)) == measure("46.0248 m", ("length",))
    True
    >>> measure("95.9 degF", ("temperature",)) == measure("35.5 degC", ("temperature",))
    True
    """
    return _measured(str(text), dimensions)


@lru_cache(maxsize=4096)
def _measured(text: str, dimensions: tuple[str, ...]) -> tuple[float, str]:
    # A folder says the same few lengths and ratings again and again.
    number, unit = _read(text, dimensions)
    base = DIMENSIONS[unit.dimension][0].symbol
    if unit.symbol == base:
        return float(number), base
    return float(Fraction(number) * unit.ratio + unit.shift), base


def _exactly(text: str, example: str) -> Fraction | float:
    """Return the number of a text; a plain float where only its size matters."""
    value = plain_number(text)
    if value is None:
        raise UnitError("has a number that is too large", f"write for instance {example}")
    return Fraction(text) if _EXACT[0] < abs(value) < _EXACT[1] else value


def _read(text: str, dimensions: tuple[str, ...]) -> tuple[Fraction | float, Unit]:
    stripped = text.strip()
    example = examples(dimensions)
    if re.match(r"[+-]?\d+,\d+", stripped):
        raise UnitError(*_why_not(stripped, example))
    if "length" in dimensions and (both := _FEET_INCHES.fullmatch(stripped)):
        feet, inches = _exactly(both["feet"], example), _exactly(both["inches"], example)
        return feet + inches / Fraction(12), UNITS["ft"]
    match = _QUANTITY.fullmatch(stripped)
    if match is None:
        raise UnitError(*_why_not(stripped, example))
    number = _exactly(match["number"], example)
    written = (match["unit"] or "").strip().translate(_LOOK_ALIKE)
    if not written:
        if dimensions == ("count",):
            return number, UNITS[""]
        raise UnitError("has no unit", _which_unit(match["number"], dimensions[0]))
    for dimension in dimensions:
        if unit := _spellings(dimension).get(written):
            return number, unit
    raise UnitError(*_wrong_unit(match["number"], written, dimensions))


#: A coefficient as a share of one.
_SHARES = frozenset(f"{one}/{degree}" for one in ("1", "") for degree in ("degC", "°C", "C", "K"))


def _which_unit(number: str, dimension: str) -> str:
    """What to write where no unit stands; nothing leads to one system of units: a guess would pass for the design."""
    first, other = DIMENSIONS[dimension][0].symbol, _CUSTOMARY.get(dimension)
    if other is None:
        return f"write the unit, for instance `{number} {first}`"
    return f"write the unit that it is in: `{number} {first}` or `{number} {other}`"


def _wrong_unit(number: str, written: str, dimensions: tuple[str, ...]) -> tuple[str, str]:
    accepted = "accepted units: " + ", ".join(f"`{u.symbol}`" for d in dimensions for u in DIMENSIONS[d])
    other = next((u for d in DIMENSIONS for s, u in _spellings(d).items() if s == written), None)
    if other is not None:
        kind = dimensions[0].replace("_", " ")
        return f"is a {other.dimension.replace('_', ' ')}, not a {kind}", accepted
    if "relative_coefficient" in dimensions and written in _SHARES:
        # A tenth of a percent a degree and its share differ by a hundred: no other unit is meant.
        percent = f"{float(number) * 100:.6g}"
        return (
            f"has the unknown unit `{written}`",
            f"data sheets show percent: `{percent} %/degC`; {accepted}",
        )
    spellings = [spelling for dimension in dimensions for spelling in _spellings(dimension)]
    # Only upper and lower case tell milli from mega, so the first letter is not guessed at.
    same = [item for item in spellings if item.lower() == written.lower()]
    meant = next((item for item in same if item[0] == written[0]), None) or (
        same[0] if len(same) == 1 else nearest(written, spellings) if not same else None
    )
    help = f"did you mean `{number} {meant}`? {accepted}" if meant else accepted
    return f"has the unknown unit `{written}`", help


def _first(dimensions: tuple[str, ...]) -> str:
    return DIMENSIONS[dimensions[0]][0].symbol


def examples(dimensions: tuple[str, ...]) -> str:
    """A spelling that is always right at this place, in backticks."""
    return f"`12 {_first(dimensions)}`"


def _why_not(text: str, example: str) -> tuple[str, str]:
    if "," in text and re.match(r"[+-]?\d+,\d+", text):
        return comma(text)
    if "\u2212" in text:
        return "has the minus sign U+2212", f"write a plain hyphen: `{text.replace(chr(0x2212), '-')}`"
    return "is not a number with a unit", f"write for instance {example}"


def comma(text: str) -> tuple[str, str]:
    """Say what is wrong with a number that holds a comma, and what to write; a thousand is never made a one.

    Examples
    --------
    >>> comma("1,5 m")[1]
    'write the number with a point: `1.5 m`'
    >>> comma("1,250 ft")[1]
    'write `1250 ft` or `1.250 ft`, whichever is meant'
    """
    without, with_point = text.replace(",", ""), text.replace(",", ".", 1)
    if re.match(r"[+-]?\d{1,3}(?:,\d{3})+\.", text) or text.count(",") > 1:
        return "has commas between its digits", f"write the number without them: `{without}`"
    if re.match(r"[+-]?\d{1,3},\d{3}(?!\d)", text):
        return (
            "has a comma, for a point or for thousands",
            f"write `{without}` or `{with_point}`, whichever is meant",
        )
    return "has a decimal comma", f"write the number with a point: `{with_point}`"
