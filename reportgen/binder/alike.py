"""Names and sentences that differ in some words: said once what they share, and the rest of each."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from reportgen.working.units import UNITS

_UNITS = "|".join(
    sorted((re.escape(unit.printed) for unit in UNITS.values() if unit.printed), key=len, reverse=True)
)
_NUMBER = rf"[−+-]?\d[\d.,/]*(?: (?:{_UNITS}|AWG|kcmil)(?![\w/]))?"
_FIGURE = re.compile(r"[−+-]?\d")
#: What is never taken apart: a number with its unit and what stands in brackets behind it, or a word.
_ATOM = re.compile(rf"(?:(?<!\S){_NUMBER}|\([^()]*\)\S*|\S+)(?: \([^()]*\)\S*)*\S*")


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
    >>> alike(["clamp of A at 1.8 N·m (16 lb·in), as stated", "clamp of B at 2 N·m (18 lb·in), as stated"])
    Alike(common='clamp of …', rests=('A at 1.8 N·m (16 lb·in), as stated', 'B at 2 N·m (18 lb·in), as stated'))
    """
    words = {text: _ATOM.findall(text) for text in texts}
    if len(words) == 1:
        return Alike(texts[0], ("",) * len(texts))
    all_words = list(words.values())
    first = all_words[0]
    least = min(map(len, all_words))
    head = next((k for k in range(least) if any(one[k] != first[k] for one in all_words)), least)
    room = least - head
    tail = next((k for k in range(room) if any(one[-1 - k] != first[-1 - k] for one in all_words)), room)
    # A list is not parted within, nor a number from what it is of.
    between = [one[head : len(one) - tail] for one in all_words]
    figures = [*first[len(first) - tail :], *(rest[-1] for rest in between if rest)] if tail else []
    if any(_FIGURE.match(atom) for atom in figures) or any(
        atom[-1] in ",;:" for rest in between for atom in rest
    ):
        tail = 0
    common = " ".join([*first[:head], "…", *first[len(first) - tail :]]) if head or tail else ""
    rests = {text: " ".join(one[head : len(one) - tail]) for text, one in words.items()}
    return Alike(common, tuple(rests[text] for text in texts))
