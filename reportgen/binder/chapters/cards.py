"""Task cards: everything that is carried outside, together at one place of the binder and in the order of the work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from reportgen.binder.elements import (
    Chapter,
    Element,
    LabelSheets,
    Pointers,
    TaskCard,
)
from reportgen.binder.task_cards import card_height, sheet_height

#: Cards in the order of the work, by the first word of their ids; the sheet that hangs on the wall comes first.
_ORDER = (
    "emergency", "materials", "isolation", "cuts", "labels", "pull", "ring", "wire", "terminations", "order",
    "commissioning", "readings", "inspection", "functions", "signatures",
)  # fmt: skip
#: Between two cards on one sheet. [CSS px]
_GAP = 40.0
#: Heights are worked out with a reserve; where two cards need more than a sheet after all, each takes its own. [-]
_ABOUT = 1.06


def collected(chapters: Sequence[Chapter], before: str, *, tall: bool) -> tuple[Chapter, ...]:
    """The chapters with their task cards in one chapter, which stands before the one named.

    In place of its cards each chapter keeps links to them, so that no page of it breaks off for a card, and whoever
    goes outside prints one run of sheets. Sheets of labels, which have no head and no foot, stand behind the cards.
    """
    cards = [card for chapter in chapters for card in chapter.elements if isinstance(card, TaskCard)]
    if not cards:
        return tuple(chapters)
    cards = packed(sorted(cards, key=_rank), sheet_height(tall=tall) * _ABOUT - _GAP)
    labels = [
        sheets for chapter in chapters for sheets in chapter.elements if isinstance(sheets, LabelSheets)
    ]
    kept = [replace(chapter, elements=tuple(_without_cards(chapter))) for chapter in chapters]
    place = next((k for k, chapter in enumerate(kept) if chapter.id == before), len(kept))
    return (*kept[:place], _chapter((*cards, *labels)), *kept[place:])


def _rank(card: TaskCard) -> int:
    """Place of a card in the order of the work; what is unknown stands behind."""
    kind = card.id.removeprefix("card-").partition("-")[0]
    return _ORDER.index(kind) if kind in _ORDER else len(_ORDER)


def packed(cards: Sequence[TaskCard], room: float) -> list[TaskCard]:
    """Cards in their order, but that a short one follows the first that leaves it enough of a sheet.

    Parameters
    ----------
    cards : sequence of TaskCard
        In the order of the work.
    room : float
        Height of a sheet. [CSS px]
    """
    heights = {card.id: card_height(card) for card in cards}
    waiting, found = list(cards), []
    while waiting:
        first = waiting.pop(0)
        found.append(first)
        left = room - heights[first.id]
        if found == [first]:
            # The head of the chapter stands over the first card.
            left = 0.0
        other = next((card for card in waiting if heights[card.id] <= left), None)
        if other is not None:
            waiting.remove(other)
            found.append(other)
    return found


def _without_cards(chapter: Chapter) -> list[Element]:
    cards = [element for element in chapter.elements if isinstance(element, TaskCard)]
    found: list[Element] = []
    for element in chapter.elements:
        if isinstance(element, LabelSheets):
            continue
        if not isinstance(element, TaskCard):
            found.append(element)
        elif element is cards[0]:
            found.append(Pointers("Task cards", tuple((card.title, card.id) for card in cards)))
    return found


def _chapter(cards: Sequence[TaskCard | LabelSheets]) -> Chapter:
    return Chapter(
        "cards",
        "Task cards",
        "What is carried outside: black on white, each card complete by itself.",
        tuple(cards),
        page_break=True,
        field=True,
    )
