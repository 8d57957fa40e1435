"""What is still to be stated: each thing once, at its place, and nothing that is stated."""

from __future__ import annotations

from pathlib import Path

from reportgen.authoring.start import example, new_folder
from reportgen.authoring.todo import left_to_a_build, still_open
from reportgen.design.findings import Outcome
from reportgen.service.build import check
from reportgen.service.snapshot import Snapshot

from .test_commands import run
from .test_start import TWO

SAMPLE = Path(__file__).parents[2] / "sample_project"


def designed(files: dict[str, str]):
    return check(Snapshot.of({name: text.encode() for name, text in files.items() if name.endswith(".yaml")}))


def test_each_thing_is_listed_once_and_every_unknown_hangs_on_one() -> None:
    design = designed(new_folder(TWO))
    listed = still_open(design.findings)
    assert len({item.what for item in listed}) == len(listed)
    unknown = {
        finding.id for finding in design.of(Outcome.UNKNOWN) if finding.missing and not finding.needs_run
    }
    told = {name for item in listed for name in item.findings}
    # What hangs on a line of a data sheet alone is told by the list of that data sheet.
    keys = {item.what.partition(" of ")[0] for item in listed}
    for finding in design.of(Outcome.UNKNOWN):
        if finding.needs_run:
            continue
        assert finding.id in told or all(what.partition(" of ")[0] in keys for what in finding.missing), (
            finding.id
        )
    assert told <= unknown


def test_a_value_of_a_data_sheet_is_named_by_its_type_alone() -> None:
    lines = [item.line for item in still_open(designed(new_folder(TWO)).findings)]
    assert sum("start_voltage" in line for line in lines) == 1
    assert sum("maximum_dc_voltage" in line for line in lines) == 1
    assert any(line.startswith("equipment.yaml:") and "“Start-up voltage”" in line for line in lines)


def test_what_is_stated_is_not_listed() -> None:
    files = {name: text for name, text in example("two-strings").items() if name.endswith(".yaml")}
    before = {item.what for item in still_open(designed(files).findings)}
    less = {name: text.replace("    maximum_dc_voltage: 600 V\n", "") for name, text in files.items()}
    gained = {item.what for item in still_open(designed(less).findings)} - before
    assert [what for what in gained if what.startswith("maximum_dc_voltage of inverter type C6")]
    assert not [what for what in before if "maximum_dc_voltage" in what]


def test_the_command_lists_on_standard_output(tmp_path: Path) -> None:
    run("init", tmp_path / "barn", "--no-ask")
    result = run("check", tmp_path / "barn", "--todo")
    assert result.exit_code == 0
    assert f"{tmp_path}/barn/equipment.yaml:" in result.stdout
    assert "unknown" in result.stderr
    assert "reportgen build DIR" not in result.stdout
    assert "not looked at here: the simulated year, " in result.stderr


def test_what_only_a_build_looks_at_is_named() -> None:
    files = {path.name: path.read_text("utf-8") for path in SAMPLE.glob("*.yaml")}
    files["handover.yaml"] = files["handover.yaml"].replace("file: LK-66H.pdf, ", "")
    design = designed(files)
    told = left_to_a_build(design.findings)
    # Spools are chosen in a build alone; the finding that says so is none that something could be stated for.
    assert any(item.code == "cut-spools" and item.needs_run for item in design.findings)
    assert "spools to buy" in told
    assert "`reportgen build DIR`" in told
    assert not [item for item in still_open(design.findings) if "spools to buy" in item.what]


def test_what_is_to_be_stated_has_its_line_also_behind_the_first_of_a_finding() -> None:
    # Two circuits lose their path: one finding misses both, and each has a line of its own.
    files = {path.name: path.read_text("utf-8") for path in SAMPLE.glob("*.yaml")}
    files["handover.yaml"] = files["handover.yaml"].replace("file: LK-66H.pdf, ", "")
    for name in ("E1", "W1"):
        head, tail = files["circuits.yaml"].split(f"  PV-{name}:\n")
        gone = tail.replace("    path: [R1, R2/trench-yard, R2/riser-yard, R2/hall]\n", "", 1)
        files["circuits.yaml"] = f"{head}  PV-{name}:\n{gone}"
    listed = {item.what: item for item in still_open(designed(files).findings)}
    lines = [listed[f"path of circuit PV-{name}"].line for name in ("E1", "W1")]
    assert all(line.startswith("circuits.yaml:") for line in lines) and lines[0] != lines[1]
    assert not [item.line for item in listed.values() if item.line.startswith("-")]
