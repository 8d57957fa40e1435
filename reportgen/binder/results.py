"""``results.json``: findings and results for machines, sorted, one value a line, no clock, host or path."""

from __future__ import annotations

import json
import math
from typing import Any

from reportgen.design.assemble import Design
from reportgen.design.findings import Finding
from reportgen.design.missing import Known, Missing
from reportgen.design.pull_design import BOTH_ENDS, FRICTIONS
from reportgen.design.readings import StringRead
from reportgen.engineering.cutting.spools import CutPlan
from reportgen.working.quantity import Quantity
from reportgen.working.units import DIMENSIONS, UNITS

#: Raised whenever a reader of an older file would misread a newer one.
FORMAT = 1


def results_json(design: Design, version: str) -> bytes:
    """Bytes of ``results.json``.

    Notes
    -----
    A quantity is ``{"value": …, "unit": …}``; one that is not known is ``{"unknown": what to state}``.
    """
    document = {
        "format": FORMAT,
        "tool": {"name": "reportgen", "version": version},
        "inputs": design.digest,
        "findings": [_finding(finding) for finding in design.findings],
        "assumptions": [
            {
                "key": origin.key,
                "value": _value(value) if value else None,
                "reason": origin.reason,
                "source": origin.source,
            }
            for origin, value in design.assumptions
        ],
        **results_of(design),
    }
    return (
        json.dumps(document, sort_keys=True, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    ).encode()


def results_of(design: Design) -> dict[str, Any]:
    """What a design comes to but its findings and assumptions, as ``results.json`` holds it."""
    facts = design.facts
    return {
        "rulebook": {
            "edition": design.rulebook.wanted or design.rulebook.edition.name,
            "tables": design.rulebook.digest,
        },
        "strings": {
            item.id: {
                "input": item.input,
                "modules": item.count.value,
                "cold": {
                    case.label: {
                        "temperature": _value(case.temperature),
                        "by_coefficient": _value(case.by_coefficient),
                        "by_table": _value(case.by_table),
                    }
                    for case in item.cold
                },
                "governing": _value(item.governing),
                "hot_operating": _value(item.hot_operating),
                "cold_operating": _value(item.cold_operating),
                "maximum_current": _value(item.maximum),
                "continuous_current": _value(item.continuous),
            }
            for item in facts.strings
        },
        "inputs_of_inverters": {
            item.address: {
                "strings": list(item.strings),
                "short_circuit": _value(item.short_circuit),
                "operating": _value(item.operating),
            }
            for item in facts.inputs
        },
        "circuits": {
            item.id: {
                "size": str(item.circuit.size),
                "terminal_ampacity": _value(item.terminal),
                "governing_stretch": str(item.governing.segment) if item.governing else None,
                "ampacity": _value(item.governing.ampacity) if item.governing else None,
                "stretches": {str(stretch.segment): _value(stretch.ampacity) for stretch in item.stretches},
                "length": _value(item.length),
                "resistance": _value(item.loop),
                "drop": _value(item.drop),
                "drop_share": _value(item.drop_share),
                "loss": _value(item.loss),
                "conductor_temperature": _value(item.conductor_temperature),
                "hottest_hour": {"drop_share": _value(item.hot_share), "loss": _value(item.hot_loss)},
                "terminals": {one.unit: _value(one.ampacity) for one in item.terminals},
            }
            for item in facts.circuits
        },
        "outputs": {
            item.id: {
                "size": str(item.circuit.size),
                "current": _value(item.maximum),
                "terminal_ampacity": _value(item.terminal),
                "governing_stretch": str(item.governing.segment) if item.governing else None,
                "ampacity": _value(item.governing.ampacity) if item.governing else None,
                "device": _value(item.device),
                "largest_device": _value(item.ceiling),
                "length": _value(item.length),
                "drop": _value(item.drop),
                "drop_share": _value(item.drop_share),
                "loss": _value(item.loss),
            }
            for item in facts.outputs
        },
        "raceways": {
            str(item.id): {
                "carry_current": item.carrying,
                "take_space": len(item.conductors),
                "fill": _value(item.fill),
                "limit": _value(item.limit),
            }
            for item in facts.stretches
        },
        "covers": {
            str(item.id): {"cover": _value(item.actual), "least": _value(item.most), "place": item.most_place}
            for item in facts.surroundings.covers
        },
        "movement": {
            f"{item.raceway}, {item.part}": {
                "length": _value(item.length),
                "change": _value(item.change),
                "travel": _value(item.travel),
            }
            for item in facts.movement
        },
        "boxes": {
            item.unit: {
                "conductors": len(item.passages),
                "least_volume": _value(item.least),
                "most_volume": _value(item.most),
                "volume": _value(item.volume),
            }
            for item in facts.boxes
        },
        "terminals": {
            item.unit: {"landed": len(item.wires), "under_one_clamp": item.most} for item in facts.terminals
        },
        "grounds": {
            str(item.segment): {
                "required": item.required.what if isinstance(item.required, Missing) else item.required,
                "actual": item.actual,
            }
            for item in facts.grounds
        },
        "pulls": {
            item.name: {
                "wires": [wire.id for wire in item.wires],
                "feed": item.place(item.feed) if item.feed else None,
                "greatest": {
                    item.place(end): {
                        name: _value(one.hardest.after)
                        for name, one in zip(FRICTIONS, item.pulls(end), strict=False)
                    }
                    for end in BOTH_ENDS
                },
                "stop": _value(item.stop),
                "line": _value(item.line_length),
                "lubricant": _value(item.lubricant),
            }
            for item in facts.pulls
        },
        "materials": {
            f"{line.group}: {line.item}": _value(_metric(line.quantity)) for line in facts.materials.lines
        },
        "cuts": {
            group.name: {
                "pieces": {wire.id: _value(wire.length) for wire in group.wires},
                "buy": dict(group.plan.shopping) if isinstance(group.plan, CutPlan) else None,
            }
            for group in facts.cuts
        },
        "landing": {
            conductor: {
                "reaches": sorted({place for item in items for place in item.reaches}),
                "meant_for": items[0].wanted,
                "poles": min(item.poles for item in items),
            }
            for conductor, items in facts.arrived.items()
        },
        "predicted_readings": {
            item.address: {
                "meant_for": list(item.meant),
                "case": str(item.reading.case) if item.reading else None,
                "voltage": _value(item.missing[0])
                if item.missing
                else _value(item.reading.voltage if item.reading else None),
                "connected_when_open": list(item.left_open),
            }
            for item in facts.predictions.inputs
        },
        "readings": [_reading(read) for read in facts.readings.reads],
        "energy": _energy(design),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "id": finding.id,
        "code": finding.code,
        "subject": finding.subject,
        "part": finding.part,
        "outcome": str(finding.outcome),
        "headline": finding.headline,
        "rule": finding.clause,
        "value": _value(finding.value),
        "limit": _value(finding.limit),
        "margin": _number(finding.margin),
        "break_even": finding.break_even,
        "cure": finding.cure,
        "missing": list(finding.missing),
        "question": finding.question,
        "recalled": finding.recalled,
        "sources": [span.short for span in finding.sources],
        "needs_run": finding.needs_run,
    }


def _reading(read: StringRead) -> dict[str, Any]:
    return {
        "series": read.series,
        "date": read.date,
        "at": read.point,
        "string": read.string,
        "open_circuit_voltage": _value(read.volts),
        "expected": _value(read.expected.voltage) if read.expected else None,
        "uncertainty": _value(read.expected.uncertainty) if read.expected else None,
        "judged": {
            item.kind: {
                "verdict": str(item.judgement.verdict),
                "reason": item.judgement.reason,
                "modules_by_others": item.named,
                "superseded_by": item.superseded,
                "mistakes": [
                    {"says": mistake.says, "predicted": _value(mistake.predicted)}
                    for mistake in item.judgement.mistakes
                ],
            }
            for item in read.judged
        },
    }


def _metric(value: Known) -> Known:
    """A quantity in the base unit of its dimension, whatever unit the pages print."""
    if isinstance(value, Missing) or value.unit not in UNITS:
        return value
    return value.to(DIMENSIONS[UNITS[value.unit].dimension][0].symbol)


def _value(value: Quantity | Missing | None) -> dict[str, Any] | None:
    if value is None:
        return None
    if isinstance(value, Missing):
        return {"unknown": value.what}
    return {"value": _number(value.value), "unit": value.unit}


def _number(value: float | None) -> float | None:
    """Number with twelve significant digits: far below any input's precision, above the last bit of two machines."""
    if value is None or not math.isfinite(value):
        return None
    return float(f"{value:.12g}")


def _energy(design: Design) -> dict[str, Any] | None:
    energy = design.energy
    if energy is None:
        return None
    if energy.year is None:
        return {"unknown": [item.what for item in energy.missing]}
    year = energy.year

    def kwh(months: tuple[float, ...]) -> list[float | None]:
        # Eight digits: the same on every machine whatever its mathematics library does with the ninth.
        return [float(f"{month:.8g}") for month in months]

    band = year.band
    figures = {
        "dc": kwh(year.dc),
        "wire": kwh(year.wire),
        "clipped": kwh(year.clipped),
        "ac": kwh(year.ac),
        "chain": [{"step": step.key, "kwh": float(f"{step.kwh:.8g}")} for step in year.chain],
        "strings": {
            item.id: {
                "dc": kwh(item.figures.dc),
                "wire": kwh(item.figures.wire),
                "clipped": kwh(item.figures.clipped),
                "ac": kwh(item.figures.ac),
            }
            for item in year.strings
        },
    }
    # a reader that takes "ac" for an expectation finds none where there is none
    return {
        "unit": "kWh",
        "weather": energy.weather_source,
        "upper_bound": year.upper_bound,
        "year": {
            "ac": None if energy.output_kwh is None else kwh((energy.output_kwh,))[0],
            "low": None if band.low_kwh is None else kwh((band.low_kwh,))[0],
            "high": None if band.high_kwh is None else kwh((band.high_kwh,))[0],
            "half_width_share": _number(band.share),
            "how_sure": band.text,
        },
        "single_years": {
            "p50": kwh((energy.spread.p50,))[0],
            "p90": kwh((energy.spread.p90,))[0],
            "ac": {name: kwh((value,))[0] for name, value in energy.spread.years},
        }
        if energy.spread is not None
        else None,
        **({"at_most": figures} if year.upper_bound else figures),
    }
