"""Chapters to one self-contained HTML page, which is also what the PDF is laid out from.

Text from data is escaped by the template engine at the one place where it reaches the page; style, drawings and
symbols are the only markup, and the program makes them.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from math import ceil

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from reportgen.binder.assets import FACES, font_uri, template_dir, text_width
from reportgen.binder.elements import (
    CLAUSE_RECALLED,
    RECALLED,
    Blank,
    Chapter,
    Column,
    Element,
    FindingView,
    FormTable,
    Heading,
    Row,
    SourceText,
    Table,
    TableCell,
    WorkingView,
    anchor,
    chapter_anchor,
    finding_anchor,
    finding_view,
)
from reportgen.binder.frame import DISCLAIMER, Frame
from reportgen.design.findings import Finding, Outcome

#: Outcome as a shape beside its word: each has another outline, so a photocopy tells them apart.
SHAPES = {
    Outcome.FAILS: "■",
    Outcome.UNKNOWN: "○",
    Outcome.ASK: "◇",
    Outcome.THIN: "△",
    Outcome.MEETS: "✓",
}
#: What each outcome means, printed once on the cover.
MEANINGS = {
    Outcome.FAILS: "a limit is passed",
    Outcome.UNKNOWN: "an input is missing; never a pass",
    Outcome.ASK: "somebody else decides",
    Outcome.THIN: "meets, with less margin than asked",
    Outcome.MEETS: "within the limit",
}
_GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "Delta": "Δ", "eta": "η", "theta": "θ", "kappa": "κ",
    "lambda": "λ", "mu": "μ", "pi": "π", "rho": "ρ", "sigma": "σ", "tau": "τ", "phi": "φ", "omega": "ω",
}  # fmt: skip
_UPRIGHT = frozenset({"min", "max", "sqrt", "exp", "ceil", "floor", "abs"})
_TOKEN = re.compile(
    r"(?P<number>\d+(?:\.\d+)?(?:e[+\-−]?\d+)?)|(?P<name>[^\W\d_]\w*)|\^(?P<power>\d+(?:\.\d+)?)"
)
_SYMBOL = re.compile(r"(?<![\w.])(?P<base>[^\W\d_])_(?P<below>[A-Za-z0-9,]{1,12})(?!\w)")
_PLAIN_ID = re.compile(r"[A-Za-z][A-Za-z0-9._-]*")
#: Controls, and the marks that turn the direction of text round: a number must never print backwards.
_CONTROLS = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufffe\uffff\ud800-\udfff]"
)
_LONG_WORD = re.compile(r"\S{28}")
#: Text width of a portrait and of a landscape sheet. [CSS px]
_UPRIGHT_WIDTH, _LYING_WIDTH = 642.0, 978.0
_SIZES = ((10.67, ""), (9.33, "dense"))


def clean(value: object) -> object:
    """Text without control characters; a sign in their place shows that there was one."""
    if isinstance(value, Markup) or not isinstance(value, str):
        return value
    return _CONTROLS.sub("\ufffd", value)


def symbols(text: str) -> Markup:
    """A formula as it is typeset: letters slanted, indices below the line, powers above it.

    Examples
    --------
    >>> symbols("N * V_oc")
    Markup('<var>N</var> * <var>V</var><sub>oc</sub>')
    """
    parts, end = [], 0
    for match in _TOKEN.finditer(text):
        parts.append(escape(clean(text[end : match.start()])))
        parts.append(_token(match))
        end = match.end()
    return Markup("").join([*parts, escape(clean(text[end:]))])


def _token(match: re.Match[str]) -> Markup:
    if power := match["power"]:
        return Markup("<sup>{}</sup>").format(power)
    if number := match["number"]:
        mantissa, _, exponent = number.partition("e")
        if not exponent:
            return escape(number)
        shown = str(int(exponent.replace("−", "-"))).replace("-", "−")
        return Markup("{} × 10<sup>{}</sup>").format(mantissa, shown)
    name = match["name"]
    if name in _UPRIGHT:
        return escape("√" if name == "sqrt" else name)
    base, _, below = name.partition("_")
    shown = Markup("<var>{}</var>").format(_GREEK.get(base, base))
    return shown + Markup("<sub>{}</sub>").format(below.replace("_", ",")) if below else shown


def symbolic(text: str) -> Markup:
    """Words in which a symbol such as ``V_oc`` prints with its index below the line; all else stays as it is.

    Examples
    --------
    >>> symbolic("V_oc at record low")
    Markup('<var>V</var><sub>oc</sub> at record low')
    """
    parts, end = [], 0
    for match in _SYMBOL.finditer(text):
        parts.append(escape(clean(text[end : match.start()])))
        parts.append(Markup("<var>{}</var><sub>{}</sub>").format(match["base"], match["below"]))
        end = match.end()
    return Markup("").join([*parts, escape(clean(text[end:]))])


def css_string(text: str) -> Markup:
    """A text as a string of a style sheet; everything but plain letters and digits is escaped."""
    # The space after an escape belongs to it, so that a letter or a space that follows is not taken in.
    safe = "".join(
        c if c.isascii() and (c.isalnum() or c == " ") else f"\\{ord(c):x} " for c in str(clean(text))
    )
    return Markup('"{}"').format(safe)


def identifier(text: str) -> str:
    """A text as an id: itself where it is one, else with everything else escaped."""
    return text if _PLAIN_ID.fullmatch(text) else anchor("x", text)


def long(text: str) -> bool:
    """Whether a word is so long that it may be broken anywhere."""
    return _LONG_WORD.search(text) is not None


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
            "cover_note": cover_note,
            "symbolic": symbolic,
            "css": css_string,
            "ident": identifier,
            "fitted": _fitted,
            "text": _cell_text,
            "column_groups": _column_groups,
            "row_groups": lambda rows: [
                (name, list(run)) for name, run in groupby(rows, key=lambda row: row.group)
            ],
            "kind": _kind,
        }
    )
    env.tests |= {"long": long}
    env.globals |= {
        "SHAPES": SHAPES,
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
    ordered = sorted(findings, key=lambda finding: finding.outcome.rank)
    counts = Counter(finding.outcome for finding in findings)
    known = frozenset(anchors(chapters))
    env = environment()
    module = env.get_template("elements.html").make_module({"known": known})
    open_findings = [finding_view(finding) for finding in ordered if finding.outcome is not Outcome.MEETS]
    return env.get_template("binder.html").render(
        frame=frame,
        style=style(),
        parts=module,
        known=known,
        verdict=verdict(counts),
        counts=[(outcome, counts[outcome]) for outcome in Outcome],
        open_findings=open_findings,
        met=counts[Outcome.MEETS],
        register=next((chapter_anchor(c.id) for c in chapters if c.id == "findings"), ""),
        density=_density(frame, open_findings),
        chapters=[_numbered(i, chapter) for i, chapter in enumerate(chapters, 1)],
    )


def _density(frame: Frame, findings: Sequence[FindingView]) -> str:
    """How much of each open finding the cover tells, so that all of them fit on its page."""
    title = max(1.0, text_width(frame.title, 36, "display") / 600)
    free = 182.0 - 10.5 * title - 2.7 * (len(frame.facts) + 5)
    for name, size, told in (("full", 10.67, 2), ("brief", 10.67, 1), ("list", 9.6, 0)):
        line = size * 1.42 * 25.4 / 96
        needed = 0.0
        for view in findings:
            lines = ceil(text_width(view.headline, size) / 365)
            note = cover_note(view, told)
            needed += lines * line + (1.6 if told else 0.9) + 3.1 * ceil(text_width(note, 9.4) / 360)
        if needed <= free:
            return name
    return "list"


def cover_note(view: FindingView, told: int) -> str:
    """What the cover says under the headline of a finding: what to state, whom to ask, what to change.

    ``told`` is 2 for all outcomes, 1 for what fails or is missing, 0 for none.
    """
    if told and view.missing:
        return f"missing: {'; '.join(view.missing)}"
    if told and view.outcome is Outcome.FAILS:
        return view.cure
    if told == 2:
        asked = view.question.rstrip("?")
        return view.cure if not asked else "" if asked.lower() in view.headline.lower() else view.question
    return ""


def verdict(counts: Counter[Outcome]) -> str:
    """What the findings come to, in words.

    Examples
    --------
    >>> verdict(Counter({Outcome.MEETS: 3, Outcome.UNKNOWN: 1}))
    'Nothing fails, 1 is unknown'
    >>> verdict(Counter())
    'Nothing was checked'
    """
    if not counts.total():
        return "Nothing was checked"
    fails = counts[Outcome.FAILS]
    first = f"{fails} {'check fails' if fails == 1 else 'checks fail'}" if fails else "Nothing fails"
    unknown = counts[Outcome.UNKNOWN]
    return f"{first}, {unknown} {'is' if unknown == 1 else 'are'} unknown" if unknown else first


def _numbered(number: int, chapter: Chapter) -> Numbered:
    found = Counter(element.outcome for element in chapter.elements if isinstance(element, FindingView))
    found += Counter(
        cell.outcome
        for element in chapter.elements
        if isinstance(element, Table)
        for row in element.rows
        for cell in row.cells
        if cell.outcome
    )
    counts = {outcome: found[outcome] for outcome in Outcome if found[outcome]}
    return Numbered(number, chapter_anchor(chapter.id), chapter, tuple(_parts(chapter)), counts)


def _parts(chapter: Chapter) -> Iterator[Part]:
    """Runs of elements by direction of the sheet; headings go with what follows them."""
    run: list[Element] = []
    wide = chapter.landscape
    heads: list[Element] = []
    for element in chapter.elements:
        if isinstance(element, Heading):
            heads.append(element)
            continue
        lies = chapter.landscape or (
            isinstance(element, Table | FormTable) and element.wide and not fit(element).upright
        )
        if lies != wide and run:
            yield Part(wide, tuple(run))
            run = []
        wide = lies
        run += [*heads, element]
        heads = []
    run += heads
    if run:
        yield Part(wide, tuple(run))


@dataclass(frozen=True, slots=True)
class Fit:
    """How a table is set: upright or not, class of its print size, columns whose texts keep to one line."""

    upright: bool
    size: str
    unbroken: frozenset[int]


def fit(table: Table | FormTable) -> Fit:
    """How a table is set, judged by the widths of its words and texts.

    It stands upright in the largest print in which the longest word of each column fits and the fullest rows do
    not run to many lines. Columns that need the least more for it then keep their texts on one line.
    """
    for size, name in _SIZES:
        least, most = _natural_widths(table, size)
        if (
            sum(least) <= 0.98 * _UPRIGHT_WIDTH
            and sum(min(width, 260.0) for width in most) <= 1.45 * _UPRIGHT_WIDTH
        ):
            return Fit(True, name, _unbroken(least, most, _UPRIGHT_WIDTH))
    least, most = _natural_widths(table, _SIZES[0][0])
    return Fit(False, "", _unbroken(least, most, _LYING_WIDTH))


def _natural_widths(table: Table | FormTable, size: float) -> tuple[list[float], list[float]]:
    """Width of the longest word and of the longest text of each column, padding included [CSS px].

    A short text, ``8 AWG`` for instance, counts as one word, and so does the name of a row.
    """
    least, most = [], []
    padding = 1.15 * size + 1
    for i, column in enumerate(table.columns):
        texts = [_cell_text(cells[i]) for cells in _cells(table)]
        words = [
            word for text in (*texts, column.title, column.unit) for word in text.split() if not long(word)
        ]
        longest = max((text_width(word, size, "semibold") for word in words), default=0.0)
        widest = max((text_width(text, size, "semibold") for text in texts), default=0.0)
        least.append(longest + padding)
        most.append(max(longest, widest) + padding)
    return least, most


def _unbroken(least: Sequence[float], most: Sequence[float], room: float) -> frozenset[int]:
    left = max(0.0, 0.97 * room - sum(least))
    kept = set()
    for i in sorted(range(len(least)), key=lambda i: (most[i] - least[i], i)):
        left -= most[i] - least[i]
        if left < 0:
            break
        kept.add(i)
    return frozenset(kept)


def _column_groups(columns: Sequence[Column]) -> list[dict[str, object]]:
    runs = [(name, list(run)) for name, run in groupby(columns, key=lambda column: column.group)]
    return [{"group": name, "count": len(run)} for name, run in runs]


def _row_groups(rows: Sequence[Row]) -> list[tuple[str, list[Row]]]:
    return [(name, list(run)) for name, run in groupby(rows, key=lambda row: row.group)]


@dataclass(frozen=True, slots=True)
class Fitted:
    """Style classes of a table and of each of its columns."""

    size: str
    classes: tuple[str, ...]


def _fitted(table: Table | FormTable) -> Fitted:
    found = fit(table)
    classes = tuple(
        " ".join(
            name for name, holds in (("num", column.align == "right"), ("one", i in found.unbroken)) if holds
        )
        for i, column in enumerate(table.columns)
    )
    return Fitted(found.size, classes)


def _kind(element: object) -> str:
    return type(element).__name__


def _cells(table: Table | FormTable) -> Iterable[Sequence[str | TableCell | Blank]]:
    return (row.cells for row in table.rows) if isinstance(table, Table) else table.rows


def _cell_text(cell: str | TableCell | Blank) -> str:
    match cell:
        case TableCell(text, outcome):
            return f"■ {outcome} {text}" if outcome else text
        case Blank(tick=tick):
            return "" if tick else "00000000"
    return cell


def anchors(chapters: Iterable[Chapter]) -> Iterator[str]:
    """Every place of the binder that a link can point at, repeated where two things share a name."""
    for chapter in chapters:
        yield chapter_anchor(chapter.id)
        for element in chapter.elements:
            match element:
                case Heading(anchor=place) if place:
                    yield place
                case Table():
                    yield identifier(element.id)
                    yield from (row.anchor for row in element.rows if row.anchor)
                case WorkingView():
                    yield element.id
                    yield from (step.id for step in element.steps)
                case FindingView(id=place):
                    yield place
                case FormTable(id=place) | SourceText(id=place) if place:
                    yield identifier(place)


def links(chapters: Iterable[Chapter], findings: Iterable[Finding] = ()) -> Iterator[str]:
    """Every anchor that something in the binder points at."""
    for chapter in chapters:
        for element in chapter.elements:
            match element:
                case Table():
                    yield from (cell.link for row in element.rows for cell in row.cells if cell.link)
                case WorkingView():
                    yield from (term.link for step in element.steps for term in step.terms if term.link)
                case FindingView(working=place) if place:
                    yield place
    yield from (finding_anchor(finding) for finding in findings if finding.outcome is not Outcome.MEETS)


def faults(chapters: Sequence[Chapter], findings: Sequence[Finding] = ()) -> tuple[str, ...]:
    """What is wrong with the names in a binder: links to nowhere, names given twice; for tests.

    A page with such a fault can still be read: a link to nowhere prints as plain text.
    """
    places = Counter(anchors(chapters))
    twice = tuple(f"`{place}` is given {count} times" for place, count in places.items() if count > 1)
    nowhere = dict.fromkeys(place for place in links(chapters, findings) if place not in places)
    return (*twice, *(f"`{place}` is linked to and does not exist" for place in nowhere))
