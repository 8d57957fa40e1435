"""Every key of a section with what it takes and means, made from the models: the part of the guide that cannot go stale."""

from __future__ import annotations

import typing
from collections.abc import Iterator
from dataclasses import dataclass

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from reportgen.authoring.schema import units_of
from reportgen.project.mistakes import core_type, schemas_of
from reportgen.project.model import Project
from reportgen.project.references import REFERENCES


@dataclass(frozen=True, slots=True)
class KeyRow:
    """One key: its path below the section, what it takes, whether it has to be there, what it means."""

    path: str
    takes: str
    required: bool
    meaning: str


def keys_of(section: str) -> Iterator[KeyRow]:
    """Every key of a section, `ID` standing for an id that the user chooses."""
    field = Project.model_fields[section]
    yield from _below(field.annotation, section, (section,))


def _below(annotation: object, path: str, trail: tuple[str, ...]) -> Iterator[KeyRow]:
    core = core_type(annotation)
    while typing.get_origin(core) in {dict, list}:
        path = f"{path}/ID" if typing.get_origin(core) is dict else f"{path}[ ]"
        core, trail = core_type(typing.get_args(core)[-1]), (*trail, "*")
    if not (isinstance(core, type) and issubclass(core, BaseModel)):
        yield KeyRow(path, _takes(core, None, trail), False, "")
        return
    for name, field in core.model_fields.items():
        own, steps = f"{path}/{name}", (*trail, name)
        inner, _ = _inside(field.annotation)
        nested = isinstance(inner, type) and issubclass(inner, BaseModel)
        yield KeyRow(own, _takes(field.annotation, field, steps), field.is_required(), _meaning(field))
        if nested:
            yield from _below(field.annotation, own, steps)


def _inside(annotation: object) -> tuple[object, list[str]]:
    core, wraps = core_type(annotation), []
    while typing.get_origin(core) in {dict, list}:
        wraps.append("mapping by id" if typing.get_origin(core) is dict else "list")
        core = core_type(typing.get_args(core)[-1])
    return core, wraps


def _meaning(field: FieldInfo) -> str:
    default = field.default
    simple = isinstance(default, str | int | float) and default not in (None, PydanticUndefined, "")
    words = {True: "yes", False: "no"}
    shown = (
        f" (without it: {words.get(default, default) if isinstance(default, bool) else default})"
        if simple
        else ""
    )
    return f"{field.description or ''}{shown}"


def _takes(annotation: object, field: FieldInfo | None, trail: tuple[str, ...]) -> str:
    core, wraps = _inside(annotation)
    around = "".join(f"{wrap} of " for wrap in wraps)
    if isinstance(core, type) and issubclass(core, BaseModel):
        alone = getattr(core, "alone", None)
        return f"{around}mapping" + (f", or its `{alone}` alone" if alone else "")
    target = next((row.to for row in REFERENCES if row.path in {trail, (*trail, "*")}), None)
    if target is not None:
        return f"{around}id of {' or '.join(target) if len(target) < 4 else 'a place or device'}"
    # The marks of a list stand on what it is made of.
    found = [*schemas_of(field)] if field is not None else []
    found += [getattr(mark, "json_schema", None) or {} for mark in _marks(annotation)]
    schema = next((item for item in found if item), {})
    if "enum" in schema:
        listed = [str(word) for word in schema["enum"] if isinstance(word, str)]
        return around + ("yes or no" if listed == ["yes", "no"] else " · ".join(listed))
    if "x-quantity" in schema:
        names = [name.replace("_", " ") for name in schema["x-quantity"]]
        return f"{around}{' or '.join(names)} [{units_of(schema['x-quantity'])}]"
    types = schema.get("type", "string")
    if "number" in types and "boolean" not in types:
        return f"{around}plain number"
    if "integer" in types and "minimum" in schema:
        return f"{around}whole number"
    if "pattern" in schema:
        return f"{around}date" if "\\d{4}-" in schema["pattern"] else f"{around}id"
    return f"{around}text"


def _marks(annotation: object) -> Iterator[object]:
    yield from getattr(annotation, "__metadata__", ())
    for part in typing.get_args(annotation):
        if not isinstance(part, str):
            yield from _marks(part)


def keys_markdown(section: str) -> str:
    """Keys of a section as a table for the guide; a star marks what has to be there."""
    lines = ["| Key | Takes | Meaning |", "|---|---|---|"]
    for row in keys_of(section):
        below = row.path.removeprefix(section).lstrip("/") or "ID"
        star = "\\*" if row.required else ""
        lines.append(f"| `{below}`{star} | {row.takes.replace('|', '/')} | {row.meaning.replace('|', '/')} |")
    return "\n".join(lines)
