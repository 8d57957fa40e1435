"""Before and after, and variants, through folders; what cannot be had is refused at the line that names it."""

from __future__ import annotations

import csv
import re
import shutil
from pathlib import Path

import pytest
from service_fakes import unmarked

from reportgen.diagnostics.model import InputRefused
from reportgen.project.load import load_project
from reportgen.service.build import BuildOptions, check, run, stamped_options
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot

SAMPLE = Path(__file__).parents[2] / "sample_project"
OPTIONS = BuildOptions(pdf=False)
THICK = b"circuits:\n  PV-W1: {size: 8 AWG}\n  PV-W2: {size: 8 AWG}\n"
NAMED = b"variants:\n  thick: {file: variants/thick.yaml, tries: thicker wire}\n"


@pytest.fixture
def sample() -> dict[str, bytes]:
    return dict(take(SAMPLE).everything)


def rows(outputs: dict[str, bytes], name: str) -> dict[str, list[str]]:
    lines = outputs[f"schedules/{name}.csv"].decode().splitlines()[2:]
    return {row[0]: row[1:] for row in csv.reader(lines)}


def test_a_variant_is_the_folder_with_its_file_laid_over_it(sample) -> None:
    built = run(Snapshot.of({**sample, "v.yaml": NAMED, "variants/thick.yaml": THICK}), OPTIONS)
    table = rows(built.outputs, "variants")
    circuits = re.sub(rb"(PV-W\d:\n(?:    .*\n)*?    size: )10", rb"\g<1>8", sample["circuits.yaml"])
    assert circuits.count(b"size: 8 AWG") == sample["circuits.yaml"].count(b"size: 8 AWG") + 2
    by_hand = {**sample, "circuits.yaml": circuits}
    other = rows(
        run(Snapshot.of({**by_hand, "v.yaml": NAMED, "variants/thick.yaml": THICK}), OPTIONS).outputs,
        "variants",
    )
    assert [row[2] for row in table.values()] == [row[1] for row in other.values()]
    assert float(table["Worst voltage drop"][2]) < float(table["Worst voltage drop"][1])
    # the binder itself is about the folder alone
    bare = run(Snapshot.of({**sample}), OPTIONS)
    assert {item["id"]: item["outcome"] for item in built.findings} == {
        i["id"]: i["outcome"] for i in bare.findings
    }


def test_a_variant_changes_the_digest_and_no_base_value(sample) -> None:
    one = Snapshot.of({**sample, "v.yaml": NAMED, "variants/thick.yaml": THICK})
    other = Snapshot.of({**sample, "v.yaml": NAMED, "variants/thick.yaml": THICK + b"# again\n"})
    assert one.digest != other.digest
    assert [finding.headline for finding in check(one).findings] == [
        finding.headline for finding in check(other).findings
    ]


def test_laying_over_replaces_values_adds_keys_and_takes_keys_out(sample) -> None:
    files = {**sample, "variants/x.yaml": b"readings: ~\nsite: {albedo: 0.5}\nstrings:\n  W2: {count: 9}\n"}
    made = load_project(files, overlay="variants/x.yaml")
    assert made.readings == {}
    assert made.site.albedo is not None and made.site.albedo.value == 0.5
    assert made.site.latitude is not None  # kept
    assert made.strings["W2"].count == 9
    assert str(made.strings["W2"].array) == "WEST"
    assert load_project(files).strings["W2"].count == 10


@pytest.mark.parametrize(
    ("text", "place", "code"),
    [
        (b"circuits:\n  PV-W1: {size: 8}\n", "variants/thick.yaml", "bad-quantity"),
        (b"circuits:\n  PV-Q: {size: 8 AWG}\n", "variants/thick.yaml", "missing-key"),
        (b"circuits: [\n", "variants/thick.yaml", "yaml-syntax"),
        (b"strings: {W1: {input: INV-9/A}}\n", "variants/thick.yaml", "unknown-reference"),
    ],
)
def test_a_mistake_in_a_variant_is_told_at_its_own_line(sample, text, place, code) -> None:
    with pytest.raises(InputRefused) as refused:
        run(Snapshot.of({**sample, "v.yaml": NAMED, "variants/thick.yaml": text}), OPTIONS)
    assert (place, code) in {(item.span.file, item.code) for item in refused.value.diagnostics if item.span}


def test_a_variant_whose_file_is_not_there_is_refused(sample) -> None:
    with pytest.raises(InputRefused) as refused:
        check(Snapshot.of({**sample, "v.yaml": NAMED}))
    assert [item.code for item in refused.value.diagnostics] == ["missing-file"]


def old(sample: dict[str, bytes]) -> dict[str, bytes]:
    """The same place with shorter strings: half the voltage."""
    arrays = sample["arrays.yaml"].replace(b"E2: {array: EAST, count: 12", b"E2: {array: EAST, count: 8")
    arrays = arrays.replace(b"E1: {array: EAST, count: 12", b"E1: {array: EAST, count: 8")
    arrays = arrays.replace(b"W1: {array: WEST, count: 11", b"W1: {array: WEST, count: 8")
    arrays = arrays.replace(b"W2: {array: WEST, count: 10", b"W2: {array: WEST, count: 8")
    return {f"old/{path}": data for path, data in {**sample, "arrays.yaml": arrays}.items()}


def test_before_in_a_folder_stands_beside_the_design_with_the_caution_of_more_volts(sample) -> None:
    built = run(Snapshot.of({**sample, **old(sample), "b.yaml": b"before: {folder: old}\n"}), OPTIONS)
    table = rows(built.outputs, "before-and-after")
    assert table["Most modules in series"][1:3] == ["9", "12"]
    before, after = (float(text) for text in table["Highest voltage in the cold"][1:3])
    assert before * 12 == pytest.approx(after * 9, rel=2e-3)
    page = built.outputs["binder.html"].decode()
    assert "Higher voltage than before" in page
    assert "can now carry up to 594" in unmarked(page)


def test_before_in_a_revision_is_read_out_of_git(sample, tmp_path: Path) -> None:
    from test_history import git

    folder = tmp_path / "works"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("binder", "status.json"))
    git(folder, "init")
    git(folder, "add", "-A")
    git(folder, "commit", "-m", "first")
    git(folder, "tag", "issued-a")
    text = (folder / "circuits.yaml").read_text()
    (folder / "circuits.yaml").write_text(text.replace("size: 10 AWG", "size: 8 AWG"))
    (folder / "b.yaml").write_text("before: {revision: issued-a}\n")
    snapshot = take(folder)
    built = run(snapshot, stamped_options(OPTIONS, folder, snapshot))
    drop = rows(built.outputs, "before-and-after")["Worst voltage drop"]
    assert float(drop[2]) < float(drop[1])


@pytest.mark.parametrize("named", ["folder: nowhere", "revision: nowhere"])
def test_a_before_that_is_not_there_is_refused_at_its_line(sample, named: str) -> None:
    with pytest.raises(InputRefused) as refused:
        run(Snapshot.of({**sample, "b.yaml": f"before: {{{named}}}\n".encode()}), OPTIONS)
    (item,) = refused.value.diagnostics
    assert item.code == "before-missing"
    assert item.span is not None and item.span.file == "b.yaml"


def test_a_before_that_is_no_project_says_where(sample) -> None:
    files = {**sample, **old(sample), "b.yaml": b"before: {folder: old}\n"}
    files["old/site.yaml"] = files["old/site.yaml"].replace(b"-22 degC", b"-22")
    with pytest.raises(InputRefused) as refused:
        run(Snapshot.of(files), OPTIONS)
    assert "site.yaml:" in refused.value.diagnostics[0].notes[0]
