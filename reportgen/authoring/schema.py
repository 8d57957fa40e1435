"""JSON Schema of a project file, made from the models, for editors that complete and check YAML.

Any file of a folder may hold any sections, and a mapping such as `site` may be split over files, so nothing at the
top of a file is required. What spans files (references, ids used twice) is left to `reportgen check`.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from reportgen.project.load import section_keys
from reportgen.project.model import Project
from reportgen.project.values import Section
from reportgen.working.units import DIMENSIONS

#: Understood by the language servers that editors use; nothing here needs a later draft.
DRAFT = "http://json-schema.org/draft-07/schema#"
#: Where a folder keeps its copy: names that begin with a dot are no input of a design.
PLACE = ".reportgen/schema.json"

Schema = dict[str, Any]


def modeline(depth: int = 0) -> str:
    """First line of a file that tells an editor where the schema is; ``depth`` counts folders below the top.

    Examples
    --------
    >>> modeline()
    '# yaml-language-server: $schema=.reportgen/schema.json'
    """
    return f"# yaml-language-server: $schema={'../' * depth}{PLACE}"


def json_schema() -> Schema:
    """Schema of one file of a project folder."""
    made = Project.model_json_schema()
    models = {model.__name__: model for model in _subclasses(Section)}
    definitions: dict[str, Schema] = made["$defs"]
    for name, body in definitions.items():
        _tidy(body)
        definitions[name] = _also_short(body, models.get(name))
    for name, section in made["properties"].items():
        _tidy(section)
        if section_keys(name) == "keys":
            # One mapping may be split over files.
            reference = str(section.pop("$ref")).rpartition("/")[2]
            whole = definitions[reference]
            section |= {key: value for key, value in whole.items() if key not in {"required", "description"}}
        section["type"] = ["object", "null"]
    return {
        "$schema": DRAFT,
        "title": "Project file of reportgen",
        "description": "Any sections, in any file of the folder",
        "type": "object",
        "properties": made["properties"],
        "additionalProperties": False,
        "$defs": definitions,
    }


def schema_text() -> str:
    """The schema as a file: sorted keys, one line break at its end."""
    return json.dumps(json_schema(), indent=1, ensure_ascii=False, sort_keys=True) + "\n"


def write_schema(folder: Path) -> Path:
    """Write the schema into a project folder, where the first lines of its files look for it."""
    target = folder / PLACE
    target.parent.mkdir(exist_ok=True)
    text = schema_text()
    if not target.is_file() or target.read_text(encoding="utf-8") != text:
        target.write_text(text, encoding="utf-8")
    return target


def wants_schema(folder: Path) -> bool:
    """Whether a folder has a copy, or a file at its top whose first line looks for one."""
    if (folder / PLACE).is_file():
        return True
    for path in sorted(folder.glob("*.yaml")):
        with path.open("rb") as file:
            if file.readline(200).strip() == modeline().encode():
                return True
    return False


def refresh_schema(folder: Path) -> None:
    """Bring the copy of a folder up to date, where its files look for one."""
    if wants_schema(folder):
        write_schema(folder)


def _subclasses(model: type[Section]) -> Iterator[type[Section]]:
    for child in model.__subclasses__():
        yield child
        yield from _subclasses(child)


def _tidy(schema: Schema) -> None:
    """Take out what says nothing, and say the units in the words that an editor shows."""
    schema.pop("title", None)
    if schema.get("default", "") is None:
        del schema["default"]
    if len(schema.get("anyOf", ())) == 2 and {"type": "null"} in schema["anyOf"]:
        (kept,) = [part for part in schema.pop("anyOf") if part != {"type": "null"}]
        schema |= {key: value for key, value in kept.items() if key not in schema}
    if "patternProperties" in schema:
        schema["additionalProperties"] = False
    quantity = schema.get("x-quantity")
    if quantity:
        schema["description"] = f"{schema.get('description', 'Value')} [{units_of(quantity)}]"
    for part in _parts(schema):
        _tidy(part)


def units_of(quantity: list[str]) -> str:
    """Units of a field in short, for instance ``m, cm, mm, km, ft, in``."""
    units = [unit.symbol for name in quantity for unit in DIMENSIONS.get(name, ())]
    return ", ".join(units) or {"money": "amount"}.get(quantity[0], "AWG, kcmil, mm2")


def _parts(schema: Schema) -> Iterator[Schema]:
    for key in ("properties", "patternProperties"):
        held: Mapping[str, Schema] = schema.get(key, {})
        yield from held.values()
    if isinstance(schema.get("items"), dict):
        yield schema["items"]
    yield from schema.get("anyOf", ())


def _also_short(body: Schema, model: type[Section] | None) -> Schema:
    """Allow the shorter ways to write a mapping: one value alone, or nothing where nothing is required."""
    if not body.get("required"):
        body["type"] = ["object", "null"]
    if "library" in body.get("properties", {}):
        # Equipment that names the library has its values copied later.
        body["anyOf"] = [{"required": body.pop("required")}, {"required": ["library"]}]
    if model is None or model.alone is None:
        return body
    alone = {key: value for key, value in body["properties"][model.alone].items() if key != "description"}
    return {"description": body.get("description", ""), "anyOf": [alone, body]}
