"""Arrays whose lower rows lose light to snow or shade: strung row by row or column by column, in kWh."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from reportgen.design.data_sheets import doubtful
from reportgen.design.energy import options_of, orientation_of, row_needs, sheet_of, site_of
from reportgen.design.graph import standing
from reportgen.design.missing import Missing
from reportgen.design.positions import places
from reportgen.design.stringing import StringingDesign
from reportgen.project.layout import Array
from reportgen.project.model import Project
from reportgen.working.months import MONTHS
from reportgen.working.quantity import Assumed

if TYPE_CHECKING:
    from reportgen.engineering.energy.inputs import ArrayCache
    from reportgen.engineering.energy.row_loss import Dimmed
    from reportgen.engineering.energy.weather import WeatherYear
    from reportgen.engineering.stringing import Cut


@dataclass(frozen=True, slots=True)
class RowOrder:
    """One cut of one array in both orders.

    Attributes
    ----------
    undimmed : float
        Year of the same strings if no row lost light. [kWh]
    by_row, by_column : Dimmed
        Along the rows from the top, and along the columns from the left.
    """

    array: str
    cut: Cut
    undimmed: float
    by_row: Dimmed
    by_column: Dimmed


@dataclass(frozen=True, slots=True)
class StandingRows:
    """An array as it is strung, each string at its own best point.

    Attributes
    ----------
    undimmed : float
        Year if no row lost light. [kWh]
    dimmed : float or None
        Year with what the lower rows lose; None where the places of its modules are not stated so that they can be read.
        [kWh]
    """

    array: str
    undimmed: float
    dimmed: float | None

    @property
    def lost(self) -> float | None:
        """What the lower rows lose in the year [kWh]."""
        return None if self.dimmed is None else self.undimmed - self.dimmed


@dataclass(frozen=True, slots=True)
class RowOrdersDesign:
    """Both orders of every array that states `lower_rows`, each as it is strung, and what keeps one from being compared."""

    orders: tuple[RowOrder, ...]
    missing: tuple[Missing, ...]
    assumptions: tuple[Assumed, ...] = ()
    standing: tuple[StandingRows, ...] = ()


def wanted(project: Project) -> bool:
    """Whether any array states rows that lose light."""
    return any(array.lower_rows is not None for array in project.arrays.values())


def design_row_orders(
    project: Project,
    stringing: StringingDesign,
    weather: WeatherYear | Missing,
    cache: ArrayCache | None = None,
) -> RowOrdersDesign:
    """Year of each cut that is looked at, those of the best ways first, wired along the rows and along the columns."""
    from reportgen.design.energy_store import kept_figures  # noqa: PLC0415
    from reportgen.engineering.energy.diode import NoConvergence  # noqa: PLC0415 - with pvlib, only where a year is wanted
    from reportgen.engineering.energy.module import SheetProblem  # noqa: PLC0415
    from reportgen.engineering.energy.row_loss import (  # noqa: PLC0415
        BYPASS_V,
        Dimmed,
        compare_orders,
        orders,
        split,
    )

    options = options_of(project)
    found: list[RowOrder] = []
    strung: list[StandingRows] = []
    missing: list[Missing] = []
    for key, array in project.arrays.items():
        if array.lower_rows is None or array.status == "removed":
            continue
        needs = [*_needs(project, key, array)]
        if isinstance(weather, Missing):
            needs.append(weather)
        if needs or isinstance(weather, Missing):
            missing += needs
            continue
        assert array.rows is not None and array.columns is not None
        cuts = _cuts(stringing, key)
        if not cuts:
            missing.append(Missing(f"a way to string array {key}", array.span))
            continue
        both = orders(int(array.rows), int(array.columns), int(array.lower_rows.rows))
        lost = [share.value / 100 for share in array.lower_rows.light_lost]
        told = (
            site_of(project),
            orientation_of(key, array, project),
            sheet_of(project.modules[str(array.module)]),
        )
        lengths = [[length for length, count in cut.lengths for _ in range(count)] for cut in cuts]
        wirings = [split(order, row) for row in lengths for order in both]
        bare = [tuple((length, 0) for length in row) for row in lengths]
        present = _present(project, key, array)
        now = [present, tuple((full + dim, 0) for full, dim in present)] if present else []
        ways = [*wirings, *bare, *now]
        try:
            dimmed = kept_figures(
                cache,
                "row orders",
                tuple[Dimmed, ...],
                weather,
                (*told, lost, ways, options),
                partial(compare_orders, weather, *told, lost, ways, cache, options),
            )
        except (SheetProblem, NoConvergence) as problem:
            missing.append(Missing(f"module figures that belong together: {problem}"))
            continue
        for number, cut in enumerate(cuts):
            found.append(
                RowOrder(
                    key, cut, dimmed[len(wirings) + number].kwh, dimmed[2 * number], dimmed[2 * number + 1]
                )
            )
        if now:
            strung.append(StandingRows(key, dimmed[-1].kwh, dimmed[-2].kwh))
        else:
            strung.append(StandingRows(key, 0.0, None))
    beside = Assumed(
        "rows.year",
        "the year, its months and its losses are those of arrays whose lower rows lose nothing; what they lose stands beside",
        "simplification",
    )
    assumed = (
        Assumed(
            "rows.bypass",
            f"bypass diodes of one module, all conducting: {BYPASS_V:g} V; a module of a lower row is dimmed as a whole",
            "common practice, no source",
        ),
        Assumed(
            "rows.inputs",
            "row by row against column by column: each string at its own best point, on an input of its own",
            "simplification",
        ),
        Assumed(
            "rows.spares",
            "strings are cut off along the rows from the top, or along the columns from the left; spares are the last ones",
            "simplification",
        ),
    )
    strung += [
        StandingRows(key, 0.0, None)
        for key, array in project.arrays.items()
        if array.lower_rows is not None
        and array.status != "removed"
        and key not in {one.array for one in strung}
    ]
    return RowOrdersDesign(
        tuple(found),
        tuple(dict.fromkeys(missing)),
        ((beside,) if strung else ()) + (assumed if found else ()),
        tuple(strung),
    )


def _present(project: Project, key: str, array: Array) -> tuple[tuple[int, int], ...]:
    """Modules under full and dimmed light of each string of an array; empty where a place is not known.

    A string that has modules of another array besides is not taken apart.
    """
    assert array.rows is not None and array.columns is not None and array.lower_rows is not None
    rows, columns = int(array.rows), int(array.columns)
    above = rows - int(array.lower_rows.rows)
    found = []
    for string in project.strings.values():
        parts = project.parts_of(string)
        if all(str(part.array) != key for part in parts):
            continue
        seats = [
            places(str(part.positions or ""), rows, columns) if str(part.array) == key else None
            for part in parts
        ]
        known = [seat for some in seats if some is not None for seat in some]
        if None in seats or len(known) != sum(int(part.count) for part in parts):
            return ()
        dim = sum(row > above for row, _ in known)
        found.append((len(known) - dim, dim))
    return tuple(found)


def _cuts(stringing: StringingDesign, key: str) -> list[Cut]:
    choice = next((item for item in stringing.arrays if item.array == key), None)
    if choice is None:
        return []
    # Those of the best ways first, then the others that are looked at: their kWh may rank them before.
    numbers = dict.fromkeys(way.chosen[key] for way in stringing.ways if key in way.chosen)
    return [choice.ranked[number].cut for number in dict.fromkeys((*numbers, *range(len(choice.ranked))))]


def _needs(project: Project, key: str, array: Array) -> Iterator[Missing]:
    place = array.where("lower_rows")
    assert array.lower_rows is not None
    for field in ("rows", "columns", "tilt", "azimuth"):
        if getattr(array, field) is None:
            yield Missing(f"{field} of array {key}", array.span)
    if array.rows is not None and array.lower_rows.rows > array.rows:
        yield Missing(f"lower_rows of array {key}: no more rows than it has", place)
    full = int(array.rows or 0) * int(array.columns or 0)
    if full and standing(array) != full:
        yield Missing(f"a count of array {key} that is its rows times its columns", array.where("count"))
    yield from row_needs(key, array)
    shares = array.lower_rows.light_lost
    if len(shares) != MONTHS or not all(0 <= share.value <= 100 for share in shares):
        yield Missing(f"light_lost of array {key}: twelve shares from 0 to 100 %", place)
    for field in ("latitude", "longitude"):
        if getattr(project.site, field) is None:
            yield Missing(f"{field} of site", project.site.span)
    module = project.modules[str(array.module)]
    if module.placeholder or doubtful(module):
        yield Missing(f"the data sheet of module type {array.module}", module.span)
    for field in ("voltage_coefficient", "current_coefficient", "cells_in_series"):
        if getattr(module, field) is None:
            yield Missing(f"{field} of module type {array.module}", module.span)


def of_ways(rows: RowOrdersDesign, stringing: StringingDesign) -> tuple[RowOrder, ...]:
    """Orders of the cuts that stand in one of the best ways."""
    shown = {
        (choice.array, choice.ranked[way.chosen[choice.array]].cut)
        for way in stringing.ways
        for choice in stringing.arrays
        if choice.array in way.chosen
    }
    return tuple(item for item in rows.orders if (item.array, item.cut) in shown)
