"""What rests on each printed line of the inputs: links lead from there to the line, and from the line back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from reportgen.binder.elements import Element, FindingView, LineUse, SourceText, Table, line_anchor

#: Most workings that a line names; how many more there are is told.
_NAMED = 4


def line_uses(elements: Iterable[Element], workings: Iterable[tuple[str, str, str]]) -> Mapping[str, LineUse]:
    """What leads to each line, by the anchor of the line.

    Parameters
    ----------
    elements : iterable of Element
        Findings told in full name their lines, and cells of tables may link to one.
    workings : iterable of (str, str, str)
        Anchor of the line of a number typed in, number and anchor of the line of working that it goes into.
    """
    into: dict[str, dict[str, str]] = {}
    for place, number, anchor in workings:
        into.setdefault(place, {})[number] = anchor
    worst: dict[str, FindingView] = {}
    for element in elements:
        if isinstance(element, FindingView):
            for place in filter(None, map(line_anchor, (*element.places, element.cure_place))):
                known = worst.get(place)
                if known is None or element.outcome.rank < known.outcome.rank:
                    worst[place] = element
        elif isinstance(element, Table):
            for row in element.rows:
                for cell in row.cells:
                    if cell.link.startswith("line-"):
                        into.setdefault(cell.link, {})
    return {
        place: LineUse(
            finding.outcome if (finding := worst.get(place)) else None,
            finding.id if finding else "",
            tuple(into.get(place, {}).items())[:_NAMED],
            max(len(into.get(place, {})) - _NAMED, 0),
        )
        for place in dict.fromkeys((*into, *worst))
    }


def printed(elements: Iterable[Element], used: Mapping[str, LineUse]) -> Iterator[Element]:
    """The elements, each printed file with what leads to its lines."""
    for element in elements:
        if isinstance(element, SourceText):
            uses = {
                number: used[place]
                for number in range(1, len(element.lines) + 1)
                if (place := element.anchor(number)) in used
            }
            yield replace(element, uses=uses)
        else:
            yield element
