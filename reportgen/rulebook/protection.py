"""Lookups of protection: overcurrent ratings, grounding conductors, voltage factors and limits, labels."""

from __future__ import annotations

import math
from dataclasses import dataclass

from reportgen.rulebook.book import Book, Clause, settled
from reportgen.rulebook.sizes import compare_sizes, size_index, size_text
from reportgen.working.quantity import Cell

#: The grounding conductor tables print one column for both.
_PRINTED_WITH = {"copper-clad aluminum": "aluminum"}


@dataclass(frozen=True, slots=True)
class Label:
    """A label that the edition asks for.

    Parameters
    ----------
    key, wording : str
        Wording in capitals is prescribed, the rest is described.
    prints : str
        What is filled in; empty where nothing is.
    letters, spacing : Cell or None
        Height of letters [in] and distance between labels [ft] where the edition says so.
    colours, place : str
        How it looks and where it goes.
    clause : Clause
        Where the edition asks for it.
    recalled : bool
        True where part of it was recalled and not read.
    """

    key: str
    wording: str
    prints: str
    letters: Cell | None
    spacing: Cell | None
    colours: str
    place: str
    clause: Clause
    recalled: bool


@dataclass(frozen=True, slots=True)
class GroundingElectrodeRule:
    """Bound on the size of a dc grounding electrode conductor for one case.

    Parameters
    ----------
    case, bound : str
        ``bound`` is ``at least`` or ``at most``.
    copper, aluminum : Cell or None
        Sizes; None where the remark alone sets the size.
    also : str
        The rest of the rule.
    """

    case: str
    bound: str
    copper: Cell | None
    aluminum: Cell | None
    also: str


