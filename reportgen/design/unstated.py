"""What stands in where the folder is silent and no quantity carries along: listed as assumptions all the same."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from reportgen.design.graph import Graph
from reportgen.project.values import Section
from reportgen.working.quantity import Assumed

_OURS = "our own default"


def unstated(graph: Graph) -> Iterator[Assumed]:
    """Defaults that enter numbers of what is in use, one entry a key with all that leave it out."""
    project = graph.project
    wires = {str(one.cable) for one in project.circuits.values() if one.status != "removed"}
    wires |= {str(one.wiring.cable) for one in project.arrays.values() if one.wiring is not None}
    modules = {str(one.module) for one in project.arrays.values() if one.status != "removed"}
    cables = {str(key): cable for key, cable in project.cables.items() if key in wires}
    yield from _silent("cables", "material", cables, "metal of wire not stated: taken as copper")
    yield from _silent("cables", "stranding", cables, "make-up of wire not stated: taken as stranded")
    kinds = {str(key): module for key, module in project.modules.items() if key in modules}
    told = "technology of modules not stated: taken as crystalline silicon, for which alone the table of cold voltages holds"
    yield from _silent("modules", "technology", kinds, told)
    told = "bifaciality of modules not stated: taken as one-sided, so that light on the rear adds no current"
    one_sided = {key: module for key, module in kinds.items() if module.bifaciality is None}
    yield from _silent("modules", "bifaciality", one_sided, told)
    boxed = [
        str(key)
        for key, circuit in project.circuits.items()
        if circuit.kind in {"string", "output"}
        and circuit.status != "removed"
        and circuit.extra is None
        and any(graph.project.box_of(unit) for unit in graph.passing.enclosures[str(key)])
    ]
    if boxed:
        told = "length in the boxes that it passes not stated: none is added to stretches and tails"
        yield Assumed(f"circuits.{' '.join(boxed)}.extra", told, _OURS)
    if "rulebook" not in project.project.model_fields_set:
        told = f"code edition not stated: judged by {project.project.rulebook}"
        yield Assumed("project.rulebook", told, _OURS)


def _silent(section: str, key: str, items: Mapping[str, Section], told: str) -> Iterator[Assumed]:
    names = [name for name, item in items.items() if key not in item.model_fields_set]
    if names:
        yield Assumed(f"{section}.{' '.join(names)}.{key}", told, _OURS)
