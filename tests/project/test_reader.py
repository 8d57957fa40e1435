"""The YAML reader: places, strict scalars, what is refused and where; both parsers give the same answers."""

from __future__ import annotations

from typing import Any

import pytest
import yaml

from reportgen.diagnostics.model import Diagnostic, Sink
from reportgen.project.characters import MAX_BYTES
from reportgen.project.nodes import Map, Scalar, Seq
from reportgen.project.reader import MAX_ENTRIES, MAX_MISTAKES, MAX_VALUES, PARSERS, read_yaml
from reportgen.project.syntax import MAX_DEPTH

both = pytest.mark.parametrize("parser", PARSERS, ids=lambda parser: parser.__name__)


def read(text: str | bytes, parser: type | None = None) -> tuple[Map | None, list[Diagnostic]]:
    sink = Sink()
    data = text.encode() if isinstance(text, str) else text
    return read_yaml("a.yaml", data, sink, parser), sink.sorted()


def told(text: str | bytes, parser: type | None = None) -> list[tuple[str, str]]:
    return [(item.code, str(item.span).partition(":")[2]) for item in read(text, parser)[1]]


def good(text: str, parser: type | None = None) -> Map:
    tree, diagnostics = read(text, parser)
    assert diagnostics == []
    assert tree is not None
    return tree


def plain(node: Any) -> Any:
    """Nodes with their places, as tuples that can be compared."""
    if isinstance(node, Map):
        return ("map", str(node.span), node.span.end_line, [(plain(key), plain(node[key])) for key in node])
    if isinstance(node, Seq):
        return ("seq", str(node.span), node.span.end_line, [plain(item) for item in node])
    assert isinstance(node, Scalar)
    return (str(node), node.quoted, node.span)


def test_the_fast_parser_is_there_and_comes_first() -> None:
    assert yaml.__with_libyaml__
    assert [parser.__name__ for parser in PARSERS] == ["CSafeLoader", "SafeLoader"]


@both
def test_every_key_and_value_knows_its_place(parser: type) -> None:
    tree = good("strings:\n  E1: {count: 12, parts: [a, 'b c']}\n", parser)
    (section,) = tree
    (string,) = tree[section]  # type: ignore[attr-defined]
    body = tree[section][string]  # type: ignore[index]
    assert [str(key.span) for key in (section, string, *body)] == [
        "a.yaml:1:1",
        "a.yaml:2:3",
        "a.yaml:2:8",
        "a.yaml:2:19",
    ]
    first, second = body["parts"]
    assert (str(first.span), first.quoted, first.span.end_column) == ("a.yaml:2:27", False, 28)
    assert (str(second.span), second.quoted, second.span.end_column) == ("a.yaml:2:30", True, 35)
    assert (str(body.span), body.span.end_column) == ("a.yaml:2:7", 37)
    assert (tree.span.line, tree.span.end_line) == (1, 2)


@both
def test_columns_count_characters_not_bytes(parser: type) -> None:
    tree = good("a: {é😀: x, b: y}\n", parser)
    assert [str(key.span) for key in tree["a"]] == ["a.yaml:1:5", "a.yaml:1:12"]


@both
@pytest.mark.parametrize(
    "word",
    [
        "no",
        "on",
        "yes",
        "off",
        "Y",
        "012",
        "08",
        "0x1F",
        "0b1",
        "1_000",
        "12:30",
        "190:20:30",
        "1e3",
        "-.5",
        ".5",
        ".nan",
        ".inf",
        "2024-01-05",
        "2024-13-45",
        "=",
        "null",
        "~",
    ],
)
def test_fault_42_no_value_is_guessed_from_its_look(parser: type, word: str) -> None:
    value = good(f"a: {word}\n", parser)["a"]
    assert isinstance(value, Scalar)
    assert str(value) == word
    assert value.is_null == (word in {"null", "~"})


@both
def test_fault_41_a_duplicate_key_names_both_lines(parser: type) -> None:
    tree, (item,) = read("a:\n  x: 1\n  y: 2\n  x: 3\n", parser)
    assert item.code == "duplicate-key"
    assert "line 2 and in line 4" in item.message
    assert [str(label.span) for label in item.labels] == ["a.yaml:4:3", "a.yaml:2:3"]
    assert tree is not None
    assert tree["a"]["x"] == "1"


