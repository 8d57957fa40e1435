"""A folder's bytes to a project: merging, every mistake at once, places of the validation's errors."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.diagnostics.model import Diagnostic, InputRefused, Sink
from reportgen.project.load import load_project, section_keys
from reportgen.project.mistakes import MAX_TOLD, Telling
from reportgen.project.model import Project
from reportgen.project.nodes import Map
from reportgen.project.reader import read_yaml

HEAD = "project: {title: Barn}\nsite: {place: Hill}\n"
MODULE = (
    "modules:\n  M1: {power: 400 W, open_circuit_voltage: 45 V, operating_voltage: 38 V,"
    " short_circuit_current: 11 A, operating_current: 10.5 A}\n"
)


def refused(**files: str | bytes) -> list[Diagnostic]:
    data = {f"{name}.yaml": text.encode() if isinstance(text, str) else text for name, text in files.items()}
    with pytest.raises(InputRefused) as caught:
        load_project(data)
    assert caught.value.diagnostics
    return caught.value.diagnostics


def told(**files: str | bytes) -> list[tuple[str, str]]:
    return [(item.code, str(item.span)) for item in refused(**files)]


def test_sections_of_all_files_become_one_project() -> None:
    files = {
        "a.yaml": b"project: {title: Barn}\nfuses:\n  F15: {rating: 15 A}\n",
        "b/c.yml": b"site: {place: Hill}\nfuses:\n  F20: {rating: 20 A}\narrays:\n",
        "photo.jpg": b"\xff\xd8\0",
    }
    project = load_project(files)
    assert list(project.fuses) == ["F15", "F20"]
    assert str(project.fuses["F20"].span) == "b/c.yml:3:8"
    assert project.arrays == {}


def test_a_single_mapping_may_be_split_over_files() -> None:
    project = load_project({"a.yaml": HEAD.encode(), "b.yaml": b"site: {elevation: 90 m}\n"})
    assert project.site.elevation is not None
    assert (project.site.place, project.site.elevation.value) == ("Hill", 90.0)


def test_the_order_of_files_does_not_matter_to_what_is_refused() -> None:
    texts = {"a.yaml": b"fuses: {F1: {}}\n", "b.yaml": b"site: {plce: x}\n", "c.yaml": b"project: [\n"}
    found = []
    for order in (texts, dict(reversed(texts.items()))):
        with pytest.raises(InputRefused) as caught:
            load_project(order)
        found.append(caught.value.diagnostics)
    assert found[0] == found[1]


def test_fault_54_all_mistakes_of_all_files_come_in_one_run_in_order() -> None:
    assert told(
        a="project: {title: Barn}\nsite: {plase: Hill}\nfuses:\n  F15: {rating: 15}\n",
        b="arrays:\n  EAST: {module: M9, tilt: steep}\n",
        c="strings: [\n",
        d="fuses:\n  F15: {rating: 15 A}\n",
    ) == [
        ("unknown-key", "a.yaml:2:8"),
        ("bad-quantity", "a.yaml:4:17"),
        ("bad-quantity", "b.yaml:2:28"),
        ("yaml-syntax", "c.yaml:1:10"),
        ("duplicate-id", "d.yaml:2:3"),
    ]


def test_fault_54_a_misspelt_key_is_answered_once_even_if_it_had_to_be_there() -> None:
    (item,) = refused(a=HEAD + MODULE + "arrays:\n  EAST: {modul: M1}\n")
    assert (item.code, item.help) == ("unknown-key", "did you mean `module`?")


def test_missing_keys_point_at_the_name_of_what_lacks_them() -> None:
    items = refused(a=HEAD + "raceways:\n  R1:\n    segments:\n      trench:\n        length: 3 m\n")
    assert {(item.code, str(item.span)) for item in items} == {("missing-key", "a.yaml:6:7")}
    assert [item.message for item in items] == [
        f"`{name}` is missing in `trench`" for name in ("kind", "place", "size")
    ]
    assert "one of `EMT`" in str(items[0].help)


def test_missing_key_of_a_list_item_points_at_its_first_key() -> None:
    text = "project:\n  title: Barn\n  people:\n    - licence: x\n      name: Ann\nsite: {}\n"
    assert told(a=text) == [("missing-key", "a.yaml:4:7")]


def test_missing_sections_are_told_at_the_first_file() -> None:
    assert told(a="fuses: {}\n", b="boxes: {}\n") == [("missing-key", "a.yaml:1:1")] * 2


def test_what_may_stand_in_an_unreadable_file_is_not_called_missing() -> None:
    assert told(a="fuses: {}\n", b="project: [\n", c="strings:\n  E1: {array: EAST}\n") == [
        ("yaml-syntax", "b.yaml:1:10")
    ]


def test_references_to_a_misspelt_section_or_key_are_not_told_as_well() -> None:
    assert told(a=HEAD, b="aray: {EAST: {}}\nstrings: {E1: {array: EAST}}\n") == [
        ("unknown-section", "b.yaml:1:1")
    ]
    text = (
        HEAD
        + "inverters:\n  H5:\n    unit: {INV-1: {}}\n    inputs: {A: {}}\nstrings: {E1: {input: INV-1/A}}\n"
    )
    assert told(a=text) == [("unknown-key", "a.yaml:5:5")]


@pytest.mark.parametrize("blank", [" ", "   "])
def test_fault_43_a_value_lost_to_a_comment_is_found_again(blank: str) -> None:
    text = (
        HEAD
        + f"cables: {{C1: {{markings: [USE-2]}}}}\ncircuits:\n  PV-1:\n    cable: C1\n    size:{blank}#10 AWG\n"
    )
    (item,) = refused(a=text)
    assert (item.code, str(item.span)) == ("value-missing", f"a.yaml:7:{10 + len(blank)}")
    assert item.message == "`size` has no value, because `#10` begins a comment"
    assert item.help == 'write `"#10"` in quotes, or drop the `#`'


def test_an_ordinary_comment_is_not_taken_for_a_lost_value() -> None:
    (item,) = refused(a=HEAD + "fuses:\n  F15:\n    rating: # to be looked up\n")
    assert item.message == "`rating` has no value"


@pytest.mark.parametrize("value", ["no", "on", "012", "1_000", "12:30", "2024-01-05", ".nan", "1e3", "９"])
def test_fault_42_words_that_other_readers_take_for_numbers_are_refused(value: str) -> None:
    text = HEAD + MODULE + f"arrays:\n  EAST: {{module: M1, count: {value}}}\n"
    (item,) = refused(a=text)
    assert (item.code, str(item.span)) == ("bad-number", "a.yaml:6:29")
    assert f"`{value}`" in item.message


@pytest.mark.parametrize("value", ["no", "012", "12:30", "2024-01-05", "1e3"])
def test_fault_42_in_a_text_field_they_are_kept_as_written(value: str) -> None:
    project = load_project({"a.yaml": f"project: {{title: {value}}}\nsite: {{}}\n".encode()})
    assert project.project.title == value


@pytest.mark.parametrize("value", [".nan A", ".inf A", "1e999 A", "nan A", "inf A", "NaN A", "Infinity A"])
def test_fault_44_no_number_that_is_none_gets_in(value: str) -> None:
    assert told(a=HEAD + f"fuses: {{F1: {{rating: {value}}}}}\n") == [("bad-quantity", "a.yaml:3:22")]


def test_fault_45_huge_numbers_are_refused_with_a_short_message() -> None:
    text = (
        HEAD + MODULE + f"arrays:\n  EAST: {{module: M1, count: {'9' * 5000}, tilt: 0x{'f' * 500_000} deg}}\n"
    )
    items = refused(a=text)
    assert [item.code for item in items] == ["bad-number", "bad-quantity"]
    assert all(len(item.message) + len(item.help or "") < 1000 for item in items)


def test_one_mistake_behind_an_alias_is_told_once() -> None:
    text = (
        HEAD
        + "inverters:\n  H5:\n    units: {INV-1: {}}\n    inputs:\n      A: &a {conectors: 1}\n      B: *a\n      C: *a\n"
    )
    assert told(a=text) == [("unknown-key", "a.yaml:7:14")]


def test_one_mistake_behind_many_aliases_is_looked_up_once() -> None:
    inputs = ",".join(f"A{number}: *a" for number in range(10_000))
    text = (
        HEAD + f"inverters:\n  H5: {{units: {{INV-1: {{}}}}, inputs: {{A: &a {{x: 1, y: 2}}, {inputs}}}}}\n"
    )
    assert [code for code, _ in told(a=text)] == ["unknown-key", "unknown-key"]


def test_mistakes_of_a_run_are_bounded_and_the_rest_counted() -> None:
    keys = "".join(f"  x{number}: 1\n" for number in range(19_000))
    items = refused(a=HEAD + "stock:\n" + keys)
    assert len(items) == MAX_TOLD + 1
    assert items[-1].code == "more-mistakes"
    assert f"{19_000 - MAX_TOLD}" in items[-1].message


def test_variants_and_the_earlier_folder_are_no_input() -> None:
    files = {
        "a.yaml": HEAD.encode() + b"before: {folder: ./old/}\n",
        "old/a.yaml": b"project: [\n",
        "variants/b.yaml": b"site: [\n",
        "older.yaml": b"fuses: {}\n",
    }
    assert load_project(files).project.title == "Barn"


@pytest.mark.parametrize("files", [{}, {"notes.txt": b"x"}, {"variants/a.yaml": b"site: {}\n"}])
def test_a_folder_without_yaml_is_empty(files: dict[str, bytes]) -> None:
    with pytest.raises(InputRefused) as caught:
        load_project(files)
    assert [item.code for item in caught.value.diagnostics] == ["empty-folder"]


def test_weather_file_is_looked_up_in_the_folder() -> None:
    text = b"project: {title: Barn}\nsite: {weather: {file: year.csv}}\n"
    assert load_project({"a.yaml": text, "year.csv": b"x"}).site.weather is not None
    assert told(a=text) == [("missing-file", "a.yaml:2:24")]


def test_merging_follows_the_model() -> None:
    kinds = {name: section_keys(name) for name in Project.model_fields}
    assert {name for name, kind in kinds.items() if kind == "keys"} >= {
        "project",
        "site",
        "prices",
        "stock",
        "before",
    }
    assert {name for name, kind in kinds.items() if kind == "ids"} >= {
        "modules",
        "strings",
        "landing",
        "jumpers",
    }


def test_an_error_without_words_of_ours_still_has_a_place() -> None:
    """The validation library's own errors that no model of this version provokes."""
    from pydantic import BaseModel, ConfigDict, ValidationError

    class Odd(BaseModel):
        model_config = ConfigDict(arbitrary_types_allowed=True)
        size: float

    sink = Sink()
    tree = read_yaml("a.yaml", b"size: ten\n", sink)
    assert isinstance(tree, Map)
    with pytest.raises(ValidationError) as caught:
        Odd.model_validate(tree)
    Telling(tree, Odd, lambda span: "", sink).tell(caught.value)
    (item,) = sink.items
    assert (item.code, str(item.span)) == ("bad-value", "a.yaml:1:7")
    assert item.message.startswith("this value cannot be used: input should be a valid number")


def test_the_sample_loads() -> None:
    folder = Path(__file__).parents[2] / "sample_project"
    files = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    assert len(load_project(files).strings) >= 5
