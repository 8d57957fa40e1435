"""Messages as one JSON document, for programs.

The member ``schema`` is raised when a reader of the document would have to change.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence

from reportgen.diagnostics.model import Diagnostic, Severity, Span

SCHEMA = 1


def document(diagnostics: Sequence[Diagnostic], tool: str, version: str) -> str:
    """Document with every message, never cut short; keys sorted, one line break at its end.

    Parameters
    ----------
    diagnostics : sequence of Diagnostic
        In the order of printing.
    tool, version : str
        Who says so.

    Examples
    --------
    >>> print(document([], "reportgen", "1"), end="")
    {
      "diagnostics": [],
      "schema": 1,
      "summary": {
        "errors": 0,
        "files": 0,
        "notes": 0,
        "warnings": 0
      },
      "tool": "reportgen",
      "version": "1"
    }
    """
    content = {
        "schema": SCHEMA,
        "tool": tool,
        "version": version,
        "diagnostics": [_item(diagnostic) for diagnostic in diagnostics],
        "summary": _summary(diagnostics),
    }
    return json.dumps(content, ensure_ascii=False, indent=2, sort_keys=True, allow_nan=False) + "\n"


def _summary(diagnostics: Iterable[Diagnostic]) -> Mapping[str, int]:
    known = [*diagnostics]
    files = {item.span.file for item in known if item.span is not None and item.span.file}
    counts = {f"{severity}s": sum(item.severity is severity for item in known) for severity in Severity}
    return counts | {"files": len(files)}


def _item(diagnostic: Diagnostic) -> Mapping[str, object]:
    primary = next((label for label in diagnostic.labels if label.primary), None)
    related = [{**_place(label.span), "text": label.text} for label in diagnostic.labels if not label.primary]
    return {
        "code": diagnostic.code,
        "severity": str(diagnostic.severity),
        "message": diagnostic.message,
        "text": primary.text if primary is not None else "",
        "help": diagnostic.help,
        "notes": [*diagnostic.notes],
        "clause": diagnostic.clause,
        "outcome": diagnostic.outcome,
        "related": related,
        **_place(primary.span if primary is not None else None),
    }


def _place(span: Span | None) -> Mapping[str, object]:
    if span is None or not span.file:
        return dict.fromkeys(("file", "line", "column", "end_line", "end_column"))
    return {
        "file": span.file,
        "line": span.line,
        "column": span.column,
        "end_line": span.end_line,
        "end_column": span.end_column,
    }