@dataclass(frozen=True, eq=False)
class ProtectionTables(Book):
    """The part of a rulebook that concerns protection, grounding and voltage."""

    def standard_ratings(self, device: str = "fuse") -> tuple[Cell, ...]:
        """Standard ampere ratings, smallest first [A].

        Parameters
        ----------
        device : str
            ``fuse`` or ``breaker``.

        Raises
        ------
        OutsideTable
            If the device is neither.

        Notes
        -----
        Other fuse ratings are permitted: the list serves the next-standard-size rule. Source: NFPA 70, 240.6(A).
        """
        table = self.table("standard-ratings")
        if device not in {"fuse", "breaker"}:
            raise self.outside(table, f"device `{device}`")
        rows = (row for row in table.rows if row[device] == "yes")
        return tuple(self.found(table, row, "rating", device) for row in rows)

    def next_standard_rating(self, amperes: float, device: str = "fuse") -> Cell:
        """Smallest standard rating that is not below a current [A].

        Raises
        ------
        OutsideTable
            If the current is not positive or above the largest rating.

        Notes
        -----
        Source: NFPA 70, 240.6(A).
        """
        asked = settled(amperes)
        ratings = self.standard_ratings(device) if asked > 0 else ()
        cell = next((cell for cell in ratings if asked <= cell.number), None)
        if cell is None:
            raise self.outside(self.table("standard-ratings"), f"{amperes:g} A, {device}")
        return cell

    def small_conductor_cap(self, material: str, size: str) -> Cell | None:
        """Largest overcurrent device ahead of a small conductor; None above 10 AWG, where no cap holds [A].

        Raises
        ------
        OutsideTable
            If the edition does not say for so small a conductor of that material.

        Notes
        -----
        Caps of 18 and 16 AWG hold under conditions only. Source: NFPA 70, 240.4(D).
        """
        table = self.table("small-conductors")
        name, rows = (
            self.size_or_outside(table, size),
            [row for row in table.rows if row["material"] == material],
        )
        if rows and size_index(name) > max(size_index(row["size"]) for row in rows):
            return None
        return self.found(table, table.find(material, name), "cap", f"{material}, {size_text(name)}")

    def small_conductor_condition(self, material: str, size: str) -> str:
        """``conditional`` where the cap holds under conditions of its own, else empty."""
        table = self.table("small-conductors")
        row = table.find(material, self.size_or_outside(table, size))
        return row["mark"] if row is not None else ""

    def egc_size(self, rating_a: float, material: str) -> Cell:
        """Least size of the equipment grounding conductor for a device rating [AWG or kcmil].

        Parameters
        ----------
        rating_a : float
            Of the overcurrent device, or the rating assumed where there is none. [A]
        material : str
            ``copper``, ``aluminum`` or ``copper-clad aluminum``.

        Raises
        ------
        OutsideTable
            If the rating is not positive or above the last row.

        Notes
        -----
        Never larger than the circuit conductors. Source: NFPA 70, Table 250.122.
        """
        table = self.table("egc")
        asked = settled(rating_a)
        row = next((row for row in table.rows if 0 < asked <= row.number("rating")), None)
        where = f"not over {row['rating']} A" if row is not None else f"{rating_a:g} A"
        return self.found(table, row, _PRINTED_WITH.get(material, material), where)

    def gec_ac_size(self, largest: str, largest_material: str, material: str) -> Cell:
        """Size of the ac grounding electrode conductor by the largest ungrounded conductor [AWG or kcmil].

        Raises
        ------
        OutsideTable
            If a material is not listed.

        Notes
        -----
        Source: NFPA 70, Table 250.66.
        """
        table = self.table("gec-ac")
        name = self.size_or_outside(table, largest)
        column = f"{_PRINTED_WITH.get(largest_material, largest_material)}_up_to"
        where = f"{largest_material}, {size_text(name)}"
        if column not in table.header.units:
            raise self.outside(table, where)
        row = next(
            (row for row in table.rows if not row[column] or compare_sizes(name, row[column]) <= 0), None
        )
        return self.found(table, row, _PRINTED_WITH.get(material, material), where)

    def gec_dc(self, case: str) -> GroundingElectrodeRule:
        """Bound on the dc grounding electrode conductor of a solidly grounded system.

        Parameters
        ----------
        case : str
            ``balancer``, ``other``, ``cap``, ``rod-pipe-plate``, ``concrete-encased`` or ``ground-ring``.

        Raises
        ------
        OutsideTable
            If the case is not listed.

        Notes
        -----
        Source: NFPA 70, 250.166, recalled.
        """
        table = self.table("gec-dc")
        row = table.find(case)
        if row is None:
            raise self.outside(table, f"case `{case}`")
        copper, aluminum = (self.cell(table, row, column, case) for column in ("copper", "aluminum"))
        return GroundingElectrodeRule(case, row["bound"], copper, aluminum, row["also"])

    def voltage_table_factor(self, temperature_c: float) -> Cell:
        """Factor on the open-circuit voltage of crystalline silicon at a low ambient [-].

        Parameters
        ----------
        temperature_c : float
            Lowest expected ambient; between two bands of whole degrees the colder one holds. [°C]

        Raises
        ------
        OutsideTable
            Below -40 °C.

        Notes
        -----
        Source: NFPA 70, Table 690.7(A), recalled by two readers apart from each other.
        """
        table = self.table("voltage-factors")
        asked = settled(temperature_c) if math.isfinite(temperature_c) else -math.inf
        row = next((row for row in table.rows if asked >= row.number("coldest")), None)
        where = f"{temperature_c:g} °C"
        if row is not None:
            where = (
                f"{row['warmest']} to {row['coldest']} °C"
                if row["warmest"]
                else f"{row['coldest']} °C or more"
            )
        return self.found(table, row, "factor", where)

    def voltage_limit(self, building: str) -> Cell:
        """Highest dc voltage of a photovoltaic system by where its circuits are [V].

        Parameters
        ----------
        building : str
            ``dwelling`` (on or in a one- or two-family dwelling), ``other`` (another building) or ``ground``
            (neither on nor in a building).

        Raises
        ------
        OutsideTable
            If the kind is none of these.

        Notes
        -----
        Source: NFPA 70, 690.7. What a higher voltage means says :meth:`beyond_voltage_limit`.
        """
        table = self.table("voltage-limits")
        return self.found(table, table.find(building), "limit", building)

    def beyond_voltage_limit(self, building: str) -> Cell:
        """What a voltage above the limit means: ``fails``, or ``ask`` where another rule may allow it."""
        table = self.table("voltage-limits")
        return self.found(table, table.find(building), "beyond", building)

    def labels(self) -> tuple[Label, ...]:
        """Labels that the edition asks for, in its order."""
        table = self.table("labels")
        return tuple(
            Label(
                row["label"],
                row["wording"],
                row["prints"],
                self.cell(table, row, "letters", row["label"]),
                self.cell(table, row, "spacing", row["label"]),
                row["colours"],
                row["place"],
                self.clause(row["clause"]),
                row.recalled,
            )
            for row in table.rows
        )
