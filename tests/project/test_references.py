"""References: each field of the models that names an id is resolved, each place is told."""

from __future__ import annotations

import types
import typing
from collections.abc import Iterator
from typing import Any

import pytest
from pydantic import BaseModel

from reportgen.diagnostics.model import Sink
from reportgen.project.model import Project
from reportgen.project.nodes import Map
from reportgen.project.reader import read_yaml
from reportgen.project.references import (
    KEYS,
    REFERENCES,
    check_files,
    check_ids,
    check_references,
    id_sets,
)
from reportgen.project.values import Ref

_REF_MARK = Ref.__metadata__[0]


def ref_paths(
    annotation: Any, path: tuple[str, ...] = (), marks: tuple[Any, ...] = ()
) -> Iterator[tuple[str, ...]]:
    """Paths of every place whose type is a reference, found by walking the models."""
    if typing.get_origin(annotation) is typing.Annotated:
        core, *found = typing.get_args(annotation)
        yield from ref_paths(core, path, (*marks, *found))
        return
    if any(mark == _REF_MARK for mark in marks):
        yield path
        return
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        for name, field in annotation.model_fields.items():
            yield from ref_paths(field.annotation, (*path, name), tuple(field.metadata))
        return
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin in {typing.Union, types.UnionType}:
        for part in arguments:
            yield from ref_paths(part, path)
    elif origin is dict:
        yield from ref_paths(arguments[0], (*path, KEYS))
        yield from ref_paths(arguments[1], (*path, "*"))
    elif origin in {list, tuple}:
        yield from ref_paths(arguments[0], (*path, "*"))


def test_the_models_and_the_table_name_the_same_references() -> None:
    assert sorted(ref_paths(Project)) == sorted(row.path for row in REFERENCES)


def test_every_row_names_id_sets_that_exist() -> None:
    sets = id_sets(Map({}, span=_tree("a: 1").span))
    assert {name for row in REFERENCES for name in row.to} <= set(sets)


def _tree(text: str) -> Map:
    sink = Sink()
    tree = read_yaml("a.yaml", text.encode(), sink)
    assert tree is not None
    assert not sink.items
    return tree


FOLDER = """\
modules: {M1: {}}
fuses: {F15: {units: {FU-1: {}}}}
cables: {C1: {}}
arrays: {EAST: {module: M1}, WEST: {module: M1}}
inverters: {H5: {units: {INV-1: {}}, inputs: {A: {}, B: {}}}}
switches: {K2: {units: {SW-1: {}}, line: [L1, L2], load: [T1, T2], joined: [[L1, T1]]}}
boxes: {P1: {units: {PB-1: {}}}}
strings:
  E1: {array: EAST, input: INV-1/A, fuse: F15}
  E2: {parts: [{array: EAST, count: 3}, {array: WEST, count: 4}]}
raceways: {R1: {starts_at: EAST, ends_at: INV-1, segments: {trench: {ends_at: PB-1}}}}
circuits:
  PV-1: {string: E1, cable: C1, path: [R1, R1/trench], enclosures: [PB-1, SW-1]}
  PV-2: {string: E2, cable: C1, parallel: 2}
  EG-1: {kind: ground, cable: C1}
  AC-1: {kind: output, inverter: INV-1, cable: C1, conductors: 3}
landing: {SW-1: {L1: PV-1+, L2: PV-2-.2, T1: INV-1/A+, T2: EG-1}, PB-1: {X9: AC-1.3}}
jumpers: {SW-1: [[T1, T2]]}
readings: {first: {strings: {E1: {}}}}
stock: {spools: {red: {cable: C1}}}
documents: {sheet: {of: M1}, photo: {of: SW-1}, manual: {of: H5}}
"""


def told(text: str) -> list[tuple[str, str, str]]:
    sink = Sink()
    tree = _tree(text)
    check_ids(tree, sink)
    check_references(tree, sink)
    return [(item.code, item.message, item.help or "") for item in sink.sorted()]


def test_a_folder_whose_references_hold() -> None:
    assert told(FOLDER) == []


