"""The cover: what the findings come to in words, and each one that does not meet, all on one page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil

from reportgen.binder.assets import text_width
from reportgen.binder.elements import finding_anchor, margin_text
from reportgen.binder.frame import Frame
from reportgen.design.findings import Finding, Outcome

#: How the cover is set, from roomy to tight: style class, print size [CSS px], how much of each finding is told
#: (see :func:`note`), whether findings of one check share a line.
_WAYS = (
    ("full", 10.67, 2, False),
    ("brief", 10.67, 1, False),
    ("list", 9.6, 0, False),
    ("list", 9.6, 0, True),
)
#: How many of the findings that share a line are named where not all can be.
_NAMED = (10_000, 60, 30, 15, 8, 4, 0)
#: Width of a headline. [CSS px]
_ROW = 365.0
#: Room for findings below a title of no length and without facts, A4; a letter sheet is shorter. [mm]
_ROOM, _SHORTER = 173.0, 15.0


@dataclass(frozen=True, slots=True)
class Line:
    """A finding on the cover, and those of the same check that share its line.

    ``others`` are names with the anchors of their findings; ``unnamed`` counts those for which there is no room.
    """

    outcome: Outcome
    headline: str
    link: str
    margin: str
    place: str
    note: str
    others: tuple[tuple[str, str], ...] = ()
    unnamed: int = 0


@dataclass(frozen=True, slots=True)
class Cover:
    """What stands on the cover about the findings; ``density`` is the style class of the list."""

    verdict: str
    counts: tuple[tuple[Outcome, int], ...]
    density: str
    lines: tuple[Line, ...]


def cover(frame: Frame, findings: Sequence[Finding]) -> Cover:
    """The findings as the cover tells them, worst first, and so that they fit on it.

    With few findings each is told with what is missing or asked; with more, briefly; with very many, those of
    one check share the line of the worst among them and are named under it.
    """
    counts = Counter(finding.outcome for finding in findings)
    open_findings = sorted(
        (finding for finding in findings if finding.outcome is not Outcome.MEETS),
        key=lambda finding: (finding.outcome.rank, finding.margin or 0.0),
    )
    density, lines = _fitted(frame, open_findings)
    return Cover(verdict(counts), tuple((outcome, counts[outcome]) for outcome in Outcome), density, lines)


def _fitted(frame: Frame, findings: Sequence[Finding]) -> tuple[str, tuple[Line, ...]]:
    title = ceil(text_width(frame.title, 36, "display") / 600)
    known = len(frame.facts) + 5 + bool(frame.revision_text)
    room = _ROOM - 10.5 * title - 2.7 * known - (_SHORTER if frame.imperial else 0.0)
    for density, size, told, shared in _WAYS:
        for named in _NAMED:
            lines = tuple(_lines(findings, told, _same_check if shared else _same_words, named))
            if sum(_height(line, size, told) for line in lines) <= room:
                return density, lines
            if not any(line.others for line in lines):
                break
    return density, tuple(_on_one_row(line, size) for line in lines)


def _on_one_row(line: Line, size: float) -> Line:
    """A line cut to one row, with the number of those that share it: the full list has the rest of its words."""
    more = len(line.others) + line.unnamed
    tail = f" … and {more} more" if more else "…"
    if not more and text_width(line.headline, size) <= _ROW:
        return line
    words = line.headline
    while words and text_width(words + tail, size) > _ROW:
        words = words.rpartition(" ")[0]
    return replace(line, headline=words + tail, others=(), unnamed=0)


def _same_words(finding: Finding) -> object:
    return finding.outcome, finding.code, finding.headline


def _same_check(finding: Finding) -> object:
    return finding.outcome, finding.code


def _lines(
    findings: Sequence[Finding], told: int, key: Callable[[Finding], object], named: int
) -> Sequence[Line]:
    together: dict[object, list[Finding]] = {}
    for finding in findings:
        together.setdefault(key(finding), []).append(finding)
    return [_line(first, others, told, named) for first, *others in together.values()]


def _line(first: Finding, others: Sequence[Finding], told: int, named: int) -> Line:
    names = tuple((_name(finding), finding_anchor(finding)) for finding in others)
    return Line(
        first.outcome,
        first.headline,
        finding_anchor(first),
        margin_text(first),
        first.cure_span.short if first.cure_span else "",
        note(first, told),
        names[:named],
        len(names[named:]),
    )


def _name(finding: Finding) -> str:
    return " ".join(part for part in (finding.subject, finding.part) if part)


def _height(line: Line, size: float, told: int) -> float:
    """Height of a line on the cover, estimated from the widths of its texts. [mm]."""
    height = ceil(text_width(line.headline, size) / _ROW) * size * 1.34 * 25.4 / 96
    notes = ceil(text_width(line.note, 9.4) / 360)
    if line.others or line.unnamed:
        words = "and 000 more of this check: " + "; ".join(name for name, _ in line.others)
        notes += ceil(text_width(words, 8.6) / 350)
    return height + (1.6 if told else 0.9) + 3.1 * notes


def note(finding: Finding, told: int) -> str:
    """What the cover says under the headline of a finding: what to state, whom to ask, what to change.

    ``told`` is 2 for all outcomes, 1 for what fails or is missing, 0 for none.
    """
    if told and finding.missing:
        return f"missing: {'; '.join(finding.missing)}"
    if told and finding.outcome is Outcome.FAILS:
        return finding.cure
    if told == 2:
        asked = finding.question.rstrip("?")
        return (
            finding.cure
            if not asked
            else ""
            if asked.lower() in finding.headline.lower()
            else finding.question
        )
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
