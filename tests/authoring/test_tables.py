"""Tables for a spreadsheet: out and in again without loss, units in the heads, mistakes told in the table."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.authoring.cells import cell_of, csv_text, read_cells, values_of, yaml_scalar
from reportgen.authoring.start import EXAMPLES, example
from reportgen.authoring.tables import KINDS, bring_in, export
from reportgen.diagnostics.model import Diagnostic, InputRefused, Sink, Span
from reportgen.project.load import load_project, read_tree
from reportgen.project.nodes import Map, Scalar, Seq
from reportgen.project.reader import PARSERS, read_yaml
from reportgen.service.folder_reader import take

from .test_commands import run

SAMPLE = dict(take(Path(__file__).parents[2] / "sample_project").everything)
NOWHERE = Span("")
HEAD = "project: {title: Barn}\nsite: {place: Hill}\n"


def words(node: object) -> Any:
    """Nodes as plain words, so that two folders can be compared to the letter."""
    if isinstance(node, Map):
        return {str(key): words(value) for key, value in node.items()}
    if isinstance(node, Seq):
        return [words(item) for item in node]
    return str(node)


def section(files: Mapping[str, bytes], kind: str) -> Any:
    tree = read_tree(files, Sink())
    assert tree is not None
    return words(tree).get(kind)


def after(files: Mapping[str, bytes], kind: str, table: str) -> dict[str, bytes]:
    made = bring_in(kind, "table.csv", table, files).files
    return {**files, **{name: text.encode() for name, text in made.items()}}


FOLDERS = {"sample": SAMPLE} | {
    name: {file: text.encode() for file, text in example(name).items() if file.endswith(".yaml")}
    for name in EXAMPLES
}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("folder", FOLDERS)
def test_out_and_in_again_is_the_same_to_the_letter(folder: str, kind: str) -> None:
    files = FOLDERS[folder]
    table = export(kind, files)
    again = after(files, kind, table)
    assert section(again, kind) == section(files, kind) or (
        kind == "readings" and section(files, kind) is None
    )
    assert {key: section(again, key) for key in ("arrays", "landing")} == {
        key: section(files, key) for key in ("arrays", "landing")
    }
    assert export(kind, again) == table
    load_project(again)


TRICKY = """
modules: {M: {power: 400 W, open_circuit_voltage: 45 V, operating_voltage: 38 V, short_circuit_current: 11 A, operating_current: 10.5 A}}
arrays: {A: {module: M, count: 40}, B: {module: M, count: 40}}
strings:
  S1: {parts: [{array: A, count: 5, positions: "x; [y], \\"z\\""}, {array: B, count: 4}]}
  S2: {array: A, count: 8, positions: " ~ "}
  "3": {array: A, count: 8, positions: "null"}
cables: {C: {markings: [USE-2]}}
raceways: {R: {segments: {a: {kind: EMT, size: "1", length: 3 m, place: roof}, b: {kind: EMT, size: "1", length: 3 m, place: roof}}}}
circuits:
  P1: {string: S1, cable: C, size: 10 AWG, path: [R/a, R/b], tails: {start: 6 m, end: 5 ft 6 in}, extra: 1.50 m}
  P2: {string: S2, cable: C, size: 10 AWG, path: [R], tails: {start: 20 ft, end: 3m}, positive_colour: "#f00"}
  P3: {string: "3", cable: C, size: 10 AWG, path: [], drop_limit: 2.5 %}
readings:
  day one: {date: 2026-03-28, at: array, voltage_error: 0.50, strings: {S1: {open_circuit_voltage: -380 V, time: "10:40", remark: "a, b; \\n=c"}, "3": {insulation: 200 MΩ}}}
  none: {date: 2026-03-29, at: input, strings: {}}
