"""Anything left out of the sample: never a crash, and never a finding that meets because of it, but for stated reasons.

Every key and list item of the folder is taken out by itself. The folder is then refused, or every finding that did not
meet before does not meet now either. A few may, and here is why.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from reportgen.design.findings import Outcome
from reportgen.diagnostics.model import InputRefused
from reportgen.service.build import check
from reportgen.service.snapshot import Snapshot, take

SAMPLE = Path(__file__).parents[2] / "sample_project"
Trail = tuple[str | int, ...]

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


def documents() -> dict[str, Any]:
    return {
        path: yaml.load(data, Loader=yaml.BaseLoader)
        for path, data in take(SAMPLE).everything.items()
        if path.endswith(".yaml")
    }


def trails(node: Any, above: Trail = ()) -> Iterator[Trail]:
    steps = node if isinstance(node, dict) else range(len(node)) if isinstance(node, list) else ()
    for step in steps:
        yield (*above, step)
        yield from trails(node[step], (*above, step))


def written(document: Any) -> bytes:
    return yaml.safe_dump(document, sort_keys=False, allow_unicode=True, width=1000).encode()


def outcomes(files: dict[str, bytes]) -> dict[str, Outcome] | None:
    try:
        return {finding.id: finding.outcome for finding in check(Snapshot.of(files)).findings}
    except InputRefused:
        return None


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
