"""The reviewer's extract: what somebody who has to check the design wants on few sheets, with a column to tick.

Everything in it stands in the binder too; it is chosen and set close, never worked out anew. Findings are all there,
but for those that meet, which stand in the tables of limits and margins.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from reportgen.binder.cells import Marker
from reportgen.binder.elements import (
    CLAUSE_RECALLED,
    Blank,
    Caution,
    Chapter,
    Column,
    Element,
    Facts,
    Fields,
    FormTable,
    TableCell,
    margin_text,
)
from reportgen.binder.frame import Frame
from reportgen.binder.html import Numbered, anchors, environment, numbered, style
from reportgen.design.assemble import Design
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Known, Missing
from reportgen.diagnostics.catalogue import CATALOGUE
from reportgen.working.quantity import Quantity
from reportgen.working.text import apart, fixed, significant
from reportgen.working.units import UNITS

Cells = tuple[str | TableCell | Blank, ...]

#: Rows of a table of limits: with more, those nearest to their limit are kept and the number left out is printed.
MOST_ROWS = 16
_CHECKED = Column("Checked")


@dataclass(frozen=True, slots=True)
class _Limit:
    """A check as columns of a table: its title and codes, unit and places of value and limit; ``value`` prints it too."""

    title: str
    codes: tuple[str, ...]
    unit: str
    places: int = 1
    value: bool = False

    @property
    def columns(self) -> tuple[Column, ...]:
        """Heads of its columns."""
        unit = UNITS[self.unit].printed
        heads = (*((("is", unit),) if self.value else ()), ("limit", unit), ("room", "%"))
        return tuple(Column(head, printed, "right", self.title) for head, printed in heads)


def review_page(frame: Frame, design: Design) -> str:
    """The reviewer's extract as one HTML page that needs no other file."""
    found = tuple(numbered(i, chapter) for i, chapter in enumerate(review_chapters(design), 1))
    return _page(frame, design, found)


def _page(frame: Frame, design: Design, chapters: Sequence[Numbered]) -> str:
    env = environment()
    marker = Marker(frozenset(anchors([item.chapter for item in chapters])))
    counts = Counter(finding.outcome for finding in design.findings)
    return env.get_template("extract.html").render(
        frame=frame,
        style=style(),
        parts=env.get_template("elements.html").make_module({"marker": marker}),
        counts=tuple((outcome, counts[outcome]) for outcome in Outcome),
        chapters=chapters,
    )


def review_chapters(design: Design) -> tuple[Chapter, ...]:
    """Parts of the extract in the order in which a reviewer goes through them."""
    by_code: dict[str, list[Finding]] = defaultdict(list)
    for finding in design.findings:
        by_code[finding.code].append(finding)
    parts = (
        ("review-findings", "Findings that do not meet, worst first", _open(design)),
        ("review-limits", "Limits and margins", _limits(design, by_code)),
        ("review-ground", "Grounding and labels", _ground(design, by_code)),
        ("review-open", "Editions, open ends, signature", _rest(design)),
    )
    return tuple(
        Chapter(id, title, "", tuple(elements), page_break=False) for id, title, elements in parts if elements
    )


def _open(design: Design) -> list[Element]:
    """Every finding that does not meet, with what is missing or asked."""
    rows: list[Cells] = []
    ordered = sorted(
        (finding for finding in design.findings if finding.outcome is not Outcome.MEETS),
        key=lambda finding: (finding.outcome.rank, finding.margin or 0.0),
    )
    for finding in ordered:
        told = [finding.id, _rule(finding), *(f"missing: {item}" for item in finding.missing)]
        question = finding.question
        if question and question.rstrip("?").lower() not in finding.headline.lower():
            told.append(question)
        rows.append(
            (
                TableCell(finding.headline, finding.outcome, note=" · ".join(filter(None, told))),
                TableCell(margin_text(finding)),
                Blank(f"Checked: {finding.id}", tick=True),
            )
        )
    if not rows:
        return []
    notes = (
        "Under each finding stand its id and its rule. An exception is accepted by the id, with a reason, under `reviews` "
        "of the folder; it stays a finding.",
    )
    columns = (Column("Finding"), Column("Margin"), _CHECKED)
    return [FormTable("review-findings-table", "Findings", columns, tuple(rows), notes)]


