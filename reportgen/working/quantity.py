"""The currency of the whole tool: a value with its unit and its origin.

An origin is one of four things: typed by the user (:class:`Given`), read from a table (:class:`Cell`),
filled in by the tool (:class:`Assumed`), or worked out from other quantities (:class:`Working`). So every
number on a page can be followed back to the input line, the table cell or the assumption it rests on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from reportgen.diagnostics.model import Span
from reportgen.working.formula import Formula, formula
from reportgen.working.text import MINUS, fixed, significant
from reportgen.working.units import UNITS, convert


@dataclass(frozen=True, slots=True)
class Given:
    """Typed by the user: the text as written and its place."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Local:
    """Rule of the authority at hand that stands in for a cell of the edition.

    Parameters
    ----------
    key : str
        Id of the rule in the project's ``local`` section.
    authority : str
        Who says so; empty where the folder does not name one.
    given : Given
        The value as written, and its place.
    edition_value : str
        What the edition prints there.
    loosens : bool
        True where the value asks less than the edition's.
    """

    key: str
    authority: str
    given: Given
    edition_value: str
    loosens: bool

    @property
    def said(self) -> str:
        """The rule as a page names it: ``local rule `town-fill` by the town``."""
        return f"local rule {self.key} by {self.authority or 'an authority that is not named'}"


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table of the rulebook, able to cite itself.

    Parameters
    ----------
    table : str
        Title of the table, for instance ``Table 310.16``.
    row, column : str
        Keys of the cell as the table prints them.
    value : str
        The cell's text; :attr:`number` reads it.
    unit : str
        Unit symbol of the column, empty for plain numbers and words.
    source : str
        Edition and where the value was read.
    recalled : bool
        True where the value was recalled and not read in a published copy: the binder marks it.
    local : Local, optional
        Rule of the authority at hand whose value this is, in place of what the table prints.
    """

    table: str
    row: str
    column: str
    value: str
    unit: str = ""
    source: str = ""
    recalled: bool = False
    local: Local | None = None

    @property
    def number(self) -> float:
        """The cell as a number; ValueError where it is a word."""
        return float(self.value)

    @property
    def citation(self) -> str:
        """Where a reader finds the cell: table, row and column."""
        parts = [part for part in (self.row, self.column) if part]
        place = f"{self.table} [{', '.join(parts)}]" if parts else self.table
        return place if self.local is None else f"{self.local.said}, in place of {place}"


@dataclass(frozen=True, slots=True)
class Assumed:
    """Filled in by the tool because nothing was given; listed on the assumptions page.

    Parameters
    ----------
    key : str
        Stable id, for instance ``site.albedo``.
    reason : str
        Why this value stands in and what replaces it.
    source : str
        Publication, ``common practice, no source`` or ``recalled``.
    """

    key: str
    reason: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Working:
    """Worked out: the formula and the quantities put into it, in the formula's order."""

    formula: Formula
    terms: tuple[tuple[str, Quantity], ...]

    def __hash__(self) -> int:
        """Of the formula and its numbers; a hash over all that they rest on would walk a deep working each time."""
        return hash((self.formula.text, tuple(term.value for _, term in self.terms)))

    @property
    def symbols(self) -> str:
        """The formula in symbols."""
        return self.formula.printed()

    @property
    def numbers(self) -> str:
        """The formula with the numbers put in, as they would be keyed into a calculator."""
        return self.formula.printed({name: term.keyed for name, term in self.terms})


