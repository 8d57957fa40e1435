"""A tagged PDF as a reader that speaks meets it: headings, tables, rows and cells in order, with their texts and pages.

Reads the structure tree and the text that the content streams hold for it, mapped back to characters by the fonts'
own tables; independent of what laid the pages out.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject

_MARKED = re.compile(rb"<</MCID (\d+)>>\s*BDC(.*?)\bEMC\b", re.S)
_SHOWN = re.compile(rb"[\d.-]+ ([\d.-]+) Tm|/(\w+) [\d.]+ Tf|\[((?:<[0-9a-fA-F]*>|[\s\d.-])*)\] ?TJ", re.S)
_CODE = re.compile(rb"<([0-9a-fA-F]+)>")
_SINGLE = re.compile(r"<([0-9a-fA-F]+)> <([0-9a-fA-F]+)>\n")


@dataclass
class Node:
    """An element of the structure tree on one page."""

    kind: str
    page: int
    kids: list[Node | tuple[float | None, str]] = field(default_factory=list)

    def all(self, *kinds: str) -> Iterator[Node]:
        for kid in self.kids:
            if isinstance(kid, Node):
                if kid.kind in kinds:
                    yield kid
                yield from kid.all(*kinds)

    def pieces(self) -> Iterator[tuple[float | None, str]]:
        for kid in self.kids:
            if isinstance(kid, Node):
                yield from kid.pieces()
            else:
                yield kid

    @property
    def text(self) -> str:
        """Its text; where a line ends, a space stands."""
        parts: list[str] = []
        last: float | None = None
        for height, text in self.pieces():
            if height is not None:
                if last is not None and abs(height - last) > 1:
                    parts.append(" ")
                last = height
            parts.append(text)
        return " ".join("".join(parts).split())


@dataclass
class Row:
    cells: list[str]
    page: int
    group: bool


@dataclass
class Fragment:
    """The part of a table on one page: chapter and heading it stands under, caption where it begins, head, rows."""

    page: int
    chapter: str
    section: str
    caption: str | None
    head: list[list[str]]
    rows: list[Row]


def document(pdf: bytes) -> Node:
    """The whole structure tree."""
    reader = PdfReader(io.BytesIO(pdf))
    pages = {page.indirect_reference.idnum: number for number, page in enumerate(reader.pages)}  # type: ignore[union-attr]
    fonts: dict[int, Mapping[int, str]] = {}
    texts = [dict(_texts(page, fonts)) for page in reader.pages]

    def built(element: DictionaryObject, page: int) -> Node:
        own = element.raw_get("/Pg") if "/Pg" in element else None
        page = pages[own.idnum] if isinstance(own, IndirectObject) else page
        node = Node(element["/S"][1:], page + 1)  # type: ignore[index]
        kids: Any = element.get("/K", ())
        for kid in kids if isinstance(kids, ArrayObject) else [kids]:
            inner = kid.get_object()
            if isinstance(inner, int):
                node.kids += texts[page].get(inner, ())
            elif "/S" in inner:
                node.kids.append(built(inner, page))
        return node

    root: Any = reader.trailer["/Root"]
    tree = root["/StructTreeRoot"]["/K"]
    return built(tree[0].get_object(), 0)


def fragments(root: Node) -> list[Fragment]:
    """Every part of every table, in order, with the chapter it stands in."""
    found: list[Fragment] = []
    chapter = section = ""
    for node in root.all("H2", "H3", "Table"):
        if node.kind != "Table":
            chapter, section = (node.text, "") if node.kind == "H2" else (chapter, node.text)
            continue
        caption = next((inner.text for inner in node.all("Caption")), None)
        heads = [
            [cell.text for cell in row.all("TH", "TD")]
            for part in node.all("THead")
            for row in part.all("TR")
        ]
        rows = [
            Row([c.text for c in cells], node.page, len(cells) == 1 and cells[0].kind == "TH")
            for part in node.all("TBody")
            for row in part.all("TR")
            if (cells := list(row.all("TH", "TD")))
        ]
        found.append(Fragment(node.page, chapter, section, caption, heads, rows))
    return found


def _texts(
    page: Any, fonts: dict[int, Mapping[int, str]]
) -> Iterator[tuple[int, list[tuple[float | None, str]]]]:
    """Texts of each piece of marked content of a page, with their heights."""
    resources = page["/Resources"].get("/Font", {})
    by_name: dict[bytes, Mapping[int, str]] = {}
    for name in resources:
        reference = resources.raw_get(name)
        if reference.idnum not in fonts:
            fonts[reference.idnum] = _characters(
                reference.get_object()["/ToUnicode"].get_data().decode("ascii")
            )
        by_name[name[1:].encode()] = fonts[reference.idnum]
    table: Mapping[int, str] = {}
    for number, body in _MARKED.findall(page.get_contents().get_data()):
        pieces: list[tuple[float | None, str]] = []
        height = 0.0
        for y, font, shown in _SHOWN.findall(body):
            if y:
                height = float(y)
            elif font:
                table = by_name[font]
            else:
                codes = b"".join(_CODE.findall(shown)).decode("ascii")
                pieces.append(
                    (height, "".join(table[int(codes[i : i + 4], 16)] for i in range(0, len(codes), 4)))
                )
        # A space between two boxes of text is a piece of its own, and nothing is drawn for it.
        yield int(number), pieces or [(None, " ")]


def _characters(cmap: str) -> dict[int, str]:
    """Characters of a font by code, out of its ToUnicode table."""
    assert "beginbfrange" not in cmap
    return {
        int(code, 16): bytes.fromhex(text).decode("utf-16-be")
        for part in re.findall(r"beginbfchar\n(.*?)endbfchar", cmap, re.S)
        for code, text in _SINGLE.findall(part)
    }
