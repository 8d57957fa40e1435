"""Task cards: everything that is carried outside, together at one place of the binder and in the order of the work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from reportgen.binder.elements import (
    Chapter,
    Element,
    Pointers,
    TaskCard,
)


def collected(chapters: Sequence[Chapter], before: str) -> tuple[Chapter, ...]:
    """The chapters with their task cards in one chapter, which stands before the one named.

    In place of its cards each chapter keeps links to them, so that no page of it breaks off for a card, and whoever
    goes outside prints one run of sheets.
    """
    cards = [card for chapter in chapters for card in chapter.elements if isinstance(card, TaskCard)]
    if not cards:
        return tuple(chapters)
    kept = [replace(chapter, elements=tuple(_without_cards(chapter))) for chapter in chapters]
    place = next((k for k, chapter in enumerate(kept) if chapter.id == before), len(kept))
    return (*kept[:place], _chapter(cards), *kept[place:])


def _without_cards(chapter: Chapter) -> list[Element]:
    cards = [element for element in chapter.elements if isinstance(element, TaskCard)]
    found: list[Element] = []
    for element in chapter.elements:
        if not isinstance(element, TaskCard):
            found.append(element)
        elif element is cards[0]:
            found.append(Pointers("Task cards", tuple((card.title, card.id) for card in cards)))
    return found


def _chapter(cards: Sequence[TaskCard]) -> Chapter:
    return Chapter(
        "cards",
        "Task cards",
        "What is carried outside: black on white, each card complete without the rest of the binder.",
        tuple(cards),
        page_break=True,
        field=True,
    )