"""


@pytest.mark.parametrize("kind", KINDS)
def test_awkward_texts_units_and_lists_survive(kind: str) -> None:
    files = {"a.yaml": (HEAD + TRICKY).encode()}
    load_project(files)
    wanted = section(files, kind)
    if kind == "circuits":
        # An empty list says the same as no list.
        del wanted["P3"]["path"]
    if kind == "readings":
        table = export(kind, files)
        assert "open_circuit_voltage [V]" in table
        assert "none,2026-03-29" in table
        files = {
            "a.yaml": files["a.yaml"].replace(b"  none: {date: 2026-03-29, at: input, strings: {}}\n", b"")
        }
        del wanted["none"]
    found = section(after(files, kind, export(kind, files)), kind)
    if kind == "circuits":
        assert found["P3"].pop("path", []) == []
    assert found == wanted


def test_the_unit_of_most_cells_stands_in_the_head_and_others_keep_theirs() -> None:
    table = export("circuits", {"a.yaml": (HEAD + TRICKY).encode()})
    rows = [[cell.text for cell in row] for row in read_cells("t", table)]
    column = rows[0].index("tails.start [m]")
    assert [row[column] for row in rows[1:]] == ["6", "20 ft", ""]
    assert "extra [m]" in rows[0]
    assert rows[1][rows[0].index("extra [m]")] == "1.50"


def test_an_empty_section_gives_heads_to_start_from() -> None:
    files = {"a.yaml": HEAD.encode()}
    assert export("strings", files).startswith("id,array,count,positions")
    assert bring_in("strings", "t.csv", export("strings", files), files).files == {
        "strings.yaml": "strings:\n"
    }


def refused(kind: str, table: str, files: Mapping[str, bytes] = SAMPLE) -> list[Diagnostic]:
    with pytest.raises(InputRefused) as caught:
        bring_in(kind, "t.csv", table, files)
    return caught.value.diagnostics


@pytest.mark.parametrize(
    ("kind", "table", "code", "place", "words"),
    [
        ("strings", "id,aray\nE1,EAST\n", "table-column", "t.csv:1:4", "did you mean `array`?"),
        ("strings", "array,count\nEAST,12\n", "table-column", "t.csv:1:1", "column `id`"),
        ("strings", "", "table-column", "t.csv:1:1", "heads"),
        ("circuits", "id,extra [V]\nP,3\n", "table-column", "t.csv:1:4", "`m`"),
        ("strings", "id,array\n,EAST\n", "table-row", "t.csv:2:1", "id"),
        ("strings", "id,array\nE1,EAST\nE1,EAST\n", "duplicate-id", "t.csv:3:1", "two rows"),
        ("strings", "id,array,count\nE1,EAST,twelve\n", "bad-number", "t.csv:2:9", "whole number"),
        ("strings", "id,array,count\nE1,EST,12\n", "unknown-reference", "t.csv:2:4", "did you mean `EAST`?"),
        ("readings", "id,date,at,strings.id,strings.open_circuit_voltage\na,2026-01-02,array,E1,500\n", "bad-quantity", "t.csv:2:23", "unit"),
        ("readings", "id,date,at,strings.id\na,2026-01-02,array,E1\na,2026-01-03,array,E2\n", "table-row", "t.csv:3:3", "same in both"),
        ("readings", "id,date,at,strings.id\na,2026-01-02,array,E1\na,,,E1\n", "duplicate-id", "t.csv:3:5", "two rows"),
    ],
)  # fmt: skip
def test_mistakes_are_told_in_the_table(kind, table, code, place, words) -> None:
    found = [item for item in refused(kind, table) if item.code == code]
    there = [item for item in found if str(item.span) == place]
    assert there, [str(item.span) for item in found]
    assert words in f"{there[0].message} {there[0].help}"


def test_semicolons_and_quoted_cells_of_other_spreadsheets_are_read() -> None:
    files = {"a.yaml": (HEAD + TRICKY).encode()}
    table = '\ufeffid;array;count;positions\r\nS1;A;5;"row 1; columns 1-5"\r\n"S2";"A";8;\r\n3;B;4;x\r\n'
    found = section(after(files, "strings", table), "strings")
    assert found["S1"] == {"array": "A", "count": "5", "positions": "row 1; columns 1-5"}
    assert list(found) == ["S1", "S2", "3"]


def test_the_section_goes_where_it_was_and_its_neighbours_keep_their_comments() -> None:
    text = (
        HEAD
        + "# mine\nfuses:\n  F: {rating: 15 A}   # keep\n\nstrings:\n  # old\n  S: {count: 3}\n\n# next\narrays: {}\n"
    )
    files = {"a.yaml": text.encode(), "b.yaml": b"strings:\n  T: {count: 4}\n"}
    made = bring_in("strings", "t.csv", "id,count\nS,5\n", files)
    assert made.files["a.yaml"] == text.replace("  # old\n  S: {count: 3}\n", "  S:\n    count: 5\n")
    assert made.files["b.yaml"] == ""
    assert "a.yaml: 1 comment line" in made.notes[0]


def test_nothing_is_written_when_the_folder_would_not_read(tmp_path: Path) -> None:
    for name, data in SAMPLE.items():
        (tmp_path / name).write_bytes(data)
    table = tmp_path / "t.csv"
    table.write_text("id,array,count\nE1,EAST,12\n")
    result = run("table", "import", tmp_path, "strings", table)
    assert result.exit_code == 4
    assert "nothing was written" in result.stderr
    assert {name: (tmp_path / name).read_bytes() for name in SAMPLE} == SAMPLE


def test_the_commands_go_out_and_in(tmp_path: Path) -> None:
    for name, data in SAMPLE.items():
        (tmp_path / name).write_bytes(data)
    table = tmp_path.parent / "strings.csv"
    assert run("table", "export", tmp_path, "strings", "--to", table).exit_code == 0
    assert run("table", "export", tmp_path, "strings").stdout == table.read_text()
    table.write_text(table.read_text().replace("E1,EAST,12", "E1,EAST,11"))
    assert run("table", "import", tmp_path, "strings", table).exit_code == 0
    project = load_project({name: (tmp_path / name).read_bytes() for name in SAMPLE})
    assert project.strings["E1"].count == 11
    (tmp_path / "strings.csv").write_bytes(b"id\n\xff\n")
    assert run("table", "import", tmp_path, "strings", tmp_path / "strings.csv").exit_code == 4


TEXTS = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cs",), exclude_characters="\x00"), max_size=20
)


@given(st.lists(st.lists(TEXTS, min_size=2, max_size=4), min_size=1, max_size=4))
def test_any_cells_are_read_as_written(rows: list[list[str]]) -> None:
    read = [[cell.text for cell in row] for row in read_cells("t", csv_text(rows))] if rows[0][0] else None
    kept = [row for row in rows if any(text.strip() for text in row)]
    # The separator is guessed from the first line, so that line has to have one.
    if (
        read is not None
        and "," in csv_text(rows[:1]).split("\n")[0]
        and not any(c in "".join(rows[0]) for c in ";\t\r\n")
    ):
        assert read == kept


@given(TEXTS.filter(lambda text: text.strip() and text.isprintable()))
def test_any_text_survives_a_cell_and_the_yaml(text: str) -> None:
    ((cell,),) = read_cells(
        "t", csv_text([[cell_of([Scalar(text, NOWHERE, quoted=True)], listed=False)]])
    ) or ((None,),)
    assert cell is not None
    assert values_of(cell, listed=False) == [text]
    for parser in PARSERS:
        sink = Sink()
        tree = read_yaml(
            "a.yaml", f"a: {yaml_scalar(text)}\nb: {{c: {yaml_scalar(text)}}}\n".encode(), sink, parser
        )
        if not sink.items:
            assert tree is not None
            assert words(tree) == {"a": text, "b": {"c": text}}


@pytest.mark.parametrize("text", ["=1+1", "@x", "-1+cmd|' /C calc'!A0", "+A1", "- odd"])
def test_no_cell_is_a_formula(text: str) -> None:
    for values, listed in (([text], False), ([text, "b"], True)):
        shown = cell_of([Scalar(value, NOWHERE, quoted=True) for value in values], listed=listed)
        assert shown[0] in '"['
        ((cell,),) = read_cells("t", csv_text([[shown]]))
        assert values_of(cell, listed=listed) == values


@pytest.mark.parametrize("text", ["-22 degC", "-594.2 V", "-0.27 %/degC", "+", "-", "-12 %"])
def test_a_number_with_its_sign_stays_a_number(text: str) -> None:
    assert cell_of([Scalar(text, NOWHERE, quoted=True)], listed=False) == text


@given(st.lists(TEXTS.filter(lambda text: text.isprintable()), min_size=1, max_size=4))
def test_any_list_survives_a_cell(texts: list[str]) -> None:
    shown = cell_of([Scalar(text, NOWHERE, quoted=True) for text in texts], listed=True)
    ((cell,),) = read_cells("t", csv_text([[shown]]))
    assert values_of(cell, listed=True) == texts


TABLES = {kind: export(kind, SAMPLE) for kind in KINDS}


@settings(max_examples=40)
@given(st.sampled_from(KINDS), st.integers(0, 3000), st.integers(0, 20), st.text(max_size=8))
def test_a_damaged_table_is_read_or_refused_with_places(kind: str, at: int, cut: int, text: str) -> None:
    table = TABLES[kind][:at] + text + TABLES[kind][at + cut :]
    try:
        made = bring_in(kind, "t.csv", table, SAMPLE)
    except InputRefused as caught:
        found = caught.diagnostics
    else:
        assert made.files
        return
    assert found
    assert all(item.span is not None for item in found)
