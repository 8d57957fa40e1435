"""Hostile text in every text of the models, found by reflection: it prints as text in every output, or is refused.

The folder is the sample with one of everything added, and every text that it has room for is replaced at once: markup,
templates, styles, addresses, another direction of writing, spreadsheet formulas, and letters without end.
"""

from __future__ import annotations

import copy
import csv
import io
import json
import re
import socket
from collections import Counter
from collections.abc import Iterator
from functools import cache, partial

import pytest
from hostile import folder, put, text_keys, text_places, written
from page_readers import Page, text_of
from playwright.sync_api import Browser
from test_browser import DESK, PHONE, watched

from reportgen.binder.extract import review_page
from reportgen.binder.html import render
from reportgen.binder.pdf import write_pdf
from reportgen.binder.write import lay_out
from reportgen.diagnostics.model import InputRefused
from reportgen.service.build import BuildOptions, Built, check, run
from reportgen.service.snapshot import Snapshot

PAYLOAD = (
    "<script>document.title='run'</script>\"><img src=x onerror=\"document.title='run'\"></style></title></svg>"
    "</text><svg onload=alert(1)>{{ 7 * 7 }}{% raw %}${x}#{y} javascript:alert(1) file:///etc/passwd "
    "http://host.invalid/?q=1 ../../x \\0003c/style عربي שלום &lt;b&gt; 'x' ]]>"
)
#: A spreadsheet takes what begins with one of these for a formula.
SIGNS = "=+-@"
#: Read before there is a project: folder and revision of git, refused where they name none.
NEVER_PRINTED = {"before/folder", "before/revision"}
#: Texts that name a file, an entry of a library, a terminal or a rule; anything else is refused with its place.
NAMES = {
    "documents/ID/file",
    "inverters/ID/library",
    "jumpers/ID[ ][ ]",
    "local/ID/rule",
    "local/ID/value",
    "modules/ID/library",
    "site/weather/file",
    "site/weather/files",
    "site/weather/shipped",
    "variants/ID/file",
}


def filled(text: str) -> tuple[dict[str, bytes], dict[str, str]]:
    """The folder with a text in every place, each with a number of its own; and what was put at which key."""
    sheets = folder()
    told = {}
    for key, found in text_places(sheets).items():
        for file, trail in found if key not in NAMES else ():
            number = len(told)
            told[f"{SIGNS[number % 4]}Q{number}q{text}"] = key
            put(sheets, file, trail, key, f"{SIGNS[number % 4]}Q{number}q{text}")
    return written(sheets), told


@pytest.fixture(scope="module")
def hostile() -> tuple[Built, dict[str, str]]:
    files, told = filled(PAYLOAD)
    return run(Snapshot.of(files), BuildOptions(pdf=False)), told


def test_every_text_of_the_models_is_filled() -> None:
    found = text_places(folder())
    # a key that is missing here belongs into `folder` of hostile.py
    assert text_keys() - set(found) == NEVER_PRINTED
    assert set(found) >= NAMES
    assert len(found) > 75


@pytest.mark.parametrize("text", [PAYLOAD, "W" * 10_000, "../../../../etc/passwd", "/dev/zero"])
def test_names_that_name_nothing_are_refused_at_their_place(text: str) -> None:
    sheets = folder()
    base = written(sheets)
    for key, found in text_places(sheets).items():
        if key in NAMES:
            file, trail = found[0]
            sheet = copy.deepcopy(sheets[file])
            put({file: sheet}, file, trail, key, text)
            changed = Snapshot.of({**base, file: written({file: sheet})[file]})
            # what the year alone reads is looked for by a build
            read = check if key != "site/weather/shipped" else partial(run, options=BuildOptions(pdf=False))
            with pytest.raises(InputRefused) as refused:
                read(changed)
            assert any(label.span.file == file for d in refused.value.diagnostics for label in d.labels), key


def test_it_prints_as_text_in_full(hostile) -> None:
    built, told = hostile
    # the print-out of the files holds YAML, which doubles a quote within quotes
    shown = "".join(Page(built.outputs["binder.html"].decode()).shown).replace("''", "'")
    assert [key for text, key in told.items() if text not in shown] == []
    assert len(told) > 150


def test_it_makes_no_markup(hostile, html) -> None:
    built, _ = hostile
    page, calm = Page(built.outputs["binder.html"].decode()), Page(html)
    assert {e.tag for e in page.elements} <= {e.tag for e in calm.elements} | {"h4"}
    names = {name for e in calm.elements for name in e.attributes}
    assert {name for e in page.elements for name in e.attributes} <= names | {"type"}
    assert len(page.all("script")) == 1
    assert all((e.attributes["href"] or "").startswith("#") for e in page.all("a"))
    styles = {re.sub(r"[\d.]+", "0", e.attributes.get("style") or "") for e in page.elements}
    assert styles <= {re.sub(r"[\d.]+", "0", e.attributes.get("style") or "") for e in calm.elements}
    assert built.outputs["binder.html"].count(b"</style>") == 1


