"""Lookups of raceways and boxes: bore, fill, bends, support, cover, expansion, box volumes."""

from __future__ import annotations

from dataclasses import dataclass, replace

from reportgen.rulebook.book import Book, settled
from reportgen.rulebook.loader import Row, Table
from reportgen.rulebook.sizes import normal_trade_size, size_text, trade_size_number
from reportgen.working.quantity import Cell


@dataclass(frozen=True, slots=True)
class RacewaySize:
    """One trade size of one kind of raceway.

    Parameters
    ----------
    kind, trade_size : str
        As the table lists them.
    id_in, area : Cell
        Inside diameter and area. [in, in²]
    one, two, over_two, nipple : Cell
        Areas printed for one conductor, two, more than two, and for a nipple. [in²]
    """

    kind: str
    trade_size: str
    id_in: Cell
    area: Cell
    one: Cell
    two: Cell
    over_two: Cell
    nipple: Cell


@dataclass(frozen=True, slots=True)
class Support:
    """Greatest spacing of supports and distance of the first one from a box [ft]."""

    spacing: Cell
    first: Cell


@dataclass(frozen=True, slots=True)
class RacewayUse:
    """Where a kind of raceway may go.

    Parameters
    ----------
    burial, damage : str
        ``permitted``, ``not`` or ``ask``: in earth without concrete, where subject to physical damage.
    cover : str
        Column of the cover table that holds for it.
    open, inside : str
        The same words for above ground outdoors, and for within buildings.
    bend_table, expansion_table : bool
        Whether the radii of field bends, and the table of thermal movement, hold for it.
    """

    burial: str
    damage: str
    cover: str
    open: str
    inside: str
    bend_table: bool
    expansion_table: bool


@dataclass(frozen=True, slots=True)
class BoxAllowance:
    """What an item takes in a box, in conductor volumes.

    Parameters
    ----------
    item : str
        As the edition's table lists it.
    allowances : Cell
        Number of conductor volumes for each. [-]
    of : str
        Which conductor gives the volume: ``own``, ``largest``, ``largest-on-it`` or ``largest-grounding``.
    when : str
        What counts as one.
    """

    item: str
    allowances: Cell
    of: str
    when: str


