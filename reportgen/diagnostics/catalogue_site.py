"""Codes of the plan of the site."""

from __future__ import annotations

from reportgen.diagnostics.entry import Entry

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "course-length",
        "length stated against the course on the plan",
        "Compares the length of a stretch of raceway with that of its course on the plan, its climb counted in and its corners "
        "drawn sharp. They may be apart by the tolerance of the length and by twice the accuracy of the plan.",
        "Wire is cut to the length stated. Where the plan says otherwise, one of the two is wrong, and a wire that is too short "
        "cannot be joined in a pipe.",
        "Measure again, and correct `length`, `rise` or `course`.",
        "site:\n  plan: {origin: corner of the barn, up: 0 deg, accuracy: 0.3 m}\n"
        "raceways:\n  R1:\n    length_tolerance: 1 %\n    segments:\n"
        "      trench: {length: 30 m, course: [{x: 0 m, y: 0 m}, {x: 30 m, y: 0 m}]}",
        "finding",
        None,
    ),
    Entry(
        "course-ends",
        "ends of courses that are one place",
        "Compares where a stretch ends on the plan with where the next one begins, and with the box, switch or inverter that the "
        "raceway names at that end.",
        "A plan with a gap shows a trench where none is; somebody digs by it.",
        "Correct `course` of the stretch or `at` of the device.",
        "boxes:\n  PB:\n    units:\n      PB-1: {at: {x: 30 m, y: 0 m}}",
        "finding",
        None,
    ),
)
