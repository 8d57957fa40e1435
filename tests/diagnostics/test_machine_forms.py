"""JSON, SARIF and workflow annotations."""

from __future__ import annotations

import json
from typing import Any

import pytest

from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.diagnostics.github import github
from reportgen.diagnostics.json import document
from reportgen.diagnostics.model import Diagnostic, Label, Severity, Span
from reportgen.diagnostics.sarif import sarif

MESSAGES = [
    Diagnostic(
        "unknown-reference",
        "string `Ö1` names array `EST`, which is not defined",
        labels=(
            Label(Span("a b/ö.yaml", 3, 5, 3, 8), "no array has this id"),
            Label(Span("arrays.yaml", 2, 3, 2, 7), "`EAST` is defined here", primary=False),
            Label(Span("arrays.yaml", 2, 3, 2, 7), "`EAST` is defined here", primary=False),
        ),
        help="did you mean `EAST`?",
    ),
    Diagnostic("pdf-library-missing", "no PDF: 100 % of it", Severity.WARNING),
    Diagnostic("file-too-large", "too large", labels=(Label(Span("photo.jpg")),)),
    Diagnostic("hot-voltage-start", "not judged", Severity.NOTE, notes=("one", "two"), outcome="unknown"),
    Diagnostic("rapid-shutdown", "not decided", Severity.NOTE, clause="690.12", outcome="ask"),
    Diagnostic("cold-voltage-inverter", "fine", Severity.NOTE, outcome="meets"),
]


def test_json_holds_every_message_and_is_stable() -> None:
    text = document(MESSAGES * 30, "reportgen", "1.2")
    found = json.loads(text)
    assert text.endswith("}\n")
    assert found["schema"] == 1
    assert len(found["diagnostics"]) == len(MESSAGES) * 30
    assert found["summary"] == {"errors": 60, "warnings": 30, "notes": 90, "files": 2}
    first = found["diagnostics"][0]
    assert (first["file"], first["line"], first["column"], first["end_column"]) == ("a b/ö.yaml", 3, 5, 8)
    assert [place["file"] for place in first["related"]] == ["arrays.yaml", "arrays.yaml"]
    assert list(first) == sorted(first)
    assert found["diagnostics"][1]["file"] is None


#: Members and required members of the objects that are written, and the words of closed lists.
SARIF_OBJECTS: dict[str, tuple[set[str], set[str]]] = {
    "run": ({"tool", "columnKind", "results"}, {"tool"}),
    "result": (
        {"ruleId", "ruleIndex", "kind", "level", "message", "locations", "relatedLocations"},
        {"message"},
    ),
    "rule": ({"id", "shortDescription", "fullDescription", "help"}, {"id"}),
}
SARIF_LEVELS = {"none", "note", "warning", "error"}
SARIF_KINDS = {"notApplicable", "pass", "fail", "review", "open", "informational"}
SARIF_COLUMNS = {"utf16CodeUnits", "unicodeCodePoints"}


def check_members(name: str, value: dict[str, Any]) -> None:
    allowed, required = SARIF_OBJECTS[name]
    assert required <= set(value) <= allowed, name


@pytest.mark.source(
    "OASIS, Static Analysis Results Interchange Format 2.1.0, JSON schema (Committee Specification)",
    locator="definitions run, result, reportingDescriptor: members, required, enumerations",
)
def test_sarif_uses_members_and_words_of_the_schema() -> None:
    log = json.loads(sarif(MESSAGES, CATALOGUE, "reportgen", "1.2", "barn/"))
    assert set(log) == {"$schema", "version", "runs"}
    assert log["version"] == "2.1.0"
    (run,) = log["runs"]
    check_members("run", run)
    assert run["columnKind"] in SARIF_COLUMNS
    rules = run["tool"]["driver"]["rules"]
    assert run["tool"]["driver"]["name"] == "reportgen"
    for rule in rules:
        check_members("rule", rule)
        assert all(set(rule[member]) == {"text"} for member in set(rule) - {"id"})
    assert len(run["results"]) == len(MESSAGES)
    for result in run["results"]:
        check_members("result", result)
        assert result["level"] in SARIF_LEVELS
        assert result["kind"] in SARIF_KINDS
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"]
        for place in [*result.get("locations", []), *result.get("relatedLocations", [])]:
            physical = place["physicalLocation"]
            assert "artifactLocation" in physical
            assert physical.get("region", {"startLine": 1})["startLine"] >= 1


@pytest.mark.source(
    "OASIS, Static Analysis Results Interchange Format 2.1.0",
    locator="section 3.27.10: a kind other than fail has the level none",
    read="memory",
)
def test_sarif_says_open_and_review_for_what_is_no_failure() -> None:
    results = json.loads(sarif(MESSAGES, CATALOGUE, "reportgen", "1"))["runs"][0]["results"]
    assert [(item["kind"], item["level"]) for item in results] == [
        ("fail", "error"),
        ("fail", "warning"),
        ("fail", "error"),
        ("open", "none"),
        ("review", "none"),
        ("pass", "none"),
    ]


def test_sarif_places_are_uris_and_unique() -> None:
    first, _, third, *_ = json.loads(sarif(MESSAGES, CATALOGUE, "t", "1", "barn/"))["runs"][0]["results"]
    physical = first["locations"][0]["physicalLocation"]
    assert physical["artifactLocation"]["uri"] == "barn/a%20b/%C3%B6.yaml"
    assert physical["region"] == {"startLine": 3, "startColumn": 5, "endLine": 3, "endColumn": 8}
    assert len(first["relatedLocations"]) == 1
    assert "region" not in third["locations"][0]["physicalLocation"]


def test_workflow_annotations_escape_what_would_end_a_command() -> None:
    lines = github(MESSAGES, "a,b:c/").splitlines()
    assert len(lines) == len(MESSAGES)
    assert lines[0].startswith(
        "::error col=5,endColumn=8,endLine=3,file=a%2Cb%3Ac/a b/ö.yaml,line=3,title=unknown-reference::string"
    )
    assert lines[0].endswith("%0Ahelp: did you mean `EAST`?")
    assert lines[1] == "::warning title=pdf-library-missing::no PDF: 100 %25 of it"
    assert lines[3].startswith("::notice title=hot-voltage-start::not judged%0Anote: one%0Anote: two")
