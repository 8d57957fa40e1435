"""Editions: bases, what differs, clauses, digests."""

from __future__ import annotations

import ast
import re
import shutil
from pathlib import Path

import pytest

import reportgen.rulebook
from reportgen.rulebook.differences import differences
from reportgen.rulebook.edition import FOLDER, chain
from reportgen.rulebook.errors import TableError
from reportgen.rulebook.loader import read_table
from reportgen.rulebook.rulebook import Rulebook, UnknownEdition, UnknownRule, editions, load, quantity_of

ALL = ("nec2017", "nec2020", "nec2023")


def test_editions_that_are_shipped() -> None:
    assert editions() == ALL


def test_loading_is_lazy_and_cached() -> None:
    fresh = Rulebook(chain("nec2023"))
    assert fresh._tables == {}
    fresh.count_factor(4)
    assert set(fresh._tables) == {"count-adjustment", "clauses"}
    assert load("nec2023") is load("nec2023")


def test_a_rulebook_cannot_be_changed() -> None:
    with pytest.raises(AttributeError):
        load("nec2023").links = ()  # type: ignore[misc]


@pytest.mark.parametrize("name", ["nec1999", "", "..", "nec2023/", "../editions/nec2023"])
def test_an_unknown_edition_lists_the_known_ones(name: str) -> None:
    with pytest.raises(UnknownEdition) as caught:
        load(name)
    assert caught.value.known == ALL
    assert "`nec2020`" in str(caught.value)


@pytest.mark.parametrize("name", ALL)
def test_every_table_of_every_edition_is_sound(name: str) -> None:
    book = load(name)
    assert book.edition.short == f"NEC {book.edition.year}"
    for table_name in book.names():
        table = book.table(table_name)
        assert book.title_of(table)
        for row in table.rows:
            assert set(row.codes) <= set(book.sources)


@pytest.mark.parametrize("name", ALL)
def test_every_clause_key_that_data_name_exists(name: str) -> None:
    book = load(name)
    for table_name in ("numbers", "rulings", "labels"):
        for row in book.table(table_name).rows:
            assert book.clause(row["clause"]).text
    for clause in book.clauses():
        assert clause.confidence in {"high", "medium", "low"}
        assert clause.text or clause.note


def test_a_clause_may_be_absent_from_an_edition() -> None:
    assert load("nec2023").clause("labels-interconnection").text == ""
    assert load("nec2020").clause("labels-interconnection").text == "690.54"


@pytest.mark.parametrize("kind", ["clause", "number", "ruling", "table"])
def test_an_unknown_key_is_a_mistake_of_the_caller(kind: str) -> None:
    with pytest.raises(UnknownRule, match=f"no {kind} `nonsense` in the rulebook") as caught:
        getattr(load("nec2020"), kind)("nonsense")
    assert (caught.value.kind, caught.value.key) == (kind, "nonsense")


RENUMBERED_2020 = {
    "bonding-over-250",
    "free-air-ampacity",
    *(
        "ambient-correction",
        "ambient-table",
        "ampacity-table",
        "count-adjustment",
        "count-table",
        "count-spare",
    ),
    *(
        "count-nipple",
        "count-trench",
        "count-egc",
        "count-neutral",
        "short-segment",
        "roof-adder",
        "parallel-conductors",
    ),
    *("insulation-table", "insulation-voltage", "indoor-raceway", "labels-raceway", "bipolar-wiring"),
    *(
        "max-current",
        "max-current-output",
        "max-current-inverter",
        "ocpd-needed",
        "disconnect",
        "disconnect-rating",
    ),
    *("interconnection", "labels-directory", "box-conductor-volume"),
}
RENUMBERED_2023 = {
    *("ambient-table", "cover-table", "definitions", "labels-directory", "labels-interconnection"),
    *(
        "labels-max-voltage",
        "labels-rapid-shutdown",
        "max-current-inverter",
        "max-current-output",
        "voltage-over-1000",
    ),
}


@pytest.mark.parametrize(
    ("older", "newer", "clauses", "rows"),
    [
        (
            "nec2017",
            "nec2020",
            RENUMBERED_2020,
            {
                ("box-allowances", "grounding-first-four"),
                ("box-allowances", "grounding-each-further"),
                ("labels", "raceway"),
                ("labels", "max-voltage"),
                ("numbers", "indoor-metal-voltage"),
                ("numbers", "indoor-metal-current"),
                ("rulings", "bonding-over-250"),
            },
        ),
        (
            "nec2020",
            "nec2023",
            RENUMBERED_2023,
            {
                ("box-allowances", "terminal-block"),
                ("labels", "raceway"),
                ("roof-adder", "0"),
                ("roof-adder", "0.75"),
                ("roof-adder", "0.875"),
                ("rulings", "arc-fault-ground-string"),
                ("rulings", "rapid-shutdown-exterior-termination"),
                ("rulings", "rapid-shutdown-open-structure"),
                ("small-conductors", "copper-clad aluminum | 14"),
                ("standard-ratings", "10"),
                ("voltage-limits", "ground"),
                ("voltage-limits", "other"),
            },
        ),
    ],
)
def test_editions_differ_where_they_should_and_nowhere_else(
    older: str, newer: str, clauses: set[str], rows: set[tuple[str, str]]
) -> None:
    found = differences(load(older), load(newer))
    printed = "\n".join(str(difference) for difference in found)
    assert {d.key for d in found if d.table == "clauses" and d.column == "clause"} == clauses, printed
    assert {(d.table, d.key) for d in found if d.table != "clauses"} == rows, printed
    assert {d.column for d in found if d.table == "clauses"} <= {"clause", "note", "confidence"}


