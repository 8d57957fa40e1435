"""Markup of what a binder has thousands of: rows of tables, their cells, links and outcomes.

Written in Python and not in the templates because it is most of what rendering takes. Text from data is escaped
here exactly as the template engine escapes it: controls replaced, then every sign that markup could be made of.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import groupby

from markupsafe import Markup, escape

from reportgen.binder import fields
from reportgen.binder.elements import Blank, FormTable, Row, Table, TableCell
from reportgen.binder.fitting import Fit, cell_text
from reportgen.binder.typeset import KEPT, clean, identifier, long, tied
from reportgen.design.findings import Outcome

#: Outcome as a shape beside its word: each has another outline, so a photocopy tells them apart.
SHAPES = {
    Outcome.FAILS: "■",
    Outcome.UNKNOWN: "○",
    Outcome.ASK: "◇",
    Outcome.THIN: "△",
    Outcome.MEETS: "✓",
}
_PAGED = ' class="pageref"'
_CHANGED = '<span class="changed" title="changed">▸ </span>'


@cache
def outcome_mark(outcome: Outcome) -> Markup:
    """An outcome by shape and word; the shape is kept from a screen reader, which has the word."""
    return Markup(
        '<span class="outcome is-{0}"><span class="shape" aria-hidden="true">{1}</span>&nbsp;{0}</span>'
    ).format(outcome.value, SHAPES[outcome])


@dataclass(frozen=True, slots=True)
class Marker:
    """Makes markup for one binder.

    Parameters
    ----------
    known : set of str
        Anchors of the binder; a link to any other place is left out and its text stands alone.
    """

    known: Set[str]

    def linked(self, text: str, link: str, page: bool = False) -> Markup:
        """A text as a link where its place exists; ``page`` has the page of the place printed behind it."""
        return Markup(self._linked(tied(text), link, page))

    def cell(self, cell: TableCell | str, classes: str = "") -> Markup:
        """What stands in a cell: outcome, text, note; a column set on ``one`` line needs no ties in its texts."""
        return tied(cell) if isinstance(cell, str) else Markup(self._cell(cell, classes))

    def _linked(self, inner: str, link: str, page: bool) -> str:
        if not link or link not in self.known:
            return inner
        return f'<a{_PAGED if page else ""} href="#{_escaped(link)}">{inner}</a>'

    def _cell(self, cell: TableCell, classes: str) -> str:
        text = cell.text
        shown = self._linked(_escaped(text) if "one" in classes else tied(text), cell.link, cell.page)
        if cell.strong:
            shown = f"<strong>{shown}</strong>"
        if cell.outcome:
            shown = f"{outcome_mark(cell.outcome)}{' ' if text else ''}{shown}"
        return f'{shown}<small class="note">{_escaped(cell.note)}</small>' if cell.note else shown

    def body(self, table: Table, fit: Fit) -> Markup:
        """Bodies of a table, one for each run of rows that share a group."""
        parts: list[str] = []
        for group, rows in groupby(table.rows, key=lambda row: row.group):
            parts.append("<tbody>\n")
            if group:
                parts.append(
                    f'<tr class="group"><th scope="rowgroup" colspan="{len(table.columns)}">{_escaped(group)}</th></tr>'
                )
            for row in rows:
                self._row(parts, row, fit.classes)
            parts.append("</tbody>\n")
        return Markup("".join(parts))

    def _row(self, parts: list[str], row: Row, classes: Sequence[str]) -> None:
        place = f' id="{_escaped(identifier(row.anchor))}"' if row.anchor else ""
        parts.append(f"<tr{place}>\n")
        tag, inside = 'th scope="row"', _CHANGED if row.changed else ""
        for cell, name in zip(row.cells, classes, strict=True):
            parts.append(f"<{tag}{class_of(cell.text, name)}>{inside}{self._cell(cell, name)}</{tag[:2]}>\n")
            tag, inside = "td", ""
        parts.append("</tr>\n")

    def form(self, table: FormTable, fit: Fit) -> Markup:
        """Body of a table with fields, each named by table, row and column, and told by its column and row."""
        parts = ["<tbody>\n"]
        heads = {0, len(table.columns) // 2} if table.twice else {0}
        for row, placed in zip(table.rows, fields.placed(table), strict=True):
            parts.append("<tr>\n")
            for k, (cell, column, name) in enumerate(zip(row, table.columns, fit.classes, strict=True)):
                called, subject = placed[k]
                if isinstance(cell, Blank):
                    label = fields.label(cell, column, subject)
                    parts.append(f'<td class="blank">{blank_mark(cell, called, label)}</td>\n')
                    continue
                tag = 'th scope="row"' if k in heads and subject else "td"
                parts.append(f"<{tag}{class_of(cell_text(cell), name)}>{self.cell(cell, name)}</{tag[:2]}>\n")
            parts.append("</tr>\n")
        parts.append("</tbody>\n")
        return Markup("".join(parts))


def blank_mark(field: Blank, name: str, label: str) -> Markup:
    """A field to fill in: its name in the file that is filled in, and what a reader that speaks says of it."""
    told = f'name="{_escaped(name)}" title="{_escaped(label)}" aria-label="{_escaped(label)}"'
    if field.tick:
        return Markup(f'<input type="checkbox" {told}>')
    if field.lines > 1:
        return Markup(
            f'<textarea {told} rows="{field.lines}" style="height:{field.lines * 1.6}em"></textarea>'
        )
    return Markup(f'<input type="text" {told} value="" autocomplete="off">')


@lru_cache(maxsize=KEPT)
def class_of(text: str, classes: str) -> str:
    """Class attribute of a cell: that of a long word, which may be broken anywhere, else those of its column."""
    name = "long" if long(text) else classes
    return f' class="{name}"' if name else ""


@lru_cache(maxsize=KEPT)
def _escaped(text: str) -> str:
    return escape(clean(text))
