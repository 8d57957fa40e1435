"""Plans of the arrays, and what keeps a plan from being drawn."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from reportgen.binder.chapters.base import Desk
from reportgen.binder.drawings.array_plan import MOST, PlanString, array_plan, letter
from reportgen.binder.elements import Element, Heading, Paragraph
from reportgen.design.positions import one_place, places


def plans(desk: Desk) -> Iterator[Element]:
    """A plan of each array that stands, or a line that says what it lacks."""
    project = desk.design.project
    carried: dict[str, list[str]] = defaultdict(list)
    for name, circuit in project.circuits.items():
        carried[str(circuit.string or "")].append(str(name))
    made: list[Element] = []
    for key, array in project.arrays.items():
        if str(array.status) == "removed":
            continue
        if array.rows is None or array.columns is None:
            made.append(Paragraph(f"Array {key} is not drawn: its rows and columns are not stated."))
            continue
        rows, columns = int(array.rows), int(array.columns)
        if not (1 <= rows <= MOST and 1 <= columns <= MOST):
            made.append(Paragraph(f"Array {key} is not drawn: a plan holds 1 to {MOST} rows and columns."))
            continue
        drawn: list[PlanString] = []
        left: list[str] = []
        homes: list[str] = []
        for number, (id, string) in enumerate(project.strings.items()):
            for part in project.parts_of(string):
                if part.array != key:
                    continue
                found = places(str(part.positions or ""), rows, columns)
                count = int(part.count)
                if found is None or len(found) != count:
                    left.append(str(id))
                    continue
                told = f"string {id}, {count} modules here, input {string.input or 'not stated'}"
                ends = (one_place(str(end or "")) for end in (part.positive_at, part.negative_at))
                drawn.append(PlanString(letter(number), told, found, *ends))
                homes += carried[str(id)]
        made.append(
            array_plan(
                str(key),
                rows,
                columns,
                drawn,
                str(array.home_runs_leave or ""),
                ", ".join(dict.fromkeys(homes)),
            )
        )
        if left:
            made.append(
                Paragraph(
                    f"Not in the plan of {key}: {', '.join(left)}. The positions are not stated, cannot be read as "
                    "`row 1, columns 1-7; row 2, columns 1-4`, lie outside the array, or are not as many as its modules."
                )
            )
    if made:
        yield Heading("Plans of the arrays")
        yield Paragraph(
            "Seen from the front, row 1 at the top. Where an end of a string has no sign, or home runs no side, nobody has "
            "stated it: mark it here when it is found."
        )
        yield from made
