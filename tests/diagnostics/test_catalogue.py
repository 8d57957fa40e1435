"""The catalogue against the code that uses it."""

from __future__ import annotations

import ast
import importlib
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import reportgen
from reportgen.design.findings import Outcome
from reportgen.diagnostics.catalogue import CATALOGUE, UnknownCode, explain, joined
from reportgen.diagnostics.entry import Entry

PACKAGE = Path(reportgen.__file__).parent
#: Functions whose first argument is a code.
SAYS = {
    "Diagnostic",
    "Finding",
    "PublishRefused",
    "_add",
    "_error",
    "_finding",
    "_refuse",
    "_trouble",
    "compare",
    "error",
    "mistake",
    "problem",
    "unknown",
}
CODE = re.compile(r"[a-z]+(-[a-z0-9]+)*")


def said(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        given = [keyword.value for keyword in node.keywords if keyword.arg == "code"]
        first = node.args[:1] if name in SAYS else []
        for argument in first + given:
            if isinstance(argument, ast.Constant) and CODE.fullmatch(str(argument.value)):
                yield str(argument.value)


def words(path: Path) -> Iterator[str]:
    """Hyphened words of a module, which are codes where a check computes the code that it says."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Constant) and "-" in str(node.value) and CODE.fullmatch(str(node.value)):
            yield str(node.value)


def sources() -> list[Path]:
    return [path for path in sorted(PACKAGE.rglob("*.py")) if not path.name.startswith("catalogue_")]


def test_every_code_that_is_said_has_an_entry() -> None:
    codes = {code for path in sources() for code in said(path)}
    assert {"unknown-reference", "bad-quantity", "output-not-ours"} <= codes
    assert codes - set(CATALOGUE) == set()


def test_every_word_of_a_check_that_looks_like_a_code_has_an_entry() -> None:
    found = {word for path in (PACKAGE / "design" / "checks").glob("*.py") for word in words(path)}
    assert {"cold-voltage-inverter", "ampacity-use"} <= found
    assert found - set(CATALOGUE) == set()


def test_no_entry_is_dead() -> None:
    alive = {code for path in sources() for code in (*said(path), *words(path))}
    assert set(CATALOGUE) - alive == set()


def test_no_code_stands_twice() -> None:
    names = [path.stem for path in (PACKAGE / "diagnostics").glob("catalogue_*.py")]
    assert len(names) > 3
    parts = [importlib.import_module(f"reportgen.diagnostics.{name}") for name in names]
    total = sum(len(part.ENTRIES) for part in parts)
    assert len(CATALOGUE) == total
    entry = Entry("a-code", "", "", "", "")
    with pytest.raises(ValueError, match="two entries"):
        joined([entry], [entry])


@pytest.mark.parametrize("code", sorted(CATALOGUE))
def test_each_page_says_what_why_and_how_to_cure(code: str) -> None:
    entry = CATALOGUE[code]
    assert CODE.fullmatch(code)
    for text in (entry.what, entry.why, entry.cure):
        assert text.endswith((".", "?", ")")), text
    assert not entry.title.endswith(".")
    page = explain(code)
    assert page.startswith(f"{code}: {entry.title}\n\n")
    assert "To cure it: " in page
    assert all(len(line) <= 80 for line in page.splitlines())


def test_pages_of_findings_name_every_outcome_and_other_pages_none() -> None:
    for entry in CATALOGUE.values():
        named = [outcome for outcome in Outcome if f"`{outcome}`" in explain(entry.code)]
        assert len(named) == len(Outcome) if entry.kind == "finding" else len(named) <= 1, entry.code


def test_pages_hold_the_key_of_a_rule_and_no_clause_number() -> None:
    rules = [entry for entry in CATALOGUE.values() if entry.rule is not None]
    assert rules
    for entry in rules:
        page = " ".join(explain(entry.code).split())
        assert f"Rule: {entry.rule} (the binder names the clause" in page
        assert not re.search(r"\b\d{3}\.\d|\b[Aa]rticle \d|\bTable \d", page), entry.code


def test_a_misspelt_code_is_answered_with_the_nearest() -> None:
    with pytest.raises(UnknownCode, match="did you mean `unknown-key`") as unknown:
        explain("unknown-keys")
    assert unknown.value.meant == "unknown-key"
    with pytest.raises(UnknownCode, match="--list"):
        explain("zzz")
