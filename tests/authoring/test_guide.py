"""The guide walked through: every command and every YAML block of every page is tried, every key stands in it."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from importlib.resources import files as package_files
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from click.testing import CliRunner

from reportgen.authoring.guide import PAGES, NoPage, answer, as_html, contents, page, sections_shown
from reportgen.authoring.keys import keys_markdown, keys_of
from reportgen.authoring.schema import json_schema
from reportgen.cli import cli
from reportgen.diagnostics.model import Diagnostic, InputRefused, Sink
from reportgen.project.load import load_project
from reportgen.project.model import Project
from reportgen.project.reader import read_yaml

from ..editor import as_editor
from .test_commands import run

FENCE = re.compile(
    r"^(?P<indent> *)```(?P<kind>[a-z][a-z ]*)\n(?P<body>.*?)^(?P=indent)```$", re.MULTILINE | re.DOTALL
)
EXIT = re.compile(r"\s*# exit code (\d+)$")
#: Programs other than this one that a page may use.
OTHERS = {"git"}


@dataclass(frozen=True)
class Block:
    page: str
    kind: str
    text: str


def blocks() -> Iterator[Block]:
    for name in PAGES:
        for match in FENCE.finditer(page(name)):
            indent = match["indent"]
            lines = [line.removeprefix(indent) for line in match["body"].splitlines()]
            yield Block(name, match["kind"], "\n".join(lines) + "\n")


BLOCKS = [*blocks()]
KINDS = {"sh", "yaml", "yaml wrong", "yaml workflow"}


def test_every_block_is_of_a_kind_that_is_tried() -> None:
    assert {block.kind for block in BLOCKS} == KINDS
    fences = sum(len(re.findall(r"^ *```", page(name), re.MULTILINE)) for name in PAGES)
    assert fences == 2 * len(BLOCKS)


def commands(name: str) -> list[str]:
    found = [
        line
        for block in BLOCKS
        if block.page == name and block.kind == "sh"
        for line in block.text.splitlines()
    ]
    for block in BLOCKS:
        if block.page == name and block.kind == "yaml workflow":
            steps = [step for job in yaml.safe_load(block.text)["jobs"].values() for step in job["steps"]]
            found += [step["run"] for step in steps if str(step.get("run", "")).startswith("reportgen")]
    return [line for line in found if line.strip()]


@pytest.mark.parametrize(
    "name", [name for name in PAGES if any(b.page == name and b.kind != "yaml" for b in BLOCKS)]
)
def test_every_command_of_a_page_runs(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In the order of the page, in an empty folder; a PDF is left out, and a watcher ends after its first build."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    for line in commands(name):
        expected = int(match[1]) if (match := EXIT.search(line)) else 0
        words = shlex.split(EXIT.sub("", line))
        # The workflow runs in the folder of the design, which here lies one below.
        words = ["ci" if word == "." and name == "ci" else word for word in words]
        if words[0] != "reportgen":
            assert words[0] in OTHERS, line
            subprocess.run(words, check=True, capture_output=True)
            continue
        if words[1] == "build" and "--no-pdf" not in words:
            words.append("--no-pdf")
        if words[1] == "watch":
            done = subprocess.run(
                [sys.executable, "-m", *words, "--no-pdf", "--stop-after", "1"],
                capture_output=True,
                text=True,
                timeout=120,
                check=False,
            )
            assert done.returncode == expected, f"{line}\n{done.stderr}"
            continue
        result = CliRunner().invoke(cli, words[1:])
        assert result.exit_code == expected, f"{line}\n{result.output}"


def told(files: dict[str, bytes]) -> list[Diagnostic]:
    with suppress(InputRefused):
        load_project(files)
        return []
    with pytest.raises(InputRefused) as refused:
        load_project(files)
    return refused.value.diagnostics


@pytest.fixture(scope="module")
def judge() -> jsonschema.Draft7Validator:
    return jsonschema.Draft7Validator(json_schema())


@pytest.mark.parametrize(
    "block", [b for b in BLOCKS if b.kind == "yaml"], ids=lambda b: f"{b.page}: {b.text[:20]!r}"
)
def test_every_yaml_block_is_right(block: Block, judge: jsonschema.Draft7Validator) -> None:
    sink = Sink()
    tree = read_yaml("a.yaml", block.text.encode(), sink)
    assert sink.items == []
    assert tree is not None
    errors = [error.message for error in judge.iter_errors(as_editor(block.text.encode()))]
    assert errors == []
    # What it says belongs to a model, whatever else a whole folder would need.
    head = {"project": "project: {title: Barn}\n", "site": "site: {place: Hill}\n"}
    more = "".join(text for section, text in head.items() if section not in {str(key) for key in tree})
    files = {"a.yaml": block.text.encode(), "b.yaml": (more or "fuses: {}\n").encode()}
    assert {item.code for item in told(files)} <= {"unknown-reference", "missing-file"}


@pytest.mark.parametrize("block", [b for b in BLOCKS if b.kind == "yaml wrong"], ids=lambda b: b.text[:30])
def test_every_wrong_block_is_refused_with_its_cure(block: Block) -> None:
    text = block.text if "site:" in block.text else f"{block.text}site: {{place: Hill}}\n"
    with pytest.raises(InputRefused) as refused:
        load_project({"a.yaml": f"{text}project: {{title: Barn}}\n".encode()})
    (item,) = refused.value.diagnostics
    assert item.code == "bad-quantity"
    assert item.help


def test_the_cure_that_the_first_hour_names_is_the_one_given() -> None:
    wrong = next(block for block in BLOCKS if block.kind == "yaml wrong" and block.page == "first-hour")
    with pytest.raises(InputRefused) as refused:
        load_project({"a.yaml": f"{wrong.text}project: {{title: Barn}}\nsite: {{}}\n".encode()})
    assert "`64 m`" in str(refused.value.diagnostics[0].help)


def raw(name: str) -> str:
    return (package_files("reportgen") / "guide" / f"{name}.md").read_text(encoding="utf-8")


def test_every_section_and_every_key_stands_in_the_guide() -> None:
    shown = page("folder")
    spoken_of = sections_shown(raw("folder"))
    assert len(spoken_of) == len(set(spoken_of))
    assert set(spoken_of) <= set(Project.model_fields)
    for section in set(Project.model_fields) - set(spoken_of):
        assert f"\n## {section}\n" in shown
    assert "{{" not in "".join(map(page, PAGES))
    for section in Project.model_fields:
        for row in keys_of(section):
            assert row.path.rpartition("/")[2] in shown
            assert row.meaning or section in {"landing", "jumpers"}, row.path


def test_a_section_that_no_page_speaks_of_is_shown_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("reportgen.authoring.guide.sections_shown", lambda text: [])
    shown = page("folder")
    assert "\n## fuses\n\nFuse types.\n\n| Key | Takes | Meaning |" in shown


def leaves(schema: dict[str, Any], body: dict[str, Any], seen: tuple[str, ...] = ()) -> Iterator[str]:
    """Every key that the schema for editors knows below a body."""
    reference = str(body.get("$ref", "")).rpartition("/")[2]
    if reference:
        if reference not in seen:
            yield from leaves(schema, schema["$defs"][reference], (*seen, reference))
        return
    for name, part in body.get("properties", {}).items():
        yield name
        yield from leaves(schema, part, seen)
    for part in (*body.get("patternProperties", {}).values(), *body.get("anyOf", ()), body.get("items", {})):
        if part:
            yield from leaves(schema, part, seen)


@pytest.mark.parametrize("section", Project.model_fields)
def test_guide_and_schema_know_the_same_keys(section: str) -> None:
    schema = json_schema()
    wanted = set(leaves(schema, schema["properties"][section]))
    found = {step.replace("[ ]", "") for row in keys_of(section) for step in row.path.split("/")[1:]} - {"ID"}
    assert found == wanted


def test_a_star_marks_what_has_to_be_there() -> None:
    table = keys_markdown("arrays")
    assert "| `ID/module`\\* | id of module |" in table
    assert "| `ID/tilt` | angle [deg] |" in table


def test_every_page_is_listed_and_every_file_is_a_page() -> None:
    names = {
        item.name.removesuffix(".md")
        for item in (package_files("reportgen") / "guide").iterdir()
        if item.name.endswith(".md")
    }
    assert names == set(PAGES)
    assert all(name in contents() for name in PAGES)


def test_links_between_pages_lead_somewhere() -> None:
    for name in PAGES:
        for target in re.findall(r"\]\(([^)]+)\)", page(name)):
            assert target.removesuffix(".md") in PAGES, f"{name}: {target}"


def test_every_page_on_numbers_names_a_source() -> None:
    for name in PAGES:
        if name.startswith("numbers-"):
            assert re.search(r"NFPA 70|IEC \d+|\(\d{4}\)|Pulling Tensions", page(name)), name


@pytest.mark.parametrize("name", PAGES)
def test_pages_are_shown_as_text_and_as_html(name: str) -> None:
    assert run("guide", name).stdout == page(name)
    shown = as_html(name)
    assert "<h1>" in shown
    assert "aria-current" in shown
    assert "http" not in re.sub(r"<(pre|code)>.*?</\1>", "", shown, flags=re.DOTALL)


def test_a_page_that_is_not_there_draws_the_nearest() -> None:
    assert "numbers-energy" in run("guide").stdout
    wrong = run("guide", "first-hours")
    assert wrong.exit_code == 2
    assert "did you mean `first-hour`?" in wrong.stderr
    with pytest.raises(NoPage):
        page("../first-hour")


def test_the_server_answers_this_machine_alone() -> None:
    assert answer("/", "127.0.0.1:80", 80)[0] == 200
    assert "<h1>The project folder" in answer("/folder.html", "localhost:80", 80)[1]
    assert answer("/nothing.html", "localhost:80", 80)[0] == 404
    assert answer("/", "example.org", 80)[0] == 403
    assert answer("/", None, 80)[0] == 403
