"""YAML with positions: one file's bytes to plain text, lists and mappings that know their place.

The parser is asked for its events only; nothing guesses types, builds objects, follows tags or merges. Limits
on size, depth and number of values hold before anything is expanded.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, NoReturn

import yaml

from reportgen.diagnostics.model import Sink, Span
from reportgen.project.characters import (
    CURLY,
    Text,
    decimal_comma,
    decode,
    first_odd_blank,
    forbidden,
    named,
    odd_characters,
)
from reportgen.project.nodes import Map, Node, Scalar, Seq
from reportgen.project.syntax import MAX_DEPTH, NO_BLANK, QUESTION, TOO_DEEP, impossible_escape, report

#: Most values in one file, aliases counted as often as they are used.
MAX_VALUES = 200_000
#: Most keys of one mapping and items of one list; no project comes near, and a year of hours fits.
MAX_ENTRIES = 20_000
#: Mistakes after which the rest of a file is not read: more would say nothing new and cost time.
MAX_MISTAKES = 100

#: Parser classes, the fast one first where PyYAML was built with it.
PARSERS: tuple[type, ...] = (*((yaml.CSafeLoader,) if yaml.__with_libyaml__ else ()), yaml.SafeLoader)


_WITH_C: tuple[type, ...] = (yaml.CSafeLoader,) if yaml.__with_libyaml__ else ()
_VEIL = "\ue03f"
_INTEGER = re.compile(r"[+-]?\d+", re.ASCII)
_INNER = re.compile(r"(?<=[^\s,\[\]{}])\?")


class _Refused(Exception):
    """Ends the reading of a file whose diagnostic is already in the sink."""


@dataclass(slots=True)
class _Anchor:
    node: Node | None
    size: int
    span: Span


def read_yaml(file: str, data: bytes, sink: Sink, parser: type | None = None) -> Map | None:
    r"""Mapping at the top of one YAML file, or None where the file as a whole cannot be used.

    Parameters
    ----------
    file : str
        Path relative to the project folder, for the messages.
    data : bytes
        The file as read from disk.
    sink : Sink
        Gets a located diagnostic for everything refused. A mapping may be returned although parts of it were
        refused (a key written twice, a tag); the sink then holds errors.
    parser : type, optional
        One of `PARSERS`; the first by default.

    Examples
    --------
    >>> sink = Sink()
    >>> tree = read_yaml("a.yaml", b"strings:\n  E1: {count: 012}\n", sink)
    >>> tree["strings"]["E1"]["count"], str(tree["strings"]["E1"]["count"].span)
    ('012', 'a.yaml:2:15')
    """
    text = decode(file, data, sink)
    if text is None:
        return None
    builder = _Builder(text, sink, parser or PARSERS[0])
    try:
        return builder.document()
    except _Refused:
        return None
    except (yaml.YAMLError, ValueError, OverflowError) as error:
        known = error if isinstance(error, yaml.YAMLError) else ValueError(str(error))
        report(known, text, [span for span, flow in builder.open if flow], sink)
        return None


class _Builder:
    """Turns the events of one document into nodes."""

    def __init__(self, text: Text, sink: Sink, parser: type) -> None:
        self.text = text
        self.file = text.file
        self.sink = sink
        self.pure = not issubclass(parser, _WITH_C)
        # The pure parser ends an unquoted text in brackets at any `?`; a stand-in of one character is put in its
        # place where no key can start, and taken out again of every value.
        self.veiled = self.pure and "?" in text.text and _VEIL not in text.text
        self.next: Any = parser(_INNER.sub(_VEIL, text.text) if self.veiled else text.text).get_event
        self.count = 0
        self.anchors: dict[str, _Anchor] = {}
        self.open: list[tuple[Span, bool]] = []
        #: No character and no escape of the file can be odd.
        self.plain = text.text.isascii() and "\\" not in text.text
        self.mistakes = 0

    def document(self) -> Map | None:
        """Return the one document of the stream."""
        self.next()  # start of the stream
        event = self.next()
        if isinstance(event, yaml.StreamEndEvent):
            self._error(
                "empty-file",
                f"`{self.file}` holds no values",
                Span(self.file, 1, 1, 1, 2),
                help="write a section into it, or delete the file",
            )
            return None
        root = self.node(self.next(), None)
        self.next()  # end of the document
        event = self.next()
        if not isinstance(event, yaml.StreamEndEvent):
            self._refuse(
                "many-documents",
                "a second document starts here; a file holds one",
                self._mark_span(event),
                "delete this line, or move what follows into a file of its own",
            )
        if isinstance(root, Map):
            return root
        if self.mistakes:
            # A blank that is none has made one text of what looks like keys.
            return None
        if isinstance(root, Scalar) and root.is_null:
            message = f"`{self.file}` holds no values"
            self._error("empty-file", message, root.span, help="write a section into it, or delete the file")
            return None
        kind = "a list" if isinstance(root, Seq) else "a text"
        self._error(
            "wrong-shape",
            f"{kind} stands at the top of the file where sections are wanted",
            Span(self.file, root.span.line, root.span.column, root.span.line, root.span.column + 1),
            help="start with a section, for instance `strings:`, and indent what belongs to it",
        )
        return None

    def node(self, event: Any, key: Scalar | None) -> Node:
        """Return the node that starts with ``event``; ``key`` is what it is the value of."""
        self.count += 1
        if self.count > MAX_VALUES:
            message = f"`{self.file}` holds more than {MAX_VALUES} values"
            self._refuse("too-large", message, self._mark_span(event), "split the file")
        kind = type(event)
        if kind is yaml.ScalarEvent:
            node: Node = self._scalar(event, key)
            if event.anchor is None and event.tag is None:
                return node
            size = 1
        elif kind is yaml.AliasEvent:
            return self._alias(event)
        else:
            before = self.count
            if len(self.open) >= MAX_DEPTH:
                self._refuse("too-deep", TOO_DEEP, self._mark_span(event), "check the brackets")
            if event.anchor is not None:
                self._claim(event)
            self.open.append((self._mark_span(event), bool(event.flow_style)))
            node = self._sequence(event) if kind is yaml.SequenceStartEvent else self._mapping(event)
            self.open.pop()
            size = self.count - before + 1
        if event.tag is not None:
            self._error(
                "yaml-tag",
                "a `!` tag is not part of this format",
                self._mark_span(event),
                help="delete the tag, or put the value in quotes",
            )
        if event.anchor is not None:
            if kind is yaml.ScalarEvent:
                self._claim(event)
            self.anchors[event.anchor] = _Anchor(node, size, self._mark_span(event))
        return node

    def _scalar(self, event: Any, key: Scalar | None) -> Scalar:
        start, end, value = event.start_mark, event.end_mark, event.value
        line, column = start.line + 1, start.column + 1
        quoted = bool(event.style)
        if self.veiled:
            value = value.replace(_VEIL, "?")
        if not quoted and not value and key is not None:
            # The parsers place a value that is not there differently; the end of its key is common ground.
            line, column = key.span.end_line, key.span.end_column
            return Scalar(value, Span(self.file, line, column, line, column + 1))
        end_line, end_column = end.line + 1, end.column + 1
        if (event.anchor or event.tag) and not quoted and line == end_line:
            column = max(column, end_column - len(value))
        if end_column == 1 and end_line > line:
            # A block of text ends where the next line starts; it is told by its first line.
            end_line, end_column = line, len(self.text.line(line)) + 1
        scalar = Scalar(
            value, Span(self.file, line, column, end_line, max(end_column, column + 1)), quoted=quoted
        )
        if not quoted and " ?" in value and self.open and self.open[-1][1]:
            where = self.text.span(self.text.text.index(" ?", self.text.offset(scalar.span)) + 1)
            self._refuse("yaml-syntax", QUESTION, where, "put the text in quotes")
        if not self.plain and not (value.isascii() and value.isprintable()):
            self._check_characters(scalar)
        return scalar

    def _check_characters(self, scalar: Scalar) -> None:
        harmful = forbidden(scalar)
        if harmful is not None and "\ud800" <= harmful <= "\udfff":
            # The C parser stops here by itself.
            self._refuse(*impossible_escape(self.text))
        if harmful is not None:
            message = f"an escape puts a {named(harmful)} into this value"
            self._error("control-character", message, scalar.span, help="delete the escape")
        elif not scalar.quoted:
            index = first_odd_blank(scalar)
            if index is not None:
                self._odd(scalar, index)
            elif scalar[:1] in CURLY:
                self._odd(scalar, 0)

    def _odd(self, scalar: Scalar, index: int) -> None:
        character = scalar[index]
        span = self.text.span(self.text.text.index(character, self.text.offset(scalar.span)))
        if character in CURLY:
            message = f"a {named(character)} does not quote in YAML"
            self._error("odd-character", message, span, help='write the plain quote `"`')
            return
        message = f"a {named(character)} stands where a plain space or nothing is meant"
        self._error(
            "odd-character", message, span, help="replace it by a plain space, or put the text in quotes"
        )

    def _claim(self, event: Any) -> None:
        span = self._mark_span(event)
        if (first := self.anchors.get(event.anchor)) is not None:
            self._error(
                "yaml-anchor",
                f"the anchor `&{event.anchor[:40]}` is set a second time",
                span,
                help="give it another name",
                related=((first.span, "first set here"),),
            )
        self.anchors[event.anchor] = _Anchor(None, 0, span)

    def _alias(self, event: Any) -> Node:
        span = self._mark_span(event, len(event.anchor) + 1)
        anchor = self.anchors.get(event.anchor)
        shown = f"`*{event.anchor[:40]}`"
        if anchor is None:
            message = f"{shown} repeats an anchor that is not set above"
            self._error("yaml-anchor", message, span, help="put the value in quotes if no alias was meant")
        elif anchor.node is None:
            self._error(
                "yaml-anchor",
                f"{shown} stands inside the value that it repeats",
                span,
                help="write the value out",
                related=((anchor.span, "the anchor is set here"),),
            )
        else:
            self.count += anchor.size - 1
            if self.count > MAX_VALUES:
                message = f"aliases expand `{self.file}` to more than {MAX_VALUES} values"
                self._refuse("too-large", message, span, "write the values out where they are needed")
            return anchor.node
        return Scalar("", span)

    def _sequence(self, event: Any) -> Seq:
        items: list[object] = []
        while not isinstance(item := self.next(), yaml.SequenceEndEvent):
            items.append(self.node(item, None))
            if len(items) > MAX_ENTRIES:
                message = f"a list holds more than {MAX_ENTRIES} items"
                self._refuse("too-large", message, self._mark_span(item), "keep measured series as CSV")
        if event.flow_style:
            return Seq(items, self._between(event.start_mark, item.end_mark))
        return Seq(items, self._up_to(event, items[-1] if items else None))

    def _mapping(self, event: Any) -> Map:
        items: dict[Scalar, object] = {}
        value: object = None
        while not isinstance(item := self.next(), yaml.MappingEndEvent):
            before, key = value, self._key(item)
            value = self.node(self.next(), key)
            if key is None or (event.flow_style and self._decimal_comma(before, key, value)):
                continue
            if key in items:
                first = next(known for known in items if known == key)
                both = first.span.line == key.span.line
                lines = f"line {first.span.line}" + (
                    " both times" if both else f" and in line {key.span.line}"
                )
                self._error(
                    "duplicate-key",
                    f"{key.shown} stands twice in one mapping, in {lines}",
                    key.span,
                    help="keep one of the two",
                    related=((first.span, "the first time"),),
                )
                continue
            items[key] = value
            if len(items) > MAX_ENTRIES:
                message = f"a mapping holds more than {MAX_ENTRIES} keys"
                self._refuse("too-large", message, key.span, "split the project")
        if event.flow_style:
            return Map(items, self._between(event.start_mark, item.end_mark))
        return Map(items, self._up_to(event, value))

    def _decimal_comma(self, before: object, key: Scalar, value: object) -> bool:
        """Report `{voltage: 37,1 V}`, where the comma ends the value and `1 V` looks like a key without one."""
        if not (isinstance(before, Scalar) and isinstance(value, Scalar) and value.is_null):
            return False
        whole, rest = before.span, key.span
        if key.quoted or before.quoted or not (_INTEGER.fullmatch(before) and key[:1].isdecimal()):
            return False
        if (whole.end_line, whole.end_column + 1) != (rest.line, rest.column):
            return False
        span = Span(self.file, whole.line, whole.column, rest.end_line, rest.end_column)
        message, help = decimal_comma(str(before), str(key))
        self._error("bad-quantity", message, span, help)
        return True

    def _key(self, event: Any) -> Scalar | None:
        if type(event) is yaml.ScalarEvent:
            key = self._scalar(event, None)
            if event.tag is None and event.anchor is None and not key.is_null:
                if key == "<<" and not key.quoted:
                    message = "the merge key `<<` is not part of this format"
                    self._error("yaml-merge", message, key.span, help="write the values out")
                    return None
                if not key.isascii():
                    self._odd_key(key)
                if self.pure and not key.quoted:
                    self._check_colon(key)
                return key
            span = key.span
        else:
            span = self._mark_span(event)
            self.count -= 1
            self.node(event, None)
        self._error(
            "bad-key", "a key has to be a plain text", span, help="write the key as a word, without brackets"
        )
        return None

    def _check_colon(self, key: Scalar) -> None:
        # The C parser wants a blank between the colon and a bracket or comma.
        end = self.text.starts[key.span.end_line - 1] + key.span.end_column - 1
        after = self.text.text[end : end + 2]
        if after[:1] == ":" and after[1:] in {",", "[", "]", "{", "}"}:
            self._refuse("yaml-syntax", NO_BLANK, self.text.span(end), "write a blank after the colon")

    def _odd_key(self, key: Scalar) -> None:
        # Odd blanks and opening quotes of an unquoted text are reported with every other scalar.
        known = not key.quoted and (first_odd_blank(key) is not None or key[0] in CURLY)
        character = next((found for _, found in odd_characters(key)), None)
        if character is not None and not known:
            message = f"the key {key.shown} holds a {named(character)}"
            start = self.text.text.find(character, self.text.offset(key.span))
            span = self.text.span(start) if start >= 0 else key.span
            self._error("odd-character", message, span, help="write the plain character")

    def _up_to(self, event: Any, last: object) -> Span:
        end = last.span if isinstance(last, Scalar | Seq | Map) and last.span.file else self._mark_span(event)
        start = event.start_mark
        line, column = start.line + 1, start.column + 1
        if (end.end_line, end.end_column) <= (line, column):
            # The last value is an alias of something further up.
            return Span(self.file, line, column, line, column + 1)
        return Span(self.file, line, column, end.end_line, end.end_column)

    def _between(self, start: Any, end: Any) -> Span:
        return Span(self.file, start.line + 1, start.column + 1, end.line + 1, end.column + 1)

    def _mark_span(self, event: Any, length: int = 1) -> Span:
        mark = event.start_mark
        return self.text.at(mark.line + 1, mark.column + 1, length)

    def _error(
        self, code: str, message: str, span: Span, help: str, related: tuple[tuple[Span, str], ...] = ()
    ) -> None:
        self.sink.error(code, message, span, help=help, related=related)
        self.mistakes += 1
        if self.mistakes >= MAX_MISTAKES:
            raise _Refused

    def _refuse(self, code: str, message: str, span: Span, help: str) -> NoReturn:
        self._error(code, message, span, help)
        raise _Refused
