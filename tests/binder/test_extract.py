"""The reviewer's extract: nothing that does not meet is left out, numbers are those of the findings, few sheets."""

from __future__ import annotations

import re
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from page_readers import Page

from reportgen.binder.elements import Blank, FormTable, TableCell
from reportgen.binder.extract import review_chapters, review_page
from reportgen.binder.extract_limits import MOST_ROWS
from reportgen.binder.frame import DISCLAIMER, Frame
from reportgen.binder.html import faults
from reportgen.binder.pdf import write_pdf
from reportgen.design.findings import Outcome
from reportgen.service.build import BuildOptions, check, run
from reportgen.service.folder_reader import take
from reportgen.service.snapshot import Snapshot

SAMPLE = Path(__file__).parents[2] / "sample_project"


@pytest.fixture(scope="module")
def design():
    return check(take(SAMPLE))


@pytest.fixture(scope="module")
def html(design) -> str:
    return review_page(Frame("Sample", digest=design.digest), design)


def changed(**edits: tuple[str, str]):
    """The sample with one text replaced in some of its files."""
    files = dict(take(SAMPLE).files)
    for name, (old, new) in edits.items():
        assert old in files[f"{name}.yaml"].decode()
        files[f"{name}.yaml"] = files[f"{name}.yaml"].decode().replace(old, new).encode()
    return check(Snapshot.of(files))


def table(design, id: str) -> FormTable:
    elements = [element for chapter in review_chapters(design) for element in chapter.elements]
    return next(element for element in elements if isinstance(element, FormTable) and element.id == id)


def row(design, id: str, name: str) -> dict[tuple[str, str], object]:
    """Cells of a row by group and title of their column."""
    form = table(design, id)
    cells = next(cells for cells in form.rows if cells[0] == name)
    return {(column.group, column.title): cell for column, cell in zip(form.columns, cells, strict=True)}


def test_every_finding_that_does_not_meet_is_in_it(design, html) -> None:
    shown = " ".join("".join(Page(html).shown).split())
    wanted = [finding for finding in design.findings if finding.outcome is not Outcome.MEETS]
    assert len(wanted) > 20
    for finding in wanted:
        assert " ".join(finding.headline.split()) in shown, finding.id
        assert finding.id in shown
        for item in finding.missing:
            assert item in shown
        if finding.question:
            assert finding.question.rstrip("?").lower() in shown.lower()
    assert DISCLAIMER in html


def test_what_fails_comes_first() -> None:
    found = changed(arrays=("E1: {array: EAST, count: 12", "E1: {array: EAST, count: 14"))
    first = table(found, "review-findings-table").rows[0][0]
    assert isinstance(first, TableCell)
    assert first.outcome is Outcome.FAILS
    cell = row(found, "review-cold", "E1")["Inverter", "room"]
    assert isinstance(cell, TableCell)
    assert cell.outcome is Outcome.FAILS
    assert cell.text.startswith("−")


def test_each_row_can_be_ticked_and_named(design) -> None:
    for chapter in review_chapters(design):
        for element in chapter.elements:
            if isinstance(element, FormTable):
                last = [cells[-1] for cells in element.rows]
                assert all(isinstance(cell, Blank) and cell.tick and cell.name for cell in last), element.id
                names = [cell.name for cell in last if isinstance(cell, Blank)]
                assert len(set(names)) == len(names)


def test_limits_and_room_by_hand(design) -> None:
    """44.1 V, −0.26 %/°C, 12 modules at −22 °C: 12 × 44.1 × (1 + 0.0026 × 47) = 593.868 V, of 600 V 1.02 % left."""
    cells = row(design, "review-cold", "E1")
    assert cells["", "N"] == "12"
    told = {key: cell.text for key, cell in cells.items() if isinstance(cell, TableCell)}
    assert told["Inverter", "is"] == "593.9"
    assert told["Inverter", "limit"] == "600.0"
    assert float(told["Inverter", "room"]) == pytest.approx(100 * (1 - 593.868 / 600), abs=0.05)
    assert float(told["Module", "room"]) == pytest.approx(100 * (1 - 593.868 / 1000), abs=0.5)
    fill = row(design, "review-stretches", "R2/trench-yard")
    cover = fill["Cover", "is"]
    assert isinstance(cover, TableCell)
    assert cover.text == "602"  # 700 − 50 − 48.3 mm


def test_unknown_is_never_told_as_meeting(design) -> None:
    cell = row(design, "review-operating", "W1")["Hot, start", "room"]
    assert isinstance(cell, TableCell)
    assert (cell.text, cell.outcome) == ("", Outcome.UNKNOWN)
    need = row(design, "review-protection", "W1")["", "Device"]
    assert isinstance(need, TableCell)
    assert (need.text, need.outcome) == ("cannot be told", Outcome.UNKNOWN)


def test_the_worse_of_two_circuits_of_a_string_is_told(design) -> None:
    """A string on two circuits has two wires; the row of the string shows the poorer one, whichever comes first."""
    first = next(item for item in design.facts.circuits if item.id == "PV-E1")
    facts = replace(design.facts, circuits=(*design.facts.circuits, replace(first, id="PV-E1B")))
    good = next(item for item in design.findings if item.id == "cold-voltage-wire:PV-E1")
    bad = replace(good, subject="PV-E1B", outcome=Outcome.FAILS, margin=-0.2)
    for findings in ((*design.findings, bad), (bad, *design.findings)):
        cell = row(replace(design, facts=facts, findings=findings), "review-cold", "E1")["Wire", "room"]
        assert isinstance(cell, TableCell)
        assert (cell.text, cell.outcome) == ("−20", Outcome.FAILS)


def test_of_many_rows_those_nearest_to_a_limit_are_kept(design) -> None:
    many = tuple(replace(design.facts.strings[0], id=f"S{number:03d}") for number in range(MOST_ROWS + 5))
    pattern = next(f for f in design.findings if f.id == "cold-voltage-inverter:W1")
    findings = tuple(
        replace(pattern, subject=item.id, margin=1.0 - number / 100) for number, item in enumerate(many)
    )
    facts = replace(design.facts, strings=many)
    form = table(replace(design, facts=facts, findings=findings), "review-cold")
    assert [cells[0] for cells in form.rows] == [item.id for item in reversed(many)][:MOST_ROWS]
    assert "5 more stand in the binder" in form.notes[0]


def test_pulls_that_are_left_out_are_counted(design) -> None:
    assert table(design, "review-sections").notes == ()
    many = design.facts.sections[:1] * (MOST_ROWS + 3)
    form = table(replace(design, facts=replace(design.facts, sections=many)), "review-sections")
    assert (len(form.rows), form.notes) == (MOST_ROWS, ("3 more sections stand in the binder.",))


def test_names_and_links_hold(design) -> None:
    assert not faults(review_chapters(design))


def test_six_sheets_hold_the_sample(html, tmp_path) -> None:
    file = tmp_path / "review.pdf"
    file.write_bytes(write_pdf(html))
    info = subprocess.run(["pdfinfo", file], check=True, capture_output=True, text=True).stdout
    assert int(re.search(r"^Pages: +(\d+)$", info, re.M)[1]) <= 6
    assert re.search(r"^Tagged: +yes$", info, re.M)


def test_it_is_written_where_it_is_asked_for() -> None:
    made = run(take(SAMPLE), BuildOptions(pdf=False, extract="review"))
    assert b"Reviewer's extract" in made.outputs["binder-review.html"]
    assert "extract review" in BuildOptions(extract="review").text
    assert b"binder-review.html" in made.outputs["manifest.json"]
