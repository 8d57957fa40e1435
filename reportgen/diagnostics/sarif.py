"""Messages in the Static Analysis Results Interchange Format, version 2.1.0 (OASIS Standard, 2020).

Code hosting services and editors read it. What is an open question or lacks an input is no failure there: its
kind says so, and its level is then ``none``, as section 3.27.10 of the standard asks.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from urllib.parse import quote

from reportgen.diagnostics.entry import Entry
from reportgen.diagnostics.model import Diagnostic, Label, Span

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json"
#: Kind of a result by the outcome of a finding; what is not listed has failed, if only as a warning.
_KIND = {"meets": "pass", "unknown": "open", "ask": "review"}


def sarif(
    diagnostics: Sequence[Diagnostic],
    catalogue: Mapping[str, Entry],
    tool: str,
    version: str,
    prefix: str = "",
) -> str:
    """Log with one run that holds every message; keys sorted, one line break at its end.

    Parameters
    ----------
    diagnostics : sequence of Diagnostic
        In the order of printing.
    catalogue : mapping of str to Entry
        Entries by code; those of the codes used become the rules of the run.
    tool, version : str
        Who says so.
    prefix : str
        Folder put before each path, with a slash at its end, so that paths count from the root of a repository.
    """
    codes = sorted({item.code for item in diagnostics})
    index = {code: number for number, code in enumerate(codes)}
    driver = {"name": tool, "version": version, "rules": [_rule(code, catalogue.get(code)) for code in codes]}
    run = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",
        "results": [_result(item, index[item.code], prefix) for item in diagnostics],
    }
    log = {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}
    return json.dumps(log, ensure_ascii=False, indent=2, sort_keys=True, allow_nan=False) + "\n"


def _rule(code: str, entry: Entry | None) -> Mapping[str, object]:
    if entry is None:
        return {"id": code}
    return {
        "id": code,
        "shortDescription": _message(entry.title),
        "fullDescription": _message(f"{entry.what} {entry.why}"),
        "help": _message(entry.cure),
    }


def _message(text: str) -> Mapping[str, str]:
    # Section 3.11.5: a brace opens a placeholder, a doubled one stands for itself.
    return {"text": text.replace("{", "{{").replace("}", "}}")}


def _result(item: Diagnostic, index: int, prefix: str) -> Mapping[str, object]:
    kind = _KIND.get(item.outcome or "", "fail")
    notes = (*item.notes, *((item.clause,) if item.clause else ()), *((item.help,) if item.help else ()))
    result: dict[str, object] = {
        "ruleId": item.code,
        "ruleIndex": index,
        "kind": kind,
        "level": str(item.severity) if kind == "fail" else "none",
        "message": _message("\n".join((item.message, *notes))),
    }
    primary = [label for label in item.labels if label.primary and label.span.file]
    others = [label for label in item.labels if not label.primary and label.span.file]
    if primary:
        result["locations"] = [_location(primary[0], prefix)]
    if others:
        result["relatedLocations"] = [_location(label, prefix) for label in dict.fromkeys(others)]
    return result


def _location(label: Label, prefix: str) -> Mapping[str, object]:
    physical: dict[str, object] = {"artifactLocation": {"uri": quote(prefix + label.span.file)}}
    if not label.span.is_whole_file:
        physical["region"] = _region(label.span)
    location: dict[str, object] = {"physicalLocation": physical}
    if label.text:
        location["message"] = _message(label.text)
    return location


def _region(span: Span) -> Mapping[str, int]:
    return {
        "startLine": span.line,
        "startColumn": span.column,
        "endLine": span.end_line,
        "endColumn": span.end_column,
    }
