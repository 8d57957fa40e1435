"""Names and sentences that differ in some words: said once what they share, and the rest of each."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

_OPEN = re.compile(r"\(?[−-]?\d[\d.,]*|.*,")


@dataclass(frozen=True, slots=True)
class Alike:
    """What texts have in common, with ``…`` where they differ, and the words of each that stand there.

    Where all are equal the rest of each is empty; where nothing is shared ``common`` is.
    """

    common: str
    rests: tuple[str, ...]


def alike(texts: Sequence[str]) -> Alike:
    """Texts taken apart into their first and last words that all share, and what is left of each.

    Examples
    --------
    >>> alike(["EG-1 grounds R1/riser", "EG-1 grounds R2/hall"])
    Alike(common='EG-1 grounds …', rests=('R1/riser', 'R2/hall'))
    """
    words = {text: text.split() for text in texts}
    if len(words) == 1:
        return Alike(texts[0], ("",) * len(texts))
    all_words = list(words.values())
    first = all_words[0]
    least = min(map(len, all_words))
    head = next((k for k in range(least) if any(one[k] != first[k] for one in all_words)), least)
    room = least - head
    tail = next((k for k in range(room) if any(one[-1 - k] != first[-1 - k] for one in all_words)), room)
    # A number is not parted from its unit, nor a list within.
    if tail and any(_OPEN.fullmatch(one[len(one) - tail - 1]) for one in all_words if len(one) > head + tail):
        tail = 0
    common = " ".join([*first[:head], "…", *first[len(first) - tail :]]) if head or tail else ""
    rests = {text: " ".join(one[head : len(one) - tail]) for text, one in words.items()}
    return Alike(common, tuple(rests[text] for text in texts))