def _rule(finding: Finding) -> str:
    return f"{finding.clause}, recalled" if finding.clause and finding.clause_recalled else finding.clause


# Tables of limits


def _limits(design: Design, by_code: Mapping[str, list[Finding]]) -> list[Element]:
    facts = design.facts
    circuits: dict[str, list[str]] = defaultdict(list)
    for circuit in facts.circuits:
        circuits[circuit.string.id].append(circuit.id)
    found = _Found(by_code)
    strings = [
        (
            string.id,
            (string.id, f"{string.count.value:g}" if isinstance(string.count, Quantity) else "unknown"),
            {string.id, *circuits[string.id]},
        )
        for string in facts.strings
    ]
    wires = [
        (
            circuit.id,
            (circuit.id, f"{circuit.circuit.size} {circuit.circuit.cable}"),
            {circuit.id, circuit.string.id},
        )
        for circuit in facts.circuits
    ]
    inputs = [
        (
            item.address,
            (item.address, ", ".join(item.strings) or "free"),
            {item.address, item.address.partition("/")[0]},
        )
        for item in facts.inputs
    ]
    stretches = [
        (
            str(stretch.id),
            (str(stretch.id), f"{stretch.segment.kind} {stretch.segment.size}", str(len(stretch.conductors))),
            {str(stretch.id)},
        )
        for stretch in facts.stretches
    ]
    made = [
        found.table(
            "review-cold",
            "Strings: cold open-circuit voltage against every limit",
            (Column("String"), Column("N", align="right")),
            strings,
            _COLD_LIMITS,
        ),
        found.table(
            "review-operating",
            "Strings: operating voltage against window and start of the input",
            (Column("String"), Column("N", align="right")),
            strings,
            _OPERATING_LIMITS,
        ),
        found.table(
            "review-inputs",
            "Inputs: currents, and PV power of the whole inverter",
            (Column("Input"), Column("Strings")),
            inputs,
            _INPUT_LIMITS,
        ),
        found.table(
            "review-circuits",
            "Conductors: two ampacity tests, switch, voltage drop",
            (Column("Circuit"), Column("Wire")),
            wires,
            _WIRE_LIMITS,
        ),
        _protection(design, found),
        found.table(
            "review-stretches",
            "Pipes: fill, cover, ground",
            (Column("Stretch"), Column("Pipe"), Column("Wires", align="right")),
            stretches,
            _pipe_limits(design),
        ),
        _sections(design, found),
    ]
    return [table for table in made if table.rows]


_COLD_LIMITS = (
    _Limit("Inverter", ("cold-voltage-inverter",), "V", value=True),
    _Limit("Module", ("cold-voltage-module",), "V", 0),
    _Limit("Wire", ("cold-voltage-wire",), "V", 0),
    _Limit("Switch", ("cold-voltage-switch",), "V", 0),
    _Limit("Place", ("cold-voltage-place",), "V", 0),
)
_OPERATING_LIMITS = (
    _Limit("Cold, top of the window", ("cold-operating-window",), "V", value=True),
    _Limit("Hot, foot of the window", ("hot-voltage-window",), "V", value=True),
    _Limit("Hot, start", ("hot-voltage-start",), "V", 1, value=True),
)
_INPUT_LIMITS = (
    _Limit("Operating current", ("input-usable-current",), "A", 2, value=True),
    _Limit("Short-circuit current", ("input-short-circuit",), "A", 2, value=True),
    _Limit("PV power", ("inverter-pv-power",), "kW", 2, value=True),
)
_WIRE_LIMITS = (
    _Limit("Terminals", ("ampacity-terminal",), "A", 2, value=True),
    _Limit("Worst stretch", ("ampacity-use",), "A", 2, value=True),
    _Limit("Switch", ("switch-current",), "A", 1),
    _Limit("Voltage drop", ("voltage-drop",), "%", 2, value=True),
)


