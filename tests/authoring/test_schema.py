"""The schema for editors: made from the models, accepts what the reader accepts, refuses what it can see."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from reportgen.authoring.schema import (
    DRAFT,
    PLACE,
    json_schema,
    modeline,
    refresh_schema,
    schema_text,
    write_schema,
)
from reportgen.authoring.units import rows, units_markdown, units_text
from reportgen.project.model import Project
from reportgen.project.values import Section
from reportgen.working.units import DIMENSIONS

from ..editor import as_editor

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_project"
BROKEN = ROOT / "tests" / "diagnostics" / "broken"
#: The rest lies in other files, in the text under the values, or in limits of the reader.
SEEN_BY_A_SCHEMA = {
    "bad-choice",
    "bad-date",
    "bad-flag",
    "bad-id",
    "bad-number",
    "bad-quantity",
    "missing-key",
    "more-mistakes",
    "unknown-key",
    "unknown-section",
    "value-missing",
    "wrong-shape",
}


@pytest.fixture(scope="module")
def judge() -> jsonschema.Draft7Validator:
    return jsonschema.Draft7Validator(json_schema())


def refusals(judge: jsonschema.Draft7Validator, data: bytes) -> list[str]:
    value = as_editor(data)
    return [] if value is None else [error.message for error in judge.iter_errors(value)]


def test_it_is_a_schema_of_the_draft_that_editors_know() -> None:
    schema = json_schema()
    assert schema["$schema"] == DRAFT
    jsonschema.Draft7Validator.check_schema(schema)
    assert json.loads(schema_text()) == schema
    assert set(schema["properties"]) == set(Project.model_fields)


@pytest.mark.parametrize("code", sorted(SEEN_BY_A_SCHEMA))
def test_it_refuses_each_broken_project_that_it_can(code: str, judge: jsonschema.Draft7Validator) -> None:
    assert [text for path in (BROKEN / code).glob("*.yaml") for text in refusals(judge, path.read_bytes())]


@pytest.mark.parametrize(
    "text",
    [
        "site: {elevation: 12 Ft}",
        "site: {elevation: 12}",
        "site: {record_low: 5 K}",
        "site: {plce: x}",
        "arrays: {E: {module: M, tilt: 22.5}}",
        "arrays: {E: {module: M, count: twelve}}",
        "arrays: {E: {count: 12}}",
        "arrays: {'E*': {module: M}}",
        "circuits: {P: {cable: C, size: 10}}",
        "fuses: {F: {rating: 15 A, listed_for_pv: on}}",
        "raceways: {R: {segments: {a: {kind: EMT, size: 1, length: -3 m, place: roof}}}}",
        "raceways: {R: {segments: {a: {kind: EMT, size: 1, length: 3 m, place: roof, bends: [steep]}}}}",
        "nothing: {}",
    ],
)
def test_it_refuses_what_the_reader_refuses(text: str, judge: jsonschema.Draft7Validator) -> None:
    assert refusals(judge, text.encode())


@pytest.mark.parametrize(
    "text",
    [
        "site:",
        "site: {place: 12}",
        "project: {revision: 1.2}",
        "arrays: {1: {module: 7, count: '12'}}",
        "raceways: {R: {segments: {a: {kind: EMT, size: 1, length: 5 ft 6 in, place: roof, rise: -3 m}}}}",
        "raceways: {R: {segments: {a: {kind: EMT, size: 1, length: 3 m, place: roof, bends: [90 deg]}}}}",
        "circuits: {P: {cable: C, size: 10 awg}, Q: {cable: C, size: 6 mm²}, R: {cable: C, size: 1/0}}",
        "fuses: {F: {rating: 15 A, listed_for_pv: true}}",
        "inverters: {H: {units: {I: }, inputs: {A: {}}}}",
    ],
)
def test_it_accepts_what_the_reader_accepts(text: str, judge: jsonschema.Draft7Validator) -> None:
    assert refusals(judge, text.encode()) == []


def leaves(schema: dict[str, Any], path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    for name, part in schema.get("properties", {}).items():
        yield f"{path}/{name}", part


def test_every_key_has_a_description_and_every_quantity_examples_and_units() -> None:
    schema = json_schema()
    bodies = [schema, *schema["$defs"].values(), *schema["properties"].values()]
    bodies += [part for body in bodies for part in body.get("anyOf", ())]
    seen = 0
    for body in bodies:
        for path, key in leaves(body):
            seen += 1
            assert key.get("description"), path
            for quantity in [part for part in (key, key.get("items", {})) if "x-quantity" in part]:
                assert quantity["examples"], path
                assert "[" in quantity["description"], path
                for example in quantity["examples"]:
                    jsonschema.Draft7Validator(quantity).validate(example)
    assert seen > 200


def test_the_copy_of_a_folder_is_written_and_brought_up_to_date(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("site: {}\n")
    (tmp_path / "b.yaml").write_text("")
    refresh_schema(tmp_path)
    assert not (tmp_path / PLACE).exists()
    (tmp_path / "c.yaml").write_text(f"{modeline()}\nsite: {{}}\n")
    refresh_schema(tmp_path)
    assert (tmp_path / PLACE).read_text(encoding="utf-8") == schema_text()
    written = write_schema(tmp_path)
    assert written.read_text(encoding="utf-8") == schema_text()
    written.write_text("{}")
    refresh_schema(tmp_path)
    assert written.read_text(encoding="utf-8") == schema_text()


def test_a_mapping_that_may_stand_as_one_value_is_both_in_the_schema() -> None:
    short = [model for model in every(Section) if model.alone is not None]
    for model in short:
        body = json_schema()["$defs"][model.__name__]
        assert len(body["anyOf"]) == 2, model


def every(model: type[Section]) -> Iterator[type[Section]]:
    for child in model.__subclasses__():
        yield child
        yield from every(child)


def test_units_are_listed_with_every_spelling() -> None:
    listed = units_text()
    for name, units in DIMENSIONS.items():
        for unit in units:
            assert all(spelling in listed for spelling in unit.accepted), name
    for word in ("5 ft 6 in", "conductor size", "money", "temperature difference", "250 kcmil"):
        assert word in listed
    assert units_markdown().count("\n") == len([*rows()]) + 1
