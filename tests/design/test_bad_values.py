"""Values outside a table, empty and doubled paths, temperatures beyond the insulation: unknown or refused, never a pass."""

from __future__ import annotations

import pytest

from reportgen.design.findings import Outcome
from reportgen.diagnostics.model import InputRefused
from reportgen.project.load import load_project

PASSES = {Outcome.MEETS, Outcome.THIN}
E1_PATH = "    path: [R1, R2/trench-yard, R2/riser-yard, R2/hall]\n"

#: What is written wrong: file, text, its replacement, and the findings that may not pass then.
BAD = {
    "size that no table has": (
        "circuits.yaml",
        "    size: 8 AWG\n",
        "    size: 7 AWG\n",
        [
            "ampacity-terminal:PV-E1",
            "ampacity-use:PV-E1",
            "voltage-drop:PV-E1",
            "raceway-fill:R1/trench-orchard",
        ],
    ),
    "metric size": (
        "circuits.yaml",
        "    size: 8 AWG\n",
        "    size: 6 mm2\n",
        [
            "ampacity-terminal:PV-E1",
            "ampacity-use:PV-E1",
            "raceway-fill:R1/trench-orchard",
        ],
    ),
    "trade size that no table has": (
        "raceways.yaml",
        "{kind: PVC-40, size: 1-1/2, length: 46 m",
        "{kind: PVC-40, size: 1-3/4, length: 46 m",
        ["raceway-fill:R1/trench-orchard", "reuse-raceway:R1"],
    ),
    "no path": (
        "circuits.yaml",
        E1_PATH,
        "",
        ["ampacity-use:PV-E1", "voltage-drop:PV-E1", "circuit-path:PV-E1"],
    ),
    "stretch passed twice": (
        "circuits.yaml",
        E1_PATH,
        "    path: [R1, R1, R2/trench-yard, R2/riser-yard, R2/hall]\n",
        ["circuit-path:PV-E1"],
    ),
    "path with a gap": (
        "circuits.yaml",
        E1_PATH,
        "    path: [R1, R2/hall]\n",
        ["circuit-path:PV-E1"],
    ),
    "raceway that is removed": (
        "raceways.yaml",
        "    status: existing\n    starts_at: EAST",
        "    status: removed\n    starts_at: EAST",
        ["circuit-path:PV-E1"],
    ),
    "hotter than the insulation": (
        "raceways.yaml",
        "ambient: 45 degC",
        "ambient: 91 degC",
        ["ampacity-use:PV-E1", "ampacity-use:PV-W1"],
    ),
    "hotter than the table goes": (
        "raceways.yaml",
        "ambient: 38 degC",
        "ambient: 86 degC",
        ["ampacity-use:PV-E1"],
    ),
    "colder than the table goes": (
        "site.yaml",
        "record_low: -22 degC",
        "record_low: -90 degC",
        ["cold-voltage-inverter:E1", "cold-voltage-wire:PV-E1"],
    ),
    "marking that no table has": (
        "equipment.yaml",
        "markings: [THWN-2]",
        "markings: [H07V-K]",
        [
            "ampacity-use:PV-E1",
            "ampacity-terminal:PV-E1",
            "raceway-fill:R1/trench-orchard",
            "wet-marking:PV-E1",
        ],
    ),
    "no marking": (
        "equipment.yaml",
        "markings: [THWN-2]",
        "markings: []",
        [
            "ampacity-use:PV-E1",
            "ampacity-terminal:PV-E1",
            "raceway-fill:R1/trench-orchard",
            "wet-marking:PV-E1",
        ],
    ),
    "terminal below every column": (
        "equipment.yaml",
        "terminals: {temperature: 75 degC",
        "terminals: {temperature: 50 degC",
        ["ampacity-terminal:PV-E1"],
    ),
    "aluminium too thin for the table": (
        "equipment.yaml",
        "    material: copper\n    markings: [THWN-2]",
        "    material: aluminum\n    markings: [THWN-2]",
        [],
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_nothing_passes_on_a_value_that_no_table_has(sample, edit, design, case) -> None:
    file, old, new, keys = BAD[case]
    before = {found.id: found for found in design(sample).findings}
    made = design(edit(sample, file, old, new, 1))
    after: dict[str, list] = {}
    for found in made.findings:
        after.setdefault(":".join((found.code, found.subject)), []).append(found)
    for key in keys:
        code, _, subject = key.partition(":")
        told = after[f"{code}:{subject}"]
        assert not [found.id for found in told if found.outcome in PASSES], key
    gained = [
        found.id
        for found in made.findings
        if found.outcome in PASSES and found.id in before and before[found.id].outcome not in PASSES
    ]
    assert not gained


@pytest.mark.parametrize("case", BAD)
def test_what_is_not_known_names_a_place_or_what_to_state(sample, edit, design, case) -> None:
    file, old, new, _ = BAD[case]
    for found in design(edit(sample, file, old, new, 1)).findings:
        if found.outcome is Outcome.UNKNOWN:
            assert found.missing, found.id
        if found.outcome is Outcome.ASK:
            assert found.question, found.id


@pytest.mark.parametrize(
    ("file", "old", "new", "code"),
    [
        ("raceways.yaml", "length: 46 m", "length: 0 m", None),
        ("raceways.yaml", "length: 46 m", "length: -46 m", None),
        ("circuits.yaml", "    size: 8 AWG\n", "    size: eight\n", None),
        ("circuits.yaml", "path: [R1, ", "path: [R9, ", "unknown-reference"),
        ("circuits.yaml", "    size: 8 AWG\n", "    size: 8 AWG\n    parallel: 0\n", None),
    ],
)
def test_refused_with_its_place(sample, edit, file, old, new, code) -> None:
    with pytest.raises(InputRefused) as caught:
        load_project(edit(sample, file, old, new, 1))
    told = caught.value.diagnostics[0]
    assert told.span.file == file
    assert code in {None, told.code}


def test_a_raceway_in_two_places_is_refused_naming_both(sample) -> None:
    files = {
        **sample,
        "more.yaml": b"raceways:\n  R1: {segments: {a: {kind: EMT, size: 1, length: 3 m, place: indoors}}}\n",
    }
    with pytest.raises(InputRefused) as caught:
        load_project(files)
    # What names a stretch of the first one is told as well, because the second has none of that name.
    (told,) = (item for item in caught.value.diagnostics if item.code == "duplicate-id")
    assert {label.span.file for label in told.labels} == {"more.yaml", "raceways.yaml"}


def test_a_raceway_that_two_units_share_by_name_is_refused(sample, edit) -> None:
    with pytest.raises(InputRefused):
        load_project(edit(sample, "equipment.yaml", "PB-1:", "SW-E1:", 1))


def test_conductors_in_a_stretch_passed_twice_do_not_hide(sample, edit, design) -> None:
    """The doubled stretch makes the fill larger, never smaller."""
    before = {str(s.id): s.fill.value for s in design(sample).facts.stretches}
    twice = edit(sample, "circuits.yaml", E1_PATH, BAD["stretch passed twice"][2], 1)
    after = {str(s.id): s.fill.value for s in design(twice).facts.stretches}
    assert all(after[key] >= before[key] for key in before)