def _pipe_limits(design: Design) -> tuple[_Limit, ...]:
    return (
        _Limit("Fill", ("raceway-fill",), "%", 1, value=True),
        _Limit("Cover", ("raceway-cover",), design.facts.units.small, 0, value=True),
        _Limit("Ground", ("ground-size",), "cmil", 0, value=True),
    )


def _pull_limits(design: Design) -> tuple[_Limit, ...]:
    units = design.facts.units
    return (
        _Limit("Bends", ("raceway-bends",), "deg", 0, value=True),
        _Limit("Pull", ("pull-tension",), units.force, 0, value=True),
        _Limit("Pressure in a bend", ("pull-sidewall",), units.per_length, 0, value=True),
    )


@dataclass(frozen=True, slots=True)
class _Found:
    """Findings by code."""

    by_code: Mapping[str, list[Finding]]

    def worst(self, codes: Iterable[str], subjects: Iterable[str], part: str | None = None) -> Finding | None:
        """The finding nearest to its limit, an unjudged one before any that is judged and meets."""
        wanted = set(subjects)
        return min(
            (
                finding
                for code in codes
                for finding in self.by_code.get(code, ())
                if not wanted.isdisjoint((finding.subject, finding.part)) and part in {None, finding.part}
            ),
            key=lambda finding: (finding.outcome.rank, 0.0 if finding.margin is None else finding.margin),
            default=None,
        )

    def table(
        self,
        id: str,
        caption: str,
        heads: tuple[Column, ...],
        things: Sequence[tuple[str, tuple[str, ...], set[str]]],
        limits: Sequence[_Limit],
    ) -> FormTable:
        """One row a thing: value, limit and margin of each check; of many things those nearest to a limit."""
        used = [limit for limit in limits if any(self.by_code.get(code) for code in limit.codes)]
        columns = [*heads, *(column for limit in used for column in limit.columns)]
        rows = []
        for key, told, subjects in things:
            findings = [self.worst(limit.codes, subjects) for limit in used]
            cells: list[str | TableCell | Blank] = [*told]
            for limit, finding in zip(used, findings, strict=True):
                cells += _against(limit, finding)
            rows.append((_tightness(findings), (*cells, Blank(f"Checked: {caption}, {key}", tick=True))))
        kept, notes = rows, ""
        if len(rows) > MOST_ROWS:
            kept = sorted(rows, key=lambda row: row[0])[:MOST_ROWS]
            notes = f"The {MOST_ROWS} nearest to a limit; {len(rows) - MOST_ROWS} more stand in the binder, with no less room."
        return FormTable(
            id, caption, (*columns, _CHECKED), tuple(row for _, row in kept), (notes,) if notes else ()
        )


def _tightness(findings: Iterable[Finding | None]) -> tuple[int, float]:
    """Order of a row: worst outcome first, then the least room."""
    known = [finding for finding in findings if finding is not None]
    worst = min((finding.outcome.rank for finding in known), default=len(Outcome))
    return worst, min((finding.margin for finding in known if finding.margin is not None), default=1e9)


def _against(limit: _Limit, finding: Finding | None) -> list[str | TableCell | Blank]:
    """Value, limit and room of a check; in words where it was not judged."""
    width = 3 if limit.value else 2
    if finding is None:
        return [TableCell("–")] * width
    shown = None if finding.outcome is Outcome.MEETS else finding.outcome
    value, bound = _numbers(finding, limit)
    room = "" if finding.margin is None else significant(finding.margin * 100, 2)
    if finding.margin is None and shown is None:
        room = str(Outcome.MEETS)
    return [*map(TableCell, (value, bound) if limit.value else (bound,)), TableCell(room, shown)]


def _numbers(finding: Finding, limit: _Limit) -> tuple[str, str]:
    """Value and limit with as many places as keep two unequal numbers apart."""
    if finding.value is not None and finding.limit is not None:
        return apart(finding.value.to(limit.unit).value, finding.limit.to(limit.unit).value, limit.places)
    value, bound = (
        "–" if item is None else fixed(item.to(limit.unit).value, limit.places)
        for item in (finding.value, finding.limit)
    )
    return value, bound


