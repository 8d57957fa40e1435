"""Chapters to one self-contained HTML page, which is also what the PDF is laid out from.

Text from data is escaped by the template engine at the one place where it reaches the page; style, drawings and
symbols are the only markup, and the program makes them.
"""

from __future__ import annotations

from base64 import b64encode
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from itertools import groupby, pairwise

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from reportgen.binder.assets import FACES, font_uri, template_dir
from reportgen.binder.cells import SHAPES, Marker, blank_mark, outcome_mark
from reportgen.binder.cover import cover
from reportgen.binder.drawings.svg import in_black
from reportgen.binder.elements import (
    CLAUSE_RECALLED,
    RECALLED,
    Caution,
    Chapter,
    Column,
    Element,
    EntryTable,
    Figure,
    FindingList,
    FindingView,
    FormTable,
    Heading,
    Paragraph,
    Pointers,
    SourceText,
    Table,
    TaskCard,
    WorkingTable,
    anchor,
    chapter_anchor,
    finding_anchor,
    line_anchor,
)
from reportgen.binder.fields import field_names
from reportgen.binder.fitting import fit
from reportgen.binder.frame import DISCLAIMER, Frame
from reportgen.binder.typeset import clean, css_string, identifier, long, symbolic, symbols, tied
from reportgen.binder.working_tables import gathered
from reportgen.design.findings import Finding, Outcome
from reportgen.working.collector import uncollected

#: What each outcome means, printed once on the cover.
MEANINGS = {
    Outcome.FAILS: "a limit is passed",
    Outcome.UNKNOWN: "an input is missing; never a pass",
    Outcome.ASK: "somebody else decides",
    Outcome.THIN: "meets, with less margin than asked",
    Outcome.MEETS: "within the limit",
}


