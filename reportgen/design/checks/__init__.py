"""Every check, one module a discipline; importing this package registers them all."""

from reportgen.design.checks import (
    array_wiring,
    boxes,
    buildings,
    circuits,
    equipment,
    grounding,
    inputs,
    landing,
    paths,
    predictions,
    raceways,
    readings,
    reuse,
    scope,
    strings,
    surroundings,
)

__all__ = [
    "array_wiring",
    "boxes",
    "buildings",
    "circuits",
    "equipment",
    "grounding",
    "inputs",
    "landing",
    "paths",
    "predictions",
    "raceways",
    "readings",
    "reuse",
    "scope",
    "strings",
    "surroundings",
]
