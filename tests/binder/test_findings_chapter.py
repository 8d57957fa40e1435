"""Findings that meet, set close: every one of them named, linked to its working, and in the file."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from page_readers import Page, words

from reportgen.binder.alike import alike
from reportgen.binder.elements import FindingList, TaskCard, WorkingTable, finding_anchor
from reportgen.binder.html import render
from reportgen.binder.working_tables import gathered
from reportgen.binder.write import Pages, lay_out
from reportgen.design.findings import Outcome
from reportgen.service.build import check
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"


@pytest.fixture(scope="module")
def design():
    return check(take(SAMPLE))


@pytest.fixture(scope="module")
def pages(design) -> Pages:
    return lay_out(design, take(SAMPLE).files)


@pytest.fixture(scope="module")
def listed(pages: Pages) -> FindingList:
    (found,) = [e for c in pages.chapters for e in c.elements if isinstance(e, FindingList)]
    return found


def test_every_finding_that_meets_has_its_place_and_its_row_in_the_file(design, pages, listed) -> None:
    met = design.of(Outcome.MEETS)
    anchors = [item.anchor for group in listed.groups for item in group.items]
    assert sorted(anchors) == sorted(finding_anchor(finding) for finding in met)
    rows = list(csv.reader(io.StringIO(pages.schedules["schedules/findings-met.csv"].decode())))
    assert [row[0] for row in rows[2:]] == [finding.headline for finding in met]


def test_the_words_of_a_finding_can_be_put_together_again(design, listed) -> None:
    """What is said once for a check and what stands for each give the headline back."""
    by_anchor = {finding_anchor(finding): finding for finding in design.findings}
    for group in listed.groups:
        for item in group.items:
            finding = by_anchor[item.anchor]
            if group.common == "" or "…" not in group.common:
                assert item.text in {" ".join(finding.headline.split()), finding.subject}
            else:
                assert group.common.replace("…", item.text).split() == finding.headline.split()


def test_a_margin_and_a_working_go_with_each_finding(design, pages, listed) -> None:
    found = {item.anchor: item for group in listed.groups for item in group.items}
    places = {
        place
        for chapter in gathered(pages.chapters)
        for element in chapter.elements
        if isinstance(element, WorkingTable)
        for place in ((element.id,) if element.table is None else (row.anchor for row in element.table.rows))
    }
    worked = [f for f in design.of(Outcome.MEETS) if f.code in {"voltage-drop", "raceway-fill"}]
    assert len(worked) > 5
    for finding in worked:
        assert "%" in found[finding_anchor(finding)].margin
        assert found[finding_anchor(finding)].link in places


def test_cards_stand_together_and_each_chapter_leads_to_its_own(design, pages) -> None:
    with_cards = [c.id for c in pages.chapters if any(isinstance(e, TaskCard) for e in c.elements)]
    assert with_cards == ["cards"]
    page = Page(render(pages.frame, pages.chapters, design.findings))
    ids = {element.attributes.get("id") for element in page.elements}
    pointers = [e for e in page.of_class("pointers") if words(e).startswith("Task cards:")]
    assert len(pointers) >= 8
    targets = {
        e.attributes["href"] for e in page.all("a") if (e.attributes.get("href") or "").startswith("#card-")
    }
    assert len(targets) >= 12
    assert {target[1:] for target in targets} <= ids  # type: ignore[index]


@pytest.mark.parametrize(
    ("texts", "common", "rests"),
    [
        (["a b c", "a x c"], "a … c", ("b", "x")),
        (["a b", "a b c"], "a b …", ("", "c")),
        (["E1 in A, B", "E2 in A, C, B"], "", ("E1 in A, B", "E2 in A, C, B")),
        (["fill 3 %", "fill 4.5 %"], "fill …", ("3 %", "4.5 %")),
        (["a a", "a"], "a …", ("a", "")),
        (["x", "y"], "", ("x", "y")),
        (["same", "same"], "same", ("", "")),
    ],
)
def test_texts_are_taken_apart(texts: list[str], common: str, rests: tuple[str, ...]) -> None:
    found = alike(texts)
    assert (found.common, found.rests) == (common, rests)
