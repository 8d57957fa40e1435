"""What the models refuse, told at the place in the file where it stands.

Each error of a validation is walked back along its path through the nodes and through the models at once: the
nodes give the place, the models what would have been right.
"""

from __future__ import annotations

import re
import types
import typing
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError, WithJsonSchema
from pydantic.fields import FieldInfo

from reportgen.diagnostics.model import Severity, Sink, Span
from reportgen.diagnostics.nearest import listing, nearest
from reportgen.project.characters import CURLY, DASHES, decimal_comma, named, odd_characters
from reportgen.project.nodes import Map, Scalar, Seq

#: Mistakes told in one run; a folder with more of them has one cause that shows among the first.
MAX_TOLD = 300

_LOST = re.compile(r"[ ]+(#(?=[\w./])[^ ]*)")
_AFTER_COMMA = re.compile(r",(?P<rest>\d[^,\[\]{}#]*)", re.ASCII)
_SHAPES = {"model_type": "a mapping", "dict_type": "a mapping", "list_type": "a list"}
#: Keys of equipment and raceways below which ids are defined.
_HOLDS_IDS = {"units", "inputs", "segments"}


@dataclass(frozen=True, slots=True)
class Place:
    """Where a path of a validation error leads: as far as the file has something there."""

    node: object
    key: Scalar | None
    annotation: Any
    #: The field that the annotation belongs to, where the last step was a key of a model.
    field: FieldInfo | None
    #: True when the path ended before its last element.
    short: bool

    @property
    def model(self) -> type[BaseModel] | None:
        """The model of the mapping, where it is one."""
        core = core_type(self.annotation)
        return core if isinstance(core, type) and issubclass(core, BaseModel) else None

    @property
    def span(self) -> Span:
        """Place of the value, or of its key where it has none."""
        node = self.node
        if isinstance(node, Scalar):
            return node.span
        if self.key is not None:
            return self.key.span
        return first_line(node)


def first_line(node: object) -> Span:
    """Place of a list or mapping as a reader looks for it: its first key or item."""
    if isinstance(node, Map) and node:
        return next(iter(node)).span
    span = node.span if isinstance(node, Scalar | Seq | Map) else Span("")
    return Span(span.file, span.line, span.column, span.line, span.column + 1)


def core_type(annotation: Any) -> Any:
    """Annotation without ``Annotated`` and ``| None``."""
    while True:
        origin = typing.get_origin(annotation)
        if origin is typing.Annotated:
            annotation = typing.get_args(annotation)[0]
        elif origin in {typing.Union, types.UnionType}:
            kept = [part for part in typing.get_args(annotation) if part is not type(None)]
            if len(kept) != 1:
                return annotation
            annotation = kept[0]
        else:
            return annotation


def _inside(annotation: Any, step: str | int) -> tuple[Any, FieldInfo | None]:
    core = core_type(annotation)
    if isinstance(core, type) and issubclass(core, BaseModel):
        field = core.model_fields.get(str(step))
        return (field.annotation, field) if field is not None else (None, None)
    arguments = typing.get_args(core)
    return (arguments[-1] if arguments else None), None


class Keys:
    """Keys of mappings as written, found by their text; one table a mapping, made when first asked for."""

    def __init__(self) -> None:
        self._tables: dict[int, dict[str, Scalar]] = {}

    def of(self, node: Map, name: str | int) -> Scalar | None:
        """Key of a mapping with its place, or None."""
        table = self._tables.get(id(node))
        if table is None:
            table = self._tables[id(node)] = {str(key): key for key in node}
        return table.get(str(name))


def walk(tree: Map, model: type[BaseModel], path: Iterable[str | int], keys: Keys) -> Place:
    """Follow a path of a validation error through nodes and models."""
    node: object = tree
    key: Scalar | None = None
    annotation: Any = model
    field: FieldInfo | None = None
    for step in path:
        if step == "[key]":
            return Place(key, key, None, None, False)
        if isinstance(node, Map):
            found = keys.of(node, step)
            if found is None:
                return Place(node, key, annotation, field, True)
            node, key = node[found], found
        elif isinstance(node, Seq) and isinstance(step, int) and step < len(node):
            node, key = node[step], None
        else:
            return Place(node, key, annotation, field, True)
        annotation, field = _inside(annotation, step)
    return Place(node, key, annotation, field, False)