def _protection(design: Design, found: _Found) -> FormTable:
    """Whether each string needs a device, and the rating of the one fitted between its bounds."""
    rows: list[Cells] = []
    for item in design.facts.overcurrent.strings[:MOST_ROWS]:
        name = item.string.id
        need = found.worst(("string-fuse",), {name})
        device = item.devices[0] if item.devices else None
        bounds = [
            found.worst((code,), {name})
            for code in ("fuse-floor", "fuse-module", "device-conductor", "fuse-voltage")
        ]
        rows.append(
            (
                name,
                _shown(item.fed_back, "A", 2),
                _shown(item.module_limit, "A", 1),
                _shown(item.limit, "A", 2),
                TableCell(
                    {True: "needed", False: "not needed", None: "cannot be told"}[item.needed],
                    need.outcome if need and need.outcome is not Outcome.MEETS else None,
                ),
                f"{device.id}, {device.rating.show()}" if device else "none",
                *(_bound(bound, unit) for bound, unit in zip(bounds, ("A", "A", "A", "V"), strict=True)),
                Blank(f"Checked: device of {name}", tick=True),
            )
        )
    columns = (
        Column("String"),
        Column("fed into a fault", "A", "right", "Current"),
        Column("modules stand", "A", "right", "Current"),
        Column("all stand", "A", "right", "Current"),
        Column("Device"),
        Column("Fitted"),
        Column("at least", "A", "right", "Rating"),
        Column("module", "A", "right", "Rating at most"),
        Column("wire", "A", "right", "Rating at most"),
        Column("Rated voltage", "V", "right"),
        _CHECKED,
    )
    notes = _left_out(len(design.facts.overcurrent.strings), "strings")
    return FormTable("review-protection", "Overcurrent protection", columns, tuple(rows), notes)


def _left_out(count: int, things: str) -> tuple[str, ...]:
    """Note under a table that holds the first of many."""
    return (f"{count - MOST_ROWS} more {things} stand in the binder.",) if count > MOST_ROWS else ()


def _bound(finding: Finding | None, unit: str) -> TableCell:
    if finding is None:
        return TableCell("–")
    shown = None if finding.outcome is Outcome.MEETS else finding.outcome
    return TableCell("–" if finding.limit is None else fixed(finding.limit.to(unit).value, 2), shown)


def _shown(value: Known | None, unit: str, places: int) -> str:
    if value is None:
        return "–"
    return "unknown" if isinstance(value, Missing) else fixed(value.to(unit).value, places)


def _sections(design: Design, found: _Found) -> FormTable:
    """Bends and pull of every section between pull points."""
    checks = _pull_limits(design)
    rows: list[Cells] = []
    for section in design.facts.sections[:MOST_ROWS]:
        part = f"{section.start}-{section.end}"
        cells: list[str | TableCell | Blank] = [section.raceway, f"{section.start} to {section.end}"]
        for limit in checks:
            cells += _against(limit, found.worst(limit.codes, {section.raceway}, part))
        rows.append((*cells, Blank(f"Checked: pull of {section.raceway} {part}", tick=True)))
    columns = [
        Column("Raceway"),
        Column("Section"),
        *(column for limit in checks for column in limit.columns),
    ]
    notes = _left_out(len(design.facts.sections), "sections")
    return FormTable("review-sections", "Pulls between pull points", (*columns, _CHECKED), tuple(rows), notes)


# Grounding, labels, the rest