@pytest.mark.parametrize(
    ("old", "new", "message", "cure"),
    [
        ("EAST: {module: M1}", "EAST: {module: M2}", "array `EAST` names module `M2`", "`M1`"),
        ("{array: WEST", "{array: WET", "string `E2` names array `WET`", "did you mean `WEST`?"),
        (
            "input: INV-1/A",
            "input: INV-1/C",
            "string `E1` names inverter input `INV-1/C`",
            "did you mean `INV-1/",
        ),
        (
            "input: INV-1/A",
            "input: INV-1",
            "string `E1` names inverter input `INV-1`",
            "did you mean `INV-1/",
        ),
        ("fuse: F15", "fuse: F51", "string `E1` names fuse `F51`", "`F15`"),
        ("starts_at: EAST", "starts_at: E1", "raceway `R1` names a place `E1`", "EAST"),
        ("{ends_at: PB-1}", "{ends_at: PB-2}", "raceway `R1` names a place `PB-2`", "`PB-1`"),
        (
            "R1/trench]",
            "R1/trensh]",
            "circuit `PV-1` names raceway or raceway segment `R1/trensh`",
            "`R1/trench`",
        ),
        ("[PB-1, SW-1]", "[PB-1, SW-2]", "circuit `PV-1` names a device `SW-2`", "`SW-1`"),
        (
            "PV-2-.2",
            "PV-2-.3",
            "landing `SW-1` names conductor or inverter lead or device terminal `PV-2-.3`",
            "did you mean `PV-2-.",
        ),
        (
            "L1: PV-1+",
            "L1: PV-1",
            "conductor or inverter lead or device terminal `PV-1`",
            "did you mean `PV-1",
        ),
        ("L1: PV-1+", "L3: PV-1+", "`L3` is no terminal of `SW-1`", "`L1`, `L2`, `T1`, `T2`"),
        ("[[T1, T2]]", "[[T1, T9]]", "`T9` is no terminal of `SW-1`", "`T2`"),
        ("[[L1, T1]]", "[[L1, U1]]", "`U1` is no terminal of `K2`", "`T1`"),
        ("jumpers: {SW-1", "jumpers: {SW-3", "`jumpers` names a device `SW-3`", "`SW-1`"),
        ("{strings: {E1", "{strings: {E9", "reading `first` names string `E9`", "`E1`"),
        ("photo: {of: SW-1}", "photo: {of: zz}", "document `photo` names an id `zz`", "defined are"),
    ],
)
def test_fault_59_a_dangling_reference_names_its_owner_and_the_nearest_id(
    old: str, new: str, message: str, cure: str
) -> None:
    assert old in FOLDER
    ((code, said, help_),) = told(FOLDER.replace(old, new))
    assert code == "unknown-reference"
    assert message in said
    assert cure in help_


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "switches: {K2: {units: {SW-1: {}}",
            "switches: {K2: {units: {SW-1: {}, INV-1: {}}",
            "an inverter unit and of a switch unit",
        ),
        ("units: {FU-1", "units: {EAST", "an array and of a fuse unit"),
        ("boxes: {P1:", "boxes: {P0: {units: {PB-1: {}}}, P1:", "two box units"),
    ],
)
def test_fault_59_a_place_has_one_meaning(old: str, new: str, message: str) -> None:
    assert old in FOLDER
    assert [(code, message in said) for code, said, _ in told(FOLDER.replace(old, new))] == [
        ("duplicate-id", True)
    ]


def test_units_shared_by_an_alias_are_units_twice() -> None:
    text = "inverters: {H5: {units: &u {INV-1: {}}}, H6: {units: *u}}\n"
    assert [code for code, *_ in told(text)] == ["duplicate-id"]


def test_references_to_a_section_that_cannot_be_seen_are_not_judged() -> None:
    sink = Sink()
    tree = _tree("strings: {E1: {array: EAST, fuse: F15}}\n")
    check_references(tree, sink, hidden={"arrays"})
    assert [item.message for item in sink.items] == ["string `E1` names fuse `F15`, which is not defined"]


def test_references_survive_any_shape() -> None:
    assert told(
        "arrays: {EAST: [x]}\nstrings: {E1: text, E2: {parts: {array: q}}}\nlanding: {a: {b: {c: d}}}\n"
    ) == [
        (
            "unknown-reference",
            "`landing` names a device `a`, which is not defined",
            "define an inverter unit with this id",
        )
    ]


@pytest.mark.parametrize(
    ("name", "cure"),
    [
        ("weather/Year.csv", "did you mean `weather/year.csv`?"),
        ("yaer.csv", "did you mean `weather/year.csv`?"),
        ("../weather/year.csv", "did you mean `weather/year.csv`?"),
        ("/etc/passwd", "put the file into the folder, or correct its name"),
    ],
)
def test_missing_file_is_told_with_the_nearest_name(name: str, cure: str) -> None:
    sink = Sink()
    check_files(_tree(f"site: {{weather: {{file: '{name}'}}}}\n"), ["weather/year.csv", "a.yaml"], sink)
    assert [(item.code, item.help) for item in sink.items] == [("missing-file", cure)]


def test_a_file_that_is_there_is_found_however_its_path_is_written() -> None:
    sink = Sink()
    for name in ("weather/year.csv", "./weather/year.csv", "weather\\year.csv"):
        check_files(_tree(f"site: {{weather: {{file: '{name}'}}}}\n"), ["weather/year.csv"], sink)
    assert sink.items == []
