"""A table that can be misread is refused, with file and line."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.rulebook.errors import TableError
from reportgen.rulebook.loader import Source, Table, check, overlay, read_sources, read_table

SOURCES = {
    "A1": Source("A1", "read", "a printed copy"),
    "W1": Source("W1", "weak", "a poor copy"),
    "W2": Source("W2", "weak", "another poor copy"),
    "memory": Source("memory", "recalled", "recalled"),
    "computed": Source("computed", "derived", "computed"),
}
GOOD = """\
# title: Invented
# source: Invented standard, 2001 edition
# read-by: transcribed 2001-01-01
# units: low=degC; high=degC; kind=text; wire=size; value=A
# valid: 0 to 29
# keys: low
# edition-clause: invented
# blank: kind
# rising: value; wire
# bands: low, high
low,high,kind,wire,value,src
0,9,x,12,1.5,A1
10,19,,10,2,A1
20,29,z,1/0,3,"W1, A1"
"""


def read(tmp_path: Path, text: str, *, derived: bool = False) -> Table:
    path = tmp_path / "made-up" / "thing.csv"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return check(read_table(path, SOURCES, derived=derived))


def test_a_good_table_is_read_whole(tmp_path: Path) -> None:
    table = read(tmp_path, GOOD)
    assert table.header.title == "Invented"
    assert table.header.keys == ("low",)
    row = table.find("20")
    assert row is not None
    assert (row["wire"], row.number("value"), row.line, row.codes) == ("1/0", 3.0, 14, ("W1", "A1"))
    assert table.find("30") is None


@pytest.mark.parametrize("key", ["title", "source", "read-by", "units", "valid", "keys", "edition-clause"])
def test_each_header_line_is_required(tmp_path: Path, key: str) -> None:
    text = "".join(line for line in GOOD.splitlines(keepends=True) if not line.startswith(f"# {key}:"))
    with pytest.raises(TableError, match=rf"^made-up/thing\.csv:10: header line `# {key}:` is missing$"):
        read(tmp_path, text)


@pytest.mark.parametrize(
    ("old", "new", "line", "reason"),
    [
        ("# valid: 0 to 29", "# valid:", 5, "is empty"),
        ("# valid: 0 to 29", "# valid: a\n# valid: b", 6, "stands twice"),
        ("# valid: 0 to 29", "# valid: a\n# colour: blue", 6, "unknown header line"),
        ("# valid: 0 to 29", "# valid: a\n# only words", 6, "unknown header line"),
        ("# keys: low", "# keys: lov", 1, "`lov`, which has no unit"),
        ("# rising: value", "# rising: weight", 1, "`weight`, which has no unit"),
        ("# bands: low, high", "# bands: low", 1, "wants two columns"),
        ("; value=A", "; value", 1, "no `column=unit`"),
        ("# bands: low, high", "# bands: low, high\n# mode: partly", 1, "`# mode:` is `whole` or `rows`"),
        ("# bands: low, high", "# bands: low, high\n# remove: 0", 1, "goes with `rows`"),
        ("low,high,kind,wire,value,src", "high,low,kind,wire,value,src", 11, "columns are not low, high"),
        ("low,high,kind,wire,value,src", "low,high,kind,wire,value", 11, "columns are not low, high"),
        ("0,9,x,12,1.5,A1", "0,9,x,12,A1", 12, "has 5 cells for 6 columns"),
        ("0,9,x,12,1.5,A1", "0,9,x,12,,A1", 12, "`value` is blank"),
        ("0,9,x,12,1.5,A1", "0,9,x,12, 1.5,A1", 12, "has blanks around"),
        ("0,9,x,12,1.5,A1", "0,9,x,12,1e3,A1", 12, "no plain number"),
        ("0,9,x,12,1.5,A1", "0,9,x,12,nan,A1", 12, "no plain number"),
        ("0,9,x,12,1.5,A1", "0,9,x,12 AWG,1.5,A1", 12, "no conductor size"),
        ("0,9,x,12,1.5,A1", "0,9,x,99,1.5,A1", 12, "no conductor size"),
        ("0,9,x,12,1.5,A1", "0,9,x,12,1.5,", 12, "names no known source code"),
        ("0,9,x,12,1.5,A1", "0,9,x,12,1.5,Z9", 12, "names no known source code: `Z9`"),
        ("0,9,x,12,1.5,A1", '0,9,"x"y,12,1.5,A1', 12, "expected"),
        ("10,19,,10,2,A1", "0,19,,10,2,A1", 13, "key `0` stands twice, first in line 12"),
        ("10,19,,10,2,A1", "10,19,,10,1.5,A1", 13, "`value` must rise down the table"),
        ("10,19,,10,2,A1", "10,19,,14,2,A1", 13, "`wire` must rise down the table"),
        ("10,19,,10,2,A1", "11,19,,10,2,A1", 13, "leave a gap or overlap"),
        ("10,19,,10,2,A1", "9,19,,10,2,A1", 13, "leave a gap or overlap"),
    ],
)
def test_faults_name_file_and_line(tmp_path: Path, old: str, new: str, line: int, reason: str) -> None:
    assert old in GOOD
    with pytest.raises(TableError) as caught:
        read(tmp_path, GOOD.replace(old, new, 1))
    assert reason in str(caught.value)
    assert (caught.value.file, caught.value.line) == ("made-up/thing.csv", line)


@pytest.mark.parametrize("text", ["", "# title: x\n", GOOD[: GOOD.index("0,9,x")]])
def test_a_table_without_rows_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(TableError):
        read(tmp_path, text)


def test_a_missing_or_broken_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(TableError, match="cannot be read"):
        read_table(tmp_path / "none.csv", SOURCES)
    (tmp_path / "bytes.csv").write_bytes(b"\xff\xfe")
    with pytest.raises(TableError, match="cannot be read"):
        read_table(tmp_path / "bytes.csv", SOURCES)


@pytest.mark.parametrize(
    ("order", "values", "fine"),
    [
        ("falling", "3 2 1", True),
        ("falling", "3 3 1", False),
        ("never-falling", "1 1 2", True),
        ("never-falling", "1 2 1", False),
        ("never-rising", "2 2 1", True),
        ("never-rising", "2 1 2", False),
    ],
)
def test_orders(tmp_path: Path, order: str, values: str, fine: bool) -> None:
    text = GOOD.replace("# rising: value; wire", f"# {order}: value")
    for old, new in zip(("1.5,A1", "2,A1", '3,"W1'), values.split(), strict=True):
        text = text.replace(f",{old}", f",{new},{old.split(',')[1]}", 1)
    if fine:
        assert len(read(tmp_path, text).rows) == 3
    else:
        with pytest.raises(TableError, match="`value` must"):
            read(tmp_path, text)


@pytest.mark.parametrize(
    ("src", "recalled"),
    [
        ("A1", False),
        ("A1; bore read", False),
        ('"A1, W1"', False),
        ("W1", True),
        ('"W1, W2"', True),
        ('"W1, computed"', True),
        ("memory", True),
        ('"A1, memory"', True),
        ("computed", False),
        ("A1; half of it recalled", True),
        ("A1; from memory", True),
        ("A1; uncertain above 5", True),
    ],
)
def test_what_counts_as_recalled(tmp_path: Path, src: str, recalled: bool) -> None:
    row = read(tmp_path, GOOD.replace("1.5,A1", f"1.5,{src}")).find("0")
    assert row is not None
    assert row.recalled is recalled


HEAD = GOOD[: GOOD.index("low,high")]
COLUMNS = "low,high,kind,wire,value,src\n"


def changed(tmp_path: Path, rows: str, extra: str = "# mode: rows\n") -> Table:
    base = read(tmp_path, GOOD)
    return check(overlay(base, read(tmp_path, HEAD + extra + COLUMNS + rows, derived=True)))


def test_rows_of_an_edition_lie_over_those_of_its_base(tmp_path: Path) -> None:
    table = changed(tmp_path, "10,19,y,10,2.5,memory\n")
    assert [row["value"] for row in table.rows] == ["1.5", "2.5", "3"]
    assert [row.recalled for row in table.rows] == [False, True, False]


def test_rows_can_be_removed_and_tables_replaced(tmp_path: Path) -> None:
    assert [row["low"] for row in changed(tmp_path, "", "# mode: rows\n# remove: 20\n").rows] == ["0", "10"]
    assert [row["low"] for row in changed(tmp_path, "5,6,x,8,9,A1\n", "# mode: whole\n").rows] == ["5"]


def test_order_is_checked_after_the_base_is_in(tmp_path: Path) -> None:
    with pytest.raises(TableError, match="`value` must rise"):
        changed(tmp_path, "10,19,y,10,0.5,A1\n")


@pytest.mark.parametrize(
    ("rows", "extra", "reason"),
    [
        ("10,19,,10,2,A1\n", "# mode: rows\n", "repeats the row of the base"),
        ("", "# mode: rows\n# remove: 77\n", "which the base has not"),
        ("10,19,,10,3,A1\n", "# mode: rows\n# remove: 10\n", "or the file keeps"),
        ("", "# mode: rows\n", "has no rows"),
        ("10,19,,10,2,A1\n", "", "needed there"),
    ],
)
def test_a_change_that_changes_nothing_or_the_wrong_thing(
    tmp_path: Path, rows: str, extra: str, reason: str
) -> None:
    with pytest.raises(TableError, match=reason):
        changed(tmp_path, rows, extra)


def test_a_change_with_other_columns_is_refused(tmp_path: Path) -> None:
    base = read(tmp_path, GOOD)
    other = read(
        tmp_path, GOOD.replace("value=A", "value=V").replace("# bands", "# mode: rows\n# bands"), derived=True
    )
    with pytest.raises(TableError, match="not those of the base"):
        overlay(base, other)


def test_a_complete_edition_may_not_be_a_change(tmp_path: Path) -> None:
    with pytest.raises(TableError, match="for editions with a base"):
        read(tmp_path, GOOD.replace("# bands", "# mode: rows\n# bands"))


def test_source_codes_have_a_standing(tmp_path: Path) -> None:
    path = tmp_path / "sources.csv"
    head = "# title: t\n# source: s\n# read-by: r\n# units: code=text; standing=text; description=text\n"
    head += "# valid: v\n# keys: code\n# edition-clause: none\ncode,standing,description\n"
    path.write_text(f"{head}A1,read,a book\n", encoding="utf-8")
    assert read_sources(path)["A1"].description == "a book"
    path.write_text(f"{head}A1,heard,a book\n", encoding="utf-8")
    with pytest.raises(TableError, match="standing is none of"):
        read_sources(path)
