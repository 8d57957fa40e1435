"""The state of the history on the pages, reviews against digests, and the chapter on what changed."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from service_fakes import unmarked
from test_history import git

from reportgen.binder.chapters.reviews import split, state
from reportgen.cli import cli
from reportgen.project.records import Review
from reportgen.service.build import BuildOptions, recipe
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"
REVIEW = """
reviews:
  first:
    name: Imke Farrow
    role: reviewing electrician
    licence: E-4711 (invented)
    date: 2026-04-20
    digest: {digest}
    remarks: [Look at R2 again.]
    accepted: ["voltage-drop:PV-W1: no hazard on this run", "voltage-drop:PV-X: gone"]
"""


@pytest.fixture
def works(tmp_path: Path) -> Path:
    folder = tmp_path / "works"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("binder", "status.json"))
    git(folder, "init")
    git(folder, "add", "-A")
    git(folder, "commit", "-m", "first")
    git(folder, "tag", "issued-b")
    return folder


def build(folder: Path, *words: str) -> str:
    result = CliRunner().invoke(cli, ["build", str(folder), "--no-pdf", *words])
    assert result.exit_code in {0, 1}, result.output
    return (folder / "binder" / "binder.html").read_text()


def test_commit_tag_and_changes_stand_on_the_pages_and_results_hold_the_digest_alone(works: Path) -> None:
    commit = git(works, "rev-parse", "HEAD")
    page = build(works)
    assert f"commit {commit[:12]} (issued-b)<" in page
    assert commit[:8] in page.partition("<body>")[0]  # the head of each sheet
    assert commit[:8] not in (works / "binder" / "results.json").read_text()
    (works / "site.yaml").write_text((works / "site.yaml").read_text() + "# later\n")
    page = build(works)
    assert f"commit {commit[:12]} (issued-b), with changes to 1 file<" in page
    assert f"{commit[:8]}\\2b " in page.partition("<body>")[0]


def test_a_folder_outside_of_any_history_says_so(tmp_path: Path) -> None:
    folder = tmp_path / "works"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("binder", "status.json"))
    assert ">unversioned<" in build(folder)


def test_a_watcher_stamps_each_build_with_the_history_as_it_is(works: Path) -> None:
    made = recipe(BuildOptions(), works)
    first, text = made.of(take(works))
    assert first.revision == text
    (works / "new.yaml").write_text("documents: {D: {proves: something}}\n")
    second, other = made.of(take(works))
    assert second.revision.endswith(", with changes to 1 file")
    assert other != text


def test_a_review_of_other_inputs_is_told_on_the_cover_with_what_changed(works: Path) -> None:
    digest = take(works).digest
    (works / "reviews.yaml").write_text(REVIEW.format(digest=digest[:16]))
    text = (works / "equipment.yaml").read_text()
    (works / "equipment.yaml").write_text(
        text.replace("maximum_dc_voltage: 600 V", "maximum_dc_voltage: 590 V", 1)
    )
    page = build(works, "--since", "issued-b")
    assert f"Imke Farrow, at {digest[:12]}; changed since: yes, " in page
    assert "inputs and " in page
    assert "no hazard on this run" in page
    assert "voltage-drop:PV-X (no such finding now); reason: gone" in unmarked(page)
    rows = (works / "binder" / "schedules" / "changed-inputs.csv").read_text()
    assert "inverters.H10.maximum_dc_voltage,600 V,590 V,equipment.yaml:" in rows
    findings = (works / "binder" / "schedules" / "changed-findings.csv").read_text()
    assert "nearer its limit" in findings
    assert "outcome" in rows or "before" in rows
    # the accepted finding is still one
    assert '"id": "voltage-drop:PV-W1"' in (works / "binder" / "results.json").read_text()


def test_rows_that_are_not_as_they_were_are_marked_and_no_others(works: Path) -> None:
    text = (works / "site.yaml").read_text()
    (works / "site.yaml").write_text("# a line above moves every place below\n" + text)
    page = build(works, "--since", "issued-b")
    assert re.findall(r'<span class="changed"[^>]*>▸ </span>([^<]*)', page) == ["site.yaml"]  # its own hash
    text = (works / "circuits.yaml").read_text()
    (works / "circuits.yaml").write_text(
        re.sub(r"(PV-W1:\n(?:    .*\n)*?    size: )10", r"\g<1>8", text, count=1)
    )
    page = build(works, "--since", "issued-b")
    table = page[page.index('<table id="circuits"') :]
    rows = re.findall(r'<th scope="row"[^>]*>(.*?)</th>', table[: table.index("</table>")], re.S)
    marked = {re.sub(r"<[^>]*>", "", cell).strip() for cell in rows if 'class="changed"' in cell}
    assert marked == {"▸ PV-W1"}
    assert "not so in the earlier state" in page


@pytest.mark.parametrize(
    ("named", "said"),
    [
        ("abcdef0123456789", "of these inputs"),
        ("ABCDEF01", "of these inputs"),
        ("abcdef0", "names too few letters of a digest"),
        ("abcdef02", "of other inputs"),
        (None, "names no inputs"),
    ],
)
def test_a_review_is_of_the_inputs_whose_digest_it_names(named: str | None, said: str) -> None:
    review = Review.model_validate({"name": "N"} | ({"digest": named} if named else {}))
    assert state(review, "abcdef0123456789ffff") == said


def test_the_id_of_a_finding_keeps_its_own_colons() -> None:
    assert split("code:subject:part: because: of this") == ("code:subject:part", "because: of this")


@pytest.mark.parametrize("command", ["build", "watch"])
def test_a_revision_that_is_none_ends_the_command(works: Path, command: str) -> None:
    result = CliRunner().invoke(cli, [command, str(works), "--no-pdf", "--since", "nowhere"])
    assert result.exit_code == 5
    assert "there is no revision `nowhere`" in result.stderr


def test_an_earlier_state_that_is_no_project_refuses_the_build(works: Path) -> None:
    text = (works / "site.yaml").read_text()
    (works / "site.yaml").write_text(text.replace("-22 degC", "-22"))
    git(works, "commit", "-am", "broken")
    (works / "site.yaml").write_text(text)
    result = CliRunner().invoke(cli, ["build", str(works), "--no-pdf", "--since", "HEAD"])
    assert result.exit_code == 4
    assert "since-refused" in result.stderr
