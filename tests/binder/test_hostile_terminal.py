"""Hostile text in a terminal: what `check` and `watch` say of it steers no terminal and starts no command of a runner."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hostile import folder as sheets_of_sample
from hostile import written
from test_hostile_text import PAYLOAD, filled

from reportgen.cli import cli
from reportgen.cli.speaker import Speaker
from reportgen.diagnostics.model import Diagnostic, Label, Span
from reportgen.service.events import Changes, EventKind, FindingChange, WatchEvent

#: What moves a cursor, rings, retitles a window, turns the direction of a line, or ends one.
STEERS = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]")
SEQUENCES = (
    "\x1b[2J",
    "\x1b]0;title\x07",
    "\x9b31m",
    "\r",
    "\x08",
    "\u202e",
    "\u2066",
    "\u200f",
    "\u2028",
    "\x7f",
)
TITLE = "Quince Hollow cider works"


def put(target: Path, files: dict[str, bytes]) -> Path:
    for name, data in files.items():
        path = target / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return target


def said(result: Result) -> str:
    return result.stdout + result.stderr


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return put(tmp_path_factory.mktemp("marked"), filled(f"{PAYLOAD}\n::error::x\n::set-output name=a::b")[0])


@pytest.fixture(scope="module")
def long(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return put(tmp_path_factory.mktemp("long"), filled("W" * 10_000)[0])


@pytest.mark.parametrize("form", ["full", "concise", "json", "sarif", "github"])
def test_a_check_of_markup_steers_nothing(marked: Path, form: str) -> None:
    result = CliRunner().invoke(cli, ["check", str(marked), "--all", "--format", form, "--color", "never"])
    assert result.exit_code in {0, 1}, said(result)
    assert not STEERS.search(said(result))
    assert "onload=alert" in said(result)
    if form in {"json", "sarif"}:
        json.loads(result.stdout)
    if form == "github":
        # each line is one message of ours: none that a text brought along
        assert all(re.match(r"::(error|warning|notice) \w+=", line) for line in result.stdout.splitlines())
    else:
        assert not re.search(r"^::", said(result), re.M)


def test_what_is_to_do_steers_nothing(marked: Path) -> None:
    result = CliRunner().invoke(cli, ["check", str(marked), "--todo"])
    assert not STEERS.search(said(result))
    assert not re.search(r"^::", said(result), re.M)


@pytest.mark.parametrize(
    "words", [["check", "--all"], ["check", "--todo"], ["check", "--all", "--format", "concise"]]
)
def test_ten_thousand_letters_are_told(long: Path, words: list[str]) -> None:
    result = CliRunner().invoke(cli, [words[0], str(long), *words[1:]])
    assert result.exit_code in {0, 1}, said(result)[-500:]
    assert not STEERS.search(said(result))


@pytest.mark.parametrize("sequence", SEQUENCES, ids=[repr(s) for s in SEQUENCES])
@pytest.mark.parametrize("escaped", [False, True])
def test_what_would_steer_is_not_repeated(sequence: str, escaped: bool, tmp_path: Path) -> None:
    files = written(sheets_of_sample())
    inner = "".join(f"\\u{ord(c):04x}" for c in sequence) if escaped else sequence
    bad = files["project.yaml"].decode().replace(TITLE, "@@", 1)
    assert "@@" in bad
    line = next(line for line in bad.splitlines() if "@@" in line)
    files["project.yaml"] = bad.replace(line, f'  title: "x{inner}y"').encode()
    result = CliRunner().invoke(cli, ["check", str(put(tmp_path, files)), "--color", "never"])
    # Marks of direction are letters to YAML; whoever reads them sees a sign in their place.
    assert result.exit_code == 4 or sequence in "\r\u202e\u2066\u200f", said(result)
    assert not STEERS.search(said(result))


def test_a_watcher_repeats_nothing_that_steers(capsys: pytest.CaptureFixture[str]) -> None:
    text = "".join(SEQUENCES)
    change = FindingChange(f"id{text}", "fails", "meets")
    place = Label(Span(f"a{text}.yaml", 1, 1, 1, 2))
    event = WatchEvent(
        EventKind.PUBLISHED,
        f"m{text}",
        Changes(added=(f"p{text}.yaml",)),
        gained=(change,),
        lost=(change,),
        diagnostics=(Diagnostic("a-code", f"d{text}", labels=(place,)),),
        detail=f"line one{text}\nline two",
        files={f"a{text}.yaml": text.encode()},
    )
    Speaker(Path("f"), "full", "never").event(event)
    told = capsys.readouterr()
    assert not STEERS.search(told.out + told.err)
    assert "line two" in told.err


def test_a_watcher_of_hostile_text_steers_nothing(marked: Path, tmp_path: Path) -> None:
    words = ["watch", str(marked), "--no-pdf", "--stop-after", "1", "--output", str(tmp_path / "out")]
    result = CliRunner().invoke(cli, words)
    assert (tmp_path / "out" / "binder.html").is_file(), said(result)
    assert not STEERS.search(said(result))
    assert not re.search(r"^::", said(result), re.M)
