"""Codes of findings on raceways, boxes and terminals: one entry a check, with the rule it rests on."""

from __future__ import annotations

from reportgen.diagnostics.entry import Entry


def _finding(code: str, title: str, rule: str | None, what: str, why: str, cure: str) -> Entry:
    return Entry(code, title, what, why, cure, "", "finding", rule)


ENTRIES: tuple[Entry, ...] = (
    _finding(
        "raceway-jam",
        "three conductors that can wedge",
        "jam",
        "Compares the bore with the diameter of the wire where a stretch holds three conductors of one size and nothing else.",
        "Three wires that fit side by side across the pipe can wedge at a bend. It is advice, not a limit, and says nothing for any other number or mix.",
        "Use another pipe or wire size, or pull with care and lubricant.",
    ),
)
