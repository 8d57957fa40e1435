"""Tables and headings where a page ends: heads repeated, no row by itself, nothing announced and left for the next page."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import pytest
from tagged import Fragment, Node, Row, document, fragments

#: First head of tables that have no caption.
OWN = {"line", "Outcome"}
HEADINGS = ("H1", "H2", "H3", "H4")


def broken_badly(parts: list[Fragment]) -> list[str]:
    """What is wrong where tables break: a head that is not repeated, a row alone on a page, a group's name at its foot."""
    found = []
    begun: Fragment | None = None
    for part, after in pairwise([*parts, None]):
        assert part is not None
        goes_on = begun is not None and part.caption is None and part.page == begun.page + 1
        told = f"page {part.page}, {part.chapter}: {part.caption or (begun.caption if goes_on and begun else '')}"
        # Tables of workings and that of the cover have no caption, and heads of their own.
        if goes_on and begun and part.head != begun.head and not (part.head and part.head[-1][0] in OWN):
            found.append(f"{told}: head not repeated")
        goes_on = goes_on and begun is not None and part.head == begun.head
        parted = (
            after is not None
            and after.caption is None
            and after.page == part.page + 1
            and after.head == part.head
        )
        rows = [row for row in part.rows if not row.group]
        if (goes_on or parted) and len(rows) == 1:
            found.append(f"{told}: one row alone")
        if parted and part.rows and part.rows[-1].group:
            found.append(f"{told}: name of a group at the foot")
        if part.head and not part.rows:
            found.append(f"{told}: head without a row")
        begun = part
    return found


def left_behind(root: Node) -> list[str]:
    """Headings and captions whose first words come on the next page."""
    found = []
    waiting: list[Node] = []
    for node, inside in leaves(root):
        if inside is not None:
            if not waiting or waiting[-1] is not inside:
                waiting.append(inside)
            continue
        found += [f"page {head.page}: {head.text}" for head in waiting if head.page != node.page]
        waiting = []
    return found


def leaves(node: Node, inside: Node | None = None) -> Iterator[tuple[Node, Node | None]]:
    """Elements that hold words themselves, each with the heading or caption that it is in."""
    inside = node if node.kind in (*HEADINGS, "Caption", "THead") else inside
    if node.kind == "Figure":
        yield node, inside
    for kid in node.kids:
        if isinstance(kid, Node):
            yield from leaves(kid, inside)
        elif kid[1].strip():
            yield node, inside


@pytest.fixture(scope="module")
def invented(pdf: bytes) -> Node:
    return document(pdf)


def test_tables_of_the_invented_binder_break_well(invented: Node) -> None:
    parts = fragments(invented)
    assert len({part.page for part in parts if part.caption is None}) >= 2
    assert broken_badly(parts) == []
    assert left_behind(invented) == []


def part(
    page: int, rows: int, caption: str | None = None, head: str = "Circuit", group: bool = False
) -> Fragment:
    made = [Row([f"PV-{i}"], page, False) for i in range(rows)]
    return Fragment(page, "c", "", caption, [[head]], [*made, *([Row(["g"], page, True)] if group else [])])


def test_the_check_itself_finds_each_fault() -> None:
    assert broken_badly([part(1, 4, "t"), part(2, 3)]) == []
    assert broken_badly([part(1, 1, "t")]) == []
    assert broken_badly([part(1, 4, "t"), part(2, 3, head="From")]) == ["page 2, c: t: head not repeated"]
    assert broken_badly([part(1, 4, "t"), part(2, 1)]) == ["page 2, c: t: one row alone"]
    assert broken_badly([part(1, 1, "t"), part(2, 4)]) == ["page 1, c: t: one row alone"]
    assert broken_badly([part(1, 4, "t", group=True), part(2, 4)]) == [
        "page 1, c: t: name of a group at the foot"
    ]
    assert broken_badly([part(1, 0, "t")]) == ["page 1, c: t: head without a row"]
    words = Node("P", 2, [(1.0, "x")])
    assert left_behind(Node("Document", 1, [Node("H3", 1, [(1.0, "h")]), words])) == ["page 1: h"]
    assert left_behind(Node("Document", 1, [Node("H3", 2, [(1.0, "h")]), words])) == []
    table = Node("Table", 1, [Node("Caption", 1, [(1.0, "c")]), Node("TBody", 2, [words])])
    assert left_behind(table) == ["page 1: c"]


@pytest.mark.slow
def test_tables_of_the_sample_break_well(sample: Node) -> None:
    parts = fragments(sample)
    assert len([part for part in parts if part.caption is None]) > 20
    assert broken_badly(parts) == []
    assert left_behind(sample) == []
