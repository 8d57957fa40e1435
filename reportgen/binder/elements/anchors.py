"""Names of places of a binder that links can point at."""

from __future__ import annotations

import re
from functools import lru_cache

from reportgen.design.findings import Finding
from reportgen.working.quantity import Cell

#: Files that are printed line by line.
PRINTED = (".yaml", ".yml")

_UNSAFE = re.compile(r"[^A-Za-z0-9.]")


def anchor(*parts: str) -> str:
    """Name of a place that links can point at; different parts never share one.

    Examples
    --------
    >>> anchor("string", "S 1")
    'string-S_20_1'
    """
    return "-".join(_UNSAFE.sub(lambda match: f"_{ord(match[0]):x}_", part) for part in parts)


def finding_anchor(finding: Finding) -> str:
    """Name of the place where a finding is told in full."""
    return anchor("finding", finding.id)


def cell_anchor(cell: Cell) -> str:
    """Name of the row of the appendix that holds a table cell."""
    return anchor("cell", cell.table, cell.row, cell.column)


def rule_anchor(rule: str) -> str:
    """Name of the row of the appendix that names the clause of a rule."""
    return anchor("rule", rule) if rule else ""


def chapter_anchor(chapter_id: str) -> str:
    """Name of the first line of a chapter."""
    return anchor("chapter", chapter_id)


@lru_cache(maxsize=1 << 12)
def line_anchor(place: str) -> str:
    """Name of a printed line of an input file, ``file:line``; empty where the file is not printed line by line.

    Examples
    --------
    >>> line_anchor("site.yaml:8"), line_anchor("year.csv:8")
    ('line-site.yaml-8', '')
    """
    file, _, line = place.rpartition(":")
    return anchor("line", file, line) if file.lower().endswith(PRINTED) else ""
