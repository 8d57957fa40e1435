"""One set of awkward places in every form: full and concise, with and without colour, 60 and 100 columns."""

from __future__ import annotations

import pytest
from syrupy.assertion import SnapshotAssertion

from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.diagnostics.github import github
from reportgen.diagnostics.json import document
from reportgen.diagnostics.model import Diagnostic, Label, Severity, Span
from reportgen.diagnostics.sarif import sarif
from reportgen.diagnostics.text import excerpts, render

FILES = {
    "wide.yaml": "strings:\n  東-1: {array: 北の畑, count: 12}\n".encode(),
    "tabs.yaml": b"strings:\n\tE1:\t{count: 12}\n",
    "breaks.yaml": b"arrays:\r\n  EAST: {count: 24}\r\n  WEST: {count: 21}\r\n",
    "open.yaml": b"title: 'never closed",
    "empty.yaml": b"",
    "long.yaml": b"note: " + b"a" * 60 + b" here " + b"b" * 200 + b"\n",
    "two.yaml": b"F15: {rating: 15, voltage: 600}\n",
    "block.yaml": b"notes: >-\n  first\n  second\n",
}
MESSAGES = [
    Diagnostic(
        "unknown-reference",
        "no array is called `北の畑`",
        labels=(Label(Span("wide.yaml", 2, 16, 2, 19), "here"),),
    ),
    Diagnostic(
        "tab-character", "a tab stands in the indentation", labels=(Label(Span("tabs.yaml", 2, 1, 2, 2)),)
    ),
    Diagnostic("tab-character", "a tab stands after a colon", labels=(Label(Span("tabs.yaml", 2, 5, 2, 6)),)),
    Diagnostic(
        "duplicate-id",
        "`EAST` is defined twice",
        labels=(
            Label(Span("breaks.yaml", 3, 3, 3, 7), "again"),
            Label(Span("breaks.yaml", 2, 3, 2, 7), "first", primary=False),
            Label(Span("wide.yaml", 1, 1, 1, 8), "its section", primary=False),
        ),
        help="keep one",
        notes=("24 and 21 modules",),
    ),
    Diagnostic(
        "yaml-syntax", "the quote is not closed", labels=(Label(Span("open.yaml", 1, 21, 1, 21), "end"),)
    ),
    Diagnostic("empty-file", "`empty.yaml` holds no values", labels=(Label(Span("empty.yaml")),)),
    Diagnostic("bad-value", "far to the right", labels=(Label(Span("long.yaml", 1, 68, 1, 72), "this"),)),
    Diagnostic("bad-quantity", "`15` has no unit", labels=(Label(Span("two.yaml", 1, 15, 1, 17)),)),
    Diagnostic("bad-quantity", "`600` has no unit", labels=(Label(Span("two.yaml", 1, 28, 1, 31)),)),
    Diagnostic(
        "wrong-shape", "a text stands where a list is wanted", labels=(Label(Span("block.yaml", 1, 8, 3, 9)),)
    ),
    Diagnostic("raceway-fill", "fill of R1", Severity.WARNING, clause="<rule>", outcome="thin"),
    Diagnostic("rapid-shutdown", "not decided", Severity.NOTE, outcome="ask", help="ask {the authority}"),
]


@pytest.mark.parametrize("width", [60, 100])
@pytest.mark.parametrize("color", [False, True])
def test_full(width: int, color: bool, snapshot: SnapshotAssertion) -> None:
    page = render(MESSAGES, excerpts(FILES), width=width, color=color, prefix="../barn/")
    assert "\n" + page == snapshot


@pytest.mark.parametrize("color", [False, True])
def test_concise(color: bool, snapshot: SnapshotAssertion) -> None:
    assert "\n" + render(MESSAGES, excerpts(FILES), form="concise", color=color) == snapshot


def test_documents(snapshot: SnapshotAssertion) -> None:
    assert document(MESSAGES, "reportgen", "0") == snapshot(name="json")
    assert sarif(MESSAGES, CATALOGUE, "reportgen", "0", "barn/") == snapshot(name="sarif")
    assert github(MESSAGES, "barn/") == snapshot(name="workflow annotations")
