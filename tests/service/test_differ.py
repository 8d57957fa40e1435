"""A history of ten commits on the sample, each with the difference that it makes and no other."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from test_history import git

from reportgen.design.compare import Comparison, Turn, _change
from reportgen.service.build import BuildOptions, run
from reportgen.service.differ import compare, exit_code
from reportgen.service.history import History

SAMPLE = Path(__file__).parents[2] / "sample_project"


def swap(file: str, old: str, new: str, count: int = 1) -> Callable[[Path], None]:
    def edit(folder: Path) -> None:
        text = (folder / file).read_text()
        assert old in text, old
        (folder / file).write_text(text.replace(old, new, count))

    return edit


def reorder(folder: Path) -> None:
    """The strings in another order, in another file."""
    head, _, rest = (folder / "arrays.yaml").read_text().partition("\nstrings:\n")
    lines = [line for line in rest.splitlines() if line.strip()]
    assert all(line.startswith("  ") and not line.startswith("   ") for line in lines)
    (folder / "arrays.yaml").write_text(head + "\n")
    (folder / "wires.yaml").write_text("strings:\n" + "\n".join(reversed(lines)) + "\n")


def line_ends(folder: Path) -> None:
    for path in folder.glob("*.yaml"):
        path.write_bytes(path.read_bytes().replace(b"\r\n", b"\n").replace(b"\n", b"\r\n"))


def rename(folder: Path) -> None:
    for path in folder.glob("*.yaml"):
        path.write_text(path.read_text().replace("SW-W2", "SW-9"))


COMMITS: dict[str, Callable[[Path], None]] = {
    "first": lambda folder: None,
    "string cut": swap("arrays.yaml", "E2: {array: EAST, count: 12", "E2: {array: EAST, count: 11"),
    "wire upsized": swap(
        "circuits.yaml",
        "size: 10 AWG\n    path: [R1, R2/trench-yard, R2/riser-yard, R2/hall]\n    enclosures: [PB-1, TR-1, SW-W1]",
        "size: 8 AWG\n    path: [R1, R2/trench-yard, R2/riser-yard, R2/hall]\n    enclosures: [PB-1, TR-1, SW-W1]",
    ),
    "edition": swap("project.yaml", "rulebook: nec2023", "rulebook: nec2020"),
    "comment": swap("site.yaml", "site:", "# surveyed again\nsite:"),
    "renamed": rename,
    "line ends": line_ends,
    "respelled": lambda folder: swap("raceways.yaml", "length: 38 m", "length: 3800 cm")(folder),
    "reordered": reorder,
    "equipment": swap("equipment.yaml", "maximum_dc_voltage: 600 V", "maximum_dc_voltage: 550 V"),
    "reading": swap(
        "readings.yaml", "R1S: {open_circuit_voltage: 381.0 V", "R1S: {open_circuit_voltage: 380.0 V"
    ),
}


@pytest.fixture(scope="module")
def works(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("history") / "works"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("binder", "status.json"))
    git(folder, "init")
    for name, edit in COMMITS.items():
        edit(folder)
        git(folder, "add", "-A")
        git(folder, "commit", "--allow-empty", "-m", name)
        git(folder, "tag", name.replace(" ", "-"))
    return folder


@pytest.fixture(scope="module")
def step(works: Path) -> Callable[[str], Comparison]:
    history, names = History(works), [name.replace(" ", "-") for name in COMMITS]

    def of(name: str) -> Comparison:
        later = names.index(name.replace(" ", "-"))
        before, after = names[later - 1], names[later]
        return compare((before, history.snapshot(before)), (after, history.snapshot(after)))

    return of


def test_a_cut_string_tells_its_count_first_and_every_result_that_follows(step) -> None:
    found = step("string cut")
    assert [(item.path, item.before, item.after) for item in found.inputs] == [
        ("strings.E2.count", "12", "11")
    ]
    assert "strings.E2.modules" in {item.path for item in found.results}
    gained = {item.id for item in found.turned(Turn.CURED)}
    assert "cold-voltage-inverter:E2" in gained  # was thin, meets with one module less
    told = [
        item.path for item in found.results if not item.path.startswith("readings[")
    ]  # judged against E2 as well
    others = {path for path in told if "E2" not in path and "INV-1/B" not in path}
    assert others == set()


def test_a_larger_wire_tells_sizes_fill_and_drop(step) -> None:
    found = step("wire upsized")
    assert [(item.path, item.before, item.after) for item in found.inputs] == [
        ("circuits.PV-W1.size", "10 AWG", "8 AWG")
    ]
    paths = {item.path for item in found.results}
    assert {"circuits.PV-W1.size", "circuits.PV-W1.drop_share", "raceways.R1/trench-orchard.fill"} <= paths
    assert next(item for item in found.results if item.path == "circuits.PV-W1.drop_share").change < -0.3
    assert "voltage-drop:PV-W1" in {item.id for item in found.turned(Turn.CURED)}
    assert any(item.id.startswith("raceway-fill") for item in found.turned(Turn.NEARER))
    assert found.results[0].path.startswith("circuits.")


def test_another_edition_is_named_as_rules_and_changes_no_physics(step) -> None:
    found = step("edition")
    assert found.rules == ("nec2023", "nec2020")
    assert [item.path for item in found.inputs] == ["project.rulebook"]
    physics = ("drop", "resistance", "length", "loss", "cold", "hot_operating")
    assert not [item for item in found.results if item.path.rpartition(".")[2] in physics]


@pytest.mark.parametrize("name", ["comment", "line ends", "reordered"])
def test_what_says_the_same_differs_in_nothing(step, name) -> None:
    found = step(name)
    assert found.empty
    assert found.respelled == ()


def test_a_renamed_device_is_suggested_and_not_assumed(step) -> None:
    found = step("renamed")
    assert ("landing", "SW-W2", "SW-9") in found.renamed
    assert {item.path.split(".")[0] for item in found.inputs} >= {"switches", "landing"}
    assert not found.turned(Turn.TURNED)


def test_fault_67_another_spelling_of_a_length_is_told_apart(step) -> None:
    found = step("respelled")
    assert found.empty
    assert [(item.path, item.before, item.after) for item in found.respelled] == [
        ("raceways.R2.segments.trench-yard.length", "38 m", "3800 cm")
    ]


def test_other_equipment_tells_the_margins_it_moves(step) -> None:
    found = step("equipment")
    assert [item.path for item in found.inputs] == ["inverters.H10.maximum_dc_voltage"]
    gained = found.turned(Turn.GAINED, Turn.TURNED)
    assert {item.id for item in gained} >= {"cold-voltage-inverter:E1"}
    assert str(gained[0].after.outcome) == "fails"
    assert exit_code(found) == 1


def test_a_temperature_has_no_change_in_percent() -> None:
    """-22 °C to -23 °C is no change by 4.5 %: another zero of the scale gives another share."""
    low, lower = {"value": -22.0, "unit": "degC"}, {"value": -23.0, "unit": "degC"}
    assert _change(low, lower) is None
    volts, more = {"value": 100.0, "unit": "V"}, {"value": 101.0, "unit": "V"}
    assert _change(volts, more) == pytest.approx(0.01)


def test_a_reading_differs_by_itself(step) -> None:
    found = step("reading")
    assert [item.path for item in found.inputs] == ["readings.april-switch.strings.R1S.open_circuit_voltage"]
    assert {item.path.split("[")[0].split(".")[0] for item in found.results} <= {"readings"}


def test_fault_67_a_flip_inside_the_rounding_of_a_page_is_told(works) -> None:
    """A limit a hair below the value: the same figures on paper, another verdict."""
    files = dict(History(works).snapshot("first").files)
    text = files["equipment.yaml"].decode()
    from reportgen.service.build import check
    from reportgen.service.snapshot import Snapshot

    value = next(
        item.value.value
        for item in check(Snapshot.of(files)).findings
        if item.id == "cold-voltage-inverter:E1"
    )
    sides = []
    for name, limit in (("above", value * (1 + 1e-7)), ("below", value * (1 - 1e-7))):
        changed = text.replace("maximum_dc_voltage: 600 V", f"maximum_dc_voltage: {limit!r} V", 1)
        sides.append((name, Snapshot.of({**files, "equipment.yaml": changed.encode()})))
    found = compare(*sides)
    turned = {
        item.id: (str(item.before.outcome), str(item.after.outcome)) for item in found.turned(Turn.GAINED)
    }
    assert turned["cold-voltage-inverter:E1"] == ("thin", "fails")


def test_an_old_revision_is_built_byte_for_byte_again(works) -> None:
    history, options = History(works), BuildOptions(pdf=False)
    first = run(history.snapshot("first"), options).outputs
    from reportgen.service.folder_reader import take

    sample = take(SAMPLE)
    assert dict(history.snapshot("first").files) == dict(sample.files)
    assert run(sample, options).outputs == first


def test_the_command_tells_text_markdown_and_json(works) -> None:
    def diff(*words: str) -> subprocess.CompletedProcess[str]:
        command = ["reportgen", "diff", str(works), "string-cut", "wire-upsized", *words]
        import sys

        return subprocess.run([sys.executable, "-m", *command], capture_output=True, text=True, check=False)

    told = diff()
    assert told.returncode == 0, told.stderr
    assert told.stdout.startswith("from string-cut to wire-upsized\n")
    assert (
        told.stdout.index("Findings cured")
        < told.stdout.index("Inputs that differ")
        < told.stdout.index("Results that differ")
    )
    assert "circuits.PV-W1.size: 10 AWG → 8 AWG (circuits.yaml:" in told.stdout
    assert diff("--format", "markdown").stdout.startswith(
        "## Design from string-cut to wire-upsized\n\n### Findings "
    )
    document = json.loads(diff("--format", "json").stdout)
    assert document["inputs"][0]["path"] == "circuits.PV-W1.size"


@pytest.mark.parametrize(
    ("revision", "words"), [("nowhere", "no revision `nowhere`"), ("-x", "no name of a revision")]
)
def test_a_revision_that_is_none_is_told(works, revision, words) -> None:
    from click.testing import CliRunner

    from reportgen.cli import cli

    result = CliRunner().invoke(cli, ["diff", str(works), "--", revision])
    assert result.exit_code == 5
    assert words in result.stderr
