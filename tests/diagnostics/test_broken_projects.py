"""One broken project per code of the reader; what is printed for it is a snapshot."""

from __future__ import annotations

from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion

from reportgen.diagnostics.catalogue_input import ENTRIES
from reportgen.diagnostics.json import document
from reportgen.diagnostics.model import Diagnostic, InputRefused, Severity
from reportgen.diagnostics.text import excerpts, render, summary
from reportgen.project.load import load_project

BROKEN = Path(__file__).parent / "broken"
#: Said where the validation library refuses something that no model of this version makes it refuse; by commands
#: that write into a folder.
WITHOUT_FOLDER = {"bad-value", "library-unknown", "table-column", "table-row"}


def folder(code: str) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in (BROKEN / code).iterdir()}


def refusal(code: str) -> list[Diagnostic]:
    with pytest.raises(InputRefused) as refused:
        load_project(folder(code))
    return refused.value.diagnostics


@pytest.mark.parametrize("code", sorted(entry.code for entry in ENTRIES if entry.code not in WITHOUT_FOLDER))
def test_each_code_has_a_broken_project_that_shows_it(code: str, snapshot: SnapshotAssertion) -> None:
    diagnostics = refusal(code)
    lines = excerpts(folder(code))
    assert code in {item.code for item in diagnostics}
    assert any(item.severity is Severity.ERROR for item in diagnostics)
    assert diagnostics == sorted(diagnostics, key=Diagnostic.sort_key)
    assert all(item.span is not None for item in diagnostics) or code in {"empty-folder", "more-mistakes"}
    head = diagnostics[:12]
    assert "\n" + render(head, lines, prefix="barn/", width=80) == snapshot(name="full")
    assert "\n" + render(head, lines, form="concise") == snapshot(name="concise")
    assert summary(diagnostics, len(folder(code))) == snapshot(name="summary")


@pytest.mark.parametrize("code", ["bad-quantity", "odd-character", "tab-character", "unknown-reference"])
def test_colour_narrow_and_json_forms(code: str, snapshot: SnapshotAssertion) -> None:
    diagnostics = refusal(code)
    lines = excerpts(folder(code))
    assert "\n" + render(diagnostics, lines, color=True, width=60) == snapshot(name="colour, 60 columns")
    assert document(diagnostics, "reportgen", "0") == snapshot(name="json")


@pytest.mark.parametrize("code", sorted(path.name for path in BROKEN.iterdir()))
def test_each_broken_folder_belongs_to_a_code(code: str) -> None:
    assert code in {entry.code for entry in ENTRIES}
    assert code not in WITHOUT_FOLDER


@pytest.mark.parametrize("code", sorted(path.name for path in BROKEN.iterdir()))
def test_messages_follow_the_house_style(code: str) -> None:
    for item in refusal(code):
        assert not item.message.endswith("."), item.message
        assert item.message[0] in "`'" or not item.message[0].isupper(), item.message
        assert item.help, item.message
        assert not item.help.endswith("."), item.help
        assert "tag:yaml.org" not in item.message + item.help
