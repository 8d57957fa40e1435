"""What a way of stringing an array yields in a year [kWh]: modules as they yield today, rows that lose light, less the wire."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportgen.design.results import StringDesign
from reportgen.engineering.stringing import Cut

if TYPE_CHECKING:
    # Only for the annotations: both load numpy, which a check does without.
    from reportgen.design.energy import EnergyDesign
    from reportgen.design.row_orders import RowOrdersDesign

ROW, COLUMN = "row by row", "column by column"


@dataclass(frozen=True, slots=True)
class CutYear:
    """A cut over the year.

    Attributes
    ----------
    kwh : float
        From its modules, less what its wires lose; before the inverter. [kWh]
    order : str
        Better one of the two orders of stringing; empty where no row loses light.
    """

    kwh: float
    order: str = ""


@dataclass(frozen=True, slots=True)
class ArrayYear:
    """An array in the simulated year: one module, the wire of one string [kWh], and the cuts whose rows were compared.

    Attributes
    ----------
    orders : mapping of Cut to (float, str)
        Share of the undimmed year that the better order keeps, and which order that is. [-]
    needs_orders : bool
        Rows of the array lose light: a cut that was not compared has no year.
    """

    module_kwh: float
    wire_kwh: float
    orders: Mapping[Cut, tuple[float, str]]
    needs_orders: bool

    def of(self, cut: Cut) -> CutYear | None:
        """Year of a cut; None where it is not known."""
        share, order = self.orders.get(cut, (1.0, ""))
        if self.needs_orders and not order:
            return None
        modules = sum(length * count for length, count in cut.lengths)
        return CutYear(self.module_kwh * modules * share - self.wire_kwh * cut.strings, order)


def array_years(
    strings: Sequence[StringDesign],
    energy: EnergyDesign | None,
    rows: RowOrdersDesign | None,
    lose_light: frozenset[str],
) -> Mapping[str, ArrayYear]:
    """Years of the arrays whose strings were simulated; an array with a string that was not has none.

    ``lose_light`` names the arrays whose lower rows lose light.
    """
    if energy is None or energy.year is None:
        return {}
    simulated = {item.id: item for item in energy.year.strings}
    on: dict[str, list[StringDesign]] = defaultdict(list)
    for string in strings:
        if len(set(string.arrays)) == 1:
            on[string.arrays[0]].append(string)
    orders: dict[str, dict[Cut, tuple[float, str]]] = defaultdict(dict)
    for item in rows.orders if rows is not None else ():
        if item.undimmed > 0:
            better, order = max((item.by_row.kwh, ROW), (item.by_column.kwh, COLUMN))
            orders[item.array][item.cut] = (better / item.undimmed, order)
    found = {}
    for array, its in on.items():
        years = [simulated[string.id] for string in its if string.id in simulated]
        modules = sum(year.count for year in years)
        if len(years) == len(its) and modules:
            found[array] = ArrayYear(
                sum(sum(year.figures.dc) for year in years) / modules,
                sum(sum(year.figures.wire) for year in years) / len(years),
                orders[array],
                array in lose_light,
            )
    return found
