"""The same design written in feet and Fahrenheit and in metres and Celsius gives the same results, bit for bit."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

from reportgen.diagnostics.model import Span
from reportgen.project.load import load_project
from reportgen.project.values import Section
from reportgen.service.build import BuildOptions, run
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot
from reportgen.working.quantity import Given, Quantity
from reportgen.working.units import UNITS, parse

SAMPLE = Path(__file__).parents[2] / "sample_project"
#: Exact by definition: foot and inch, and the pound-force times the inch.
METRES = {"ft": Decimal("0.3048"), "in": Decimal("0.0254")}
NEWTON_METRES = Decimal("4.4482216152605") * Decimal("0.0254")


def given(thing: Any) -> list[Given]:
    """Every quantity that stands in a typed project."""
    if isinstance(thing, Quantity):
        return [thing.origin] if isinstance(thing.origin, Given) and thing.unit else []
    if isinstance(thing, Section):
        return [item for name in type(thing).model_fields for item in given(getattr(thing, name))]
    parts = thing.values() if isinstance(thing, dict) else thing if isinstance(thing, list) else ()
    return [item for part in parts for item in given(part)]


def twins(text: str, dimension: str) -> tuple[str, str] | None:
    """A quantity near the one written that both systems can write out in full: metric, imperial."""
    value, unit = parse(text, (dimension,))
    number = Decimal(str(value)) * Decimal(str(unit.factor))
    if dimension == "length":
        small = "mm" in text or "in" in text
        imperial = round(number / METRES["in" if small else "ft"], 2 if small else 1)
        metres = imperial * METRES["in" if small else "ft"]
        return (
            (f"{metres * 1000:f} mm", f"{imperial:f} in") if small else (f"{metres:f} m", f"{imperial:f} ft")
        )
    if dimension == "temperature":
        return f"{number:f} degC", f"{number * Decimal('1.8') + 32:f} degF"
    if dimension == "torque":
        imperial = round(number / NEWTON_METRES, 1)
        return f"{imperial * NEWTON_METRES:f} N·m", f"{imperial:f} lb·in"
    return None


def folders() -> tuple[dict[str, bytes], dict[str, bytes], int]:
    files = dict(take(SAMPLE).everything)
    swaps: dict[Span, tuple[str, str]] = {}
    for origin in given(load_project(files)):
        dimension = next(
            name
            for name in ("length", "temperature", "torque", "")
            if not name or any(origin.text.endswith(unit) for unit in spellings(name))
        )
        if dimension and (pair := twins(origin.text, dimension)):
            swaps[origin.span] = pair
    made = []
    for which in (0, 1):
        copy = {}
        for name, data in files.items():
            if not name.endswith(".yaml"):
                copy[name] = data
                continue
            lines = data.decode().splitlines()
            for span in sorted((span for span in swaps if span.file == name), reverse=True):
                line = lines[span.line - 1]
                text = swaps[span][which]
                lines[span.line - 1] = line[: span.column - 1] + text + line[span.end_column - 1 :]
            copy[name] = ("\n".join(lines) + "\n").encode()
        made.append(copy)
    return made[0], made[1], len(swaps)


def spellings(dimension: str) -> list[str]:
    return [f" {text}" for unit in UNITS.values() if unit.dimension == dimension for text in unit.accepted]


def test_metric_and_imperial_twin_give_identical_results() -> None:
    metric, imperial, count = folders()
    assert count > 60
    assert metric != imperial
    for name, data in imperial.items():
        assert b" degC" not in data or not name.endswith(".yaml")
    results = []
    for files in (metric, imperial):
        built = run(Snapshot.of(files), BuildOptions(pdf=False))
        document = json.loads(built.outputs["results.json"])
        assert document.pop("inputs")
        results.append(document)
    assert results[0]["energy"]["ac"]
    assert results[0] == results[1]