def test_an_edition_does_not_differ_from_itself_and_turns_around() -> None:
    assert differences(load("nec2020"), load("nec2020")) == ()
    there, back = differences(load("nec2017"), load("nec2023")), differences(load("nec2023"), load("nec2017"))
    assert [(d.table, d.key, d.column, d.after, d.before) for d in there] == [
        (d.table, d.key, d.column, d.before, d.after) for d in back
    ]


def test_the_folder_of_a_derived_edition_holds_changes_only() -> None:
    for name in ("nec2017", "nec2020"):
        own = sum(
            len(read_table(p, load(name).sources, derived=True).rows) for p in (FOLDER / name).glob("*.csv")
        )
        whole = sum(len(load(name).table(table).rows) for table in load(name).names())
        assert own < whole / 10


def test_digest_belongs_to_the_data(tmp_path: Path) -> None:
    digests = {name: load(name).digest for name in ALL}
    assert len(set(digests.values())) == 3
    shutil.copytree(FOLDER, tmp_path / "editions")
    copy = Rulebook(chain("nec2017", tmp_path / "editions"))
    assert copy.digest == digests["nec2017"]
    path = tmp_path / "editions" / "nec2023" / "egc.csv"
    original = path.read_bytes()
    path.write_bytes(original.replace(b"\n", b"\r\n"))
    assert copy.digest == digests["nec2017"]
    path.write_bytes(original.replace(b"100,8,6", b"100,8,4"))
    assert copy.digest != digests["nec2017"]


@pytest.mark.parametrize(
    ("toml", "reason"),
    [
        ('title = "T"\nshort = "S"\npublisher = "P"\n', "`year` must be a whole number"),
        ('title = "T"\nshort = "S"\npublisher = "P"\nyear = "2030"\n', "`year` must be a whole number"),
        ('title = "T"\nshort = ""\npublisher = "P"\nyear = 2030\n', "`short` must be a text"),
        ('title = "T"\nshort = "S"\npublisher = "P"\nyear = 2030\ncolour = 1\n', "unknown key `colour`"),
        (
            'title = "T"\nshort = "S"\npublisher = "P"\nyear = 2030\nbase = "none"\n',
            "base `none` has no folder",
        ),
        ('title = "T"\nshort = "S"\npublisher = "P"\nyear = 2030\nbase = "new"\n', "rests on this edition"),
        ("title = ", "cannot be read"),
    ],
)
def test_a_wrong_edition_file_is_refused(tmp_path: Path, toml: str, reason: str) -> None:
    (tmp_path / "new").mkdir()
    (tmp_path / "new" / "edition.toml").write_text(toml, encoding="utf-8")
    with pytest.raises(TableError, match=re.escape(reason)) as caught:
        chain("new", tmp_path)
    assert caught.value.file == "new/edition.toml"


def test_a_new_edition_is_a_folder_with_what_differs(tmp_path: Path) -> None:
    root = tmp_path / "editions"
    shutil.copytree(FOLDER, root)
    (root / "new").mkdir()
    toml = 'title = "An edition"\nshort = "New"\npublisher = "P"\nyear = 2030\nbase = "nec2023"\n'
    (root / "new" / "edition.toml").write_text(toml, encoding="utf-8")
    text = (root / "nec2020" / "standard-ratings.csv").read_text(encoding="utf-8")
    (root / "new" / "standard-ratings.csv").write_text(text, encoding="utf-8")
    book = Rulebook(chain("new", root))
    (difference,) = differences(load("nec2023"), book)
    assert str(difference) == "standard-ratings[10].breaker: yes → no"
    assert book.ampacity("copper", "10", 90).source == "New [S1]"


def test_a_change_to_a_table_that_no_base_has_is_refused(tmp_path: Path) -> None:
    root = tmp_path / "editions"
    shutil.copytree(FOLDER, root)
    text = (root / "nec2020" / "standard-ratings.csv").read_text(encoding="utf-8")
    (root / "nec2020" / "no-such-table.csv").write_text(text, encoding="utf-8")
    with pytest.raises(TableError, match="the base has no table of that name"):
        Rulebook(chain("nec2020", root)).table("no-such-table")


def test_code_of_the_rulebook_holds_no_clause_number() -> None:
    for path in sorted(Path(reportgen.rulebook.__file__).parent.glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        docs = {
            node.body[0].value
            for node in ast.walk(tree)
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
            and node.body
            and isinstance(node.body[0], ast.Expr)
        }
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in docs:
                assert not re.search(r"\b\d{3}\.\d|Table \d", node.value), f"{path.name}:{node.lineno}"


def test_quantity_of_a_cell_keeps_unit_and_origin() -> None:
    cell = load("nec2023").number("nipple-length")
    quantity = quantity_of(cell, "longest nipple")
    assert (quantity.value, quantity.unit, quantity.origin, quantity.name) == (
        24.0,
        "in",
        cell,
        "longest nipple",
    )
    with pytest.raises(ValueError, match="could not convert"):
        quantity_of(load("nec2023").egc_size(500, "aluminum"))
