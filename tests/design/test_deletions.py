"""Anything left out of the sample: never a crash, and never a finding that meets because of it, but for stated reasons.

Every key and list item of the folder is taken out by itself. The folder is then refused, or every finding that did not
meet before does not meet now either. A few may, and here is why.
"""

from __future__ import annotations

import copy
import random
from typing import Any

import pytest
from one_at_a_time import SAMPLE, Trail, documents, outcomes, trails, written

from reportgen.design.findings import Outcome
from reportgen.diagnostics.model import InputRefused
from reportgen.working.quantity import assumptions_of

#: Finding code, beginning of the trail, and why it may meet when the thing is left out.
REASONS: tuple[tuple[str, Trail, str], ...] = (
    (
        "voltage-drop",
        ("project", "policies"),
        "the user's own target goes with it; the common one is listed as assumed",
    ),
    (
        "voltage-drop",
        ("circuits",),
        "a shorter or cooler run; what is missing of the path is unknown by circuit-path",
    ),
    (
        "voltage-drop",
        ("raceways",),
        "a shorter run, or the site's ambient in place of the stated one, listed as assumed",
    ),
    ("voltage-drop", ("local",), "the authority's own rule goes with it"),
)


def reason(code: str, trail: Trail) -> str:
    return next((why for known, start, why in REASONS if known == code and trail[: len(start)] == start), "")


def judge(chosen: list[tuple[str, Trail]], sheets: dict[str, Any]) -> list[str]:
    whole = {path: written(sheet) for path, sheet in sheets.items()}
    before = outcomes(whole)
    assert before is not None
    suspects = []
    for path, trail in chosen:
        sheet = copy.deepcopy(sheets[path])
        node = sheet
        for step in trail[:-1]:
            node = node[step]
        del node[trail[-1]]
        after = outcomes({**whole, path: written(sheet)})
        for key, outcome in (after or {}).items():
            was = before.get(key)
            if (
                was not in (None, Outcome.MEETS)
                and outcome is Outcome.MEETS
                and not reason(key.split(":")[0], trail)
            ):
                suspects.append(f"{path} {'.'.join(map(str, trail))}: {key} was {was}")
    return suspects


def test_seventy_things_left_out_one_at_a_time() -> None:
    sheets = documents()
    every = [(path, trail) for path, sheet in sheets.items() for trail in trails(sheet)]
    assert judge(random.Random(7).sample(every, 70), sheets) == []


@pytest.mark.slow
def test_everything_left_out_one_at_a_time() -> None:
    sheets = documents()
    assert judge([(path, trail) for path, sheet in sheets.items() for trail in trails(sheet)], sheets) == []


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("joined: [[L1, T1], ", "joined: [[L1], ", "holds L1, not two terminals"),
        ("joined: [[L1, T1], ", "joined: [[L1, T1, T2], ", "holds L1, T1, T2, not two terminals"),
        (
            "joined: [[L1, T1], [L2, T2]",
            "joined: [[L1, T1], [L1, T2]",
            "terminal `L1` of switch type `K4` is joined twice",
        ),
    ],
)
def test_a_switch_whose_poles_do_not_pair_is_refused_at_its_line(
    sample, edit, design, old, new, words
) -> None:
    with pytest.raises(InputRefused) as refused:
        design(edit(sample, "equipment.yaml", old, new, 1))
    (item,) = [item for item in refused.value.diagnostics if words in item.message]
    assert item.span is not None and item.span.file == "equipment.yaml"


def test_a_stretch_that_says_nothing_of_bends_is_not_straight_for_that(sample, edit, design) -> None:
    made = design(edit(sample, "raceways.yaml", "bends: [], ", "", 1))
    found = {item.id: item for item in made.findings if item.code == "raceway-bends"}
    assert {str(item.outcome) for key, item in found.items() if key.startswith("raceway-bends:R2:PB-1")} == {
        "unknown"
    }
    made = design(sample)
    assert all(item.outcome is Outcome.MEETS for item in made.findings if item.code == "raceway-bends")


