"""Lookups in tables of international and national standards, which belong to no edition of a code.

The tables stand in ``standards/*.csv`` and have the form of :mod:`reportgen.rulebook.loader`; their
``edition-clause`` line names the printed table itself. Like those of a rulebook they return cells that cite
themselves and raise :class:`~reportgen.rulebook.errors.OutsideTable` for what is not printed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from reportgen.rulebook.book import settled
from reportgen.rulebook.edition import sources
from reportgen.rulebook.errors import OutsideTable, UnknownRule
from reportgen.rulebook.loader import Row, Table, check, read_table
from reportgen.rulebook.sizes import normal_size, size_text
from reportgen.working.quantity import Cell

FOLDER = Path(__file__).parent / "standards"


@dataclass(frozen=True, slots=True)
class InsulationTest:
    """Test voltage [V] and least insulation resistance [MΩ] of a string or array."""

    test: Cell
    least: Cell


@dataclass(frozen=True, slots=True)
class StandardLabel:
    """A label that a standard asks for; its wording is described, not prescribed.

    Parameters
    ----------
    key, clause : str
        Our key, and where the standard asks for it.
    says, prints : str
        What it means, and what is filled in.
    spacing : Cell or None
        Distance between labels along a run [m] where the standard says so.
    place : str
        Where it goes.
    recalled : bool
        True where it was recalled and not read.
    """

    key: str
    clause: str
    says: str
    prints: str
    spacing: Cell | None
    place: str
    recalled: bool


@cache
def table(name: str) -> Table:
    """Return one table of the standards, checked.

    Raises
    ------
    UnknownRule
        If there is no such table.
    TableError
        If its file is wrong.
    """
    path = FOLDER / f"{name}.csv"
    if not path.is_file():
        raise UnknownRule("table", name)
    return check(read_table(path, sources()))


def names() -> tuple[str, ...]:
    """Names of all tables of the standards, sorted."""
    return tuple(sorted(path.stem for path in FOLDER.glob("*.csv")))


def _cell(source: Table, row: Row | None, column: str, where: str, heading: str = "") -> Cell:
    if row is None or column not in source.header.units or not row[column]:
        raise OutsideTable(source.header.clause_key, f"{where}, {heading or column}", source.header.valid)
    unit = source.header.units[column]
    printed = row.values.get("table") or source.header.clause_key
    cited = f"{source.header.source} [{', '.join(row.codes)}]"
    plain = "" if unit in {"text", "count"} else unit
    return Cell(printed, where, heading or column, row[column], plain, cited, row.recalled)


def _number_text(value: float) -> str:
    return f"{value:g}"


def _same(row: Row, column: str, value: float) -> bool:
    return row.number(column) == value


def conductor_resistance(area_mm2: float, *, flexible: bool, tinned: bool) -> Cell:
    """Greatest resistance of a copper conductor at 20 °C [Ω/km].

    Parameters
    ----------
    area_mm2 : float
        Nominal cross-section. [mm²]
    flexible : bool
        True for class 5, False for class 2 (stranded).
    tinned : bool
        True for metal-coated wires.

    Raises
    ------
    OutsideTable
        If the table has no such cross-section.

    Notes
    -----
    Source: IEC 60228:2004.

    Examples
    --------
    >>> conductor_resistance(6, flexible=True, tinned=True).number
    3.39
    """
    source = table("conductor-resistance")
    row = next((row for row in source.rows if _same(row, "area", area_mm2)), None)
    column = f"class {5 if flexible else 2} {'tinned' if tinned else 'plain'}"
    return _cell(source, row, column, f"{_number_text(area_mm2)} mm²")


def ampacity(insulation: str, loaded: int, method: str, area_mm2: float) -> Cell:
    """Current-carrying capacity of a copper conductor by method of installation [A].

    Parameters
    ----------
    insulation : str
        ``PVC70`` or ``XLPE90``.
    loaded : int
        Loaded conductors of the circuit; direct current has two.
    method : str
        ``B1``, ``C``, ``D1``, ``D2``, ``E`` or ``F``.
    area_mm2 : float
        Nominal cross-section. [mm²]

    Raises
    ------
    OutsideTable
        If the tables print no such value.

    Notes
    -----
    Air at 30 °C, ground at 20 °C and 2.5 K·m/W. Source: IEC 60364-5-52:2009, Annex B.
    """
    source = table("ampacity")
    row = source.find(insulation, str(loaded), method, _number_text(area_mm2))
    return _cell(
        source, row, "capacity", f"{insulation}, {loaded} loaded, {method}, {_number_text(area_mm2)} mm²"
    )


def temperature_factor(medium: str, insulation: str, temperature_c: float) -> Cell:
    """Factor for the temperature of air or ground; between rows the hotter one holds [-].

    Parameters
    ----------
    medium : str
        ``air`` or ``ground-ducts``.
    insulation : str
        ``PVC70`` or ``XLPE90``.
    temperature_c : float
        Of the air or the ground. [°C]

    Raises
    ------
    OutsideTable
        If the tables print no such value.

    Notes
    -----
    Source: IEC 60364-5-52:2009, Tables B.52.14 and B.52.15.
    """
    source = table("temperature-factors")
    rows = [row for row in source.rows if row["medium"] == medium]
    row = _first_not_below(rows, "temperature", temperature_c)
    return _cell(source, row, insulation, f"{medium}, {row['temperature'] if row else temperature_c} °C")


def _first_not_below(rows: list[Row] | tuple[Row, ...], column: str, value: float) -> Row | None:
    if not math.isfinite(value):
        return None
    return next((row for row in rows if settled(value) <= row.number(column)), None)


def soil_factor(method: str, resistivity: float) -> Cell:
    """Factor for the thermal resistivity of the soil; between rows the drier one holds [-].

    Parameters
    ----------
    method : str
        ``D1`` (in ducts) or ``D2`` (direct in the ground).
    resistivity : float
        Of the soil. [K·m/W]

    Raises
    ------
    OutsideTable
        If the table prints no such value.

    Notes
    -----
    Source: IEC 60364-5-52:2009, Table B.52.16.
    """
    source = table("soil-factors")
    row = _first_not_below(source.rows, "resistivity", resistivity)
    return _cell(source, row, method, f"{row['resistivity'] if row else resistivity} K·m/W")


def grouping_factor(arrangement: str, spacing: str, circuits: int) -> Cell:
    """Reduction factor for grouped circuits; between rows the larger number holds [-].

    Parameters
    ----------
    arrangement, spacing : str
        As the table lists them, for instance ``bunched-or-enclosed`` and ``touching``.
    circuits : int
        Number of circuits or cables.

    Raises
    ------
    OutsideTable
        Above the last number of the arrangement.

    Notes
    -----
    Source: IEC 60364-5-52:2009, Tables B.52.17 to B.52.19.
    """
    source = table("grouping-factors")
    rows = [row for row in source.rows if (row["arrangement"], row["spacing"]) == (arrangement, spacing)]
    row = _first_not_below(rows, "circuits", circuits) if circuits >= 1 else None
    return _cell(
        source, row, "factor", f"{arrangement}, {spacing}, {row['circuits'] if row else circuits} circuits"
    )


def pv_cable_ampacity(area_mm2: float, arrangement: str) -> Cell:
    """Current-carrying capacity of photovoltaic cable at 60 °C ambient and 120 °C conductor [A].

    Parameters
    ----------
    area_mm2 : float
        Nominal cross-section. [mm²]
    arrangement : str
        ``free-air``, ``surface`` or ``two-adjacent``.

    Raises
    ------
    OutsideTable
        If the table prints no such value.

    Notes
    -----
    Most terminals do not allow 120 °C. Source: EN 50618:2014, Table A.3, recalled.
    """
    source = table("pv-cable-ampacity")
    row = next((row for row in source.rows if _same(row, "area", area_mm2)), None)
    return _cell(source, row, arrangement, f"{_number_text(area_mm2)} mm²")


def pv_cable_temperature_factor(ambient_c: float) -> Cell:
    """Factor on the capacity of photovoltaic cable; between rows the hotter one holds [-].

    Raises
    ------
    OutsideTable
        Above 90 °C.

    Notes
    -----
    Source: EN 50618:2014, Table A.4, recalled; above 60 °C the lower value of the square-root law.
    """
    source = table("pv-cable-temperature")
    row = _first_not_below(source.rows, "hottest", ambient_c)
    return _cell(source, row, "factor", f"up to {row['hottest'] if row else ambient_c} °C")


def pv_cable_diameter(area_mm2: float) -> Cell:
    """Nominal outside diameter of photovoltaic cable of one maker, typical only [mm].

    Raises
    ------
    OutsideTable
        If the maker's page has no such cross-section.
    """
    source = table("pv-cable-diameter")
    row = next((row for row in source.rows if _same(row, "area", area_mm2)), None)
    return _cell(source, row, "nominal", f"{_number_text(area_mm2)} mm²")


def pv_wire_diameter(size: str, volts: float) -> Cell:
    """Estimated outside diameter of photovoltaic wire; no "meets" may rest on it [in].

    Parameters
    ----------
    size : str
        AWG.
    volts : float
        Rating marked on the wire, up to 2000. [V]

    Raises
    ------
    OutsideTable
        If there is no estimate.

    Notes
    -----
    Bare strand plus twice an assumed insulation: off by up to a tenth, the data sheet governs.
    """
    source = table("pv-wire-typical")
    try:
        name = normal_size(size)
    except ValueError as error:
        raise OutsideTable(source.header.title, f"size `{size}`", source.header.valid) from error
    rows = [row for row in source.rows if row["size"] == name]
    row = _first_not_below(rows, "volts", volts)
    return _cell(source, row, "diameter", f"{size_text(name)}, {volts:g} V")


def insulation_test(basis_v: float) -> InsulationTest:
    """Test voltage and least insulation resistance of a string or array.

    Parameters
    ----------
    basis_v : float
        1.25 times the open-circuit voltage at standard test conditions. [V]

    Raises
    ------
    OutsideTable
        If the voltage is not positive or above 1500 V.

    Notes
    -----
    Source: IEC 62446-1:2016, Table 1, mostly recalled.

    Examples
    --------
    >>> insulation_test(510).test.number
    1000.0
    """
    source = table("insulation-test")
    asked = settled(basis_v)

    def holds(row: Row) -> bool:
        limit = row.number("up_to")
        return 0 < asked < limit or (row["included"] == "yes" and asked == limit)

    row = next((row for row in source.rows if holds(row)), None)
    where = f"up to {row['up_to']} V" if row else f"{basis_v:g} V"
    return InsulationTest(_cell(source, row, "test", where), _cell(source, row, "least", where))


def inverter_insulation(array_kw: float) -> Cell:
    """Least insulation resistance of an array before its inverter may start [kΩ].

    Raises
    ------
    OutsideTable
        If the power is not positive.

    Notes
    -----
    Source: IEC 62548:2016, recalled.
    """
    source = table("inverter-insulation")
    rows = (
        row for row in source.rows if array_kw > 0 and (not row["up_to"] or array_kw <= row.number("up_to"))
    )
    row = next(rows, None)
    return _cell(source, row, "least", f"{array_kw:g} kW")


def voltage_factor(temperature_c: float) -> Cell:
    """Factor on the open-circuit voltage of crystalline silicon; between bands the colder one holds [-].

    Raises
    ------
    OutsideTable
        Below -40 °C and from 25 °C up.

    Notes
    -----
    Source: IEC 62548:2016, mostly recalled.
    """
    source = table("voltage-factors")
    asked = settled(temperature_c)
    rows = (row for row in source.rows if asked >= row.number("coldest"))
    row = next(rows, None)
    if row is source.rows[0] and asked >= row.number("warmest") + 1:
        row = None
    return _cell(
        source, row, "factor", f"{row['warmest']} to {row['coldest']} °C" if row else f"{temperature_c:g} °C"
    )


def ferrule(area_mm2: float) -> Cell:
    """Cross-section of the ferrule for a conductor: its own, else the next larger [mm²].

    Raises
    ------
    OutsideTable
        Above the largest ferrule.

    Notes
    -----
    Source: DIN 46228-4, nominal cross-sections, recalled.

    Examples
    --------
    >>> ferrule(5.26).number
    6.0
    """
    source = table("ferrules")
    row = _first_not_below(source.rows, "area", area_mm2)
    return _cell(source, row, "area", f"{_number_text(area_mm2)} mm²")


def number(key: str) -> Cell:
    """Number of a rule of some standard, in the unit that the cell carries.

    Raises
    ------
    UnknownRule
        If there is no such number.
    """
    source = table("numbers")
    row = source.find(key)
    if row is None:
        raise UnknownRule("number", key)
    cited = f"{row['clause']} [{', '.join(row.codes)}]"
    return Cell(row["clause"], key.replace("-", " "), "", row["value"], row["unit"], cited, row.recalled)


def labels() -> Iterator[StandardLabel]:
    """Labels that standards outside the United States ask for, in the order of the table."""
    source = table("labels")
    for row in source.rows:
        spacing = _cell(source, row, "spacing", row["label"]) if row["spacing"] else None
        yield StandardLabel(
            row["label"], row["clause"], row["says"], row["prints"], spacing, row["place"], row.recalled
        )


def terminal_test_torque(thread: str) -> tuple[Cell | None, Cell | None, Cell]:
    """Torques of the terminal test for headless screws, screwdriver and other tools [N·m].

    They are not installation torques: a page that prints one says that the maker gives none.

    Raises
    ------
    OutsideTable
        If the table has no such thread.

    Notes
    -----
    Source: IEC 60947-1, Table 4, recalled.
    """
    source = table("torque-test")
    row = source.find(thread)
    other = _cell(source, row, "other", thread)
    headless, screwdriver = (
        _cell(source, row, column, thread) if row and row[column] else None
        for column in ("headless", "screwdriver")
    )
    return headless, screwdriver, other


def utilisation(marked: str) -> tuple[Cell, ...]:
    """What a switch may open by each utilisation category in a maker's text: ``load``, ``load of one string`` or ``no load``.

    Empty where the text names no category for direct current that the table has.

    Notes
    -----
    Source: IEC 60947-3, utilisation categories and the annex on photovoltaic switches, recalled.

    Examples
    --------
    >>> [(cell.row, cell.value) for cell in utilisation("DC-21B, DC-PV0")]
    [('DC-21', 'load'), ('DC-PV0', 'no load')]
    """
    source = table("utilisation-categories")
    words = re.findall(r"DC[- ]?(PV\d|\d\d)", marked.upper())
    rows = [row for word in dict.fromkeys(words) if (row := source.find(f"DC-{word}")) is not None]
    return tuple(_cell(source, row, "opens", row["category"]) for row in rows)