@both
def test_fault_43_a_value_that_became_a_comment_is_null(parser: type) -> None:
    value = good("size: #10\nb: 1\n", parser)["size"]
    assert isinstance(value, Scalar)
    assert value.is_null
    assert str(value.span) == "a.yaml:1:5"


@both
def test_fault_45_huge_numbers_stay_text(parser: type) -> None:
    text = f"a: {'9' * 5000}\nb: 0x{'f' * 200_000}\nc: {'1:' * 2000}1\n"
    tree = good(text, parser)
    assert [len(str(tree[name])) for name in "abc"] == [5000, 200_002, 4001]


@both
def test_fault_46_bombs_are_counted_before_they_are_built(parser: type) -> None:
    rows = "".join(
        f"{b}: &{b} [{', '.join(['*' + a] * 10)}]\n" for a, b in zip("abcdefgh", "bcdefghi", strict=True)
    )
    tree, (item,) = read("a: &a [x, x, x, x, x, x, x, x, x, x]\n" + rows, parser)
    assert tree is None
    assert item.code == "too-large"
    assert str(item.span) == "a.yaml:6:8"


@both
def test_aliases_below_the_limit_are_allowed_and_counted_expanded(parser: type) -> None:
    many = MAX_VALUES // 10 - 20
    ok = "a: &a [1, 2, 3, 4, 5, 6, 7, 8, 9]\nb: [" + "*a, " * many + "]\n"
    tree = good(ok, parser)
    assert len(tree["b"]) == many  # type: ignore[arg-type]
    assert tree["b"][0] is tree["b"][-1]  # type: ignore[index]
    assert told(ok.replace("9]", "9, 10, 11]"), parser)[0][0] == "too-large"


@both
@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("a: &x [*x]\n", [("yaml-anchor", "1:8")]),
        ("a: &x {b: *x}\n", [("yaml-anchor", "1:11")]),
        ("a: *x\n", [("yaml-anchor", "1:4")]),
        ("a: &x 1\nb: &x 2\n", [("yaml-anchor", "2:4")]),
        ("a: &x {b: 1}\nc: {<<: *x}\n", [("yaml-merge", "2:5")]),
        ("<<: 1\n", [("yaml-merge", "1:1")]),
    ],
)
def test_fault_46_recursive_aliases_and_merge_keys(
    parser: type, text: str, wanted: list[tuple[str, str]]
) -> None:
    assert told(text, parser) == wanted


@both
@pytest.mark.parametrize("depth", [MAX_DEPTH + 1, 900, 20_000])
@pytest.mark.parametrize("unit", ["[", "{a: ", "- ", "? "])
def test_fault_47_deep_nesting_is_placed_and_never_a_traceback(parser: type, depth: int, unit: str) -> None:
    tree, (item,) = read("a:\n " + unit * depth + "\n", parser)
    assert tree is None
    assert item.code == "too-deep"
    assert item.span is not None
    assert item.span.line == 2


@both
def test_depth_at_the_limit_is_read(parser: type) -> None:
    inner = MAX_DEPTH - 1
    assert good("a: " + "[" * inner + "]" * inner + "\n", parser)


@both
@pytest.mark.parametrize(
    ("text", "wanted", "named"),
    [
        ("a:\n\tb: 1\n", [("tab-character", "2:1")], "indentation"),
        ("a:\t1\n", [("tab-character", "1:3")], "between words"),
        ("a:\n\u00a0\u00a0b: 1\n", [("odd-character", "2:1")], "no-break space (U+00A0)"),
        ("a:\n  \u3000b: 1\n", [("odd-character", "2:3")], "ideographic space (U+3000)"),
        ("a:\u00a01\n", [("odd-character", "1:3")], "no-break space"),
        ("b: 2\na:\u00a01\n", [("odd-character", "2:3")], "no-break space"),
        ("a: 600\u00a0V\n", [("odd-character", "1:7")], "no-break space"),
        ("a: x\u200b\n", [("odd-character", "1:5")], "zero width space (U+200B)"),
        ("a: “x”\n", [("odd-character", "1:4")], "left double quotation mark (U+201C)"),
        ("a: [‘x’, ok]\n", [("odd-character", "1:5")], "left single quotation mark (U+2018)"),
        ("−a: 1\n", [("odd-character", "1:1")], "minus sign (U+2212)"),
    ],
)
def test_fault_48_odd_characters_are_named_with_their_column(
    parser: type, text: str, wanted: list[tuple[str, str]], named: str
) -> None:
    assert told(text, parser) == wanted
    assert named in read(text, parser)[1][0].message


