"""Comma-separated tables with the place of every cell, and the one way a value is written into a cell and back."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reportgen.diagnostics.model import Span
from reportgen.project.nodes import Scalar

_NULLS = frozenset({"", "~", "null", "Null", "NULL"})
#: What a spreadsheet would work out; a sign alone, or before a number with its unit, is none.
_FORMULA = re.compile(r"[=@]|[+-](?!(?:\d*\.?\d+[\w %°/²³·]*)?$)")


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: its text, and where it stands in the file."""

    text: str
    span: Span


def read_cells(file: str, text: str) -> list[list[Cell]]:
    r"""Rows of cells; the separator is whichever of comma, semicolon and tab the first line holds most of.

    Parameters
    ----------
    file : str
        Name for the places.
    text : str
        Quoted as RFC 4180 has it; empty lines are left out.

    Examples
    --------
    >>> [[cell.text for cell in row] for row in read_cells("a.csv", 'id,x [m]\nA,"1,5"\n')]
    [['id', 'x [m]'], ['A', '1,5']]
    """
    separator = max(",;\t", key=re.split("\r\n|\n|\r", text, maxsplit=1)[0].count)
    rows: list[list[Cell]] = [[]]
    line = column = 1
    index = 0
    while index < len(text):
        start = (line, column)
        content, end = _cell(text, index, separator)
        raw = text[index:end]
        breaks = re.findall("\r\n|\n|\r", raw)
        line += len(breaks)
        column = len(re.split("\r\n|\n|\r", raw)[-1]) + (1 if breaks else column)
        rows[-1].append(
            Cell(content, Span(file, *start, line, max(column, start[1] + 1) if not breaks else column))
        )
        index = end
        if text[index : index + 1] == separator:
            index, column = index + 1, column + 1
            if index == len(text):
                rows[-1].append(Cell("", Span(file, line, column, line, column + 1)))
        elif index < len(text):
            index += 2 if text.startswith("\r\n", index) else 1
            line, column = line + 1, 1
            rows.append([])
    return [row for row in rows if any(cell.text.strip() for cell in row)]


def _cell(text: str, index: int, separator: str) -> tuple[str, int]:
    if text[index : index + 1] != '"':
        match = re.compile(rf"[^{re.escape(separator)}\r\n]*").match(text, index)
        assert match is not None
        return match.group(), match.end()
    match = re.compile(r'"((?:[^"]|"")*)"?([^,;\t\r\n]*)').match(text, index)
    assert match is not None
    return match.group(1).replace('""', '"') + match.group(2), match.end()


def csv_text(rows: Iterable[Sequence[str]]) -> str:
    """Rows as a table with commas and line feeds, cells quoted where they have to be."""
    return "".join(",".join(map(_written, row)) + "\n" for row in rows)


def _written(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"' if re.search(r'[",;\t\r\n]|^\s|\s$', cell) else cell


def cell_of(values: Sequence[Scalar], *, listed: bool) -> str:
    """Text of a cell that holds one value, or the values of a list."""
    if not listed:
        return _guarded(values[0])
    if not values:
        return "[]"
    plain = [str(value) for value in values]
    simple = all(
        text.strip() == text and text not in _NULLS and not re.search(r'[;\[\]"]', text) for text in plain
    )
    return (
        "; ".join(plain) if simple and not _FORMULA.match(plain[0]) else json.dumps(plain, ensure_ascii=False)
    )


def _guarded(value: Scalar) -> str:
    text = str(value)
    odd = text in _NULLS or text != text.strip() or re.match(r'["\[]', text) is not None
    odd = odd or _FORMULA.match(text) is not None
    return json.dumps(text, ensure_ascii=False) if odd and not value.is_null else text


def values_of(cell: Cell, *, listed: bool) -> list[Scalar]:
    """Values that a cell holds; texts only, the field that receives them decides."""
    text = cell.text.strip()
    if not listed:
        return [Scalar(_unquoted(text), cell.span, quoted=True)]
    if text.startswith("["):
        try:
            found = json.loads(text)
        except ValueError:
            found = None
        if isinstance(found, list) and all(isinstance(item, str) for item in found):
            return [Scalar(item, cell.span, quoted=True) for item in found]
    return [Scalar(part.strip(), cell.span, quoted=True) for part in text.split(";") if part.strip()]


def _unquoted(text: str) -> str:
    if len(text) > 1 and text[0] == text[-1] == '"':
        try:
            return str(json.loads(text))
        except ValueError:
            return text
    return text


def yaml_scalar(text: str) -> str:
    r"""A text as YAML, plain where it can be.

    Examples
    --------
    >>> yaml_scalar("row 1, columns 1-12"), yaml_scalar("INV-1/A"), yaml_scalar("~")
    ('"row 1, columns 1-12"', 'INV-1/A', '"~"')
    """
    plain = re.fullmatch(r"[A-Za-z0-9+.-](?:[A-Za-z0-9 ._+/°%·²³Ω-]*[A-Za-z0-9._+/°%·²³Ω-])?", text)
    if plain and text not in _NULLS and not text.startswith(("- ", "---", "...")) and text != "-":
        return text
    return json.dumps(text, ensure_ascii=False)
