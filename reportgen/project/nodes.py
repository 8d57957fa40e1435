"""What the reader hands to the models: plain text, lists and mappings that know their place.

No value is guessed from its look (``no``, ``012``, ``12:30`` stay text): the field that receives a scalar
decides what it may be. All three are ordinary ``str``, ``list`` and ``dict`` to everything else.
"""

from __future__ import annotations

from reportgen.diagnostics.model import Span

#: Longest part of a value repeated in a message.
_SHOWN = 40


class Scalar(str):
    """One scalar as written, with its place.

    Attributes
    ----------
    span : Span
        Where it stands.
    quoted : bool
        True for a quoted or block scalar, which is text whatever it looks like.
    """

    __slots__ = ("quoted", "span")
    span: Span
    quoted: bool

    def __new__(cls, text: str, span: Span, quoted: bool = False) -> Scalar:
        """Make a scalar of its text and place."""
        self = super().__new__(cls, text)
        self.span = span
        self.quoted = quoted
        return self

    @property
    def is_null(self) -> bool:
        """True where nothing was written (or ``null``, ``~``): a missing value, not a word."""
        return not self.quoted and self in {"", "~", "null", "Null", "NULL"}

    @property
    def shown(self) -> str:
        """The text as repeated in a message, in backticks, shortened where long."""
        text = str(self)
        return f"`{text if len(text) <= _SHOWN else text[: _SHOWN - 1] + '…'}`"


class Seq(list[object]):
    """A YAML sequence with its place."""

    __slots__ = ("span",)
    span: Span

    def __init__(self, items: list[object], span: Span) -> None:
        super().__init__(items)
        self.span = span


class Map(dict[Scalar, object]):
    """A YAML mapping with its place; its keys are scalars and carry their own."""

    __slots__ = ("span",)
    span: Span

    def __init__(self, items: dict[Scalar, object], span: Span) -> None:
        super().__init__(items)
        self.span = span

    def key_span(self, name: str) -> Span | None:
        """Place of the key as written, or None where the mapping lacks it."""
        return next((key.span for key in self if key == name), None)


Node = Scalar | Seq | Map


def span_of(value: object, fallback: Span) -> Span:
    """Place of a node, or ``fallback`` for anything that has none."""
    return value.span if isinstance(value, Scalar | Seq | Map) else fallback
