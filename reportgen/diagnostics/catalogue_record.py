"""Codes of findings on what is recorded around a design."""

from __future__ import annotations

from reportgen.diagnostics.entry import Entry

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "as-built",
        "built as calculated",
        "Looks at each correction under `asbuilt`: whether a figure rests on what was built otherwise, whether the inputs were "
        "changed to match, and whether a stretch has the length that was measured.",
        "A binder that was right for the drawing is wrong for what stands there, and nobody sees it on its pages.",
        "Put what was built into the inputs and write `recalculated: yes`, or `affects_calculation: no` where no figure rests on it.",
        "",
        "finding",
        None,
    ),
)
