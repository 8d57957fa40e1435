"""Lookups of a conductor as a thing: dimensions over insulation or bare, resistance, impedance."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.rulebook.ampacity import AmpacityTables
from reportgen.rulebook.book import kept
from reportgen.rulebook.loader import Row, Table
from reportgen.rulebook.sizes import normal_size, size_text
from reportgen.working.quantity import Cell


@dataclass(frozen=True, slots=True)
class ConductorSize:
    """Outside dimensions of one insulated conductor.

    Parameters
    ----------
    marking, size : str
        As looked up.
    diameter, area : Cell
        Over the insulation. [in, in²]
    proxy : bool
        True where the row of another marking stands in: no "meets" may rest on it.
    """

    marking: str
    size: str
    diameter: Cell
    area: Cell
    proxy: bool


@dataclass(frozen=True, slots=True)
class BareConductor:
    """Diameter [in] and area [in²] of a bare conductor."""

    size: str
    diameter: Cell
    area: Cell


@dataclass(frozen=True, eq=False)
class ConductorTables(AmpacityTables):
    """The part of a rulebook that holds dimensions and resistances of conductors."""

    @kept
    def conductor_size(self, insulation: str, size: str) -> ConductorSize:
        """Diameter and area of an insulated conductor; of a dual marking the larger row.

        Parameters
        ----------
        insulation : str
            Marking, for instance ``THWN-2`` or ``RHH/RHW-2``; with an asterisk without outer covering.
        size : str
            AWG or kcmil.

        Raises
        ------
        OutsideTable
            If the table has no row, as for PV wire: its actual diameter is needed (Chapter 9, Note 5).

        Notes
        -----
        Source: NFPA 70, Chapter 9, Table 5. USE-2 has no row of its own: that of RHW-2 without covering stands
        in and the result says so.
        """
        table = self.table("conductors")
        name = self.size_or_outside(table, size)
        where = f"{insulation}, {size_text(name)}"
        pairs = [(table.find(marked["family"], name), marked) for marked in self.marked(insulation)]
        known = [(row, marked["proxy"] == "yes") for row, marked in pairs if row is not None]
        if len(known) != len(pairs):
            raise self.outside(table, where)
        # Of two markings on one row, the one that has the row in its own right counts.
        row, proxy = max(known, key=lambda pair: (pair[0].number("area"), not pair[1]))
        cells = [self.found(table, row, column, where) for column in ("diameter", "area")]
        return ConductorSize(insulation, name, cells[0], cells[1], proxy)

    def conductor_sizes(self) -> tuple[str, ...]:
        """Sizes that the table of insulated conductors lists, smallest first."""
        return tuple(dict.fromkeys(row["size"] for row in self.table("conductors").rows))

    def compact_conductor_size(self, insulation: str, size: str) -> ConductorSize:
        """Diameter and area of an insulated compact-strand aluminum conductor.

        Raises
        ------
        OutsideTable
            If the table has no row.

        Notes
        -----
        Source: NFPA 70, Chapter 9, Table 5A, recalled.
        """
        table = self.table("conductors-compact")
        name = self.size_or_outside(table, size)
        where = f"{insulation}, {size_text(name)}"
        families = {row["family"] for row in self.marked(insulation)}
        row = table.find(next(iter(families)), name) if len(families) == 1 else None
        cells = [self.found(table, row, column, where) for column in ("diameter", "area")]
        return ConductorSize(insulation, name, cells[0], cells[1], proxy=False)

    def _properties(self, size: str, *, stranded: bool) -> tuple[Table, Row | None, str]:
        table = self.table("conductor-properties")
        name = self.size_or_outside(table, size)
        rows = [row for row in table.rows if row["size"] == name and (row.number("strands") > 1) == stranded]
        return table, rows[0] if rows else None, f"{size_text(name)} {'stranded' if stranded else 'solid'}"

    def bare_conductor(self, size: str, *, stranded: bool = True) -> BareConductor:
        """Diameter and area of a bare conductor.

        Raises
        ------
        OutsideTable
            If the table has no row.

        Notes
        -----
        Source: NFPA 70, Chapter 9, Table 8 by Note 8.
        """
        table, row, where = self._properties(size, stranded=stranded)
        cells = [self.found(table, row, column, where) for column in ("diameter", "area")]
        return BareConductor(normal_size(size), cells[0], cells[1])

    @kept
    def circular_mils(self, size: str) -> Cell:
        """Cross-section of the metal of a conductor [cmil].

        Raises
        ------
        OutsideTable
            If the table has no row.

        Notes
        -----
        Source: NFPA 70, Chapter 9, Table 8.
        """
        table, row, where = self._properties(size, stranded=True)
        return self.found(table, row, "cmil", where)

    @kept
    def resistance(self, material: str, size: str, *, stranded: bool = True, coated: bool = False) -> Cell:
        """Direct-current resistance of a conductor at 75 °C [Ω/kft].

        Parameters
        ----------
        material : str
            ``copper`` or ``aluminum``.
        size : str
            AWG or kcmil.
        stranded, coated : bool
            Strand make-up; tinned copper is coated, as photovoltaic wire often is.

        Raises
        ------
        OutsideTable
            If the table prints no such value.

        Notes
        -----
        Source: NFPA 70, Chapter 9, Table 8. One way; a circuit has two legs.
        """
        table, row, where = self._properties(size, stranded=stranded)
        column = {
            ("copper", False): "copper uncoated",
            ("copper", True): "copper coated",
            ("aluminum", False): "aluminum",
        }.get((material, coated), f"{material}{' coated' if coated else ''}")
        return self.found(table, row, column, where)

    def resistance_temperature_coefficient(self, material: str) -> Cell:
        """Coefficient that takes a resistance at 75 °C to another temperature [1/°C].

        Raises
        ------
        OutsideTable
            If the material is neither copper nor aluminum.

        Notes
        -----
        Source: NFPA 70, Chapter 9, Table 8, Note 2: R2 = R1 (1 + a (T2 - 75)).
        """
        table = self.table("temperature-coefficients")
        return self.found(table, table.find(material), "coefficient", material)

    def resistance_reference_temperature(self, material: str) -> Cell:
        """Temperature that the resistances of the table belong to [°C]."""
        table = self.table("temperature-coefficients")
        return self.found(table, table.find(material), "reference", material)

    def ac_resistance(self, material: str, size: str, conduit: str) -> Cell:
        """Alternating-current resistance at 60 Hz and 75 °C; never for direct current [Ω/kft].

        Parameters
        ----------
        conduit : str
            ``pvc``, ``aluminum`` or ``steel``.

        Raises
        ------
        OutsideTable
            If the table prints no such value.

        Notes
        -----
        Source: NFPA 70, Chapter 9, Table 9.
        """
        return self._alternating("ac-resistance", material, size, conduit)

    def ac_impedance(self, material: str, size: str, conduit: str) -> Cell:
        """Effective impedance at power factor 0.85, 60 Hz and 75 °C; never for direct current [Ω/kft].

        Raises
        ------
        OutsideTable
            If the table prints no such value.

        Notes
        -----
        Source: NFPA 70, Chapter 9, Table 9, mostly recalled.
        """
        return self._alternating("ac-impedance", material, size, conduit)

    def _alternating(self, name: str, material: str, size: str, conduit: str) -> Cell:
        table = self.table(name)
        plain = self.size_or_outside(table, size)
        column = f"{material} {'aluminum conduit' if conduit == 'aluminum' else conduit}"
        return self.found(
            table, table.find(plain), column, size_text(plain), f"{material} in {conduit} conduit"
        )

    def ac_reactance(self, size: str, conduit: str) -> Cell:
        """Reactance at 60 Hz of one of three single conductors in conduit [Ω/kft].

        Raises
        ------
        OutsideTable
            If the table prints no such value.

        Notes
        -----
        Source: NFPA 70, Chapter 9, Table 9.
        """
        table = self.table("ac-resistance")
        plain = self.size_or_outside(table, size)
        column = {"pvc": "nonmagnetic", "aluminum": "nonmagnetic", "steel": "steel"}.get(conduit, conduit)
        return self.found(table, table.find(plain), f"reactance {column}", size_text(plain))
