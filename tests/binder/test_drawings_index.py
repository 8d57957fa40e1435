"""Index of drawings: every drawing of the binder once, with a link that leads to it; every text of them apart."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from drawn_folder import designed, folder
from test_charts import check_texts

import reportgen.binder.drawings as drawings_package
from reportgen.binder.elements import Chapter, Figure, Table, TableCell
from reportgen.binder.html import anchors, faults, render
from reportgen.binder.write import Pages, lay_out
from reportgen.project.load import load_project
from reportgen.service.folder_reader import take

SAMPLE = Path(__file__).parents[2] / "sample_project"


@pytest.fixture(scope="module")
def pages() -> Pages:
    files = dict(take(SAMPLE).everything)
    assert load_project(files)
    return lay_out(designed(files), files)


def index(chapters: tuple[Chapter, ...]) -> Table:
    (found,) = [
        element for chapter in chapters for element in chapter.elements
        if isinstance(element, Table) and element.id == "drawing-index"
    ]  # fmt: skip
    return found


def entries(table: Table) -> list[tuple[str, TableCell]]:
    """Number and drawing of each entry, down the left half of the table and then the right one."""
    halves = ([row.cells[start : start + 2] for row in table.rows] for start in (0, 2))
    return [(cells[0].text, cells[1]) for half in halves for cells in half if cells[1].text]


def drawings(chapters: tuple[Chapter, ...]) -> list[Figure]:
    return [one for chapter in chapters for one in chapter.elements if isinstance(one, Figure) and one.id]


def test_every_drawing_is_listed_once_with_a_place_that_exists(pages: Pages) -> None:
    table, found = index(pages.chapters), drawings(pages.chapters)
    listed = entries(table)
    assert [number for number, _ in listed] == [str(k) for k in range(1, len(found) + 1)]
    assert [cell.link for _, cell in listed] == [figure.id for figure in found]
    assert [cell.text for _, cell in listed] == [figure.title for figure in found]
    assert {cell.link for _, cell in listed} <= set(anchors(pages.chapters))
    titles = " ".join(cell.text for _, cell in listed)
    for one in ("One-line diagram", "Plan of array EAST", "Strings to poles", "Switch SW-E1", "Grounding drawing", "Profile of R1", "Cross-section of R1/trench-orchard"):  # fmt: skip
        assert one in titles
    assert not faults(pages.chapters)


def test_links_carry_the_page_and_wide_drawings_lie(pages: Pages) -> None:
    (chapter,) = [one for one in pages.chapters if one.id == "drawings"]
    html = render(pages.frame, [chapter], ())
    assert '<a class="pageref" href="#one_2d_line-1">One-line diagram, sheet 1 of 2</a>' in html
    assert '<figure id="one_2d_line-1" class="wide">' in html
    assert html.count('class="sheet lie"') == 1


@pytest.mark.parametrize("count", [3, 5, 8, 12, 24])
def test_texts_of_all_drawings_stand_apart_and_on_the_sheet(count: int) -> None:
    files = folder(count)
    found = drawings(lay_out(designed(files), files).chapters)
    names = " ".join(figure.title for figure in found)
    for one in (
        "One-line",
        "Plan of array T",
        "Strings to poles",
        f"Switch SW-{count}",
        "Cross-section of R1/trench",
    ):
        assert one in names
    for figure in found:
        check_texts(figure)


def test_every_drawing_gives_itself_an_id() -> None:
    # One without is not listed, and nobody would see that it is missing.
    made = [
        (path.name, {keyword.arg for keyword in call.keywords})
        for path in sorted(Path(drawings_package.__file__).parent.glob("*.py"))
        for call in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "Figure"
    ]
    assert len(made) >= 7
    assert [name for name, keywords in made if "id" not in keywords] == []
