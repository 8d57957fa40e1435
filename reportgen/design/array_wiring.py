"""Results of the wire in free air behind the modules of each array, at the hot module's own temperature."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.design.circuits import size_key
from reportgen.design.missing import Known, Missing, first_missing, known
from reportgen.design.results import StringDesign
from reportgen.engineering import ampacity
from reportgen.project.equipment import Cable
from reportgen.project.layout import Array, ArrayWiring
from reportgen.project.model import Project
from reportgen.rulebook import standard_cables
from reportgen.rulebook.rulebook import OutsideTable, Rulebook, quantity_of
from reportgen.working.quantity import Assumed, Quantity, work


@dataclass(frozen=True, slots=True)
class ArrayWiringDesign:
    """Wire of one array.

    Attributes
    ----------
    strings : tuple of str
        Strings with modules in the array.
    metric : bool
        The size is one of photovoltaic cable in square millimetres, judged by that cable's own table.
    temperature : Quantity or Missing
        Air around the wire: as measured, else the temperature of the hot module. [°C]
    maximum, continuous : Quantity or Missing
        Of the string with the most current. [A]
    rating : Quantity or Missing
        Temperature rating of the insulation, wet. [°C]
    table : Quantity or Missing
        Table ampacity. Of AWG sizes it is the one in raceway: in free air a conductor carries more, so it is a
        lower bound. [A]
    corrected : Quantity or Missing
        After the factors for temperature and number of conductors. [A]
    voltage : Quantity or Missing
        Cold voltage of the string with the most. [V]
    """

    id: str
    array: Array
    wiring: ArrayWiring
    cable: Cable
    strings: tuple[str, ...]
    metric: bool
    temperature: Known
    maximum: Known
    continuous: Known
    rating: Known
    table: Known
    corrected: Known
    voltage: Known


def design_array_wiring(
    project: Project, rulebook: Rulebook, strings: Sequence[StringDesign]
) -> tuple[ArrayWiringDesign, ...]:
    """Results of every array that states its wiring, in the order of the folder."""
    on_array: dict[str, list[StringDesign]] = {key: [] for key in project.arrays}
    for string in strings:
        # A string that does not say all of itself stands where it says, or may stand anywhere.
        stated = project.strings[string.id].array
        maybe = string.arrays or ((str(stated),) if stated is not None else tuple(project.arrays))
        for key in dict.fromkeys(maybe):
            on_array[key].append(string)
    return tuple(
        _design(project, rulebook, key, array, array.wiring, on_array[key])
        for key, array in project.arrays.items()
        if array.wiring is not None and array.status != "removed"
    )


def _design(
    project: Project,
    rulebook: Rulebook,
    key: str,
    array: Array,
    wiring: ArrayWiring,
    strings: Sequence[StringDesign],
) -> ArrayWiringDesign:
    cable = project.cables[str(wiring.cable)]
    temperature = wiring.temperature or _most([string.hot_cell for string in strings], key)
    if isinstance(temperature, Quantity) and wiring.temperature is None:
        temperature = _at_the_module(temperature)
    metric = "mm" in str(wiring.size)
    rating = _rating(rulebook, cable, str(wiring.cable))
    together = known(wiring.together, f"together of the wiring of array {key}", wiring.span)
    table, corrected = _ampacity(rulebook, wiring, cable, temperature, rating, together, metric=metric)
    return ArrayWiringDesign(
        key,
        array,
        wiring,
        cable,
        tuple(string.id for string in strings),
        metric,
        temperature,
        _most([string.maximum for string in strings], key),
        _most([string.continuous for string in strings], key),
        rating,
        table,
        corrected,
        _most([string.governing for string in strings], key),
    )


def _at_the_module(cell: Quantity) -> Quantity:
    nothing = Quantity(
        0.0,
        "K",
        Assumed(
            "wire behind modules",
            "wire behind modules is taken at the temperature of the hot module, nothing taken off for the air that passes",
            "IEC 62548:2016, 7.4, recalled: cables behind modules at module temperature",
        ),
    )
    return work("air around the wire behind the modules", "degC", "T_cell - ΔT", T_cell=cell, ΔT=nothing)


def _most(values: Sequence[Known], key: str) -> Known:
    """Largest of the values; the first missing one where any is missing."""
    missing = first_missing(*values)
    if missing is not None:
        return missing
    amounts = [value for value in values if isinstance(value, Quantity)]
    return max(amounts, key=lambda one: one.value) if amounts else Missing(f"a string of array {key}")


def _rating(rulebook: Rulebook, cable: Cable, key: str) -> Known:
    """Temperature rating in the wet, for an array stands in the rain: the best of its markings [°C]."""
    best: Quantity | None = None
    for marking in map(str, cable.markings):
        try:
            cell = rulebook.insulation(marking).wet
        except OutsideTable:
            continue
        if cell is not None and (best is None or cell.number > best.value):
            best = quantity_of(cell, f"temperature rating of {marking}, wet")
    return best or Missing(f"a marking that is rated for wet places on cable {key}", cable.span)


def _ampacity(
    rulebook: Rulebook,
    wiring: ArrayWiring,
    cable: Cable,
    temperature: Known,
    rating: Known,
    together: Known | int,
    *,
    metric: bool,
) -> tuple[Known, Known]:
    """Ampacity in the table, and after the factors [A]."""
    missing = first_missing(temperature, together) or (None if metric else first_missing(rating))
    if missing is not None:
        return missing, missing
    assert isinstance(temperature, Quantity)
    size = str(wiring.size)
    try:
        count = quantity_of(rulebook.count_factor(int(wiring.together or 0)), "count factor")
        if metric:
            area = float(size.split("mm")[0])
            table = quantity_of(
                standard_cables.pv_cable_ampacity(area, "two-adjacent"), "capacity of two adjacent cables"
            )
            factor = quantity_of(
                standard_cables.pv_cable_temperature_factor(temperature.value), "temperature factor"
            )
        else:
            assert isinstance(rating, Quantity)
            column = int(rating.value)
            table = quantity_of(
                rulebook.ampacity(str(cable.material), size_key(size), column),
                "ampacity in raceway, a lower bound",
            )
            factor = quantity_of(rulebook.ambient_factor(column, temperature.value), "ambient factor")
    except OutsideTable as outside:
        beyond = Missing(f"a table value: {outside}", wiring.span)
        return beyond, beyond
    return table, ampacity.corrected_ampacity(table, factor, count)
