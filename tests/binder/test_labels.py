"""Sheets of labels: every label printed once, in its place to a tenth of a millimetre; sizes that can be."""

from __future__ import annotations

import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

import invented
import pytest
from weasyprint import HTML

from reportgen.binder.elements import Chapter, Element, FormTable, TaskCard
from reportgen.binder.html import render
from reportgen.binder.label_sheets import USUAL, LabelSheets, LabelText, sheet_sizes
from reportgen.binder.pdf import fetcher, write_pdf
from reportgen.binder.write import lay_out
from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.project.records import Stock
from reportgen.rulebook.rulebook import load

sys.path.insert(0, str(Path(__file__).parents[1] / "design"))
from field_folder import folder

MM = 96 / 25.4
WORD = re.compile(r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]*)</word>')
PAGE = re.compile(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', re.S)


def element(name: str, count: int) -> LabelSheets:
    texts = tuple(
        LabelText(
            (f"PV-S{i}+", f"POSITIVE · string S{i}", "max 467.6 V DC", "from TABLE", f"at SW-{i}, array side")
        )
        for i in range(count)
    )
    return LabelSheets("sheets", sheet_sizes()[name], texts)


def page_of(*elements: Element) -> str:
    return render(invented.FRAME, [Chapter("labels", "Labels", "", elements)], ())


@pytest.mark.parametrize("name", sheet_sizes())
def test_a_sheet_holds_its_labels(name: str) -> None:
    sheet = sheet_sizes()[name]
    right = sheet.left + (sheet.columns - 1) * sheet.pitch_x + sheet.width
    low = sheet.top + (sheet.rows - 1) * sheet.pitch_y + sheet.height
    assert sheet.pitch_x >= sheet.width
    assert sheet.pitch_y >= sheet.height
    # Margins are alike on both sides within half a millimetre, as sheets are cut.
    assert right + sheet.left == pytest.approx(sheet.paper_width, abs=0.5)
    assert low + sheet.top == pytest.approx(sheet.paper_height, abs=0.5)
    assert str(sheet.each) in name
    assert (sheet.paper_width, sheet.paper_height) in {(210, 297), (215.9, 279.4)}


def test_the_folder_may_name_each_sheet() -> None:
    words = Stock.model_json_schema()["properties"]["label_sheet"]
    assert set(str(words).split("'")) >= set(sheet_sizes())
    assert set(USUAL.values()) <= set(sheet_sizes())


@pytest.mark.parametrize("name", USUAL.values())
def test_labels_lie_where_the_sheet_has_them(name: str) -> None:
    made = element(name, sheet_sizes()[name].each + 2)
    sheet = made.sheet
    pages = HTML(string=page_of(made), base_url=None, url_fetcher=fetcher()).render(pdf_forms=True).pages
    found = [
        [
            box
            for box in page._page_box.descendants()
            if box.element is not None and box.element.get("class") == "label"
        ]
        for page in pages
    ]
    sheets = [(page, boxes) for page, boxes in zip(pages, found, strict=True) if boxes]
    assert [len({box.element for box in boxes}) for _, boxes in sheets] == [sheet.each, 2]
    for page, boxes in sheets:
        assert page.width / MM == pytest.approx(sheet.paper_width, abs=0.01)
        assert page.height / MM == pytest.approx(sheet.paper_height, abs=0.01)
        for number, box in enumerate(boxes):
            row, column = divmod(number, sheet.columns)
            assert box.position_x / MM == pytest.approx(sheet.left + column * sheet.pitch_x, abs=0.1)
            assert box.position_y / MM == pytest.approx(sheet.top + row * sheet.pitch_y, abs=0.1)
            assert box.border_width() / MM == pytest.approx(sheet.width, abs=0.1)
            assert box.border_height() / MM == pytest.approx(sheet.height, abs=0.1)


@pytest.mark.parametrize("name", ["A4 65 of 38.1 x 21.2", "letter 80 of 44.4 x 12.7", "A4 24 of 70 x 36"])
def test_every_word_stays_on_its_label(name: str, tmp_path: Path) -> None:
    long = LabelText(
        ("PV-" + "W" * 30 + "+", "POSITIVE · string S1", "max 1467.6 V DC", "from " + "M" * 36, "at B")
    )
    made = LabelSheets("sheets", sheet_sizes()[name], (long, *element(name, 5).labels))
    file = tmp_path / "labels.pdf"
    file.write_bytes(write_pdf(page_of(made)))
    out = subprocess.run(
        ["pdftotext", "-bbox", str(file), "-"], capture_output=True, check=True
    ).stdout.decode()
    sheet, point = made.sheet, 72 / 25.4
    page = next(match for match in PAGE.finditer(out) if "PV-S0+" in match[3])
    assert float(page[1]) == pytest.approx(sheet.paper_width * point, abs=0.1)
    assert float(page[2]) == pytest.approx(sheet.paper_height * point, abs=0.1)
    words = WORD.findall(page[3])
    assert len(words) > 30
    for left, top, right, low, text in words:
        x, y = (float(left) + float(right)) / 2 / point, (float(top) + float(low)) / 2 / point
        column, row = int((x - sheet.left) // sheet.pitch_x), int((y - sheet.top) // sheet.pitch_y)
        edge_x, edge_y = sheet.place(row * sheet.columns + column)
        assert float(left) / point >= edge_x, text
        assert float(right) / point <= edge_x + sheet.width, text
        assert float(top) / point >= edge_y - 0.3, text
        assert float(low) / point <= edge_y + sheet.height + 0.3, text


@pytest.mark.parametrize(("strings", "inverters"), [(1, 1), (24, 3)])
def test_as_many_labels_are_printed_as_are_needed(strings: int, inverters: int) -> None:
    files = folder(strings, inverters)
    design = assemble(load_project(files), load("nec2023"), "test")
    pages = lay_out(design, files)
    needed = Counter((label.conductor, label.place, label.side) for label in design.facts.labels.labels)
    cards = next(one for one in pages.chapters if one.id == "cards")
    sheets = cards.elements[-1]
    assert isinstance(sheets, LabelSheets)
    printed = [label.lines for page in sheets.pages for _, _, _, label in page]
    assert len(printed) == needed.total() == len(set(printed))
    for word in ("POSITIVE", "NEGATIVE"):
        assert sum(line[1].startswith(word) for line in printed) == strings * 5
    forms = [
        form
        for one in pages.chapters
        for card in one.elements
        if isinstance(card, TaskCard) and card.id.startswith("card-labels")
        for form in card.elements
        if isinstance(form, FormTable)
    ]
    assert sum(int(str(row[2])) for form in forms for row in form.entries) == len(printed)
    rows = pages.schedules["schedules/labels.csv"].decode().splitlines()
    assert len(rows) == len(printed) + 2
    counts = pages.schedules["schedules/label-counts.csv"].decode().splitlines()[2:]
    assert sum(int(line.rsplit(",", 1)[1]) for line in counts) == len(printed)


def test_a_greatest_voltage_is_printed_no_smaller_than_it_is() -> None:
    """11 · 37.1 V · (1 + 0.0027 · 54) = 467.601 V: whoever goes by 467.6 V would go by too little."""
    files = folder(1, 1)
    design = assemble(load_project(files), load("nec2023"), "test")
    sheets = [
        item
        for chapter in lay_out(design, files).chapters
        for item in chapter.elements
        if isinstance(item, LabelSheets)
    ]
    lines = {line for sheet in sheets for label in sheet.labels for line in label.lines}
    assert {line for line in lines if line.startswith("max ")} == {"max 467.7 V DC"}
    told = [finding.headline for finding in design.findings if finding.code.startswith("placard")]
    assert any("maximum voltage 467.7 V" in headline for headline in told)
