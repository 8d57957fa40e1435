"""What PDF/UA-1 asks, page numbers that are true, and sheets that are used: the invented binder, and the whole sample."""

from __future__ import annotations

import io
import re
import subprocess
from collections.abc import Iterator
from itertools import pairwise

import invented
import pytest
from page_readers import text_of
from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject

from reportgen.binder.elements import Blank, Chapter, Fields, Paragraph, Steps
from reportgen.binder.html import render
from reportgen.binder.pdf import write_pdf, write_pdfs


def elements(reader: PdfReader) -> Iterator[DictionaryObject]:
    """Every element of the structure tree."""
    stack = [reader.trailer["/Root"]["/StructTreeRoot"]]  # type: ignore[index]
    while stack:
        item = stack.pop().get_object()
        if isinstance(item, ArrayObject):
            stack += item
        elif isinstance(item, DictionaryObject):
            if "/S" in item:
                yield item
            if "/K" in item:
                stack.append(item.raw_get("/K"))


#: What stands in what, for readers that count the items of a list and the cells of a row.
INSIDE = {
    "/LI": {"/L"},
    "/LBody": {"/LI"},
    "/TH": {"/TR"},
    "/TD": {"/TR"},
    "/TR": {"/Table", "/THead", "/TBody"},
    "/THead": {"/Table"},
    "/TBody": {"/Table"},
}


def around(element: DictionaryObject) -> str:
    """What an element stands in, past those that say nothing."""
    outer = element["/P"]
    while outer["/S"] in {"/NonStruct", "/Div"}:
        outer = outer["/P"]
    return outer["/S"]


def lacks(pdf: bytes) -> list[str]:
    """What ISO 14289-1 asks of a file and can be seen from its objects, where this one has it not."""
    reader = PdfReader(io.BytesIO(pdf))
    root = reader.trailer["/Root"]
    notes = [a.get_object() for page in reader.pages for a in page.get("/Annots", ())]  # type: ignore[union-attr]
    tree = list(elements(reader))
    links = [note for note in notes if note["/Subtype"] == "/Link"]
    fields = [note for note in notes if note["/Subtype"] == "/Widget"]
    metadata = root["/Metadata"].get_data()  # type: ignore[index]
    heads = [e for e in tree if e["/S"] == "/TH"]
    mapped = root["/StructTreeRoot"]["/ParentTree"]["/Nums"]  # type: ignore[index]
    holders = dict(zip(mapped[::2], mapped[1::2], strict=True))

    def held(note: DictionaryObject, by: str) -> bool:
        return "/StructParent" in note and holders[note["/StructParent"]].get_object()["/S"] == by

    wanted = {
        "language": root.get("/Lang") == "en",  # type: ignore[union-attr]
        "marked": root["/MarkInfo"]["/Marked"].value is True,  # type: ignore[index]
        "title shown": root["/ViewerPreferences"]["/DisplayDocTitle"].value is True,  # type: ignore[index]
        "title": b"<dc:title>" in metadata and bool(reader.metadata and reader.metadata.title),
        "identification": b'pdfuaid:part="1"' in metadata,
        "order of tabs": all(page.get("/Tabs") == "/S" for page in reader.pages),
        "links in the tree, with words": all(held(n, "/Link") and n.get("/Contents") for n in links),
        "fields in the tree, with words": all(held(n, "/Form") and n.get("/TU") for n in fields),
        "words for figures": all(e.get("/Alt") for e in tree if e["/S"] == "/Figure"),
        "scope of heads": all(e["/A"].get_object().get("/Scope") in {"/Column", "/Row"} for e in heads),  # type: ignore[attr-defined]
        "items in lists": all(around(e) in INSIDE[e["/S"]] for e in tree if e["/S"] in INSIDE),
        "one first heading": [e["/S"] for e in tree].count("/H1") == 1,
        "only known roles": {e["/S"] for e in tree} <= ROLES,
        "bookmarks": len(reader.outline) > 2,
        "links": len(links) > 20 and len(heads) > 100,
        "fields": len(fields) > 20,
    }
    return [name for name, holds in wanted.items() if not holds]


#: Standard structure types of ISO 32000-1 that a binder uses.
ROLES = {
    f"/{name}"
    for name in [
        "Document",
        "Part",
        "Sect",
        "Div",
        "P",
        "H1",
        "H2",
        "H3",
        "H4",
        "L",
        "LI",
        "Lbl",
        "LBody",
        "Table",
        "TR",
        "TH",
        "TD",
        "THead",
        "TBody",
        "Caption",
        "Figure",
        "Form",
        "Link",
        "Span",
        "Note",
        "NonStruct",
        "Code",
        "Quote",
        "BlockQuote",
    ]
}


