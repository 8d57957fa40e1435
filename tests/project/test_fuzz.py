"""Damaged folders: never a traceback, always a project or a located message, both parsers alike."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.diagnostics.model import Diagnostic, InputRefused, Sink
from reportgen.diagnostics.text import excerpts, render
from reportgen.project.load import load_project
from reportgen.project.nodes import Map, Scalar, Seq
from reportgen.project.reader import PARSERS, read_yaml

SAMPLE = {
    path.name: path.read_text(encoding="utf-8")
    for path in sorted((Path(__file__).parents[2] / "sample_project").glob("*.yaml"))
}
#: Pieces that hurt a YAML file, on top of any character.
PIECES = st.one_of(
    st.sampled_from(
        [
            "\t",
            "\n",
            "\r",
            ": ",
            "- ",
            "#",
            " #10",
            "[",
            "]",
            "{",
            "}",
            "'",
            '"',
            "&a ",
            "*a",
            "!t ",
            "|",
            ">",
            "?",
            "%",
            "<<: ",
            "---\n",
            "...\n",
            "\u00a0",
            "“",
            "−",
            "\ufeff",
            "\0",
            "\\",
            '"\\ud800"',
            "\u2028",
            "~",
            "null",
            "é",
            "  ",
            "@",
            "`",
            ",",
            ": [",
            "\n  - ",
            "x: y: z",
            "\U0001f600",
            "\x85",
            "[[[",
            "- - -",
            "1e999 V",
            "%YAML 1.1\n",
        ]
    ),
    st.text(max_size=4),
)


@st.composite
def damaged(draw: Any, text: str) -> str:
    """A part of a text with pieces put in, taken out or repeated."""
    start = draw(st.integers(0, max(len(text) - 1, 0)))
    whole = draw(st.booleans())
    part = text if whole else text[start : start + draw(st.integers(0, 400))]
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(part)))
        cut = draw(st.integers(0, 6))
        part = part[:place] + draw(PIECES) + part[place + cut :]
    return part


def outcome(files: dict[str, bytes]) -> list[Diagnostic]:
    try:
        load_project(files)
    except InputRefused as refused:
        return refused.diagnostics
    return []


def check(diagnostics: list[Diagnostic], files: dict[str, bytes]) -> None:
    for item in diagnostics:
        assert item.code in CATALOGUE
        assert item.help
        assert len(item.message) < 600
    if diagnostics:
        assert any(item.span is not None and item.span.file in files for item in diagnostics)
        assert render(diagnostics, excerpts(files))


@settings(max_examples=150, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_a_damaged_sample_is_read_or_refused_with_a_place(data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(sorted(SAMPLE)))
    files = {key: text.encode() for key, text in SAMPLE.items()} | {"LK-66H.pdf": b"%PDF-1.4"}
    files[name] = data.draw(damaged(SAMPLE[name])).encode("utf-8", "surrogatepass")
    check(outcome(files), files)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(data=st.binary(max_size=60) | st.text(max_size=60).map(str.encode))
def test_any_bytes_are_read_or_refused_with_a_place(data: bytes) -> None:
    files = {"a.yaml": data}
    check(outcome(files), files)


def flat(node: object) -> object:
    if isinstance(node, Map):
        return [str(node.span), [(flat(key), flat(value)) for key, value in node.items()]]
    if isinstance(node, Seq):
        return [str(node.span), [flat(value) for value in node]]
    assert isinstance(node, Scalar)
    return (str(node), node.quoted, str(node.span))


@settings(max_examples=400, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_both_parsers_give_the_same_answer(data: st.DataObject) -> None:
    text = data.draw(damaged(data.draw(st.sampled_from(sorted(SAMPLE.values())))) | st.text(max_size=30))
    answers = []
    for parser in PARSERS:
        sink = Sink()
        tree = read_yaml("a.yaml", text.encode("utf-8", "surrogatepass"), sink, parser)
        answers.append((None if tree is None else flat(tree), bool(sink.items), sink.sorted()))
    (fast, fast_refused, _), (pure, pure_refused, _) = answers
    assert fast_refused == pure_refused
    if not fast_refused:
        assert fast == pure
