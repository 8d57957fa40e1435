"""Task cards: never parted between two sheets, nothing but black, complete each by itself."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import invented
import pytest
from page_readers import text_of
from weasyprint import HTML

from reportgen.binder.drawings.svg import Drawing
from reportgen.binder.elements import (
    Blank,
    Caution,
    Chapter,
    Column,
    Facts,
    Figure,
    FormTable,
    Paragraph,
    TableCell,
    TaskCard,
)
from reportgen.binder.html import faults, render
from reportgen.binder.pdf import fetcher, write_pdf
from reportgen.binder.task_cards import task_cards
from reportgen.design.findings import Outcome

#: Operators that set a colour of lines or areas in the content of a page, with their numbers.
COLOUR = re.compile(rb"((?:[\d.]+ )+)(rg|RG|g|G|k|K|sc|SC|scn|SCN)\b")
BLACK_OR_WHITE = {(0.0,), (1.0,)}


def form(rows: int, words: str) -> FormTable:
    columns = (Column("Terminal"), Column("What"), Column("Done"), Column("Reading", "V"))
    made = tuple((f"T{i}", f"{words} {i}", Blank(tick=True), Blank()) for i in range(rows))
    return FormTable("any", "Readings", columns, made, ("a note under the form",))


def cards(id: str, rows: int, words: str = "short", many: int = 3) -> tuple[TaskCard, ...]:
    return task_cards(
        id,
        f"Card {id}",
        purpose="Prove that every wire is the one that its label says, before anything is landed.",
        stop=tuple(f"stop condition {i}: {words}" for i in range(2)),
        cautions=(Caution("Live in light", f"Cover or open. {words}", "common practice, no source"),),
        steps=tuple(f"Step {words}" for _ in range(many)),
        facts=Facts((("Test voltage", "1000 V"), ("Words", words))),
        form=form(rows, words),
    )


CASES = {
    "one": cards("one", 1),
    "many": cards("many", 40),
    "long": cards("long", 24, "many words that run over one line and then over another one " * 3),
    "steps": cards("steps", 10, many=9),
}


def drawn() -> TaskCard:
    drawing = Drawing("d", 120, 40, "drawing", "words")
    for pen, y in (("accent", 5), ("grid", 15), ("leader", 25)):
        drawing.line(0, y, 100, y, pen)
    drawing.rect(0, 30, 20, 8, "tone")
    figure = Figure(drawing.markup(), "Drawing")
    fails = FormTable("f", "Judged", (Column("A"), Column("B")), ((TableCell("x", Outcome.FAILS), "y"),))
    return TaskCard("drawn", "Drawn", (Paragraph("By itself."), figure, fails))


@pytest.fixture(scope="module")
def pdf() -> bytes:
    elements = (Paragraph("before"), *(card for made in CASES.values() for card in made), drawn())
    chapters = [
        Chapter("c", "Field", "", elements),
        Chapter("after", "After", "", (Paragraph("after the cards"),)),
    ]
    assert not faults(chapters)
    return write_pdf(render(invented.FRAME, chapters, ()))


@pytest.fixture(scope="module")
def pages(pdf: bytes) -> list[str]:
    return text_of(pdf).split("\f")[:-1]


def test_no_card_is_parted_between_two_sheets(pages: list[str]) -> None:
    on_cards = [text for text in pages if "Task card:" in text]
    count = sum(map(len, CASES.values())) + 1
    assert sum(text.count("Task card:") for text in on_cards) == count
    # Each has its line to sign, the one drawn by itself has none.
    for text in on_cards:
        assert text.count("Done by, initials") == text.count("Task card: Card")
        assert text.count("Remarks") == text.count("Task card: Card")
    # Cover, contents, the page before, the page after: no card runs on, and no page is blank.
    assert len(pages) == len(on_cards) + 4


def test_two_short_cards_share_a_sheet() -> None:
    short = [
        task_cards(f"c{k}", f"Card c{k}", purpose="Measure.", stop=("rain",), form=form(3, "short"))[0]
        for k in range(2)
    ]
    pages = text_of(write_pdf(render(invented.FRAME, [Chapter("c", "C", "", tuple(short))], ()))).split("\f")
    assert [text.count("Task card:") for text in pages if "Task card:" in text] == [2]


def test_a_card_on_a4_holds_more_than_on_letter() -> None:
    """A4 is 17.6 mm higher, which is two rows to write in and more."""
    made = {
        tall: task_cards("x", "X", purpose="p", stop=("s",), form=form(60, "short"), tall=tall)
        for tall in (False, True)
    }
    first = {tall: len(cards[0].elements[0].rows) for tall, cards in made.items()}  # type: ignore[union-attr]
    assert first[True] == first[False] + 2


def test_every_row_is_on_a_card_once(pages: list[str]) -> None:
    for rows in (1, 24, 75):
        made = cards("x", rows)
        forms = [one for card in made for one in card.elements if isinstance(one, FormTable)]
        assert [row[0] for one in forms for row in one.rows] == [f"T{i}" for i in range(rows)]
    assert len(CASES["one"]) == 1
    assert len(CASES["many"]) > 2
    assert "card 2 of" in CASES["many"][1].title


def test_each_card_is_complete_by_itself(pages: list[str]) -> None:
    for text in pages:
        if "Task card: Card" not in text:
            continue
        flat = " ".join(text.split())
        count = flat.count("Task card: Card")
        for words in ("Prove that every wire", "STOP", "stop condition 0", "Live in light"):
            assert flat.count(words) == count
        for words in ("Remarks", "Done by, initials", "Date"):
            assert flat.count(words) == count
        foot = flat[flat.index("Done by") :]
        for words in (invented.FRAME.number, f"revision {invented.FRAME.revision}"):
            assert words in foot
        assert f"inputs {invented.FRAME.digest_short}" in foot


def test_cards_hold_no_colour(pdf: bytes, pages: list[str], tmp_path: Path) -> None:
    numbers = [i for i, text in enumerate(pages, 1) if "Task card:" in text]
    file = tmp_path / "cards.pdf"
    file.write_bytes(pdf)
    words = ["qpdf", str(file), "--pages", ".", ",".join(map(str, numbers)), "--", "--qdf", "-"]
    objects = subprocess.run([*words], capture_output=True, check=True).stdout
    found = {
        tuple(dict.fromkeys(float(number) for number in match[1].split()))
        for match in COLOUR.finditer(objects)
        if match[2] not in {b"scn", b"SCN"}
    }
    assert (0.0,) in found
    assert found <= BLACK_OR_WHITE, found


def test_boxes_to_tick_are_large() -> None:
    html = render(invented.FRAME, [Chapter("c", "Field", "", CASES["one"])], ())
    pages = HTML(string=html, base_url=None, url_fetcher=fetcher()).render(pdf_forms=True).pages
    boxes = [
        box
        for page in pages
        for box in page._page_box.descendants()
        if box.element_tag == "input" and box.element.get("type") == "checkbox"
    ]
    assert len(boxes) == 4
    millimetre = 96 / 25.4
    assert all(min(box.border_width(), box.border_height()) > 5.9 * millimetre for box in boxes)


@pytest.mark.parametrize(("purpose", "stop"), [("", ("x",)), ("x", ())])
def test_a_card_without_purpose_or_stop_condition_is_refused(purpose: str, stop: tuple[str, ...]) -> None:
    with pytest.raises(ValueError, match="needs a purpose"):
        task_cards("x", "X", purpose=purpose, stop=stop)


def test_every_card_of_the_sample_has_one_field_for_remarks_of_its_own_name(html: str) -> None:
    """What an installer finds that no other field asks for is written down on the sheet it belongs to."""
    cards = re.findall(r'<section class="card" id="([^"]+)".*?</section>', html, re.S)
    bodies = re.findall(r'<section class="card".*?</section>', html, re.S)
    assert len(cards) > 12
    names = []
    for card, body in zip(cards, bodies, strict=True):
        found = re.findall(r'<(?:textarea|input type="text") name="([^"]+)" title="Remarks"', body)
        assert len(found) == 1, card
        names += found
    assert len(set(names)) == len(names)
