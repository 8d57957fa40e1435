"""Rules of the authority at hand, laid over the tables of an edition.

A local rule names one cell of a table (``fill/over-two``, ``cover/other/raceway``) or a group of them (``fill``,
``cover``). One cell is replaced, whichever side is stricter, and the cell says whether that loosens the edition. Of a
group, each cell takes the stricter of its own value and the rule's, so that a rule for many cases never loosens one.
A cell made so cites the rule and not the table, and everything that reads the rulebook reads it there: calculation
knows nothing of local rules.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from reportgen.diagnostics.nearest import listing, nearest
from reportgen.rulebook.loader import Row, Table, relaid
from reportgen.rulebook.rulebook import Rulebook
from reportgen.working.quantity import Given, Local
from reportgen.working.text import significant
from reportgen.working.units import UNITS, UnitError, convert, examples, parse

#: Tables of the project itself that a local rule may set; they are no part of a rulebook.
OF_THE_PROJECT = frozenset({"site", "policies"})
#: Stands in for the number before, where the folder had none.
NOT_STATED = "not stated"
#: Key of a rule that no edition has.
ADDED = "added"
_NO_NUMBER = frozenset({"text", "size", "count"})


class LocalRuleError(Exception):
    """A local rule that cannot be read; says which part of it, and what to do.

    Attributes
    ----------
    part : str
        ``rule`` or ``value``.
    reason, help : str
        The fact, and the one thing to do.
    """

    def __init__(self, part: str, reason: str, help: str) -> None:
        super().__init__(reason)
        self.part, self.reason, self.help = part, reason, help


@dataclass(frozen=True, slots=True)
class Ordinance:
    """A local rule as the folder states it.

    Parameters
    ----------
    id : str
        Its id in the folder.
    rule : str
        Key of the rule, after a slash the row and column where it means one cell.
    value : Given or None
        The value as written, with its place; None for a rule that sets no number.
    authority : str
        Who says so.
    """

    id: str
    rule: str
    value: Given | None
    authority: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """One cell that a local rule names: where, from and to what, whether that loosens the edition and is in use."""

    place: str
    before: str
    after: str
    unit: str
    loosens: bool
    used: bool

    def shown(self, number: str) -> str:
        """One of the two numbers with its unit, as a page prints it; nothing added to what was not stated."""
        unit = UNITS[self.unit].printed if self.unit in UNITS else self.unit
        return number if number == NOT_STATED else f"{number} {unit}".rstrip()


@dataclass(frozen=True, slots=True)
class Target:
    """What a rule key stands for: a table of the rulebook or of the project, and its stricter side."""

    key: str
    table: str
    row: str
    column: str
    lower_is_stricter: bool
    used_when_looser: bool
    what: str

    def loosens(self, before: float, after: float) -> bool:
        """Whether a value asks less than the one it stands in for."""
        return after > before if self.lower_is_stricter else after < before


def target_of(book: Rulebook, rule: str) -> Target | None:
    """What a rule key sets; None for a rule of the edition that has no number to set, or an added one.

    Raises
    ------
    LocalRuleError
        If the edition knows no such rule.
    """
    base = rule.partition("/")[0]
    row = book.table("local-rules").find(base)
    if row is not None:
        return Target(
            base,
            row["table"],
            row["row"],
            row["column"],
            row["stricter"] == "lower",
            row["looser"] == "thin",
            row["what"],
        )
    if rule == ADDED or book.table("clauses").find(rule) is not None:
        return None
    known = [key[0] for name in ("local-rules", "clauses") for key in book.table(name).index] + [ADDED]
    meant = nearest(rule, known)
    settable = listing([key[0] for key in book.table("local-rules").index], 40)
    help = f"did you mean `{meant}`?" if meant else f"write `{ADDED}`, or a rule with a number: {settable}"
    raise LocalRuleError("rule", f"no rule has the key `{rule}`", help)


def value_in(text: str, unit: str) -> float:
    """Number of a local rule in the unit of the cell it sets; shares may be written in percent.

    Raises
    ------
    LocalRuleError
        If the text has another unit, or is no number.
    """
    dimensions = (UNITS[unit].dimension,) if unit else ("share",)
    try:
        number, written = parse(text, dimensions)
    except UnitError as error:
        plain = _plain(text) if not unit else None
        if plain is not None:
            return plain
        raise LocalRuleError("value", f"value `{text}` {error.reason}", error.hint) from error
    found = convert(number, written.symbol, unit) if unit else convert(number, written.symbol, "%") / 100
    if found <= 0 and unit not in {"degC", "degF", "K", "delta_degF"}:
        raise LocalRuleError(
            "value", f"value `{text}` is not above zero", f"write for instance {examples(dimensions)}"
        )
    return found


def _plain(text: str) -> float | None:
    try:
        number = float(text)
    except ValueError:
        return None
    return number if 0 < number < float("inf") else None


def with_local(
    book: Rulebook, ordinances: Sequence[Ordinance]
) -> tuple[Rulebook, Mapping[str, tuple[Change, ...]]]:
    """Rulebook with the rules of an authority laid over it, and what each of them changed.

    Parameters
    ----------
    book : Rulebook
        The edition adopted.
    ordinances : sequence of Ordinance
        Rules that set a number of a table of the edition; others change nothing here.

    Raises
    ------
    LocalRuleError
        If a key or value cannot be read.
    """
    tables: dict[str, Table] = {}
    changes: dict[str, tuple[Change, ...]] = {}
    for rule in ordinances:
        target = target_of(book, rule.rule)
        if target is None or target.table in OF_THE_PROJECT or rule.value is None:
            continue
        table = tables.get(target.table) or book.table(target.table)
        made: list[Change] = []
        rows = {id(row): row for row in table.rows}
        picked = list(_picked(table, target, rule.rule))
        for row, column in picked:
            set_row = _set(book, table, rows[id(row)], column, target, rule, made, alone=len(picked) == 1)
            rows[id(row)] = set_row
        tables[target.table] = relaid(table, tuple(rows.values()))
        changes[rule.id] = tuple(made)
    return (replace(book, _tables=tables) if tables else book), changes


def _picked(table: Table, target: Target, rule: str) -> Iterator[tuple[Row, str]]:
    """Cells that a rule key means, as rows and columns."""
    columns = [
        column
        for column, unit in table.header.units.items()
        if unit not in _NO_NUMBER and column not in table.header.keys
    ]
    columns = [column for column in columns if column == target.column or not target.column]
    rows = [row for row in table.rows if not target.row or target.row in _keys(table, row)]
    for word in rule.split("/")[1:]:
        if word in columns:
            columns = [word]
            continue
        kept = [row for row in rows if word in _keys(table, row)]
        if not kept:
            words = dict.fromkeys([*(key for row in rows for key in _keys(table, row) if key), *columns])
            meant = nearest(word, words)
            help = (
                f"did you mean `{meant}`?" if meant else f"`{target.key}` is parted into {listing(words, 40)}"
            )
            raise LocalRuleError("rule", f"`{target.key}` has no row or column `{word}`", help)
        rows = kept
    yield from ((row, column) for row in rows for column in columns if row[column])


def _keys(table: Table, row: Row) -> tuple[str, ...]:
    return tuple(row[column] for column in table.header.keys)


def _set(
    book: Rulebook,
    table: Table,
    row: Row,
    column: str,
    target: Target,
    rule: Ordinance,
    made: list[Change],
    *,
    alone: bool,
) -> Row:
    """Row with one cell set, or as it was where a group's cell is already stricter."""
    assert rule.value is not None
    unit = table.header.units[column]
    unit = row["unit"] if unit == "number" else unit
    after, before = value_in(rule.value.text, unit), row.number(column)
    loosens = target.loosens(before, after)
    if after == before:
        return row
    place = f"{book.title_of(table)} [{', '.join(filter(None, (*_keys(table, row), column)))}]"
    if table.name == "numbers":
        place = book.clause(row["clause"]).text
    used = not loosens or (alone and target.used_when_looser)
    made.append(Change(place, row[column], significant(after, 6), unit, loosens, used))
    if not used:
        return row
    local = Local(rule.id, rule.authority, rule.value, row[column], loosens)
    return replace(row, values={**row.values, column: repr(after)}, local={**row.local, column: local})
