"""Every check, one module a discipline; importing this package registers them all."""

from reportgen.design.checks import (
    boxes,
    circuits,
    equipment,
    grounding,
    inputs,
    landing,
    predictions,
    raceways,
    readings,
    scope,
    strings,
    surroundings,
)

__all__ = [
    "boxes",
    "circuits",
    "equipment",
    "grounding",
    "inputs",
    "landing",
    "predictions",
    "raceways",
    "readings",
    "scope",
    "strings",
    "surroundings",
]