@both
def test_odd_characters_do_no_harm_in_quotes_comments_and_inside_a_text(parser: type) -> None:
    tree = good("a: '10\u00a0kΩ'  # \u00a0“x”\tb\nb: Bob’s – “barn”\nc: −5\n", parser)
    assert list(tree.values()) == ["10\u00a0kΩ", "Bob’s – “barn”", "−5"]


@both
@pytest.mark.parametrize(
    ("data", "wanted"),
    [
        ("a: é\n".encode("utf-16"), [("bad-encoding", "1:1")]),
        ("a: é\n".encode("utf-16-le"), [("bad-encoding", "1:1")]),
        ("a: é\n".encode("utf-32"), [("bad-encoding", "1:1")]),
        ("a: 1\nb: Süd\n".encode("latin-1"), [("bad-encoding", "2:5")]),
        (b"\xef\xbb\xbfa: \xff\n", [("bad-encoding", "1:4")]),
        ("a: é😀\r\nb: é".encode() + b"\x80\n", [("bad-encoding", "2:5")]),
        (b"a: 1\nb: x\x00y and more\n", [("control-character", "2:5")]),
        (b"a: \x1b[0m\n", [("control-character", "1:4")]),
        ("a: \u0085b\n".encode(), [("control-character", "1:4")]),
        ("a: b\u2028c\n".encode(), [("control-character", "1:5")]),
        ("a: \ufeffb\n".encode(), [("control-character", "1:4")]),
        (b'a: "\\0"\n', [("control-character", "1:4")]),
        (b'b: 1\na: "x\\ud800"\n', [("control-character", "2:6")]),
        (b'a: "\\Uffffffff"\n', [("control-character", "1:5")]),
    ],
)
def test_fault_49_encodings_and_control_characters(
    parser: type, data: bytes, wanted: list[tuple[str, str]]
) -> None:
    assert told(data, parser) == wanted


@both
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r", ""])
def test_fault_49_a_mark_at_the_start_and_any_line_end_are_fine(parser: type, mark: str, end: str) -> None:
    tree = good(f"{mark}a: 1{end or chr(10)}b: 2{end}", parser)
    assert [str(key.span) for key in tree] == ["a.yaml:1:1", "a.yaml:2:1"]


@both
@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "empty-file"),
        ("\n\n", "empty-file"),
        ("# nothing\n", "empty-file"),
        ("---\n", "empty-file"),
        ("~\n", "empty-file"),
        ("text\n", "wrong-shape"),
        ("''\n", "wrong-shape"),
        ("- 1\n", "wrong-shape"),
        ("a: 1\n---\nb: 2\n", "many-documents"),
        ("---\n---\na: 1\n", "many-documents"),
    ],
)
def test_fault_50_what_is_no_mapping_of_sections(parser: type, text: str, code: str) -> None:
    tree, (item,) = read(text, parser)
    assert tree is None
    assert item.code == code
    assert item.span is not None


@both
@pytest.mark.parametrize(
    "value",
    [
        "!!python/object/apply:os.getcwd []",
        "!!binary aGk=",
        "!!set {a}",
        "!foo x",
        "!!str x",
        "! x",
        "!e!x y",
    ],
)
def test_fault_51_tags_are_refused_and_run_nothing(parser: type, value: str) -> None:
    assert told(f"b: 1\na: {value}\n", parser) == [("yaml-tag", "2:4")]


@both
@pytest.mark.parametrize(
    ("text", "place"),
    [("~: 1\n", "1:1"), ("b: 1\n? [a]\n: 1\n", "2:3"), ("{{a: 1}: 2}\n", "1:2"), ("'': 1\n", None)],
)
def test_fault_52_keys_that_are_no_words(parser: type, text: str, place: str | None) -> None:
    assert told(text, parser) == ([("bad-key", place)] if place else [])


@both
def test_fault_52_number_like_keys_are_words_here(parser: type) -> None:
    assert list(good("1: a\non: b\n2.5: c\n", parser)) == ["1", "on", "2.5"]


def test_fault_53_size_limits() -> None:
    assert told(b"a: " + b"x" * MAX_BYTES) == [("too-large", "1:1")]
    # The root counts one and each row 1001, so that the 800th item of row 200 is one too many.
    assert MAX_VALUES == 1 + 199 * 1001 + 1 + 799
    rows = "".join(f"k{row:03}: [{'1,' * 1000}]\n" for row in range(210))
    assert told(rows) == [("too-large", f"200:{len('k199: [') + 2 * 799 + 1}")]
    keys = "".join(f"k{number}: 1\n" for number in range(MAX_ENTRIES))
    assert len(good(keys)) == MAX_ENTRIES
    assert told(keys + "one: more\n") == [("too-large", f"{MAX_ENTRIES + 1}:1")]
    assert told("a: [" + "1," * (MAX_ENTRIES + 1) + "]\n")[0][0] == "too-large"


