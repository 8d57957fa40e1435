"""Every text of the project's models, found by reflection, with a place for it in the sample's files."""

from __future__ import annotations

import copy
import json
import typing
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml
from pydantic import BaseModel

from reportgen.authoring.keys import keys_of
from reportgen.project.mistakes import core_type
from reportgen.project.model import Project
from reportgen.service.folder_reader import take

Trail = tuple[str | int, ...]

SAMPLE = Path(__file__).parents[2] / "sample_project"
#: What the sample does not hold and a text could hide in.
EXTRA: dict[str, Any] = {
    "asbuilt": {"B1": {"item": "x", "designed": "x", "built": "x"}},
    "documents": {"D1": {"proves": "x"}},
    "reviews": {"V1": {"name": "x", "remarks": ["x"], "accepted": ["x"]}},
    "variants": {"T1": {"file": "variants/colder.yaml", "tries": "x"}},
}
VARIANT: dict[str, Any] = {"site": {"record_low": "-31 degC"}}


def folder() -> dict[str, Any]:
    """The sample's files as parsed sheets, filled up with one of everything that can hold a text."""
    sheets = {
        # aliases of one node become nodes of their own
        path: json.loads(json.dumps(yaml.load(data, Loader=yaml.BaseLoader)))
        for path, data in take(SAMPLE).everything.items()
        if path.endswith(".yaml")
    }
    sheets["arrays.yaml"]["strings"]["R1S"]["parts"] = [{"array": "ROOF", "count": "1", "positions": "x"}]
    hand = sheets["handover.yaml"]["handover"]
    hand |= {
        "functions": {"F1": {"test": "x", "result": "x"}},
        "design": {"name": "x"},
        "construction": {"name": "x"},
    }
    equipment = sheets["equipment.yaml"]
    equipment["fuses"]["GPV25"]["units"] = {"FU-9": {"place": "x"}}
    equipment["boxes"]["PB-L"]["terminals"] = {"source": "x"}
    equipment["inverters"]["H10"]["ac_terminals"] = {"source": "x"}
    return {**sheets, "extra.yaml": copy.deepcopy(EXTRA), "variants/colder.yaml": VARIANT}


def written(sheets: dict[str, Any]) -> dict[str, bytes]:
    """Parsed sheets as the bytes of a folder, with the files of the sample that are no YAML."""
    others = {path: data for path, data in take(SAMPLE).everything.items() if not path.endswith(".yaml")}
    made = {
        path: yaml.safe_dump(sheet, sort_keys=False, allow_unicode=True, width=10_000_000).encode()
        for path, sheet in sheets.items()
    }
    return others | made


def put(sheets: dict[str, Any], file: str, trail: Trail, key: str, text: str) -> None:
    """Write a text at one place of a sheet; as the only item where the key takes a list that is not there."""
    node = sheets[file]
    for step in trail[:-1]:
        node = node[step]
    node[trail[-1]] = [text] if key in LISTS and trail[-1] == key.rpartition("/")[2] else text


def text_keys() -> set[str]:
    """Every key of every section that takes a free text, as the guide lists it."""
    return {
        row.path
        for section in Project.model_fields
        for row in keys_of(section)
        if row.takes.split(" of ")[-1] == "text"
    }


#: Keys that take a list of texts.
LISTS = {row.path for s in Project.model_fields for row in keys_of(s) if row.takes == "list of text"}


def text_places(sheets: dict[str, Any]) -> dict[str, list[tuple[str, Trail]]]:
    """Places of every text, by key."""
    keys = text_keys()
    found: dict[str, list[tuple[str, Trail]]] = {}
    for file, sheet in sheets.items():
        if file.startswith("variants/"):
            continue
        for section, node in sheet.items():
            for key, trail in places(Project.model_fields[section].annotation, node, section, (section,)):
                # a key that holds a list is filled item by item
                inner = sheet
                for step in trail:
                    inner = inner.get(step) if isinstance(inner, dict) else inner[step]
                known = key if key in keys else key.removesuffix("[ ]")
                if known in keys and not isinstance(inner, dict | list):
                    found.setdefault(known, []).append((file, trail))
    return found


def places(annotation: object, node: Any, path: str, trail: Trail) -> Iterator[tuple[str, Trail]]:
    """Key and trail of every text that a part of the folder could hold, whether it does or not."""
    core = core_type(annotation)
    origin = typing.get_origin(core)
    if origin in {dict, list}:
        inner = typing.get_args(core)[-1]
        path = f"{path}/ID" if origin is dict else f"{path}[ ]"
        steps = node.keys() if isinstance(node, dict) else range(len(node)) if isinstance(node, list) else ()
        for step in steps:
            yield path, (*trail, step)
            yield from places(inner, node[step], path, (*trail, step))
        return
    if not (isinstance(core, type) and issubclass(core, BaseModel)) or not isinstance(node, dict):
        return
    for name, field in core.model_fields.items():
        yield f"{path}/{name}", (*trail, name)
        if name in node:
            yield from places(field.annotation, node[name], f"{path}/{name}", (*trail, name))