@cache
def environment() -> Environment:
    """The template engine: everything escaped, nothing undefined, templates compiled once a process."""
    env = Environment(
        loader=FileSystemLoader(template_dir()),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=clean,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    env.filters.update(
        {
            "symbols": symbols,
            "symbolic": symbolic,
            "css": css_string,
            "ident": identifier,
            "fitted": fit,
            "column_groups": _column_groups,
            "tied": tied,
            "kind": _kind,
            "line_anchor": line_anchor,
            "black": in_black,
        }
    )
    env.tests |= {"long": long}
    env.globals |= {
        "SHAPES": SHAPES,
        "outcome_mark": outcome_mark,
        "blank_mark": blank_mark,
        "field_names": field_names,
        "MEANINGS": MEANINGS,
        "DISCLAIMER": DISCLAIMER,
        "RECALLED": RECALLED,
        "CLAUSE_RECALLED": CLAUSE_RECALLED,
        "Outcome": Outcome,
    }
    return env


@cache
def style() -> Markup:
    """The style of every page, fonts included."""
    faces = "".join(
        f'@font-face{{font-family:"{family}";font-weight:{weight};font-style:{slant};'
        f"src:url({font_uri(name)}) format('woff2')}}"
        for name, family, weight, slant in FACES
    )
    sheets = ("base.css", "screen.css", "print.css")
    return Markup(faces + "".join((template_dir() / "style" / name).read_text("utf-8") for name in sheets))


@cache
def script() -> Markup:
    """The one script of a page: filters of tables on a screen."""
    return Markup((template_dir() / "binder.js").read_text("utf-8"))


@cache
def script_hash() -> Markup:
    """What a page's policy names its script by; no other script runs in it."""
    return Markup(f"sha256-{b64encode(sha256(script().encode()).digest()).decode('ascii')}")


@dataclass(frozen=True, slots=True)
class Part:
    """Elements of a chapter that print on sheets of one direction."""

    wide: bool
    elements: tuple[Element, ...]


@dataclass(frozen=True, slots=True)
class Numbered:
    """A chapter with its number and the outcomes found in it."""

    number: int
    id: str
    chapter: Chapter
    parts: tuple[Part, ...]
    counts: dict[Outcome, int]


def render(frame: Frame, chapters: Sequence[Chapter], findings: Sequence[Finding]) -> str:
    """The whole binder as one HTML page that needs no other file.

    Parameters
    ----------
    frame : Frame
        What every sheet says about itself.
    chapters : sequence of Chapter
        In the order of printing.
    findings : sequence of Finding
        All of them; those that do not meet are listed on the cover, worst first.
    """
    # Half a million short-lived objects, none of them in a ring: the search for rings would take a fifth of the time.
    with uncollected():
        return _rendered(frame, gathered(chapters, findings), findings)


def _rendered(frame: Frame, chapters: Sequence[Chapter], findings: Sequence[Finding]) -> str:
    marker = Marker(frozenset(_places(chapters)))
    env = environment()
    module = env.get_template("elements.html").make_module({"marker": marker})
    return env.get_template("binder.html").render(
        frame=frame,
        style=style(),
        script=script(),
        script_hash=script_hash(),
        parts=module,
        marker=marker,
        cover=cover(frame, findings),
        met=sum(finding.outcome is Outcome.MEETS for finding in findings),
        register=next((chapter_anchor(c.id) for c in chapters if c.id == "findings"), ""),
        chapters=[numbered(i, chapter) for i, chapter in enumerate(chapters, 1)],
    )


def numbered(number: int, chapter: Chapter) -> Numbered:
    """A chapter ready for a template: its elements by sheets, its outcomes counted."""
    found = Counter(element.outcome for element in chapter.elements if isinstance(element, FindingView))
    found += Counter(
        cell.outcome
        for element in chapter.elements
        if isinstance(element, Table) and not element.trial
        for row in element.rows
        for cell in row.cells
        if cell.outcome
    )
    for element in chapter.elements:
        if isinstance(element, FindingList):
            found[element.outcome] += sum(len(group.items) for group in element.groups)
    counts = {outcome: found[outcome] for outcome in Outcome if found[outcome]}
    return Numbered(number, chapter_anchor(chapter.id), chapter, tuple(_parts(chapter)), counts)


def _parts(chapter: Chapter) -> Iterator[Part]:
    """Runs of elements by direction of the sheet."""
    lies = _lying(chapter)
    for wide, run in groupby(zip(lies, chapter.elements, strict=True), key=lambda pair: pair[0]):
        yield Part(wide, tuple(element for _, element in run))


def _lying(chapter: Chapter) -> list[bool]:
    """Which elements lie on landscape sheets: tables that need it, and what would stand lost between them.

    A table that may lie joins a neighbour that must; words between the two, and a heading before a table, go
    with the table.
    """
    elements = chapter.elements
    if chapter.landscape:
        return [True] * len(elements)
    tables = [i for i, element in enumerate(elements) if isinstance(element, Table | FormTable)]
    lies = [_lies(element) for element in elements]
    for here, there in (*pairwise(tables), *pairwise(reversed(tables))):
        between = elements[min(here, there) + 1 : max(here, there)]
        near = all(isinstance(element, Paragraph | Caution | Heading) for element in between)
        joins = elements[there]
        if lies[here] and near and isinstance(joins, Table | FormTable) and joins.wide:
            lies[there] = True
    for i in reversed(range(len(elements))):
        words = isinstance(elements[i], Paragraph | Caution | Heading)
        if words and i + 1 < len(elements) and lies[i + 1]:
            lies[i] = (
                isinstance(elements[i], Heading) or i in range(_first(tables)) or _within(i, tables, lies)
            )
    return lies


def _lies(element: Element) -> bool:
    if isinstance(element, Figure):
        return element.wide
    return isinstance(element, Table | FormTable) and element.wide and not fit(element).upright


def _first(tables: Sequence[int]) -> int:
    return tables[0] if tables else 0


def _within(place: int, tables: Sequence[int], lies: Sequence[bool]) -> bool:
    """Whether the table before a place lies too."""
    before = [i for i in tables if i < place]
    return bool(before) and lies[before[-1]]


def _column_groups(columns: Sequence[Column]) -> list[dict[str, object]]:
    runs = [(name, list(run)) for name, run in groupby(columns, key=lambda column: column.group)]
    return [{"group": name, "count": len(run)} for name, run in runs]


def _kind(element: object) -> str:
    return type(element).__name__


def _flat(elements: Iterable[Element]) -> Iterator[Element]:
    """Elements, those inside a card behind it."""
    for element in elements:
        yield element
        if isinstance(element, TaskCard):
            yield from element.elements


def anchors(chapters: Sequence[Chapter]) -> Iterator[str]:
    """Every place of the binder that a link can point at, repeated where two things share a name."""
    return _places(gathered(chapters))


def _places(chapters: Iterable[Chapter]) -> Iterator[str]:
    for chapter in chapters:
        yield chapter_anchor(chapter.id)
        # A figure on a card is a copy of one in the chapter and no place of its own.
        yield from (identifier(one.id) for one in chapter.elements if isinstance(one, Figure) and one.id)
        for element in _flat(chapter.elements):
            match element:
                case TaskCard(id=place):
                    yield identifier(place)
                case Heading(anchor=place) if place:
                    yield place
                case Table():
                    yield identifier(element.id)
                    yield from (row.anchor for row in element.rows if row.anchor)
                case WorkingTable(id=place, table=table):
                    yield place
                    yield from (row.anchor for row in table.rows) if table else ()
                case FindingView(id=place):
                    yield place
                case EntryTable():
                    yield identifier(element.id)
                    yield from (one.anchor for row in element.rows for one in row.entries if one.anchor)
                case FindingList():
                    yield identifier(element.id)
                    yield from (item.anchor for group in element.groups for item in group.items)
                case FormTable(id=place) if place:
                    yield identifier(place)
                case SourceText(id=place):
                    yield from (identifier(place),) if place else ()
                    yield from map(element.anchor, element.uses)


def links(chapters: Sequence[Chapter], findings: Sequence[Finding] = ()) -> Iterator[str]:
    """Every anchor that something in the binder points at; rows of the appendix and lines of files that it has."""
    appendix = any(chapter.id == "references" for chapter in chapters)
    absent = () if appendix else ("cell-", "rule-")
    files = tuple(
        anchor("line", element.title, "")
        for chapter in chapters
        for element in chapter.elements
        if isinstance(element, SourceText)
    )
    for place in _targets(chapters, findings):
        if place.startswith(files if place.startswith("line-") else "") and not place.startswith(absent):
            yield place
    yield from (finding_anchor(finding) for finding in findings if finding.outcome is not Outcome.MEETS)


def _targets(chapters: Sequence[Chapter], findings: Sequence[Finding]) -> Iterator[str]:
    for chapter in gathered(chapters, findings):
        for element in _flat(chapter.elements):
            match element:
                case Table():
                    yield from (cell.link for row in element.rows for cell in row.cells if cell.link)
                case WorkingTable(given=given, table=table, rule=rule):
                    yield from (place for term in given for place in (term.link, term.origin) if place)
                    yield from (rule,) if rule else ()
                    yield from (c.link for row in table.rows for c in row.cells if c.link) if table else ()
                case FindingView(working=working, rule=rule):
                    yield from (place for place in (working, rule) if place)
                    yield from filter(None, map(line_anchor, (*element.places, element.cure_place)))
                case SourceText(uses=uses):
                    yield from (use.finding for use in uses.values() if use.outcome)
                    yield from (place for use in uses.values() for _, place in use.workings)
                case Pointers(links=pointed):
                    yield from (identifier(place) for _, place in pointed)
                case EntryTable(rows=rows):
                    yield from (one.link for row in rows for one in row.entries if one.link)
                case FindingList(groups=groups):
                    yield from (group.rule for group in groups if group.rule)
                    yield from (item.link for group in groups for item in group.items if item.link)


def faults(chapters: Sequence[Chapter], findings: Sequence[Finding] = ()) -> tuple[str, ...]:
    """What is wrong with the names in a binder: links to nowhere, names given twice; for tests.

    A page with such a fault can still be read: a link to nowhere prints as plain text.
    """
    places = Counter(anchors(chapters))
    twice = tuple(f"`{place}` is given {count} times" for place, count in places.items() if count > 1)
    nowhere = dict.fromkeys(place for place in links(chapters, findings) if place not in places)
    return (*twice, *(f"`{place}` is linked to and does not exist" for place in nowhere))
