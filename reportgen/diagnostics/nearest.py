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
    >>> nearest("colour", ["tilt", "azimuth"]) is None
    True
    """
    if len(word) > _LONGEST:
        return None
    by_lower = {_plain(candidate): candidate for candidate in reversed([*known])}
    found = difflib.get_close_matches(_plain(word), by_lower, n=1, cutoff=0.7)
    return by_lower[found[0]] if found else None


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
