"""Resistance, capacity and diameter of cables in tables of standards: metric cross-sections, and photovoltaic wire."""

from __future__ import annotations

from reportgen.rulebook.errors import OutsideTable
from reportgen.rulebook.loader import Row, Table
from reportgen.rulebook.sizes import normal_size, size_text
from reportgen.rulebook.standards import cell_of, first_not_below, number_text, table
from reportgen.working.quantity import Cell


def _of_area(source: Table, area_mm2: float) -> Row | None:
    """Row of a cross-section [mm²]."""
    return next((row for row in source.rows if row.number("area") == area_mm2), None)


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
    row = _of_area(source, area_mm2)
    column = f"class {5 if flexible else 2} {'tinned' if tinned else 'plain'}"
    return cell_of(source, row, column, f"{number_text(area_mm2)} mm²")


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
    row = source.find(insulation, str(loaded), method, number_text(area_mm2))
    return cell_of(
        source, row, "capacity", f"{insulation}, {loaded} loaded, {method}, {number_text(area_mm2)} mm²"
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
    row = first_not_below(rows, "temperature", temperature_c)
    return cell_of(source, row, insulation, f"{medium}, {row['temperature'] if row else temperature_c} °C")


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
    row = first_not_below(source.rows, "resistivity", resistivity)
    return cell_of(source, row, method, f"{row['resistivity'] if row else resistivity} K·m/W")


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
    row = first_not_below(rows, "circuits", circuits) if circuits >= 1 else None
    return cell_of(
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
    row = _of_area(source, area_mm2)
    return cell_of(source, row, arrangement, f"{number_text(area_mm2)} mm²")


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
    row = first_not_below(source.rows, "hottest", ambient_c)
    return cell_of(source, row, "factor", f"up to {row['hottest'] if row else ambient_c} °C")


def pv_cable_diameter(area_mm2: float) -> Cell:
    """Nominal outside diameter of photovoltaic cable of one maker, typical only [mm].

    Raises
    ------
    OutsideTable
        If the maker's page has no such cross-section.
    """
    source = table("pv-cable-diameter")
    row = _of_area(source, area_mm2)
    return cell_of(source, row, "nominal", f"{number_text(area_mm2)} mm²")


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
    row = first_not_below(rows, "volts", volts)
    return cell_of(source, row, "diameter", f"{size_text(name)}, {volts:g} V")
