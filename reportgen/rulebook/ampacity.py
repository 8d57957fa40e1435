"""Lookups of what a conductor may carry: ampacity, its factors and the rating of its insulation."""

from __future__ import annotations

import math
from dataclasses import dataclass

from reportgen.rulebook.book import Book, kept, settled
from reportgen.rulebook.loader import Row
from reportgen.rulebook.sizes import size_text
from reportgen.working.quantity import Cell

#: The ampacity table prints one column for both.
_PRINTED_WITH = {"copper-clad aluminum": "aluminum"}


@dataclass(frozen=True, slots=True)
class Insulation:
    """What the marking on a conductor's insulation stands for.

    Parameters
    ----------
    marking : str
        As the tables spell it; a dual marking keeps its parts.
    dry, wet : Cell or None
        Temperature ratings [°C]; None: not for that use.
    in_table : bool
        False where the dimension table has no row and the actual diameter is needed.
    """

    marking: str
    dry: Cell | None
    wet: Cell | None
    in_table: bool


@dataclass(frozen=True, eq=False)
class AmpacityTables(Book):
    """The part of a rulebook that says what a conductor may carry."""

    @kept
    def ampacity(self, material: str, size: str, column_c: int) -> Cell:
        """Ampacity of a conductor in raceway at 30 °C ambient, up to three current-carrying [A].

        Parameters
        ----------
        material : str
            ``copper``, ``aluminum`` or ``copper-clad aluminum``.
        size : str
            AWG or kcmil.
        column_c : int
            Temperature column: 60, 75 or 90. [°C]

        Raises
        ------
        OutsideTable
            If the table prints no value there.

        Notes
        -----
        Source: NFPA 70, Table 310.16 (2017: Table 310.15(B)(16)).
        """
        table = self.table("ampacity")
        name = self.size_or_outside(table, size)
        row = table.find(_PRINTED_WITH.get(material, material), name)
        return self.found(table, row, f"{column_c} C", f"{material}, {size_text(name)}", f"{column_c} °C")

    @kept
    def sizes(self, material: str) -> tuple[str, ...]:
        """Sizes that the ampacity table lists for a material, smallest first."""
        wanted = _PRINTED_WITH.get(material, material)
        return tuple(row["size"] for row in self.table("ampacity").rows if row["material"] == wanted)

    @kept
    def ambient_factor(self, insulation_c: int, ambient_c: float) -> Cell:
        """Factor on the ampacity for an ambient other than 30 °C [-].

        Parameters
        ----------
        insulation_c : int
            Temperature rating of the conductor: 60, 75 or 90. [°C]
        ambient_c : float
            Between two bands of whole degrees the hotter one holds. [°C]

        Raises
        ------
        OutsideTable
            If the conductor may not be used at that ambient.

        Notes
        -----
        Source: NFPA 70, Table 310.15(B)(1)(1) (2020: Table 310.15(B)(1); 2017: Table 310.15(B)(2)(a)).
        """
        table = self.table("ambient-correction")
        asked = f"{ambient_c:g} °C"
        if not math.isfinite(ambient_c):
            raise self.outside(table, asked)
        row = next((row for row in table.rows if settled(ambient_c) <= row.number("hottest")), None)
        if row is not None:
            asked = (
                f"{row['coldest']} to {row['hottest']} °C"
                if row["coldest"]
                else f"{row['hottest']} °C or less"
            )
        return self.found(table, row, f"{insulation_c} C", asked, f"{insulation_c} °C")

    @kept
    def count_factor(self, n: int) -> Cell:
        """Factor on the ampacity for the number of current-carrying conductors, spare ones counted [-].

        Raises
        ------
        OutsideTable
            If ``n`` is less than one.

        Notes
        -----
        The table prints percent; the cell holds the fraction. Source: NFPA 70, Table 310.15(C)(1)
        (2017: Table 310.15(B)(3)(a)).
        """
        table = self.table("count-adjustment")
        row = next((row for row in reversed(table.rows) if n >= row.number("fewest")), None)
        where = f"{n} conductors"
        if row is not None:
            where = (
                f"{row['fewest']} to {row['most']} conductors"
                if row["most"]
                else f"{row['fewest']} or more conductors"
            )
        return self.found(table, row, "factor", where)

    @kept
    def roof_adder(self, height_in: float) -> Cell:
        """Rise of the ambient of a raceway in sunlight above a roof [K].

        Parameters
        ----------
        height_in : float
            From the roof to the underside of the raceway. [in]

        Raises
        ------
        OutsideTable
            If the height is negative.

        Notes
        -----
        XHHW-2 is exempt; not for runs on the ground. Source: NFPA 70, 310.15(B)(2) (2017: 310.15(B)(3)(c)).
        """
        table = self.table("roof-adder")
        row = next((row for row in reversed(table.rows) if settled(height_in) >= row.number("from")), None)
        return self.found(table, row, "adder", f"{height_in:g} in above the roof")

    @kept
    def insulation(self, marking: str) -> Insulation:
        """Temperature ratings that a marking stands for; of a dual marking the better of its parts.

        Raises
        ------
        OutsideTable
            If a part of the marking is not listed.

        Notes
        -----
        Source: NFPA 70, Table 310.4(A) (2017: Table 310.104(A)) and 310.10(C), temperatures recalled.
        """
        table = self.table("insulations")
        rows = self.marked(marking)

        def best(column: str) -> Cell | None:
            rated = [row for row in rows if row[column]]
            if not rated:
                return None
            return self.cell(
                table, max(rated, key=lambda row: row.number(column)), column, marking, f"{column} rating"
            )

        return Insulation(
            "/".join(row["marking"] for row in rows),
            best("dry"),
            best("wet"),
            all(row["family"] for row in rows),
        )

    def marked(self, marking: str) -> tuple[Row, ...]:
        """Rows of the insulation table for each part of a marking.

        Raises
        ------
        OutsideTable
            If a part is not listed.
        """
        table = self.table("insulations")
        parts = [" ".join(part.upper().split()) for part in marking.split("/")]
        parts = [part.removesuffix(" WIRE") for part in parts]
        rows = [table.find(part) for part in parts]
        known = tuple(row for row in rows if row is not None)
        if len(known) != len(rows):
            raise self.outside(table, f"marking `{marking}`")
        return known

    def exposed_in_array(self, marking: str) -> bool:
        """Whether a single conductor of a marking may lie exposed behind the modules.

        Raises
        ------
        OutsideTable
            If a part of the marking is not listed.

        Notes
        -----
        Source: NFPA 70, 690.31(C)(1), recalled.
        """
        allowed = self.table("exposed-wiring").index
        return any((row["marking"],) in allowed for row in self.marked(marking))

    def exempt_from_roof_adder(self, marking: str) -> bool:
        """Whether the roof adder leaves a marking out.

        Notes
        -----
        Source: NFPA 70, 310.15(B)(2) Exception (2017: 310.15(B)(3)(c)).
        """
        wanted = " ".join(marking.upper().split())
        return any(wanted == row["exempt"].upper() for row in self.table("roof-adder").rows)
