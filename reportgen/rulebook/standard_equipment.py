"""Arrays, terminals, switches and labels in tables of standards: insulation, cold voltage, torque, ferrules, categories."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from reportgen.rulebook.book import settled
from reportgen.rulebook.loader import Row
from reportgen.rulebook.standards import cell_of, first_not_below, number_text, table
from reportgen.working.quantity import Cell


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
    return InsulationTest(cell_of(source, row, "test", where), cell_of(source, row, "least", where))


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
    return cell_of(source, row, "least", f"{array_kw:g} kW")


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
    return cell_of(
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
    row = first_not_below(source.rows, "area", area_mm2)
    return cell_of(source, row, "area", f"{number_text(area_mm2)} mm²")


def labels() -> Iterator[StandardLabel]:
    """Labels that standards outside the United States ask for, in the order of the table."""
    source = table("labels")
    for row in source.rows:
        spacing = cell_of(source, row, "spacing", row["label"]) if row["spacing"] else None
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
    other = cell_of(source, row, "other", thread)
    headless, screwdriver = (
        cell_of(source, row, column, thread) if row and row[column] else None
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
    return tuple(cell_of(source, row, "opens", row["category"]) for row in rows)
