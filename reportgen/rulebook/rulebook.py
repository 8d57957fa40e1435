"""The rulebook of a code edition: every table value and clause the tool uses, each able to cite itself.

>>> book = load("nec2023")
>>> cell = book.ampacity("copper", "10", 90)
>>> cell.number, cell.unit, cell.citation
(40.0, 'A', 'Table 310.16 [copper, 10 AWG, 90 °C]')
>>> load("nec2017").ampacity("copper", "10", 90).table
'Table 310.15(B)(16)'

A lookup returns a :class:`~reportgen.working.quantity.Cell` and never a value that the table does not print:
outside it raises :class:`~reportgen.rulebook.errors.OutsideTable`, which a caller turns into "unknown". Tables are
read on their first lookup, so that loading an edition costs one small file.

How to add an edition stands in :mod:`reportgen.rulebook.edition`, the form of a table in
:mod:`reportgen.rulebook.loader`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from reportgen.rulebook.book import Clause, Ruling, quantity_of
from reportgen.rulebook.conductors import ConductorTables
from reportgen.rulebook.edition import chain, editions
from reportgen.rulebook.errors import OutsideTable, RulebookError, UnknownEdition, UnknownRule
from reportgen.rulebook.protection import ProtectionTables
from reportgen.rulebook.raceways import RacewayTables

__all__ = [
    "Clause",
    "OutsideTable",
    "Rulebook",
    "RulebookError",
    "Ruling",
    "UnknownEdition",
    "UnknownRule",
    "editions",
    "load",
    "quantity_of",
]


@dataclass(frozen=True, eq=False)
class Rulebook(ConductorTables, RacewayTables, ProtectionTables):
    """All lookups of one edition; see the three parts it is made of."""


@cache
def load(edition: str) -> Rulebook:
    """Rulebook of an edition, one object for each name.

    Parameters
    ----------
    edition : str
        One of :func:`editions`, for instance ``nec2023``.

    Raises
    ------
    UnknownEdition
        With the editions that there are.
    TableError
        If ``edition.toml`` is wrong; a table tells its faults at the first lookup.
    """
    return Rulebook(chain(edition))