def test_a_circuit_without_a_string_and_a_string_without_a_circuit_are_unknown(sample, edit, design) -> None:
    made = design(edit(sample, "circuits.yaml", "    string: E1\n", "", 1))
    found = {item.subject: item.outcome for item in made.findings if item.code == "circuit-string"}
    assert found == {"PV-E1": Outcome.UNKNOWN, "E1": Outcome.UNKNOWN}
    assert not [item for item in design(sample).findings if item.code == "circuit-string"]


PLACED = ("raceway-fill", "ampacity-use", "device-conductor", "pull-tension", "box-volume")


@pytest.mark.parametrize("circuit", ["PV-E1", "PV-R1S"])
def test_nothing_that_is_shared_passes_while_a_circuit_has_no_path(sample, edit, design, circuit) -> None:
    text = (SAMPLE / "circuits.yaml").read_text(encoding="utf-8")
    start = text.index(f"  {circuit}:")
    line = next(row for row in text[start:].splitlines(keepends=True) if "path:" in row)
    cut = edit(sample, "circuits.yaml", text, text[:start] + text[start:].replace(line, "", 1))
    made = [item for item in design(cut).findings if item.code in PLACED]
    assert {item.code for item in made} == set(PLACED)
    assert {str(item.outcome) for item in made} == {"unknown"}
    assert all(f"path of circuit {circuit}" in item.missing for item in made)


def test_a_ground_without_a_path_takes_room_and_heats_nothing(sample, edit, design) -> None:
    cut = edit(sample, "circuits.yaml", "    path: [R2/roof, R2/drop]\n", "")
    made = {item.id: str(item.outcome) for item in design(cut).findings}
    assert {then for key, then in made.items() if key.startswith("raceway-fill")} == {"unknown"}
    assert {then for key, then in made.items() if key.startswith("ampacity-use")} == {"meets"}


@pytest.mark.parametrize("gone", ["count: 12, ", "array: EAST, "])
def test_a_string_that_does_not_say_all_of_itself_is_not_left_out_of_sums(sample, edit, design, gone) -> None:
    made = {item.id: item for item in design(edit(sample, "arrays.yaml", gone, "", 1)).findings}
    assert str(made["inverter-pv-power:INV-1"].outcome) == "unknown"
    assert made["inverter-pv-power:INV-1"].missing == ("array and count of string E1",)
    assert str(made["array-wire-voltage:EAST"].outcome) == "unknown"


def test_terminals_are_not_judged_without_the_one_at_the_input(sample, edit, design) -> None:
    made = {
        item.id: item
        for item in design(edit(sample, "arrays.yaml", "input: INV-2/A", "fuse: GPV25")).findings
    }
    assert made["ampacity-terminal:PV-W1"].missing == ("input of string W1",)


def test_coating_of_copper_not_stated_is_listed_as_assumed(sample, edit, design) -> None:
    stated = {item.id: item for item in design(sample).findings}
    left = {item.id: item for item in design(edit(sample, "equipment.yaml", "    tinned: no\n", "")).findings}
    one, other = stated["voltage-drop:PV-E1"].value, left["voltage-drop:PV-E1"].value
    assert one is not None and other is not None and one.value == other.value
    assert not [item for item in assumptions_of(one) if "tinned" in item.key]
    assert [item.key for item in assumptions_of(other) if "tinned" in item.key] == ["cables.THWN10.tinned"]


def test_a_crossing_in_the_first_of_two_switches_in_series_is_not_overlooked(sample, edit, design) -> None:
    # The isolator hands plus on as minus; the switch in the house is landed as it should be.
    unit = "      SW-E1: {place: outbuilding, inside: yes}\n"
    files = edit(sample, "equipment.yaml", unit, "      ISO: {place: orchard}\n" + unit, 1)
    crossed = "landing:\n  ISO: {L1: PV-E1+, T1: PV-E1-, L2: PV-E1-, T2: PV-E1+}\n"
    made = {item.id: item for item in design(edit(files, "landing.yaml", "landing:\n", crossed)).findings}
    for leg in "+-":
        assert str(made[f"landing:PV-E1{leg}"].outcome) == "unknown"
    assert str(made["cold-voltage-switch:PV-E1:ISO"].outcome) == "unknown"
    assert str(made["landing:PV-E2+"].outcome) == "meets"
