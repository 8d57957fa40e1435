"""Messages in SARIF against the schema that the standard publishes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from reportgen.design.findings import Outcome
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.diagnostics.model import Diagnostic, InputRefused, Label, Severity, Span
from reportgen.diagnostics.sarif import SCHEMA, sarif
from reportgen.project.load import load_project
from reportgen.service.build import check
from reportgen.service.folder_reader import take

HERE = Path(__file__).parent
BROKEN = HERE.parent / "broken"
SAMPLE = HERE.parents[2] / "sample_project"

standard = pytest.mark.source(
    "OASIS Standard, Static Analysis Results Interchange Format (SARIF) Version 2.1.0, 2020",
    locator="errata 01, sarif-schema-2.1.0.json",
    read="read",
)


@pytest.fixture(scope="module")
def judge() -> jsonschema.Draft4Validator:
    schema = json.loads((HERE / "sarif-schema-2.1.0.json").read_text(encoding="utf-8"))
    jsonschema.Draft4Validator.check_schema(schema)
    return jsonschema.Draft4Validator(schema)


def log(messages: list[Diagnostic], prefix: str = "") -> Any:
    return json.loads(sarif(messages, CATALOGUE, "reportgen", "0.1.0", prefix))


def errors(judge: jsonschema.Draft4Validator, document: Any) -> list[str]:
    return [f"{'/'.join(map(str, error.path))}: {error.message}" for error in judge.iter_errors(document)]


@standard
@pytest.mark.parametrize("code", sorted(path.name for path in BROKEN.iterdir()))
def test_what_every_broken_project_draws_is_valid(code: str, judge: jsonschema.Draft4Validator) -> None:
    files = {path.name: path.read_bytes() for path in (BROKEN / code).iterdir()}
    with pytest.raises(InputRefused) as refused:
        load_project(files)
    assert errors(judge, log(refused.value.diagnostics[:40], "barn & yard/")) == []


@standard
def test_every_finding_of_the_sample_is_valid(judge: jsonschema.Draft4Validator) -> None:
    findings = check(take(SAMPLE)).findings
    assert {finding.outcome for finding in findings} > {Outcome.MEETS, Outcome.UNKNOWN, Outcome.ASK}
    document = log([finding.diagnostic() for finding in findings])
    assert errors(judge, document) == []
    assert len(document["runs"][0]["results"]) == len(findings)


@standard
def test_messages_without_a_place_and_with_many_are_valid(judge: jsonschema.Draft4Validator) -> None:
    many = tuple(
        Label(Span("ö b.yaml", line, 1, line, 4), "here {x}", primary=line == 1) for line in range(1, 5)
    )
    messages = [
        Diagnostic("empty-folder", "nothing there"),
        Diagnostic(
            "unknown-key", "many", Severity.WARNING, many, help="one thing", notes=("a", "b"), clause="c"
        ),
        Diagnostic("file-too-large", "whole file", labels=(Label(Span("photo.jpg")),)),
        Diagnostic("no-such-code", "a code without a page", Severity.NOTE),
    ]
    assert errors(judge, log(messages)) == []
    assert errors(judge, log([])) == []


@standard
def test_the_schema_refuses_what_is_wrong(judge: jsonschema.Draft4Validator) -> None:
    """Or the tests above could not fail."""
    document = log([Diagnostic("unknown-key", "x", labels=(Label(Span("a.yaml", 1, 2, 1, 3)),))])
    result = document["runs"][0]["results"][0]
    for spoil in ({"level": "fatal"}, {"kind": "maybe"}, {"message": {}}, {"ruleIndex": "one"}):
        wrong = {**document, "runs": [{**document["runs"][0], "results": [{**result, **spoil}]}]}
        assert errors(judge, wrong), spoil
    assert document["$schema"] == SCHEMA