Origin = Given | Cell | Assumed | Working | None


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with its unit and origin.

    Parameters
    ----------
    value : float
        In ``unit``, never rounded.
    unit : str
        Symbol of :data:`reportgen.working.units.UNITS`.
    origin : Given, Cell, Assumed, Working or None
        Where it comes from; None for plain numbers of a library user.
    name : str
        What the number is, for the working printed on a page.
    """

    value: float
    unit: str = ""
    origin: Origin = None
    name: str = ""

    def __hash__(self) -> int:
        """Of value, unit and name; the origin tells equal ones apart only where these are the same."""
        return hash((self.value, self.unit, self.name))

    def to(self, unit: str) -> Quantity:
        """Return the same quantity in another unit of its dimension, its origin kept."""
        if unit == self.unit:
            return self
        return Quantity(convert(self.value, self.unit, unit), unit, self.origin, self.name)

    def named(self, name: str) -> Quantity:
        """Return the same quantity under a name."""
        return Quantity(self.value, self.unit, self.origin, name)

    @property
    def keyed(self) -> str:
        """The number as keyed into a calculator: as typed where it was typed, else six significant digits."""
        if isinstance(self.origin, Given) and (typed := _typed_number(self.origin.text, self.value)):
            return typed
        return significant(self.value, 6)

    @property
    def unit_printed(self) -> str:
        """The unit as a page prints it."""
        return UNITS[self.unit].printed if self.unit in UNITS else self.unit

    def show(self, places: int | None = None, at_most: bool | None = None) -> str:
        """Number and unit for a page; without ``places`` as many digits as were keyed, a limit to its safe side.

        Examples
        --------
        >>> Quantity(467.578, "V").show(1)
        '467.6 V'
        """
        number = self.keyed if places is None else fixed(self.value, places, at_most)
        unit = self.unit_printed
        return f"{number}{unit}" if unit == "°" else f"{number} {unit}".rstrip()


Number = float | int | Quantity


def _typed_number(text: str, value: float) -> str | None:
    number = text.strip().split()[0] if text.strip() else ""
    number = number.rstrip("%°CFVAWmkftinhdegoΩ²/")
    try:
        same = float(number) == value
    except ValueError:
        return None
    return number.replace("-", MINUS) if same else None


def quantity(number: Number, unit: str | None = None) -> Quantity:
    """Quantity of a plain number; a quantity passes, converted where another unit is asked for."""
    if isinstance(number, Quantity):
        return number if unit is None else number.to(unit)
    return Quantity(float(number), unit or "")


def work(name: str, unit: str, text: str, **terms: Number) -> Quantity:
    """Evaluate a formula and keep the working with the value.

    Parameters
    ----------
    name : str
        What the number is.
    unit : str
        Unit of the result; the formula must deliver it.
    text : str
        The formula, its names being the keywords of ``terms``.
    **terms : float or Quantity
        One per name, each already in the unit that the formula wants.

    Examples
    --------
    >>> q = work("maximum current", "A", "k * I_sc", k=1.25, I_sc=Quantity(13.79, "A"))
    >>> q.value, q.origin.numbers
    (17.2375, '1.25 × 13.79')
    """
    parsed = formula(text)
    origin = Working(parsed, tuple((key, quantity(terms[key])) for key in parsed.names))
    value = parsed.function(*[term.value for _, term in origin.terms])
    return Quantity(float(value), unit, origin, name)


def walk(*roots: Quantity) -> Iterator[Quantity]:
    """Every quantity that the roots rest on, each root before what it rests on, each once."""
    seen: set[int] = set()
    stack = list(reversed(roots))
    while stack:
        item = stack.pop()
        if id(item) in seen:
            continue
        seen.add(id(item))
        yield item
        if isinstance(item.origin, Working):
            stack.extend(term for _, term in reversed(item.origin.terms))


def spans_of(*roots: Quantity | None) -> tuple[Span, ...]:
    """Input lines that the quantities rest on, in order of appearance, each once."""
    origins = (q.origin for q in walk(*filter(None, roots)))
    given = (
        origin.local.given if isinstance(origin, Cell) and origin.local else origin for origin in origins
    )
    return tuple(dict.fromkeys(origin.span for origin in given if isinstance(origin, Given)))


def cells_of(*roots: Quantity | None) -> tuple[Cell, ...]:
    """Table cells that the quantities rest on, in order of appearance, each once."""
    found = (q.origin for q in walk(*filter(None, roots)) if isinstance(q.origin, Cell))
    return tuple(dict.fromkeys(found))


def assumptions_of(*roots: Quantity | None) -> tuple[Assumed, ...]:
    """Assumptions that the quantities rest on, in order of appearance, each once."""
    found = (q.origin for q in walk(*filter(None, roots)) if isinstance(q.origin, Assumed))
    return tuple(dict.fromkeys(found))
