"""Numbers of the sample made less safe, one at a time: no finding improves by it, but for stated reasons."""

from __future__ import annotations

import copy
import random
import re
from collections.abc import Iterator
from typing import Any

import pytest
from one_at_a_time import Trail, documents, outcomes, trails, written

from reportgen.design.findings import Outcome

#: Factors and steps that make a value worse; a temperature and a count move by steps.
LONGER, LESS = (1.1, 1.6, 3.0), (0.9, 0.6, 0.3)
FACTORS: dict[str, tuple[float, ...]] = {
    **dict.fromkeys(
        [
            "open_circuit_voltage",
            "short_circuit_current",
            "power",
            "length",
            "tracking_from",
            "start_voltage",
            "backfeed_current",
            "friction_dry",
            "friction_lubricated",
            "mass",
            "support_spacing",
            "first_support",
            "start",
            "end",
            "extra",
            "rating",
        ],
        LONGER,
    ),
    **dict.fromkeys(
        [
            "maximum_dc_voltage",
            "maximum_pv_power",
            "maximum_system_voltage",
            "maximum_series_fuse",
            "usable_current",
            "short_circuit_limit",
            "tracking_to",
            "rated_current",
            "voltage",
            "sidewall_limit",
            "tension_limit",
            "line_rating",
            "cover",
            "breaking_capacity",
            "bend_radius",
            "trench_depth",
            "width",
            "depth",
            "expansion_travel",
            "height_above_roof",
            "drop_target",
        ],
        LESS,
    ),
    "voltage_coefficient": (1.2, 1.5),
}
STEPS: dict[str, tuple[int, ...]] = {
    "ambient": (5, 15),
    "design_high": (5, 15),
    "ground_temperature": (5, 15),
    "record_low": (-5, -15),
    "mean_annual_minimum": (-5, -15),
    "temperature": (-5, -15),
    "count": (1, 3),
    "together": (1, 3),
}
SMALLER = {"8 AWG": ("10 AWG",), "10 AWG": ("12 AWG",), "1-1/2": ("1-1/4", "1"), "1-1/4": ("1", "3/4")}
RANK = {Outcome.MEETS: 0, Outcome.THIN: 1, Outcome.ASK: 2, Outcome.UNKNOWN: 2, Outcome.FAILS: 3}
#: Finding code, last key of the trail, and why it may improve.
REASONS = {
    ("voltage-drop", "count"): "more modules in a string raise its voltage, and the share that is lost falls",
}
NUMBER = re.compile(r"(-?[\d.]+)(.*)")


def worse(key: str | int, text: Any) -> Iterator[str]:
    if not isinstance(text, str) or not isinstance(key, str):
        return
    if key == "size":
        yield from SMALLER.get(text, ())
    elif (match := NUMBER.fullmatch(text)) is not None:
        number, unit = float(match[1]), match[2]
        yield from (f"{number * factor:g}{unit}" for factor in FACTORS.get(key, ()))
        yield from (f"{number + step:g}{unit}" for step in STEPS.get(key, ()))


def changes(sheets: dict[str, Any]) -> list[tuple[str, Trail, str]]:
    found = []
    for path, sheet in sheets.items():
        if path in {"readings.yaml", "commissioning.yaml"}:
            continue
        for trail in trails(sheet):
            node = sheet
            for step in trail:
                node = node[step]
            found += [(path, trail, text) for text in worse(trail[-1], node)]
    return found


def improved(chosen: list[tuple[str, Trail, str]], sheets: dict[str, Any]) -> list[str]:
    whole = {path: written(sheet) for path, sheet in sheets.items()}
    before = outcomes(whole)
    assert before is not None
    suspects = []
    for path, trail, text in chosen:
        sheet = copy.deepcopy(sheets[path])
        node = sheet
        for step in trail[:-1]:
            node = node[step]
        node[trail[-1]] = text
        for key, outcome in (outcomes({**whole, path: written(sheet)}) or {}).items():
            was = before.get(key)
            known = (key.split(":")[0], trail[-1]) in REASONS
            if was is not None and RANK[outcome] < RANK[was] and not known:
                suspects.append(f"{path} {'.'.join(map(str, trail))} {text}: {key} was {was}, is {outcome}")
    return suspects


def test_forty_numbers_made_worse_one_at_a_time() -> None:
    sheets = documents()
    every = changes(sheets)
    assert len(every) > 300
    assert improved(random.Random(11).sample(every, 40), sheets) == []


@pytest.mark.slow
def test_every_number_made_worse_one_at_a_time() -> None:
    sheets = documents()
    assert improved(changes(sheets), sheets) == []
