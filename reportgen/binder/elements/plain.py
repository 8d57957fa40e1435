"""Words, warnings, facts and figures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup


@dataclass(frozen=True, slots=True)
class Caution:
    """Warning at the place where the hazard is; ``basis`` says what it rests on."""

    title: str
    text: str
    basis: str = ""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text; ``small`` where it only explains marks."""

    text: str
    small: bool = False


@dataclass(frozen=True, slots=True)
class Listing:
    """Short texts one under the other, numbered where their order counts."""

    items: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Pointers:
    """Where things stand that belong here: each a text with its anchor, on paper with its page."""

    title: str
    links: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """Names and their values, two columns."""

    pairs: tuple[tuple[str, str], ...]
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing with its title and what it says in words.

    ``svg`` comes from :meth:`reportgen.binder.drawings.svg.Drawing.markup`; a plain string prints as text.
    Neighbours that are ``half`` or a ``third`` as wide as the page stand abreast; a ``wide`` one lies on a landscape sheet.
    One with an ``id`` is listed in the index of drawings.
    """

    svg: Markup
    title: str
    description: str = ""
    half: bool = False
    third: bool = False
    id: str = ""
    wide: bool = False


@dataclass(frozen=True, slots=True)
class Heading:
    """Heading inside a chapter: level 2 is listed among the bookmarks, level 3 stands under it."""

    text: str
    level: Literal[2, 3] = 2
    anchor: str = ""