def test_mistakes_of_one_file_are_bounded() -> None:
    text = "x: 1\n" * 5000 + "".join(f"k{number}: !t 1\n" for number in range(5000))
    tree, diagnostics = read(text)
    assert tree is None
    assert len(diagnostics) == MAX_MISTAKES


@both
@pytest.mark.parametrize(
    ("text", "place", "message", "cure"),
    [
        ("a: 'x\nb: 2\n", "1:4", "quote `'` opened here is never closed", "another `'`"),
        ('a: "x\nb: 2\n', "1:4", 'quote `"` opened here is never closed', 'another `"`'),
        ("a: b: c\n", "1:5", "second `: `", '`a: "b: c"`'),
        ("a: [1, 2\nb: 3\n", "1:4", "bracket `[` opened here is never closed", "`]`"),
        ("a: {b: 1\n", "1:4", "bracket `{` opened here is never closed", "`}`"),
        ("a:\n  b: {x: 1,\n    y: [2, 3\n  c: 1\n", "3:8", "bracket `[` opened here is never closed", "`]`"),
        ("a: [1,\n  2 3: x,\n  b: [1 {2}]]\n", "3:9", "`,` or the closing `]`", "`]`"),
        ("a: [1, {b: 2]\n", "1:13", "`,` or the closing `}`", "`}`"),
        ("a: 1\nb\n", "2:1", "neither `key: value`", "colon"),
        ("E1\n  count: 1\n", "2:8", "line that has no colon", "`E1:`"),
        ("a: 1\n  b: 2\n", "2:4", "deeper", "line it up"),
        ("a:\n  b: 1\n c: 2\n", "3:2", "does not line up", "same indentation"),
        ("  a: 1\nb: 2\n", "2:1", "further left", "same indentation"),
        ("a: @x\n", "1:4", "cannot start with `@`", "quotes"),
        ("a: `x`\n", "1:4", "cannot start with ```", "quotes"),
        ("a: 'x' y\n", "1:8", "after the closing quote", "one pair"),
        ('a: "C:\\path"\n', "1:4", "does not know", "single quotes"),
        ("a: - b\n", "1:4", "cannot start on the line of its key", "next line"),
        ("a: |x\n  y\n", "1:4", "line of `|`", "next line"),
        ("a: }\n", "1:4", "missing before `}`", "value"),
        ("%YAML 1.2\n---\na: 1\n", "1:1", "directive", "delete"),
        ("a: {b:[1]}\n", "1:6", "blank is missing after this colon", "blank"),
        ("a: [b:]\n", "1:6", "blank is missing after this colon", "blank"),
        ("a: [b ?c]\n", "1:7", "starts a key", "quotes"),
        ("a: ? b\n", "1:4", "starts a key", "quotes"),
    ],
)
def test_fault_55_syntax_is_told_in_our_words(
    parser: type, text: str, place: str, message: str, cure: str
) -> None:
    tree, (item,) = read(text, parser)
    assert tree is None
    assert (item.code, str(item.span)) == ("yaml-syntax", f"a.yaml:{place}")
    assert message in item.message
    assert item.help is not None
    assert cure in item.help


@pytest.mark.parametrize(
    "text",
    [
        "a: &x 1\nb: *x\n",
        "a: |\n  one\n  two\n\nb: >-\n  x\n  y\n",
        "a: long plain\n  text # c\nb:\n- 1\n-\n- c: 2\n",
        "{a, b: , c: 1}\n",
        "a: [x: y, z]\n",
        "? a\n: b\n? c\n",
        "a:\n\n  # c\n  b: ''\n\n\nc:   \n",
        "'a': 1\n\"b\": 2",
        "a:\r\n  - b\r\n",
        "a: &x\n  - b\nc: *x",
        "a: [is it so?, x??y, {b?c: d?}]\ne: why ? not\n",
    ],
)
def test_both_parsers_give_the_same_nodes_and_places(text: str) -> None:
    assert plain(good(text, PARSERS[0])) == plain(good(text, PARSERS[1]))