@dataclass(frozen=True, eq=False)
class RacewayTables(Book):
    """The part of a rulebook that concerns raceways and boxes."""

    def kinds(self) -> tuple[str, ...]:
        """Kinds of raceway with a bore in the table, in its order."""
        return tuple(dict.fromkeys(row["kind"] for row in self.table("raceways").rows))

    def trade_sizes(self, kind: str) -> tuple[str, ...]:
        """Trade sizes of a kind, smallest first; empty for a kind that the table does not list."""
        return tuple(row["trade_size"] for row in self.table("raceways").rows if row["kind"] == kind)

    def _trade_size(self, table: Table, text: str) -> str:
        try:
            return normal_trade_size(text)
        except ValueError as error:
            raise self.outside(table, f"trade size `{text}`") from error

    def bore(self, kind: str, trade_size: str) -> RacewaySize:
        """Inside diameter and areas of a raceway [in, in²].

        Parameters
        ----------
        kind : str
            ``EMT``, ``IMC``, ``RMC``, ``PVC-40``, ``PVC-80``, ``ENT``, ``FMC``, ``LFMC``, ``LFNC-A``, ``LFNC-B``
            or ``HDPE`` (Schedule 40 only).
        trade_size : str
            For instance ``1-1/2``.

        Raises
        ------
        OutsideTable
            If the table has no row.

        Notes
        -----
        Source: NFPA 70, Chapter 9, Table 4.
        """
        table = self.table("raceways")
        size = self._trade_size(table, trade_size)
        row, where = table.find(kind, size), f"{kind} {size}"
        headings = {
            "bore": "inside diameter",
            "area": "total area",
            "one": "one conductor",
            "two": "two conductors",
            "over_two": "over two conductors",
            "nipple": "nipple",
        }
        cells = [self.found(table, row, column, where, heading) for column, heading in headings.items()]
        return RacewaySize(kind, size, *cells)

    def fill_limit(self, n: int, *, nipple: bool = False) -> Cell:
        """Share of the inside area that ``n`` conductors may take [-].

        Parameters
        ----------
        n : int
            All conductors, grounding conductors too.
        nipple : bool
            True for a raceway no longer than the edition's nipple between enclosures.

        Raises
        ------
        OutsideTable
            If ``n`` is less than one.

        Notes
        -----
        The table prints percent; the cell holds the fraction. Source: NFPA 70, Chapter 9, Table 1 and Note 4.
        """
        table = self.table("fill")
        if n < 1:
            raise self.outside(table, f"{n} conductors")
        case = "nipple" if nipple else {1: "one", 2: "two"}.get(n, "over-two")
        where = {"one": "1 conductor", "two": "2 conductors", "nipple": "nipple, Note 4"}.get(
            case, "over 2 conductors"
        )
        return self.found(table, table.find(case), "share", where)

    def bend_radius(self, trade_size: str, *, one_shot: bool = False) -> Cell:
        """Least radius of a field bend, to the centre line [in].

        Parameters
        ----------
        one_shot : bool
            True for one-shot and full-shoe benders.

        Raises
        ------
        OutsideTable
            If the table has no row.

        Notes
        -----
        Source: NFPA 70, Chapter 9, Table 2.
        """
        table = self.table("bend-radius")
        size = self._trade_size(table, trade_size)
        return self.found(
            table,
            table.find(size),
            "one_shot" if one_shot else "other",
            f"trade size {size}",
            "one-shot and full-shoe" if one_shot else "other bends",
        )

    def bend_limit(self, kind: str) -> Cell:
        """Greatest sum of bends between pull points [°].

        Raises
        ------
        OutsideTable
            If the table does not list the kind.

        Notes
        -----
        Source: NFPA 70, the .26 section of each raceway article.
        """
        table = self.table("bend-limits")
        row = table.find(kind)
        cell = self.found(table, row, "limit", kind)
        section = row["section"] if row is not None else cell.table
        return replace(cell, table=section, row=kind, column="")

    def support(self, kind: str, trade_size: str, *, straight: bool = False) -> Support:
        """Spacing of supports and distance of the first from a box [ft].

        Parameters
        ----------
        straight : bool
            True for straight runs of rigid or intermediate conduit with threaded couplings.

        Raises
        ------
        OutsideTable
            If the table does not list the kind, the run or so large a trade size.

        Notes
        -----
        Source: NFPA 70, the .30 section of each raceway article.
        """
        table = self.table("support")
        size = self._trade_size(table, trade_size)
        run = "straight" if straight else "general"

        def covers(row: Row) -> bool:
            largest = row["up_to"]
            return not largest or trade_size_number(size) <= trade_size_number(largest)

        rows = (row for row in table.rows if (row["kind"], row["run"]) == (kind, run) and covers(row))
        row, where = next(rows, None), f"{kind} {size}, {run} run"
        return Support(self.found(table, row, "spacing", where), self.found(table, row, "first", where))

    def raceway_use(self, kind: str) -> RacewayUse:
        """Where a kind of raceway may go, recalled.

        Raises
        ------
        OutsideTable
            If the table does not list the kind.

        Notes
        -----
        Source: NFPA 70, 300.5(D)(4), Table 300.5(A) and the .10 and .12 sections of each raceway article.
        """
        table = self.table("raceway-uses")
        row = table.find(kind)
        if row is None:
            raise self.outside(table, kind)
        return RacewayUse(
            row["burial"],
            row["damage"],
            row["cover"],
            row["open"],
            row["inside"],
            row["bend_table"] == "yes",
            row["expansion_table"] == "yes",
        )

    def locations(self) -> tuple[str, ...]:
        """Locations that the cover table lists, in its order."""
        return tuple(row["location"] for row in self.table("cover").rows)

    def cover(self, location: str, column: str) -> Cell:
        """Least cover from grade to the top of a cable or raceway [in].

        Parameters
        ----------
        location : str
            One of :meth:`locations`.
        column : str
            ``direct-burial``, ``rmc-imc``, ``raceway`` (PVC, but also EMT, FMC and LFMC), ``gfci`` or ``control``.

        Raises
        ------
        OutsideTable
            If the table prints no such value.

        Notes
        -----
        For circuits up to the edition's ``cover-voltage`` only. Source: NFPA 70, Table 300.5(A) (until 2020:
        Table 300.5).
        """
        table = self.table("cover")
        return self.found(
            table, table.find(location), column, location.replace("-", " "), column.replace("-", " ")
        )

    def pvc_expansion(self, change_delta_f: float) -> Cell:
        """Change of length of rigid PVC conduit for a change of temperature [in/100 ft].

        Parameters
        ----------
        change_delta_f : float
            Between two rows the next larger one holds. [°F difference]

        Raises
        ------
        OutsideTable
            If the change is negative or larger than the last row.

        Notes
        -----
        Source: NFPA 70, Table 352.44.
        """
        table = self.table("pvc-expansion")
        asked = settled(change_delta_f)
        row = next((row for row in table.rows if 0 <= asked <= row.number("change")), None)
        where = f"{row['change']} °F" if row is not None else f"{change_delta_f:g} °F"
        return self.found(table, row, "expansion", where)

    def boxes(self) -> tuple[str, ...]:
        """Standard metal boxes of the volume table, in its order."""
        return tuple(row["box"] for row in self.table("box-volumes").rows)

    def box_volume(self, box: str) -> Cell:
        """Least volume of a standard metal box [in³].

        Raises
        ------
        OutsideTable
            If the table does not list the box: its own mark is needed.

        Notes
        -----
        Source: NFPA 70, Table 314.16(A).
        """
        table = self.table("box-volumes")
        return self.found(table, table.find(box), "volume", box)

    def box_conductor_volume(self, size: str) -> Cell:
        """Volume that one conductor takes in a box [in³].

        Raises
        ------
        OutsideTable
            If the table has no row, as for sizes over 6 AWG: the pull-box rule holds there.

        Notes
        -----
        Source: NFPA 70, Table 314.16(B)(1) (2017: Table 314.16(B)).
        """
        table = self.table("box-conductor-volumes")
        name = self.size_or_outside(table, size)
        return self.found(table, table.find(name), "volume", size_text(name))

    def box_allowance(self, item: str) -> BoxAllowance:
        """What an item takes in a box, in conductor volumes of this edition.

        Raises
        ------
        OutsideTable
            If the edition counts no such item.

        Notes
        -----
        Source: NFPA 70, 314.16(B).
        """
        table = self.table("box-allowances")
        row = table.find(item)
        cell = self.found(table, row, "allowances", item.replace("-", " "))
        return BoxAllowance(item, cell, row["of"] if row else "", row["when"] if row else "")
