"""Sheets of the sample are used: how far down each is filled, and why one that is not ends early."""

from __future__ import annotations

import re
import subprocess
from dataclasses import dataclass
from itertools import pairwise

import pytest

#: Most sheets of the sample, and least share of a sheet that is filled: of each, and of all together [-]. A drawing is
#: never parted: one that does not fit the rest of a sheet leaves it, but no more than this.
SHEETS, LEAST, MEAN = 104, 0.55, 0.88
_CARD = "Task card: "
_PAGE = re.compile(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', re.S)
_WORD = re.compile(r'yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)">(.*?)</word>')


@dataclass(frozen=True)
class Sheet:
    """How far down the room for text of a sheet is filled [-], and what kind of sheet it is."""

    fill: float
    lies: bool
    alone: bool


def sheets(pdf: bytes) -> list[Sheet]:
    """Every sheet of a binder; ``alone`` are cards and sheets of labels, which stand whole on sheets of their own."""
    done = subprocess.run(["pdftotext", "-bbox", "-", "-"], input=pdf, capture_output=True, check=True)
    found = []
    for width, height, body in _PAGE.findall(done.stdout.decode()):
        words = [(float(low), text) for _, low, text in _WORD.findall(body)]
        texts = [text for _, text in words]
        foot = next((low for low, text in reversed(words) if text == "aid,"), float(height))
        inside = [low for low, _ in words if low < foot - 12.0]
        top = 18.0 * 72 / 25.4
        fill = (max(inside, default=top) - top) / (foot - 20.0 - top)
        alone = "Remarks" not in texts or "card:" in texts[:20]
        found.append(Sheet(fill, float(width) > float(height), alone))
    return found


def early(found: list[Sheet]) -> list[int]:
    """Numbers of sheets that end early without a cause: none follows, or the next begins with what stands alone."""
    return [
        number
        for number, (one, after) in enumerate(pairwise(found), 1)
        if one.fill < LEAST and not (one.alone or after.alone or one.lies != after.lies)
    ]


def test_the_check_itself_sees_an_empty_half() -> None:
    full, half, card = Sheet(0.97, False, False), Sheet(0.4, False, False), Sheet(0.4, False, True)
    assert early([full, half, full]) == [2]
    assert early([full, half, card, full, half]) == []
    assert early([half, Sheet(0.9, True, False), full]) == []


@pytest.mark.slow
def test_the_sample_fills_its_sheets(sample_pdf: bytes) -> None:
    found = sheets(sample_pdf)
    assert len(found) <= SHEETS
    assert early(found) == []
    text = [sheet.fill for sheet in found[2:-1] if not sheet.alone]
    assert len(text) > 60
    assert sum(text) / len(text) > MEAN


@pytest.mark.slow
def test_no_card_of_the_sample_is_parted(sample_pdf: bytes) -> None:
    """Each sheet from the first card to the labels begins with the head of a card, so none goes on from the one before."""
    done = subprocess.run(
        ["pdftotext", "-layout", "-", "-"], input=sample_pdf, capture_output=True, check=True
    )
    pages = done.stdout.decode().split("\f")
    first, last = (
        pages.index(page)
        for page in (
            next(page for page in pages if _CARD in page),
            next(page for page in reversed(pages) if _CARD in page),
        )
    )
    assert last - first > 10
    for page in pages[first + 1 : last + 1]:
        assert page.lstrip().startswith(_CARD), page[:300]
