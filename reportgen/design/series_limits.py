"""Modules in series that each limit allows, for every cold temperature and both methods side by side."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from reportgen.design.checks.base import Facts
from reportgen.design.findings import Finding
from reportgen.design.missing import Known, Missing, first_missing
from reportgen.design.results import StringDesign
from reportgen.engineering.strings import fewest_modules, most_modules, temperature_at
from reportgen.working.quantity import Quantity

#: Checks of the cold voltage, with what sets their limit.
_CEILINGS = (
    ("cold-voltage-inverter", "inverter, never to exceed"),
    ("cold-voltage-module", "module, system voltage"),
    ("cold-voltage-place", "place, by the edition"),
    ("cold-voltage-wire", "wire, mark of the weakest"),
    ("cold-voltage-switch", "switch, rating of the weakest"),
)
_FLOORS = (
    ("hot-voltage-window", "tracking window, from"),
    ("hot-voltage-start", "start voltage"),
)


@dataclass(frozen=True, slots=True)
class SeriesLimit:
    """One limit of strings of one module type at one inverter type.

    Attributes
    ----------
    limit : Quantity or Missing
        The strictest one of these strings; missing where the limit of one of them is. [V]
    allowed : tuple of (str, int or None, int or None)
        For each cold temperature the most modules by the coefficient and by the code's table; of a limit in the heat the
        fewest, under the label of the hot cell, and nothing by a table. None where it is not known.
    reached : tuple of (int, Quantity or Missing)
        Cell temperature at which the longest string used, and one of a module more, come to the limit. [°C]
    """

    module: str
    inverter: str
    strings: tuple[str, ...]
    what: str
    limit: Known
    at_most: bool
    allowed: tuple[tuple[str, int | None, int | None], ...]
    reached: tuple[tuple[int, Known], ...]


def design_series_limits(facts: Facts, findings: Sequence[Finding]) -> tuple[SeriesLimit, ...]:
    """Limits of every pair of module type and inverter type that strings make, as their findings judge them."""
    limits: dict[tuple[str, str], list[Known]] = defaultdict(list)
    codes = {code for code, _ in (*_CEILINGS, *_FLOORS)}
    for finding in findings:
        if finding.code in codes:
            what = finding.missing[0] if finding.missing else f"limit of {finding.subject}"
            known = Missing(what, finding.cure_span) if finding.limit is None else finding.limit.to("V")
            limits[finding.code, finding.subject].append(known)
    circuits: dict[str, list[str]] = defaultdict(list)
    for circuit in facts.circuits:
        circuits[circuit.string.id].append(circuit.id)
    groups: dict[tuple[str, str], list[StringDesign]] = defaultdict(list)
    for string in facts.strings:
        found = facts.project.inverter_of(string.input.partition("/")[0])
        if found is not None and string.module is not None and string.count.value >= 1:
            groups[string.module_id, found[0]].append(string)
    return tuple(
        one
        for (module, inverter), strings in groups.items()
        for one in _limits(module, inverter, strings, limits, circuits)
    )


def _limits(
    module: str,
    inverter: str,
    strings: list[StringDesign],
    limits: Mapping[tuple[str, str], list[Known]],
    circuits: Mapping[str, list[str]],
) -> Iterator[SeriesLimit]:
    ids = tuple(string.id for string in strings)
    subjects = [*ids, *(key for name in ids for key in circuits.get(name, ()))]
    longest = max(strings, key=lambda string: string.count.value)
    for ceilings, at_most in ((_CEILINGS, True), (_FLOORS, False)):
        for code, what in ceilings:
            values = [value for key in subjects for value in limits.get((code, key), ())]
            if not values:
                continue
            known = [value for value in values if isinstance(value, Quantity)]
            strictest: Known = first_missing(*values) or (min if at_most else max)(
                known, key=lambda value: value.value
            )
            allowed = (_allowed if at_most else _needed)(strings, strictest)
            reached = _reached(longest, strictest) if at_most else ()
            yield SeriesLimit(module, inverter, ids, what, strictest, at_most, allowed, reached)


def _each(value: Known, string: StringDesign) -> float | None:
    """Voltage of one module [V]."""
    return value.value / string.count.value if isinstance(value, Quantity) and value.value > 0 else None


def _allowed(strings: list[StringDesign], limit: Known) -> tuple[tuple[str, int | None, int | None], ...]:
    string = strings[0]

    def most(value: Known) -> int | None:
        one = _each(value, string)
        return None if one is None or isinstance(limit, Missing) else most_modules(limit, one)

    return tuple((case.label, most(case.by_coefficient), most(case.by_table)) for case in string.cold)


def _needed(strings: list[StringDesign], limit: Known) -> tuple[tuple[str, int | None, int | None], ...]:
    """Fewest modules in the heat; of strings on several mountings the hottest one needs most."""
    ones = [_each(string.hot_operating, string) for string in strings]
    known = [one for one in ones if one is not None]
    fewest = None
    if len(known) == len(ones) and isinstance(limit, Quantity):
        fewest = fewest_modules(limit, min(known))
    return (("hot cell", fewest, None),)


def _reached(string: StringDesign, limit: Known) -> tuple[tuple[int, Known], ...]:
    module = string.module
    assert module is not None
    count = int(string.count.value)
    # By the voltage that was judged: a data sheet that is doubtful gives no temperature either.
    missing = first_missing(limit, string.governing)
    if missing is None and module.voltage_coefficient is None:
        missing = Missing(f"voltage_coefficient of module type {string.module_id}", module.span)
    if missing is not None or module.voltage_coefficient is None or isinstance(limit, Missing):
        missing = missing or Missing(f"values of module type {string.module_id}", module.span)
        return tuple((number, missing) for number in (count, count + 1))
    coefficient, voltage = module.voltage_coefficient, module.open_circuit_voltage
    return tuple(
        (number, temperature_at(Quantity(float(number), "", None, "modules"), voltage, coefficient, limit))
        for number in (count, count + 1)
    )