def wrong_pages(pdf: bytes) -> list[str]:
    """Links that print a page number and lead to another page."""
    reader = PdfReader(io.BytesIO(pdf))
    places = {
        name: reader.get_destination_page_number(place) + 1
        for name, place in reader.named_destinations.items()
    }
    pages = text_of(pdf).split("\f")
    contents = next(i for i, text in enumerate(pages) if re.match(r"(?s).{0,400}^ *Contents$", text, re.M))
    chapters = [note.get_object()["/Dest"] for note in reader.pages[contents].get("/Annots", ())]
    wanted = [places[name] for name in dict.fromkeys(chapters) if name.startswith("chapter-")]
    printed = [int(n) for n in re.findall(r"^ *\d+ +\S.*? {2,}(\d+)$", pages[contents], re.M)]
    assert len(printed) >= 5
    return [
        f"printed {one}, leads to {other}" for one, other in zip(printed, wanted, strict=True) if one != other
    ]


def half_empty(pdf: bytes) -> list[int]:
    """Pages used to less than half though the next one of the same shape goes on with the same chapter."""
    done = subprocess.run(["pdftotext", "-bbox", "-", "-"], input=pdf, capture_output=True, check=True)
    found: list[tuple[float, str, bool]] = []
    for size, body in re.findall(r"<page (.*?)>(.*?)</page>", done.stdout.decode(), re.S):
        height = float(re.search(r'height="([\d.]+)"', size)[1])  # type: ignore[index]
        words = [(float(y), text) for y, text in re.findall(r'yMax="([\d.]+)">(.*?)<', body)]
        inside = [(y, text) for y, text in words if 0.07 * height < y < 0.93 * height]
        used = max((y for y, _ in inside), default=height) / height
        # a card stands on a sheet of its own, and so does a sheet of labels, which has no foot
        texts = [text for _, text in words]
        found.append((used, size, texts[:2] == ["Task", "card:"] or "Remarks" not in texts))
    reader = PdfReader(io.BytesIO(pdf))
    starts = {
        reader.get_destination_page_number(place)
        for name, place in reader.named_destinations.items()
        if name.startswith("chapter-")
    }
    return [
        number
        for number, ((used, size, alone), (_, after, card)) in enumerate(pairwise(found), 1)
        if used < 0.5 and size == after and number not in starts and not (alone or card)
    ]


def test_what_accessible_pdf_asks(pdf: bytes) -> None:
    assert lacks(pdf) == []


def test_the_check_itself_finds_what_is_lacking() -> None:
    bare = write_pdf('<html lang="de"><title>t</title><body><h1>x</h1><h1>y</h1></body></html>')
    assert lacks(bare) == ["language", "one first heading", "bookmarks", "links", "fields"]


@pytest.mark.filterwarnings("ignore:unclosed file:ResourceWarning")
@pytest.mark.filterwarnings("ignore:Exception ignored in:pytest.PytestUnraisableExceptionWarning")
def test_an_archive_has_nothing_to_fill_in_and_says_what_was() -> None:
    """ISO 19005-3 asks for the look of every field; what is printed keeps it, and its tag says what it is for."""
    sheet = (Steps("s", ("Open SW-1.",)), Fields("f", (Blank("Voltage"), Blank("Done", tick=True))))
    page = render(invented.FRAME, [Chapter("c", "t", "", (Paragraph("x"), *sheet))], ())
    whole, closed = (PdfReader(io.BytesIO(pdf)) for pdf in write_pdfs(page, enclosed=()))
    root = closed.trailer["/Root"]
    assert "/AcroForm" in whole.trailer["/Root"]  # type: ignore[operator]
    assert "/AcroForm" not in root  # type: ignore[operator]
    notes = [a.get_object()["/Subtype"] for p in closed.pages for a in p.get("/Annots", ())]  # type: ignore[union-attr]
    assert set(notes) == {"/Link"}
    told = [e["/A"] for e in elements(closed) if e["/S"] == "/Form"]
    assert {a["/Desc"]: (a["/O"], a["/Role"], a.get("/checked")) for a in told} == {
        "Open SW-1.": ("/PrintField", "/cb", "/off"),
        "Voltage": ("/PrintField", "/tv", None),
        "Done": ("/PrintField", "/cb", "/off"),
    }


def test_printed_page_numbers_are_true(pdf: bytes) -> None:
    assert wrong_pages(pdf) == []


@pytest.mark.slow
def test_the_sample_is_accessible_true_and_dense(sample_pdf: bytes) -> None:
    assert lacks(sample_pdf) == []
    assert wrong_pages(sample_pdf) == []
    assert half_empty(sample_pdf) == []


@pytest.mark.slow
def test_no_place_of_an_input_is_parted(sample_pdf: bytes) -> None:
    """Every ``file.yaml:9`` stands on one line, so that it can be searched for, whatever lays the text out."""
    done = subprocess.run(["pdftotext", "-raw", "-", "-"], input=sample_pdf, capture_output=True, check=True)
    text = done.stdout.decode()
    assert len(re.findall(r"\.yaml:\d", text)) > 300
    assert re.findall(r".*\.yaml:?$\n:?\d+[;,.)]?.*", text, re.M) == []
    # A line of working that another names, likewise: ``line 7.12``.
    assert len(re.findall(r"\bline \d+\.\d", text)) > 50
    assert re.findall(r".*\bli?n?$\n(?:ine|ne|e) \d+\.\d.*", text, re.M) == []
