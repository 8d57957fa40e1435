"""The HTML page in a real browser: no fault of access, no request, usable by keyboard, in the dark, on a phone, on paper."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Iterator
from itertools import pairwise, zip_longest
from pathlib import Path

import axe_playwright_python
import pytest
from page_readers import Page as ReadPage
from page_readers import text_of, words
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Route
from test_html import contrast

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text("utf-8")
#: Rules whose time grows with the square of the page; they are run over one element of each kind.
OF_COLOUR = ("color-contrast", "link-in-text-block")
SCHEMES = ("light", "dark")
DESK = {"width": 1280, "height": 900}
PHONE = {"width": 390, "height": 844}

#: Leaves one row, one element of each make-up in each place: neighbours that differ in their text alone are removed.
ONE_ROW_OF_EACH = """() => {
  const sign = (e) => `${e.tagName}.${e.getAttribute("class") ?? ""}(${[...new Set([...e.children].map(sign))]})`;
  for (const within of document.querySelectorAll("tbody, ol, ul, dl, .sheet, svg, .step")) {
    const seen = new Set();
    for (const child of [...within.children]) {
      const kind = sign(child);
      if (seen.has(kind)) child.remove();
      seen.add(kind);
    }
  }
  return document.querySelectorAll("*").length;
}"""
#: Leaves one element of each style: of those with the same classes and styles up to the root, the first.
ONE_STYLE_OF_EACH = """() => {
  const seen = new Set();
  const walk = (e, path) => {
    for (const child of [...e.children]) {
      const style = (child.getAttribute("style") ?? "").replace(/[\\d.]+/g, "");
      const kind = `${path}/${child.tagName}.${child.getAttribute("class") ?? ""}.${style}`;
      walk(child, kind);
      if (child.childElementCount) continue;
      if (seen.has(kind)) child.remove();
      seen.add(kind);
    }
  };
  walk(document.body, "");
  return document.querySelectorAll("*").length;
}"""

Open = Callable[..., Page]


def watched(context: BrowserContext, file: Path, html: str) -> Page:
    """A page opened from a file; every request but for that file is noted and refused, every fault noted."""
    page = context.new_page()
    page.asked, page.faults = [], []  # type: ignore[attr-defined]
    file.write_text(html, "utf-8")

    def answer(route: Route) -> None:
        if route.request.url == file.as_uri():
            route.continue_()
            return
        page.asked.append(route.request.url)  # type: ignore[attr-defined]
        route.abort()

    def note(said: ConsoleMessage) -> None:
        if said.type in {"error", "warning"}:
            page.faults.append(said.text)  # type: ignore[attr-defined]

    context.route("**/*", answer)
    page.on("pageerror", lambda error: page.faults.append(str(error)))  # type: ignore[attr-defined]
    page.on("console", note)
    page.goto(file.as_uri())
    return page


@pytest.fixture
def open_page(browser: Browser, tmp_path: Path) -> Iterator[Open]:
    """Opens a page as :func:`watched` does."""
    with contextlib.ExitStack() as stack:

        def opened(html: str, *, scheme: str = "light") -> Page:
            context = browser.new_context(color_scheme=scheme, viewport=DESK)  # type: ignore[arg-type]
            stack.callback(context.close)
            return watched(context, tmp_path / "binder.html", html)

        yield opened


@pytest.fixture
def on_a_phone(sample: Page) -> Iterator[Page]:
    """The sample's page as wide as a phone."""
    sample.set_viewport_size(PHONE)  # type: ignore[arg-type]
    # what follows the size of the window is done with the next frame
    sample.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
    yield sample
    sample.set_viewport_size(DESK)  # type: ignore[arg-type]
    sample.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")