def test_no_cell_of_a_schedule_is_a_formula(hostile) -> None:
    built, _ = hostile
    cells = 0
    for name, data in built.outputs.items():
        if name.endswith(".csv"):
            for line in list(csv.reader(io.StringIO(data.decode())))[1:]:
                for cell in line:
                    cells += "Q" in cell
                    plain = re.fullmatch(r"[+-]?(\d+(\.\d+)?(e[+-]?\d+)?)?", cell)
                    assert plain or cell[:1] not in "=+-@\t\r", (name, cell[:40])
    assert cells > 100


def test_results_hold_it_as_a_text(hostile) -> None:
    built, told = hostile
    texts = Counter()

    def walk(node: object) -> None:
        if isinstance(node, str):
            texts[node] += 1
        for inner in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
            walk(inner)

    walk(json.loads(built.outputs["results.json"]))
    assert any(text in each for each in texts for text in told)


@pytest.fixture(scope="module")
def opened(browser: Browser, hostile, tmp_path_factory) -> Iterator:
    context = browser.new_context(viewport=DESK)
    yield watched(
        context,
        tmp_path_factory.mktemp("hostile") / "binder.html",
        hostile[0].outputs["binder.html"].decode(),
    )
    context.close()


def test_a_browser_runs_and_fetches_nothing_of_it(opened) -> None:
    opened.wait_for_load_state("networkidle")
    assert opened.asked == []
    assert opened.faults == []
    assert opened.title() != "run"


def test_it_stays_on_a_phone(opened) -> None:
    opened.set_viewport_size(PHONE)
    wide, room = opened.evaluate("[document.scrollingElement.scrollWidth, innerWidth]")
    assert wide <= room


@cache
def _letters() -> tuple[Built, dict[str, str]]:
    files, told = filled("W" * 10_000)
    return run(Snapshot.of(files), BuildOptions(pdf=False)), told


def test_ten_thousand_letters_print_in_full() -> None:
    built, told = _letters()
    shown = "".join(Page(built.outputs["binder.html"].decode()).shown)
    assert [key for text, key in told.items() if text not in shown] == []


def test_a_pdf_reads_nothing_of_it(hostile, monkeypatch: pytest.MonkeyPatch) -> None:
    """Cover and a few chapters that hold most of the texts."""
    built, _ = hostile
    asked: list[object] = []
    monkeypatch.setattr(socket.socket, "connect", lambda *args: asked.append(args))
    monkeypatch.setattr(socket, "getaddrinfo", lambda *args, **_: asked.append(args))
    pages = lay_out(built.design, {})
    chosen = [chapter for chapter in pages.chapters if chapter.id in {"site", "grounding", "reviews"}]
    pdf = write_pdf(render(pages.frame, chosen, built.design.findings[:5]))
    text = "".join(text_of(pdf, "-raw").split())
    assert asked == []
    assert text.count("<script>document.title='run'</script>") > 10
    assert "/JavaScript" not in pdf.decode("latin-1")
    assert "/URI" not in pdf.decode("latin-1")


def test_the_extract_prints_it_as_text_and_makes_no_markup(hostile) -> None:
    built, told = hostile
    html = review_page(lay_out(built.design, {}).frame, built.design)
    page = Page(html)
    assert len(page.all("script")) == 0
    assert html.count("</style>") == 1
    assert not {"img", "iframe", "object"} & {e.tag for e in page.elements}
    assert not [name for e in page.elements for name in e.attributes if name.startswith("on")]
    shown = "".join(page.shown)
    assert len([key for text, key in told.items() if text in shown]) > 5


@pytest.mark.slow
def test_the_extract_as_a_pdf_reads_nothing_of_it(hostile, monkeypatch: pytest.MonkeyPatch) -> None:
    built, _ = hostile
    asked: list[object] = []
    monkeypatch.setattr(socket.socket, "connect", lambda *args: asked.append(args))
    monkeypatch.setattr(socket, "getaddrinfo", lambda *args, **_: asked.append(args))
    pdf = write_pdf(review_page(lay_out(built.design, {}).frame, built.design))
    assert asked == []
    assert "<script>document.title='run'</script>" in "".join(text_of(pdf, "-raw").split())
    assert not any(word in pdf.decode("latin-1") for word in ("/JavaScript", "/URI", "/Launch"))


def test_the_extract_of_ten_thousand_letters_prints_them() -> None:
    built, told = _letters()
    shown = "".join(Page(review_page(lay_out(built.design, {}).frame, built.design)).shown)
    assert len([key for text, key in told.items() if text in shown]) > 5


@pytest.mark.slow
@pytest.mark.parametrize("letters", [0, 500])
def test_the_whole_binder_stays_on_its_sheets(hostile, letters: int) -> None:
    """Every text at once; ten thousand letters in each of them are thousands of sheets, so these are fewer."""
    built = run(Snapshot.of(filled("W" * letters)[0]), BuildOptions(pdf=False)) if letters else hostile[0]
    pages = lay_out(built.design, {})
    text = text_of(write_pdf(render(pages.frame, pages.chapters, built.design.findings)), "-raw")
    assert text.count("page ") > 20
