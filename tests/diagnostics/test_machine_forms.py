"""JSON, SARIF and workflow annotations."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest

from reportgen.design.findings import Finding, Outcome
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
    assert [item["outcome"] for item in found["diagnostics"][3:6]] == ["unknown", "ask", "meets"]


@dataclass(frozen=True)
class Shape:
    """What the schema says of one object: types of its members, those required, those of which one is required."""

    members: dict[str, object]
    required: frozenset[str] = frozenset()
    one_of: frozenset[str] = frozenset()


class Many(str):
    """Name of the shape of each item of a list whose items differ."""


#: Part of the published schema that holds every member written here; a type, a closed list of words, the name of
#: a shape, or Many of it. Counting starts at 1 where the schema has that minimum.
SARIF: dict[str, Shape] = {
    "log": Shape({"$schema": str, "version": {"2.1.0"}, "runs": Many("run")}, frozenset({"version", "runs"})),
    "run": Shape(
        {"tool": "tool", "columnKind": {"utf16CodeUnits", "unicodeCodePoints"}, "results": Many("result")},
        frozenset({"tool"}),
    ),
    "tool": Shape({"driver": "toolComponent"}, frozenset({"driver"})),
    "toolComponent": Shape(
        {"name": str, "version": str, "rules": Many("reportingDescriptor")}, frozenset({"name"})
    ),
    "reportingDescriptor": Shape(
        {
            "id": str,
            "shortDescription": "multiformatMessageString",
            "fullDescription": "multiformatMessageString",
            "help": "multiformatMessageString",
        },
        frozenset({"id"}),
    ),
    "multiformatMessageString": Shape({"text": str, "markdown": str}, frozenset({"text"})),
    "result": Shape(
        {
            "ruleId": str,
            "ruleIndex": int,
            "kind": {"notApplicable", "pass", "fail", "review", "open", "informational"},
            "level": {"none", "note", "warning", "error"},
            "message": "message",
            "locations": Many("location"),
            "relatedLocations": Many("location"),
        },
        frozenset({"message"}),
    ),
    "message": Shape({"text": str, "id": str}, one_of=frozenset({"text", "id"})),
    "location": Shape({"physicalLocation": "physicalLocation", "message": "message"}),
    "physicalLocation": Shape(
        {"artifactLocation": "artifactLocation", "region": "region"},
        one_of=frozenset({"address", "artifactLocation"}),
    ),
    "artifactLocation": Shape({"uri": str, "uriBaseId": str}),
    "region": Shape(dict.fromkeys(("startLine", "startColumn", "endLine", "endColumn"), 1)),
}


def faults(value: Any, wanted: object, where: str = "log") -> list[str]:
    """Places where a value departs from the schema."""
    if isinstance(wanted, Many):
        if not isinstance(value, list):
            return [f"{where} is no list"]
        own = [fault for n, item in enumerate(value) for fault in faults(item, str(wanted), f"{where}[{n}]")]
        unique = where.endswith(("relatedLocations", "rules"))
        texts = [json.dumps(item, sort_keys=True) for item in value]
        return own + ([f"{where} repeats an item"] if unique and len(set(texts)) < len(texts) else [])
    if isinstance(wanted, str):
        shape = SARIF[wanted]
        if not isinstance(value, dict):
            return [f"{where} is no object"]
        found = [f"{where} has {name}" for name in value if name not in shape.members]
        found += [f"{where} lacks {name}" for name in sorted(shape.required - set(value))]
        if shape.one_of and not shape.one_of & set(value):
            found.append(f"{where} lacks one of {sorted(shape.one_of)}")
        for name, kind in shape.members.items():
            found += faults(value[name], kind, f"{where}.{name}") if name in value else []
        return found
    if isinstance(wanted, set):
        return [] if value in wanted else [f"{where} is {value!r}"]
    if isinstance(wanted, int):
        return [] if isinstance(value, int) and value >= wanted else [f"{where} is {value!r}"]
    assert isinstance(wanted, type)
    return [] if isinstance(value, wanted) else [f"{where} is {value!r}"]


SCHEMA = pytest.mark.source(
    "OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0 JSON Schema (Committee Specification)",
    locator="definitions run, tool, toolComponent, reportingDescriptor, multiformatMessageString, result, message,"
    " location, physicalLocation, artifactLocation, region",
)


@SCHEMA
def test_sarif_keeps_to_the_schema() -> None:
    log = json.loads(sarif(MESSAGES, CATALOGUE, "reportgen", "1.2", "barn/"))
    assert faults(log, "log") == []
    (run,) = log["runs"]
    assert run["columnKind"] == "unicodeCodePoints"
    assert run["tool"]["driver"]["name"] == "reportgen"
    assert len(run["results"]) == len(MESSAGES)
    rules = run["tool"]["driver"]["rules"]
    assert [rules[result["ruleIndex"]]["id"] for result in run["results"]] == [item.code for item in MESSAGES]
    assert faults(json.loads(sarif([], CATALOGUE, "reportgen", "1.2")), "log") == []


@SCHEMA
@pytest.mark.parametrize(
    ("damage", "fault"),
    [
        (lambda log: log["runs"][0].pop("tool"), "log.runs[0] lacks tool"),
        (lambda log: log["runs"][0]["results"][0].pop("message"), "log.runs[0].results[0] lacks message"),
        (
            lambda log: log["runs"][0]["results"][0].update(level="fatal"),
            "log.runs[0].results[0].level is 'fatal'",
        ),
        (lambda log: log.update(extra=1), "log has extra"),
    ],
)
def test_a_log_that_breaks_the_schema_is_seen(damage: Callable[[Any], object], fault: str) -> None:
    log = json.loads(sarif(MESSAGES, CATALOGUE, "reportgen", "1.2"))
    damage(log)
    assert faults(log, "log") == [fault]


@pytest.mark.source(
    "OASIS, Static Analysis Results Interchange Format 2.2, working draft",
    locator="message object, messages with placeholders: a brace in a message is doubled",
)
def test_sarif_doubles_braces_which_would_open_a_placeholder() -> None:
    item = Diagnostic("unknown-key", "write {0}", labels=(Label(Span("a.yaml", 1, 1, 1, 2), "}"),))
    (result,) = json.loads(sarif([item], CATALOGUE, "reportgen", "1"))["runs"][0]["results"]
    assert result["message"]["text"] == "write {{0}}"
    assert result["locations"][0]["message"]["text"] == "}}"


def test_a_finding_tells_its_outcome_to_every_machine_form() -> None:
    for outcome, kind in (("fails", "fail"), ("thin", "fail"), ("unknown", "open"), ("ask", "review")):
        item = Finding("voltage-drop", "S1", Outcome(outcome), "drop of S1").diagnostic()
        assert json.loads(document([item], "t", "1"))["diagnostics"][0]["outcome"] == outcome
        (result,) = json.loads(sarif([item], CATALOGUE, "t", "1"))["runs"][0]["results"]
        assert result["kind"] == kind


@pytest.mark.source(
    "OASIS, Static Analysis Results Interchange Format 2.2, working draft",
    locator="section 3.27.10, level property: a kind other than fail has the level none",
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