def sample(field: FieldInfo) -> str | None:
    """Say what a field may hold, for a help line: an example or the list of its words."""
    for schema in schemas_of(field):
        if "enum" in schema:
            return "one of " + listing(str(word) for word in schema["enum"] if isinstance(word, str))
        if schema.get("examples"):
            return f"for instance `{schema['examples'][0]}`"
    return None


def schemas_of(field: FieldInfo) -> Iterable[Mapping[str, Any]]:
    """What a field says of itself to editors: its own marks and those of what it is made of."""
    for mark in field.metadata:
        if isinstance(mark, WithJsonSchema) and isinstance(mark.json_schema, dict):
            yield mark.json_schema
    for part in (field.annotation, *typing.get_args(field.annotation)):
        for mark in getattr(part, "__metadata__", ()):
            if isinstance(mark, WithJsonSchema) and isinstance(mark.json_schema, dict):
                yield mark.json_schema


class Telling:
    """Tells the errors of one validation, each place once.

    Parameters
    ----------
    tree : Map
        What was validated.
    model : type of BaseModel
        What it was validated against.
    line : callable
        Text of a line of a file, by its place; to look for a value that a comment swallowed.
    sink : Sink
        Gets the diagnostics. Places that have one already get no second.
    """

    def __init__(self, tree: Map, model: type[BaseModel], line: Callable[[Span], str], sink: Sink) -> None:
        self.tree = tree
        self.model = model
        self.line = line
        self.sink = sink
        self.taken = {item.span for item in sink.items}
        self.read = [item.span for item in sink.items if item.span is not None]
        self.meant: set[tuple[int, str]] = set()
        self.missing: set[tuple[Span, str]] = set()
        #: Sections in which a misspelt key hides ids, so that references to them cannot be judged.
        self.hidden: set[str] = set()
        self.keys = Keys()
        self.told = 0

    def excuse(self, names: Iterable[str]) -> None:
        """Do not call these top keys missing: they may stand in a file that could not be read."""
        self.meant.update((id(self.tree), name) for name in names)

    def tell(self, error: ValidationError) -> None:
        """Tell every error of a validation."""
        errors = error.errors(include_url=False, include_input=False)
        # Unknown keys first: the key that was probably meant is then not reported as missing as well.
        errors.sort(key=lambda item: item["type"] != "extra_forbidden")
        for number, item in enumerate(errors):
            if self.told >= MAX_TOLD:
                self.sink.error(
                    "more-mistakes",
                    f"up to {len(errors) - number} further mistakes are not listed",
                    severity=Severity.NOTE,
                    help="cure these first",
                )
                return
            self._one(item["type"], item["loc"], item.get("ctx", {}), item["msg"])

    def _add(self, code: str, message: str, span: Span, help: str | None, notes: Iterable[str] = ()) -> None:
        if span not in self.taken and not any(_holds(span, told) for told in self.read):
            self.taken.add(span)
            self.told += 1
            self.sink.error(code, _short(message), span, help=help and _short(help), notes=notes)

    def _one(self, kind: str, path: tuple[str | int, ...], context: Mapping[str, Any], fallback: str) -> None:
        if kind == "extra_forbidden":
            meant = self._unknown(walk(self.tree, self.model, path[:-1], self.keys), str(path[-1]))
            if meant in _HOLDS_IDS:
                self.hidden.add(str(path[0]))
            return
        if kind == "missing":
            self._missing(walk(self.tree, self.model, path[:-1], self.keys), str(path[-1]))
            return
        place = walk(self.tree, self.model, path, self.keys)
        node = place.node
        if isinstance(node, Scalar) and node.is_null:
            self._no_value(place, str(context.get("hint", "write a value, or remove the key")))
        elif kind in _SHAPES:
            self._shape(place, _SHAPES[kind])
        elif "message" in context:
            span = place.span if not place.short else first_line(node)
            notes = _odd_notes(node) if isinstance(node, Scalar) else ()
            if kind == "bad-quantity" and isinstance(node, Scalar) and (comma := self._comma(node)):
                self._add(kind, *comma)
                return
            self._add(kind, str(context["message"]), span, context.get("hint"), notes)
        else:
            self._add(
                "bad-value",
                f"this value cannot be used: {fallback[:1].lower()}{fallback[1:]}",
                place.span,
                None,
            )

    def _unknown(self, parent: Place, name: str) -> str | None:
        if not isinstance(parent.node, Map) or parent.model is None:
            return None
        key = self.keys.of(parent.node, name)
        if key is None or key.span in self.taken:
            return None
        fields = parent.model.model_fields
        free = [field for field in fields if field not in parent.node]
        meant = nearest(name, free) or nearest(name, fields)
        if meant is not None:
            self.meant.add((id(parent.node), meant))
            help = f"did you mean `{meant}`?"
        else:
            help = f"possible keys here: {listing(fields, 40)}"
        where = f" in `{parent.key}`" if parent.key is not None else ""
        self._add("unknown-key", f"{key.shown} is not a known key{where}", key.span, help)
        return meant

    def _missing(self, parent: Place, name: str) -> None:
        if (id(parent.node), name) in self.meant:
            return
        if isinstance(parent.node, Map) and self.keys.of(parent.node, "library") is not None:
            # What is missing is in the library, and that is told once.
            return
        if isinstance(parent.node, Scalar) and parent.node.span in self.taken:
            return
        field = parent.model.model_fields.get(name) if parent.model is not None else None
        about = (
            f": {field.description[:1].lower()}{field.description[1:]}" if field and field.description else ""
        )
        example = sample(field) if field is not None else None
        where = f"in `{parent.key}`" if parent.key is not None else "here"
        span = parent.key.span if parent.key is not None else first_line(parent.node)
        help = f"add `{name}`{about}" + (f"; {example}" if example else "")
        message = f"`{name}` is missing {where}"
        # Several keys may be missing in one mapping, so the place alone does not tell them apart.
        if (span, name) not in self.missing:
            self.missing.add((span, name))
            self.told += 1
            self.sink.error("missing-key", message, span, help=help)

    def _no_value(self, place: Place, hint: str) -> None:
        name = f"`{place.key}`" if place.key is not None else "this item"
        span = place.span
        line = self.line(span)
        lost = _LOST.match(line, span.column) or _LOST.match(line, span.column - 1)
        if lost is None:
            self._add("value-missing", f"{name} has no value", span, hint)
            return
        word = lost.group(1)
        span = Span(span.file, span.line, lost.start(1) + 1, span.line, lost.end(1) + 1)
        message = f"{name} has no value, because `{word}` begins a comment"
        help = f'write `"{word}"` in quotes, or drop the `#`'
        self._add("value-missing", message, span, help)

    def _comma(self, node: Scalar) -> tuple[str, Span, str] | None:
        """Message, place and cure where an item of a list in brackets was cut at its decimal comma."""
        span = node.span
        rest = _AFTER_COMMA.match(self.line(span), span.end_column - 1)
        if node.quoted or rest is None or not re.fullmatch(r"[+-]?\d+", node):
            return None
        message, help = decimal_comma(str(node), rest["rest"].rstrip())
        end = span.end_column + 1 + len(rest["rest"].rstrip())
        return message, Span(span.file, span.line, span.column, span.line, end), help

    def _shape(self, place: Place, wanted: str) -> None:
        found = (
            "a list"
            if isinstance(place.node, Seq)
            else "a mapping"
            if isinstance(place.node, Map)
            else "a single value"
        )
        name = f" for `{place.key}`" if place.key is not None else ""
        if wanted == "a list":
            help = "write the values in brackets, `[first, second]`, or each on a line behind `- `"
        elif place.model is not None:
            help = f"write its keys below it, indented: {listing(place.model.model_fields)}"
        else:
            help = "write each id as a key below it, indented"
        self._add("wrong-shape", f"{found} stands where {wanted} is wanted{name}", place.span, help)


def _holds(outer: Span, inner: Span) -> bool:
    """Whether one place lies within another of one line."""
    return (outer.file, outer.line, outer.end_line) == (inner.file, inner.line, inner.line) and (
        outer.column <= inner.column < outer.end_column
    )


def _odd_notes(node: Scalar) -> tuple[str, ...]:
    shown = []
    for index, character in odd_characters(node):
        kind = "a quotation mark" if character in CURLY else "a dash" if character in DASHES else "a blank"
        column = node.span.column + index + (1 if node.quoted else 0)
        shown.append(f"column {column} holds {kind} that is no plain one: {named(character)}")
    return tuple(shown[:3])


def _short(text: str, most: int = 400) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"
