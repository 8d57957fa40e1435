"""Workings of a chapter as tables: a formula once with its clause, then a line for each thing it is worked out for.

Chapters show workings one by one (:class:`~reportgen.binder.elements.WorkingView`). On the page the steps of all of
them that share a formula stand in one table: what is the same for every line is said once above it, what differs is a
column, and each line keeps its anchor. Every line has a number of its own through the whole binder, ``5.12`` being the
twelfth of chapter 5, and a number that was worked out names the line it comes from.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from reportgen.binder.abreast import abreast
from reportgen.binder.alike import Alike, alike
from reportgen.binder.elements import (
    Chapter,
    Column,
    Element,
    FindingList,
    FindingView,
    Heading,
    Paragraph,
    Row,
    Table,
    TableCell,
    WorkingStep,
    WorkingTable,
    WorkingTerm,
    WorkingView,
    finding_anchor,
)
from reportgen.binder.line_uses import line_uses, printed
from reportgen.design.findings import Finding

#: Printed over the workings of a chapter.
KEY = (
    "[5.12] line 12 of chapter 5 · :9 line 9 of the file in the head · a letter: source under the table · "
    "recalled: check the adopted code"
)
#: Words of a name that hold a capital, a digit or a stroke name a thing and not a kind.
_ID = re.compile(r"[A-Z0-9/]")
#: A source no longer than this stands under its number, a longer one once under the table. [letters]
_SHORT = 24
#: Lines that stand one by one where more numbers than this differ.
_FEW, _MANY = 3, 6
#: Most columns of numbers put in that a narrow table has.
_NARROW = 2
#: Most subjects that a line names when they share it.
_NAMED = 6
_PLACE = re.compile(r"([^\s,:]+):\d+")
_LETTERS = "abcdefghijklmnopqrstuvwxyz"


@dataclass(slots=True)
class _Line:
    """One step on its way to a table; ``subjects`` grows by those that share it."""

    view: WorkingView
    step: WorkingStep
    last: bool
    subjects: list[str]
    number: str = ""

    @property
    def anchor(self) -> str:
        return self.view.id if self.last else self.step.id


#: All lines of a chapter, by formula.
_Groups = list[list[_Line]]


def gathered(chapters: Sequence[Chapter], findings: Iterable[Finding] = ()) -> tuple[Chapter, ...]:
    """The chapters with their workings in tables, where the first working of each chapter stood.

    Parameters
    ----------
    chapters : sequence of Chapter
        In the order of printing, which numbers the lines.
    findings : iterable of Finding
        A line that was judged says against what, with which outcome, and leads back to the finding.
    """
    sheets = [_grouped(chapter, number) for number, chapter in enumerate(chapters, 1)]
    numbers: dict[str, str] = {}
    for groups in sheets:
        for line in (line for group in groups for line in group):
            numbers[line.step.id] = line.number
            numbers[line.anchor] = line.number
    judged = _judged(chapters, findings)
    used = line_uses(
        (element for chapter in chapters for element in chapter.elements),
        (
            (term.origin, line.number, line.anchor)
            for groups in sheets
            for group in groups
            for line in group
            for term in line.step.terms
            if term.kind == "input" and term.origin
        ),
    )
    return tuple(
        replace(chapter, elements=tuple(printed(_placed(chapter, groups, numbers, judged), used)))
        for chapter, groups in zip(chapters, sheets, strict=True)
    )


def _placed(
    chapter: Chapter, groups: _Groups, numbers: Mapping[str, str], judged: Mapping[str, list[Finding]]
) -> Iterator[Element]:
    """Elements of a chapter, all its tables of workings in place of the first working."""
    due = True
    for element, follower in zip(chapter.elements, (*chapter.elements[1:], None), strict=True):
        if not isinstance(element, WorkingView):
            # A heading over workings that all stand in earlier chapters would stand over nothing.
            if groups or not (isinstance(element, Heading) and isinstance(follower, WorkingView)):
                yield element
        elif due:
            due = False
            if any(len(group) > 1 or any(line.view.recalled for line in group) for group in groups):
                yield Paragraph(KEY, small=True)
            yield from abreast(
                [
                    _table(f"workings-{chapter.id}-{number}", group, numbers, judged)
                    for number, group in enumerate(groups, 1)
                ]
            )


def _grouped(chapter: Chapter, number: int) -> _Groups:
    """Lines of a chapter: by formula and by what kind of thing they are, in order of appearance."""
    kinds: dict[object, dict[str, list[_Line]]] = {}
    places: dict[str, _Line] = {}
    for view in chapter.elements:
        if not isinstance(view, WorkingView):
            continue
        if not view.steps and (line := places.get(view.id)) is not None:
            line.subjects.append(view.subject)
        for k, step in enumerate(view.steps, 1):
            line = _Line(view, step, k == len(view.steps), [view.subject] if view.subject else [])
            places[line.anchor] = line
            units = tuple(term.unit for term in step.terms)
            result = tuple(text.rsplit(" ", 1)[-1] if " " in text else "" for text in step.results)
            kinds.setdefault((step.symbols, units, result), {}).setdefault(_kind(step.name), []).append(line)
    groups: _Groups = []
    for by_name in kinds.values():
        groups += [lines for lines in by_name.values() if len(lines) > 1]
        # What stands alone under its name is put together with others of the same formula.
        alone = [lines[0] for lines in by_name.values() if len(lines) == 1]
        groups += [alone] if alone else []
    # A few lines with very many numbers each are read better one by one than in a table of slivers.
    groups = [
        part
        for lines in groups
        for part in (
            [[line] for line in lines] if _columns(lines) > _MANY and len(lines) <= _FEW else [lines]
        )
    ]
    order = {id(line): k for k, line in enumerate(places.values())}
    # Narrow tables first, then the others, then single lines: two stand abreast only where nothing is between them.
    groups.sort(key=lambda lines: (len(lines) == 1, _columns(lines) > _NARROW, order[id(lines[0])]))
    for k, line in enumerate((line for group in groups for line in group), 1):
        line.number = f"{number}.{k}"
    return groups


def _columns(lines: Sequence[_Line]) -> int:
    """Columns that differ from line to line."""
    if len(lines) == 1:
        return 0
    terms = zip(*(line.step.terms for line in lines), strict=True)
    return sum(len({(term.value, term.source) for term in column}) > 1 for column in terms)


def _kind(name: str) -> str:
    return " ".join(word for word in name.split() if not _ID.search(word))


def _judged(chapters: Sequence[Chapter], findings: Iterable[Finding]) -> dict[str, list[Finding]]:
    """Findings by the anchor of their working, as the chapter of findings links them, worst and tightest first."""
    by_anchor = {finding_anchor(finding): finding for finding in findings}
    found: dict[str, list[Finding]] = {}
    for chapter in chapters:
        for element in chapter.elements:
            if isinstance(element, FindingView) and element.working and element.id in by_anchor:
                found.setdefault(element.working, []).append(by_anchor[element.id])
            elif isinstance(element, FindingList):
                for item in (item for group in element.groups for item in group.items):
                    if item.link and item.anchor in by_anchor:
                        found.setdefault(item.link, []).append(by_anchor[item.anchor])
            elif isinstance(element, Table):
                for row in element.rows:
                    link = row.cells[0].link if row.anchor in by_anchor else ""
                    if link:
                        found.setdefault(link, []).append(by_anchor[row.anchor])
    for items in found.values():
        items.sort(key=lambda one: (one.outcome.rank, math.inf if one.margin is None else one.margin))
    return found


def _table(
    id: str, lines: Sequence[_Line], numbers: Mapping[str, str], judged: Mapping[str, list[Finding]]
) -> WorkingTable:
    steps = [line.step for line in lines]
    names = alike([step.name for step in steps])
    labels = _labels(lines, names)
    clauses = dict.fromkeys(
        (line.view.clause, line.view.clause_recalled) for line in lines if line.last and line.view.clause
    )
    clause, recalled = "; ".join(text for text, _ in clauses), any(flag for _, flag in clauses)
    rule = next((line.view.rule for line in lines if line.last and line.view.rule), "")
    terms = [tuple(_numbered(term, numbers) for term in step.terms) for step in steps]
    if len(lines) == 1:
        (line,) = lines
        return WorkingTable(
            line.anchor,
            steps[0].name,
            steps[0].symbols,
            terms[0],
            clause,
            recalled,
            number=line.number,
            label=labels[0] if labels[0] not in steps[0].name else "",
            numbers=steps[0].numbers,
            results=steps[0].results,
            judged=_verdict(line, judged) if line.anchor in judged else None,
            rule=rule,
        )
    given: list[WorkingTerm] = []
    sources: dict[str, str] = {}
    heads, cells = [], []
    for column in zip(*terms, strict=True):
        if len({(term.value, term.source) for term in column}) == 1:
            given.append(column[0])
        else:
            head, body = _column(column, labels, sources)
            heads.append(head)
            cells.append(body)
    heads.append(Column("result", align="right"))
    cells.append([TableCell(" = ".join(step.results), strong=True) for step in steps])
    if any(line.anchor in judged for line in lines):
        heads.append(Column("judged"))
        cells.append([_verdict(line, judged) for line in lines])
    rows = tuple(
        Row((TableCell(f"{line.number} {label}".rstrip()), *(column[k] for column in cells)), line.anchor)
        for k, (line, label) in enumerate(zip(lines, labels, strict=True))
    )
    notes = tuple(f"{letter} {source}" for source, letter in sources.items())
    table = Table(f"{id}-lines", "", (Column("line"), *heads), rows, ("; ".join(notes),) if notes else ())
    # Names without a word in common still need one above them, also for who only hears the page.
    title = names.common or "values worked out by one formula"
    return WorkingTable(id, title, steps[0].symbols, tuple(given), clause, recalled, table, rule=rule)


def _numbered(term: WorkingTerm, numbers: Mapping[str, str]) -> WorkingTerm:
    """A term that was worked out names its line."""
    line = numbers.get(term.link, "") if term.link else ""
    return replace(term, source=f"line {line}") if line else term


def _column(
    terms: Sequence[WorkingTerm], labels: Sequence[str], sources: dict[str, str]
) -> tuple[Column, list[TableCell]]:
    """A term that differs from line to line: what it is in the head, where each comes from beside it."""
    names = alike([term.name for term in terms])
    sources_here = {term.source for term in terms}
    shared = terms[0].source if len(sources_here) == 1 else ""
    file = _file(terms)
    told = ", ".join(part for part in (names.common, shared, f"{file}:…" if file else "") if part)
    cells = []
    for term, rest, label in zip(terms, names.rests, labels, strict=True):
        # What was worked out is named by its line.
        note = "" if term.link or rest in label else rest
        if shared:
            text = term.value
        elif term.link:
            text = f"{term.value} [{term.source.removeprefix('line ')}]"
        elif file:
            text = f"{term.value} :{term.source.removeprefix(file + ':')}"
        elif len(term.source) <= _SHORT:
            text = f"{term.value} {term.source}"
        else:
            letter = sources.setdefault(term.source, _letter(len(sources)))
            text = f"{term.value} {letter}"
        cells.append(TableCell(text, link=term.link or term.origin, note=note))
    return Column(told, terms[0].unit, "right", symbol=terms[0].symbol or "value"), cells


def _file(terms: Sequence[WorkingTerm]) -> str:
    """The file that all terms were typed in but those that name a line, where each has but its place in it."""
    places = [_PLACE.fullmatch(term.source) for term in terms if not term.link]
    files = {place[1] for place in places if place}
    return files.pop() if places and all(places) and len(files) == 1 else ""


def _letter(count: int) -> str:
    return _LETTERS[count] if count < len(_LETTERS) else f"a{count}"


def _verdict(line: _Line, judged: Mapping[str, list[Finding]]) -> TableCell:
    """What the result was judged to, against what, leading back to the worst finding."""
    found = judged.get(line.anchor)
    if not found:
        return TableCell()
    worst = found[0]
    other = next(
        (
            other
            for own, other in ((worst.value, worst.limit), (worst.limit, worst.value))
            if own is not None and other is not None and own.name == line.step.name
        ),
        None,
    )
    told = f"against {other.show()}" if other is not None else ""
    more = f"{len(found) - 1} more" if len(found) > 1 else ""
    text = ", ".join(part for part in (told, more if told else "") if part)
    text = text or (f"see {len(found)} findings" if len(found) > 1 else "see finding")
    return TableCell(text, worst.outcome, finding_anchor(worst))


def _labels(lines: Sequence[_Line], names: Alike) -> list[str]:
    """What each line is for: the words of its name that differ, or its subject, or both where one does not tell."""
    rests = names.rests
    if len(set(rests)) == len(lines) and all(rests):
        return list(rests)
    subjects = [_listed(line.subjects) for line in lines]
    labels = [
        ", ".join(part for part in (subject, rest if rest not in subject else "") if part)
        for subject, rest in zip(subjects, rests, strict=True)
    ]
    if len(set(labels)) < len(lines):
        labels = [
            ", ".join(part for part in (label, line.view.purpose) if part)
            if labels.count(label) > 1
            else label
            for label, line in zip(labels, lines, strict=True)
        ]
    return labels


def _listed(subjects: Sequence[str]) -> str:
    told = list(dict.fromkeys(subjects))
    if len(told) > _NAMED:
        return f"{', '.join(told[: _NAMED - 1])} and {len(told) - _NAMED + 1} more"
    return ", ".join(told)