@pytest.fixture(scope="module")
def sample(browser: Browser, html: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """The sample's page, opened once; a test leaves it as it found it."""
    with contextlib.closing(browser.new_context(viewport=DESK)) as context:  # type: ignore[arg-type]
        yield watched(context, tmp_path_factory.mktemp("sample") / "binder.html", html)


def violations(page: Page, **options: object) -> list[str]:
    """What axe-core finds, one line for each rule, with the first places."""
    page.evaluate(AXE)
    found = page.evaluate(
        "(options) => axe.run(document, {resultTypes: ['violations'], ...options})", options
    )
    assert len(found["passes"]) > 0
    return [
        f"{rule['id']}: {rule['help']}: {[node['html'][:120] for node in rule['nodes'][:3]]}"
        for rule in found["violations"]
    ]


@pytest.mark.parametrize("scheme", SCHEMES)
def test_no_violation_of_access_with_every_kind_of_element(page: str, open_page: Open, scheme: str) -> None:
    assert violations(open_page(page, scheme=scheme)) == []


def test_no_violation_of_colour_in_the_sample(html: str, open_page: Open) -> None:
    shown = open_page(html)
    assert shown.evaluate(ONE_STYLE_OF_EACH) > 1000
    for scheme in SCHEMES:
        shown.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        assert violations(shown, runOnly=OF_COLOUR) == [], scheme


def test_no_violation_of_structure_in_the_sample(html: str, open_page: Open) -> None:
    shown = open_page(html)
    assert shown.evaluate(ONE_ROW_OF_EACH) > 5000
    assert violations(shown, rules={rule: {"enabled": False} for rule in OF_COLOUR}) == []


@pytest.mark.slow
@pytest.mark.parametrize("scheme", SCHEMES)
def test_no_violation_of_any_rule_in_the_whole_sample(html: str, open_page: Open, scheme: str) -> None:
    shown = open_page(html, scheme=scheme)
    shown.set_default_timeout(0)
    assert violations(shown) == []


def test_axe_would_find_a_fault(page: str, open_page: Open) -> None:
    broken = page.replace("<h1>", '<h1><img src="data:,"><span style="color:#ccc">too pale</span>')
    found = violations(open_page(broken), runOnly=["color-contrast", "image-alt"])
    assert [line.partition(":")[0] for line in found] == ["color-contrast", "image-alt"]


def test_one_file_that_asks_for_nothing_and_runs_without_fault(sample: Page) -> None:
    sample.mouse.wheel(0, 20_000)
    sample.emulate_media(media="print")
    sample.emulate_media(media="screen")
    sample.wait_for_load_state("networkidle")
    assert sample.asked == []  # type: ignore[attr-defined]
    assert sample.faults == []  # type: ignore[attr-defined]
    assert sample.evaluate("[...document.fonts].filter(f => f.status == 'loaded').length") >= 2


def test_the_policy_of_the_page_stops_what_is_not_ours(page: str, open_page: Open) -> None:
    """Were text ever to become markup, it would neither run nor fetch."""
    smuggled = (
        "<script>document.title = 'run'</script><img alt='' src='http://host.invalid/a.png' "
        "onerror=\"document.title = 'run'\"><iframe src='http://host.invalid/'></iframe>"
        "<link rel='stylesheet' href='http://host.invalid/b.css'>"
    )
    shown = open_page(page.replace("<footer>", f"{smuggled}<footer>"))
    shown.wait_for_load_state("networkidle")
    assert "run" not in shown.title()
    assert shown.asked == []  # type: ignore[attr-defined]
    assert len(shown.faults) >= 4  # type: ignore[attr-defined]


def focused(page: Page) -> str:
    return str(page.evaluate("(document.activeElement.id || document.activeElement.className)"))


def test_keyboard_reaches_skip_link_contents_filter_and_back(page: str, open_page: Open) -> None:
    shown = open_page(page)
    shown.keyboard.press("Tab")
    assert focused(shown) == "skip"
    assert shown.locator(".skip").bounding_box()["x"] >= 0  # type: ignore[index]
    shown.keyboard.press("Enter")
    shown.keyboard.press("Tab")
    assert shown.evaluate("document.activeElement.closest('main') !== null")
    for _ in range(400):
        if focused(shown).startswith("filter-"):
            break
        shown.keyboard.press("Tab")
    field = focused(shown)
    assert field.startswith("filter-")
    outline = shown.evaluate("getComputedStyle(document.activeElement).outlineWidth")
    assert float(outline.removesuffix("px")) >= 2
    shown.keyboard.type("zzz")
    assert shown.locator(f"output[for='{field}']").inner_text().startswith("0 of ")
    shown.keyboard.press("Escape")
    assert shown.locator(f"output[for='{field}']").inner_text() == ""


def test_every_stop_of_the_keyboard_is_of_use(sample: Page) -> None:
    """Stops are links, fields and boxes that scroll, all of them seen when reached; nothing comes out of order."""
    stops = sample.evaluate(
        """() => [...document.querySelectorAll("[tabindex]")].map(
            e => [e.tabIndex, e.tagName, e.className, e.scrollWidth > e.clientWidth + 1])"""
    )
    assert {index for index, *_ in stops} <= {0, -1}
    assert [name for index, _, name, scrolls in stops if index == 0 and not scrolls] == []
    unreachable = sample.evaluate(
        """() => [...document.querySelectorAll(".tablebox, .plate, .labelroll")].filter(
            e => e.scrollWidth > e.clientWidth + 1 && e.tabIndex != 0).length"""
    )
    assert unreachable == 0


def test_a_filter_shows_the_rows_that_hold_every_word(sample: Page) -> None:
    field = sample.locator("input[type=search]").first
    table = str(field.get_attribute("id")).removeprefix("filter-")
    rows = f"[...document.querySelectorAll('#{table} tbody tr:not(.group)')]"
    texts = [" ".join(text.lower().split()) for text in sample.evaluate(f"{rows}.map(e => e.textContent)")]
    word, other = texts[0].split()[0], texts[0].split()[-1]
    wanted = [text for text in texts if word in text and other in text]
    assert 0 < len(wanted) < len(texts)
    field.fill(f"{word.upper()}  {other} ")
    seen = f"{rows}.filter(e => e.checkVisibility()).map(e => e.textContent)"
    assert [" ".join(text.lower().split()) for text in sample.evaluate(seen)] == wanted
    told = sample.locator(f"output[for='filter-{table}']").inner_text()
    assert told == f"{len(wanted)} of {len(texts)} rows shown"
    # on paper a table that looks whole is whole
    sample.emulate_media(media="print")
    assert len(sample.evaluate(seen)) == len(texts)
    assert not field.is_visible()
    sample.emulate_media(media="screen")
    field.press("Escape")
    assert len(sample.evaluate(seen)) == len(texts)


def test_a_filter_takes_a_hyphen_for_a_minus_sign(page: str, open_page: Open) -> None:
    shown = open_page(page.replace("</tbody>", "<tr><th scope=row>q</th><td>\u221277.7 V</td></tr></tbody>"))
    table = shown.locator("table:has(tbody tr:nth-child(10))").first
    shown.locator(f"#filter-{table.get_attribute('id')}").fill("-77.7")
    assert [row.inner_text()[0] for row in table.locator("tbody tr").all() if row.is_visible()] == ["q"]


def test_a_link_into_a_filtered_table_shows_its_row(sample: Page) -> None:
    found = sample.evaluate(
        """() => { for (const link of document.querySelectorAll("a[href^='#']")) {
          const row = document.getElementById(decodeURIComponent(link.hash.slice(1)));
          const field = row?.matches("tr") && document.getElementById(`filter-${row.closest("table").id}`);
          if (field && !link.closest("table, .card")) continue;
          if (field && row.closest("table") != link.closest("table")) {
            field.value = "zzz"; field.dispatchEvent(new Event("input"));
            const hidden = row.offsetParent === null;
            link.click();
            return new Promise(done => setTimeout(() => done([hidden, row.offsetParent !== null, field.value]), 50));
          } } return null }"""
    )
    assert found == [True, True, ""]


def test_a_phone_needs_no_sideways_scrolling(on_a_phone: Page) -> None:
    """Wide tables and drawings scroll inside their own box, which the keyboard reaches; text does not."""
    wide, room = on_a_phone.evaluate("[document.scrollingElement.scrollWidth, innerWidth]")
    assert wide <= room
    outside = on_a_phone.evaluate(
        """() => [...document.querySelectorAll("body *")].filter(e => {
          const box = e.getBoundingClientRect();
          return box.width && box.right > innerWidth + 1 && !e.closest(".tablebox, .plate, .labelroll");
        }).map(e => e.tagName + "." + (e.getAttribute("class") ?? "") + " " + e.textContent.slice(0, 40)).slice(0, 5)"""
    )
    assert outside == []
    assert on_a_phone.evaluate("parseFloat(getComputedStyle(document.body).fontSize)") >= 15


def test_what_scrolls_on_a_phone_is_reached_by_keyboard(on_a_phone: Page) -> None:
    counts = on_a_phone.evaluate(
        """() => { const boxes = [...document.querySelectorAll(".tablebox, .plate, .labelroll")];
          const wide = boxes.filter(e => e.scrollWidth > e.clientWidth + 1);
          return [wide.length, wide.filter(e => e.tabIndex == 0).length] }"""
    )
    assert counts[0] == counts[1] > 20


@pytest.mark.parametrize("scheme", SCHEMES)
def test_words_in_drawings_stand_out(sample: Page, scheme: str) -> None:
    """axe-core does not look into drawings: each text against the shape under its middle, or the page."""
    sample.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    pairs = sample.evaluate(
        """() => { const seen = new Map();
          const page = getComputedStyle(document.documentElement).backgroundColor;
          for (const svg of document.querySelectorAll("main svg")) {
            svg.scrollIntoView({block: "center"});
            for (const text of svg.querySelectorAll("text")) {
              if (!text.textContent.trim()) continue;
              const box = text.getBoundingClientRect();
              const under = document.elementsFromPoint(box.x + box.width / 2, box.y + box.height / 2)
                .find(e => e.ownerSVGElement === svg && e.tagName != "text" && e.tagName != "tspan" &&
                  !["none", "rgba(0, 0, 0, 0)"].includes(getComputedStyle(e).fill) &&
                  !getComputedStyle(e).fill.startsWith("url"));
              const ground = under ? getComputedStyle(under).fill : page;
              seen.set(getComputedStyle(text).fill + "|" + ground, text.textContent);
            }
          }
          return [...seen] }"""
    )

    def hexadecimal(colour: str) -> str:
        return "#" + "".join(f"{int(part):02x}" for part in re.findall(r"\d+", colour)[:3])

    assert len(pairs) >= 3
    for colours, text in pairs:
        ink, ground = colours.split("|")
        assert contrast(hexadecimal(ink), hexadecimal(ground)) >= 4.5, (text, ink, ground)


def test_the_dark_is_dark_and_paper_is_not(page: str, open_page: Open) -> None:
    shown = open_page(page, scheme="dark")
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    assert shown.evaluate(ground) == "rgb(22, 24, 26)"
    shown.emulate_media(media="print", color_scheme="dark")
    assert shown.evaluate(ground) == "rgb(255, 255, 255)"


def test_the_browser_prints_it_whole(page: str, open_page: Open) -> None:
    """Printed from the browser: no control, every heading of the page, heads of tables on each sheet."""
    shown = open_page(page)
    text = text_of(shown.pdf(prefer_css_page_size=True))
    assert "Filter rows" not in text
    assert "Skip to" not in text
    flat = " ".join(text.split())
    for heading in ReadPage(page).all("h2", "h3"):
        assert words(heading) in flat, words(heading)
    assert len(re.findall(r"^ *Circuit +From", text, re.M)) == 2


def outline_differs(html: str, shown: Page) -> list[str]:
    """Where headings, landmarks and tables, as a reader that speaks gets them, differ from what was written."""
    tree = shown.locator("body").aria_snapshot()
    read = ReadPage(html)
    named = re.findall(r"""^ *- '?(heading|table) "(.*)"(?: \[level=(\d)\])?(?:'?:.*)?'?$""", tree, re.M)
    plain = [(role, name.replace('\\"', '"').replace("''", "'"), level) for role, name, level in named]
    headings = [("heading", words(e), e.tag[1]) for e in read.all("h1", "h2", "h3", "h4")]
    by_id = {e.attributes["id"]: e for e in read.elements if "id" in e.attributes}
    within = [e for e in read.elements if e.tag in {"table", "caption"}]
    tables = []
    for table, after in pairwise([*within, None]):
        if table.tag == "table" and (name := table.attributes.get("aria-labelledby")):
            tables.append(("table", words(by_id[name]), ""))
        elif table.tag == "table" and after is not None and after.tag == "caption":
            tables.append(("table", words(after), ""))
    found = [f"{landmark}: not once" for landmark in ("banner", "navigation", "main", "contentinfo")
             if len(re.findall(rf"^- {landmark}\b", tree, re.M)) != 1]  # fmt: skip
    for role, wanted in (("heading", headings), ("table", tables)):
        told = [item for item in plain if item[0] == role]
        found += [f"written {one}, told {other}" for one, other in zip_longest(wanted, told) if one != other]
    assert len(headings) > 10
    assert tables
    return found


def test_the_browser_tells_the_outline_that_was_written(page: str, open_page: Open) -> None:
    """Structure in place of screenshots."""
    assert outline_differs(page, open_page(page)) == []


@pytest.mark.slow
def test_the_browser_tells_the_outline_of_the_sample(html: str, open_page: Open) -> None:
    assert outline_differs(html, open_page(html)) == []
