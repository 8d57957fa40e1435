"""A year of a site, hour by hour: planes, modules, strings, inputs, inverters.

Work grows with what is different, not with how much there is: strings alike in module, plane, count and wires are
solved once, so are inputs with the same strings and limits, and inverters with the same inputs.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TypeVar

from reportgen.engineering.energy.gather import gather
from reportgen.engineering.energy.inputs import (
    ArrayCache,
    InputSpec,
    InverterSpec,
    Options,
    Orientation,
    Site,
    StringSpec,
)
from reportgen.engineering.energy.module import SheetModule, fit_sheet
from reportgen.engineering.energy.plan import sort_out
from reportgen.engineering.energy.results import YearResult
from reportgen.engineering.energy.solve import Simulation
from reportgen.engineering.energy.weather import WeatherYear

__all__ = ["YearResult", "run_year"]

_Item = TypeVar("_Item", Orientation, InputSpec, InverterSpec, StringSpec)


def run_year(
    weather: WeatherYear,
    site: Site,
    orientations: Sequence[Orientation],
    modules: Mapping[str, SheetModule],
    strings: Sequence[StringSpec],
    inputs: Sequence[InputSpec],
    inverters: Sequence[InverterSpec],
    options: Options | None = None,
    cache: ArrayCache | None = None,
) -> YearResult:
    """A year of a site: energy [kWh] from light to output, by string, input, inverter and month.

    Parameters
    ----------
    weather : WeatherYear
        The year; the sun is computed for the weather's place.
    site : Site
        Albedo, horizon, and the place that the weather is checked against.
    orientations, strings, inputs, inverters : sequence
        The system; ids are unique within each. Inputs and inverters without strings are left out.
    modules : mapping of str to SheetModule
        Data sheets by the id that strings name.
    options : Options, optional
        Choices of method.
    cache : ArrayCache, optional
        Keeps sun positions and planes by content.

    Returns
    -------
    YearResult

    Raises
    ------
    ValueError
        If there is no string, an id is doubled, or a string or input names what is not described.
    reportgen.engineering.energy.module.SheetProblem
        If a data sheet contradicts itself.
    reportgen.engineering.energy.diode.NoConvergence
        If an operating point cannot be found.

    Notes
    -----
    Left out: spectrum and ageing, and whatever the system does not state; all stand in ``assumptions``.
    """
    options = options or Options()
    planes = _by_id(orientations, "orientation")
    ports = _by_id(inputs, "input")
    units = _by_id(inverters, "inverter")
    if not strings:
        raise ValueError("there is no string to simulate")
    _by_id(strings, "string")
    _check_names(strings, planes, modules, ports, units)
    used = list(dict.fromkeys(string.module for string in strings))
    models = {key: fit_sheet(modules[key]) for key in used}
    simulation = Simulation(weather, site, models, options, cache)

    plan = sort_out(strings, planes, ports, units)
    solved = {
        kind: simulation.inverter(kind, times) for kind, times in Counter(plan.inverters.values()).items()
    }
    return gather(simulation, plan, solved, orientations, strings, inputs, inverters)


def _by_id(items: Sequence[_Item], what: str) -> dict[str, _Item]:
    """Items by their id; a doubled id is refused."""
    found = {item.id: item for item in items}
    if len(found) != len(items):
        raise ValueError(f"two of the {what}s have the same id")
    return found


def _check_names(
    strings: Sequence[StringSpec],
    planes: Mapping[str, Orientation],
    modules: Mapping[str, SheetModule],
    ports: Mapping[str, InputSpec],
    units: Mapping[str, InverterSpec],
) -> None:
    """Refuse names of things that are not described."""
    for string in strings:
        for what, name, known in (
            ("orientation", string.orientation, planes),
            ("module", string.module, modules),
            ("input", string.input, ports),
        ):
            if name not in known:
                raise ValueError(f"string `{string.id}` names {what} `{name}`, which is not described")
        port = ports[string.input]
        if port.inverter not in units:
            raise ValueError(f"input `{port.id}` names inverter `{port.inverter}`, which is not described")
