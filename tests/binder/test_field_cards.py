"""Cards of a folder with 24 strings on three inverters: none lost, none parted between two sheets."""

from __future__ import annotations

import sys
from pathlib import Path

from page_readers import text_of

from reportgen.binder.elements import Chapter, TaskCard
from reportgen.binder.html import render
from reportgen.binder.pdf import write_pdf
from reportgen.binder.write import lay_out
from reportgen.design.assemble import assemble
from reportgen.project.load import load_project
from reportgen.rulebook.rulebook import load

sys.path.insert(0, str(Path(__file__).parents[1] / "design"))
from field_folder import folder

KINDS = ("materials", "labels", "ring", "wire", "terminations")


def test_no_card_of_a_large_folder_is_parted() -> None:
    stock = "stock: {head: 4 ft, trim: 4 ft, friction_dry: 0.5, friction_lubricated: 0.35}\n"
    files = folder(24, 3, more=stock)
    pages = lay_out(assemble(load_project(files), load("nec2023"), "test"), files)
    cards = [
        card
        for chapter in pages.chapters
        for card in chapter.elements
        if isinstance(card, TaskCard) and card.id.split("-")[1] in KINDS
    ]
    assert {card.id.split("-")[1] for card in cards} == {
        "materials",
        "labels",
        "ring",
        "wire",
        "terminations",
    }
    made = write_pdf(render(pages.frame, [Chapter("cards", "Cards", "", tuple(cards))], ()))
    sheets = [" ".join(text.split()) for text in text_of(made).split("\f")[:-1] if "Task card:" in text]
    assert sum(sheet.count("Task card:") for sheet in sheets) == len(cards)
    for card in cards:
        (sheet,) = [sheet for sheet in sheets if f"Task card: {card.title} {card.purpose[:20]}" in sheet]
        # What stands last on a card stands on its page too.
        assert sheet.count("Done by, initials") == sheet.count("Task card:")
    assert len(text_of(made).split("\f")) - 1 == len(sheets) + 3
