"""Power of the modules in strings at standard conditions."""

from __future__ import annotations

from collections.abc import Iterable

from reportgen.design.missing import Known, Missing
from reportgen.project.model import Project
from reportgen.working.quantity import Quantity, work


def power_of_strings(project: Project, strings: Iterable[str], name: str) -> Known:
    """Power of all modules in some strings at standard conditions [kW], from the front alone.

    Missing where a string's module type only holds the place of its data sheet; strings of several types add up.
    """
    terms: dict[str, Quantity] = {}
    formula = []
    counts: dict[str, list[Quantity]] = {}
    for key in strings:
        parts = project.parts_of(project.strings[key])
        if not parts:
            return Missing(f"array and count of string {key}", project.strings[key].span)
        for part in parts:
            kind = str(project.arrays[str(part.array)].module)
            counts.setdefault(kind, []).append(part.count.quantity(f"modules of {key}"))
    for number, (kind, found) in enumerate(counts.items(), start=1):
        module = project.modules.get(kind)
        if module is None or module.placeholder:
            return Missing(f"the data sheet of module type {kind}", module.span if module else None)
        names = [f"N_{number}{letter}" for letter in map(str, range(1, len(found) + 1))]
        terms |= dict(zip(names, found, strict=True))
        terms[f"P_{number}"] = module.power.to("kW")
        formula.append(
            f"({' + '.join(names)}) * P_{number}" if len(names) > 1 else f"{names[0]} * P_{number}"
        )
    if not formula:
        return Missing("a string at this inverter")
    return work(name, "kW", " + ".join(formula), **terms)