def _ground(design: Design, by_code: Mapping[str, list[Finding]]) -> list[Element]:
    rows: list[Cells] = []
    for code in _GROUND_CODES:
        title, found = CATALOGUE[code].title, by_code.get(code, ())
        met = [finding for finding in found if finding.outcome is Outcome.MEETS]
        told = [
            (TableCell(finding.headline, finding.outcome), _rule(finding), finding.id)
            for finding in found
            if finding not in met
        ]
        if met:
            names = ", ".join(finding.subject for finding in met)
            headline = met[0].headline if len(met) == 1 else names
            told.append((TableCell(headline, Outcome.MEETS), _rule(met[0]), f"{title}, {names}"))
        rows += [(title, cell, rule, Blank(f"Checked: {name}", tick=True)) for cell, rule, name in told]
    made: list[Element] = []
    if rows:
        columns = (Column("Check"), Column("Found"), Column("Rule"), _CHECKED)
        made.append(FormTable("review-grounding", "Grounding", columns, tuple(rows)))
    placards = list(_placards(design))
    if placards:
        columns = (Column("Placard"), Column("Places, and values to print"), Column("Rule"), _CHECKED)
        made.append(FormTable("review-labels", "Labels and placards", columns, tuple(placards)))
    return made


_GROUND_CODES = ("array-bonding", "array-electrode", "floating-poles", "ground-fault", "leg-bonded")


def _placards(design: Design) -> Iterator[Cells]:
    """Placards of one wording together: all their places, and the values of each."""
    together: dict[str, list[tuple[str, str, str]]] = defaultdict(list)
    wording: dict[str, str] = {}
    for item in design.facts.labels.placards:
        values = [
            f"{name} {value.show(1) if isinstance(value, Quantity) else 'unknown'}"
            for name, value in item.values
        ]
        if item.live:
            values.append(f"live when open: {', '.join(item.live)}")
        clause = item.asked.clause.text
        rule = f"{clause}, recalled" if item.asked.recalled and clause else clause
        together[item.key].append((item.place, "; ".join(values), rule))
        wording[item.key] = item.asked.wording
    for key, found in together.items():
        places: dict[str, list[str]] = defaultdict(list)
        for place, told, _ in found:
            places[told].append(place)
        shown = "; ".join(
            f"{', '.join(dict.fromkeys(where))}{f': {told}' if told else ''}"
            for told, where in places.items()
        )
        yield (wording[key] or key, shown, found[0][2], Blank(f"Checked: placard {key}", tick=True))


def _rest(design: Design) -> list[Element]:
    return [
        Facts(tuple(_editions(design)), "Editions, and what was recalled"),
        Caution(
            "Figures rest on inputs",
            "Every figure rests on the inputs whose digest stands at the head, and on the edition named. What was recalled "
            "is to be read in the adopted code.",
            "common practice, no source",
        ),
        Facts((("Not covered", "; ".join(design.not_covered)),)),
        Fields(
            "review-signed",
            (
                Blank("Remarks", lines=5),
                Blank("Reviewed by"),
                Blank("Licence"),
                Blank("Date"),
                Blank("Signature"),
            ),
            "Reviewer",
        ),
    ]


def _editions(design: Design) -> Iterator[tuple[str, str]]:
    rulebook = design.rulebook
    yield "Edition in force", rulebook.in_force
    clauses: dict[str, bool] = {}
    for finding in design.findings:
        if finding.clause:
            clauses[finding.clause] = clauses.get(finding.clause, False) or finding.clause_recalled
    recalled = [clause for clause, doubtful in clauses.items() if doubtful]
    yield "Clauses applied", f"{len(clauses)}, of which {len(recalled)} recalled"
    if recalled:
        yield CLAUSE_RECALLED.capitalize(), "; ".join(sorted(recalled))
    tables = Counter(cell.table for cell in design.recalled)
    if tables:
        yield (
            "Cells recalled, by table",
            "; ".join(f"{table} ({count})" for table, count in sorted(tables.items())),
        )
    site = design.project.site
    low = design.facts.policies.cold_temperature
    yield (
        "Temperatures",
        "; ".join(
            f"{name} {value.show() if value is not None else 'not stated'}"
            for name, value in (
                ("record low", site.record_low),
                ("mean annual minimum", site.mean_annual_minimum),
                ("design high", site.design_high),
            )
        )
        + f"; governing cold: {low}; from {site.temperatures_from or 'not stated'}",
    )
    yield "Assumptions", f"{len(design.assumptions)}; each is listed in the binder with its reason"
