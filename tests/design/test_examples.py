"""The worked examples that `reportgen init --example` copies: what fails in each is what it teaches."""

from __future__ import annotations

import pytest

from reportgen.authoring.start import EXAMPLES, example
from reportgen.design.findings import Outcome

#: Codes that fail, and codes that are thin, in each.
TEACHES = {
    "two-strings": (set(), set()),
    "crowded-pipe": ({"raceway-fill", "reuse-raceway"}, set()),
    "long-run": (set(), {"voltage-drop"}),
}


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_fails_only_what_it_teaches(name: str, design) -> None:
    files = {file: text.encode() for file, text in example(name).items()}
    made = design(files)
    fails, thin = TEACHES[name]
    assert {finding.code for finding in made.of(Outcome.FAILS)} == fails
    assert {finding.code for finding in made.of(Outcome.THIN)} >= thin
    complete = [finding for finding in made.findings if finding.code == "data-sheet-complete"]
    assert {finding.outcome for finding in complete} == {Outcome.MEETS}
