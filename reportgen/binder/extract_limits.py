"""Tables of limits and margins in the reviewer's extract: one row a thing, value, limit and room of each check."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from reportgen.binder.elements import Blank, Column, Element, FormTable, TableCell
from reportgen.design.assemble import Design
from reportgen.design.findings import Finding, Outcome
from reportgen.design.missing import Known, Missing
from reportgen.working.quantity import Quantity
from reportgen.working.text import apart, fixed, significant
from reportgen.working.units import UNITS

Cells = tuple[str | TableCell | Blank, ...]

#: Rows of a table of limits: with more, those nearest to their limit are kept and the number left out is printed.
MOST_ROWS = 16
#: Column to tick, the last of every table.
CHECKED = Column("Checked")


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


def limit_tables(design: Design, by_code: Mapping[str, list[Finding]]) -> list[Element]:
    """Tables of everything that is held against a limit, those without a row left out."""
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
            id, caption, (*columns, CHECKED), tuple(row for _, row in kept), (notes,) if notes else ()
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
        return apart(
            finding.value.to(limit.unit).value,
            finding.limit.to(limit.unit).value,
            limit.places,
            finding.at_most,
        )
    value, bound = (
        "–" if item is None else fixed(item.to(limit.unit).value, limit.places, at_most)
        for item, at_most in ((finding.value, None), (finding.limit, finding.at_most))
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
                _shown(item.module_limit, "A", 1, at_most=True),
                _shown(item.limit, "A", 2, at_most=True),
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
        CHECKED,
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
    limit = finding.limit
    return TableCell("–" if limit is None else fixed(limit.to(unit).value, 2, finding.at_most), shown)


def _shown(value: Known | None, unit: str, places: int, at_most: bool | None = None) -> str:
    if value is None:
        return "–"
    return "unknown" if isinstance(value, Missing) else fixed(value.to(unit).value, places, at_most)


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
    return FormTable("review-sections", "Pulls between pull points", (*columns, CHECKED), tuple(rows), notes)
