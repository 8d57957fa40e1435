"""A word on every chapter of a project whose code has no rulebook here: whose factors and clauses are named on it."""

from __future__ import annotations

from dataclasses import replace

from reportgen.binder.chapters.base import Desk
from reportgen.binder.elements import Caution, Chapter

#: Chapters that print nothing of a code.
_PLAIN = frozenset({"site", "energy", "inputs-printed"})


def foreign(desk: Desk, chapter: Chapter) -> Chapter:
    """Chapter with the word before it, where the edition adopted is not held; else the chapter as it is."""
    rulebook = desk.design.rulebook
    if not rulebook.wanted or chapter.id in _PLAIN:
        return chapter
    word = Caution(
        f"Not the rules of {rulebook.wanted}",
        f"There is no rulebook for {rulebook.wanted} here. Tables, factors, clauses and answers named in this chapter are those "
        f"of {rulebook.edition.short}; they show how a figure is made, and decide nothing.",
        "common practice, no source",
    )
    return replace(chapter, elements=(word, *chapter.elements))
