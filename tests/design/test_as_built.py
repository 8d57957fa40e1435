"""What was built otherwise: never a pass while the figures may not be those of what stands there."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.design.findings import Outcome
from reportgen.service.build import check
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot

FOLDER = Path(__file__).parents[2] / "reportgen" / "examples" / "two-strings"
FILES = dict(take(FOLDER).files)
#: A stretch of the example and its length there.
STRETCH, LENGTH = "R1/foot", "1.2 m"


def found(**keys: str):
    told = {"item": STRETCH, "designed": "straight", "built": "round a rock", **keys}
    text = "asbuilt:\n  rock: {" + ", ".join(f"{key}: {value}" for key, value in told.items()) + "}\n"
    design = check(Snapshot.of({**FILES, "built.yaml": text.encode()}))
    return next(finding for finding in design.findings if finding.code == "as-built")


def test_the_stretch_of_these_tests_is_as_said() -> None:
    design = check(Snapshot.of(FILES))
    lengths = {str(item.id): item.segment.length.show() for item in design.facts.stretches}
    assert lengths[STRETCH] == LENGTH
    assert not [finding for finding in design.findings if finding.code == "as-built"]


@pytest.mark.parametrize(
    ("keys", "outcome"),
    [
        ({}, Outcome.UNKNOWN),
        ({"affects_calculation": "yes"}, Outcome.UNKNOWN),
        ({"recalculated": "no"}, Outcome.UNKNOWN),
        ({"affects_calculation": "yes", "recalculated": "no"}, Outcome.UNKNOWN),
        ({"affects_calculation": "no"}, Outcome.MEETS),
        ({"affects_calculation": "yes", "recalculated": "yes"}, Outcome.MEETS),
        ({"measured_length": LENGTH, "recalculated": "yes"}, Outcome.MEETS),
        ({"measured_length": "120 cm", "recalculated": "yes"}, Outcome.MEETS),
    ],
)
def test_a_correction_that_nobody_worked_in_is_unknown(keys: dict[str, str], outcome: Outcome) -> None:
    assert found(**keys).outcome is outcome


@pytest.mark.parametrize("said", [{"recalculated": "yes"}, {"affects_calculation": "no"}])
def test_a_length_that_is_not_in_the_inputs_outweighs_what_is_said(said: dict[str, str]) -> None:
    """The careless reader believes `recalculated: yes`; the inputs still hold the old length."""
    finding = found(measured_length="1.5 m", **said)
    assert finding.outcome is Outcome.UNKNOWN
    assert "1.5 m" in finding.headline
    assert LENGTH in finding.headline


def test_a_length_of_no_stretch_is_not_passed_over() -> None:
    finding = found(item="lane", measured_length="1.2 m", recalculated="yes")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing
