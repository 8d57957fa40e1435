"""Positions of the modules of each string: inside their array, as many as modules, none taken twice."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping

from reportgen.design.checks.base import Facts, check, unknown
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Missing
from reportgen.design.positions import named, read, spelt, within
from reportgen.diagnostics.model import Span
from reportgen.project.layout import StringPart

_CODE = "string-positions"


@check
def positions(facts: Facts) -> Iterator[Finding]:
    """What the words say against array and count, then string against string; nothing where no positions are stated."""
    taken = _taken(facts)
    for key, string in facts.project.strings.items():
        for number, part in enumerate(facts.project.parts_of(string)):
            if part.positions:
                whole = string.parts[number] if string.parts else string
                mark = str(part.array) if len(string.parts) > 1 else ""
                yield _judged(facts, str(key), part, mark, whole.where("positions"), taken)


def _taken(facts: Facts) -> Mapping[tuple[str, int, int], dict[str, None]]:
    """Strings that take each place of each array, also those whose positions are wrong in another way."""
    found: dict[tuple[str, int, int], dict[str, None]] = defaultdict(dict)
    for key, string in facts.project.strings.items():
        for part in facts.project.parts_of(string):
            for row, column in named(str(part.positions or "")):
                found[str(part.array), row, column][str(key)] = None
    return found


def _judged(
    facts: Facts,
    key: str,
    part: StringPart,
    mark: str,
    place: Span,
    taken: Mapping[tuple[str, int, int], dict[str, None]],
) -> Finding:
    array_id, words = str(part.array), str(part.positions)
    array = facts.project.arrays[array_id]

    def fails(headline: str, cure: str) -> Finding:
        return Finding(_CODE, key, Outcome.FAILS, headline, mark, cure=cure, cure_span=place)

    blocks = read(words)
    if blocks is None:
        what = f"positions of string {key} as rows and columns, for instance `row 1, columns 1-7; row 2, columns 1-4`"
        told = f"positions of string {key} in {array_id}, “{words}”, cannot be read"
        return unknown(_CODE, key, told, [Missing(what, place)], part=mark)
    count = int(part.count)
    many = sum(len(rows) * len(columns) for rows, columns in blocks)
    if many != count:
        told = f"positions of string {key} are {many} {'place' if many == 1 else 'places'} in {array_id}, its modules {count}"
        return fails(told, "correct the positions, or the count")
    if array.rows is None or array.columns is None:
        missing = Missing(f"rows and columns of array {array_id}", array.span)
        told = f"whether {array_id} has the positions of string {key} is not known"
        return unknown(_CODE, key, told, [missing], part=mark)
    rows, columns = int(array.rows), int(array.columns)
    outside = next((block for block in blocks if not within(block, rows, columns)), None)
    if outside is not None:
        told = (
            f"positions of string {key} lie outside {array_id}: rows {_span(outside[0])}, columns {_span(outside[1])},"
            f" and it has {rows} rows and {columns} columns"
        )
        return fails(told, f"name rows 1 to {rows} and columns 1 to {columns}, or correct the array")
    found = spelt(blocks)
    if found is None:
        missing = Missing(f"positions of string {key} in fewer places", place)
        return unknown(_CODE, key, f"positions of string {key} are too many to compare", [missing], part=mark)
    twice = [one for one, times in Counter(found).items() if times > 1]
    if twice:
        row, column = twice[0]
        told = f"positions of string {key} name row {row}, column {column} of {array_id} twice"
        return fails(told, "name each module once")
    shared = [one for one in found if len(taken[array_id, *one]) > 1]
    if shared:
        row, column = shared[0]
        others = dict.fromkeys(name for one in shared for name in taken[array_id, *one] if name != key)
        beside = f" and {len(shared) - 1} more" if len(shared) > 1 else ""
        told = f"strings {key} and {', '.join(others)} both take row {row}, column {column} of {array_id}{beside}"
        return fails(
            told, f"give each module to one string: correct the positions of {key} or of {', '.join(others)}"
        )
    told = f"positions of string {key} are {count} places of {array_id} that no other string takes"
    return Finding(_CODE, key, Outcome.MEETS, told, mark)


def _span(numbers: range) -> str:
    return f"{numbers[0]}" if len(numbers) == 1 else f"{numbers[0]}-{numbers[-1]}"
