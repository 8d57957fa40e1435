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

from dataclasses import dataclass, replace
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
    "adopted",
    "editions",
    "load",
    "quantity_of",
]


@dataclass(frozen=True, eq=False)
class Rulebook(ConductorTables, RacewayTables, ProtectionTables):
    """All lookups of one edition; see the three parts it is made of.

    Parameters
    ----------
    wanted : str
        Edition that a project names and that is not held here; its tables then only serve the physics, and every
        row that rests on a code is a question. Empty where the edition is held.
    """

    wanted: str = ""

    @property
    def in_force(self) -> str:
        """The edition as a page names it."""
        if not self.wanted:
            return self.edition.title
        return f"{self.wanted}, for which there is no rulebook here: sizes and resistances are those of {self.edition.short}, and every rule is a question"

    @property
    def in_force_short(self) -> str:
        """The edition as a footer names it."""
        return f"{self.wanted}, no rulebook" if self.wanted else self.edition.short


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


@cache
def adopted(edition: str) -> Rulebook:
    """Rulebook of the edition that a project names; for one that is not held, one that decides nothing.

    Parameters
    ----------
    edition : str
        As the project names it: any code of any country.

    Raises
    ------
    UnknownEdition
        If the name is that of an edition held with its characters swapped or spelt otherwise: a slip of the pen
        must not turn every rule into a question.

    Examples
    --------
    >>> adopted("nec2020").wanted, adopted("iec").wanted
    ('', 'iec')
    >>> adopted("NEC 2020")
    Traceback (most recent call last):
    reportgen.rulebook.errors.UnknownEdition: no rulebook for edition `NEC 2020`; there is `nec2017`, `nec2020`, `nec2023`
    """
    try:
        return load(edition)
    except UnknownEdition as error:
        if any(_characters(edition) == _characters(name) for name in error.known):
            raise
        newest = max((load(name) for name in error.known), key=lambda book: book.edition.year)
        return replace(newest, wanted=edition)


def _characters(name: str) -> list[str]:
    return sorted(character for character in name.lower() if character.isalnum())
