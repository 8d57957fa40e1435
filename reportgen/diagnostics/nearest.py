"""The word that was probably meant."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

#: Longer words are no misspelt names, and comparing them costs time.
_LONGEST = 60


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Known word closest to the one written, upper and lower case alike; None where none is close.

    Examples
    --------
    >>> nearest("azimut", ["tilt", "azimuth"])
    'azimuth'
    >>> nearest("EST", ["WEST", "EAST"])
    'EAST'
    >>> nearest("colour", ["tilt", "azimuth"]) is None
    True
    """
    if len(word) > _LONGEST:
        return None
    by_lower = {_plain(candidate): candidate for candidate in reversed([*known])}
    wanted = _plain(word)
    found = difflib.get_close_matches(wanted, by_lower, n=4, cutoff=0.7)
    if not found:
        return None
    likeness = difflib.SequenceMatcher(None, "", wanted)
    ratios = []
    for candidate in found:
        likeness.set_seq1(candidate)
        ratios.append(likeness.ratio())
    # Of equally near words the one with the same first letter: people leave letters out rather than begin wrongly.
    best = [name for name, ratio in zip(found, ratios, strict=True) if ratio == max(ratios)]
    return by_lower[next((name for name in best if name[:1] == wanted[:1]), best[0])]


def _plain(word: str) -> str:
    return word.lower().replace("-", "_").replace(" ", "_")


def listing(words: Iterable[str], most: int = 12) -> str:
    """Words in backticks, cut short where there are many.

    Examples
    --------
    >>> listing(["a", "b", "c"], most=2)
    '`a`, `b`, …'
    """
    shown = [*words]
    cut = [f"`{word}`" for word in shown[:most]]
    return ", ".join([*cut, "…"] if len(shown) > most else cut)
